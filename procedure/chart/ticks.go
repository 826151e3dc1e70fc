package chart

import (
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
)

// steps are the distances between ticks that people count in.
var steps = []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800, 3600}

// stepFor is the smallest distance between ticks that leaves room for the labels.
func stepFor(span float64, length, room vg.Length) float64 {
	most := max(1, math.Floor(float64(length/room)))
	for _, s := range steps {
		if span/s <= most {
			return s
		}
	}
	return span
}

// ticksEvery puts a tick at each multiple of a step between two values, with its
// unit.
func ticksEvery(step, from, to float64, unit string) plot.ConstantTicks {
	var out plot.ConstantTicks
	decimals := 0
	if step < 1 {
		decimals = 1
	}
	for i := math.Ceil(from/step - 1e-9); i*step <= to+1e-9; i++ {
		v := i*step + 0 // no negative zero
		label := strconv.FormatFloat(v, 'f', decimals, 64)
		if v < 0 {
			label = "−" + strconv.FormatFloat(-v, 'f', decimals, 64)
		}
		out = append(out, plot.Tick{Value: v, Label: label + unit})
	}
	return out
}

func secs(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) + " s" }
