package chart_test

import (
	"bytes"
	"image/color"
	"strings"
	"testing"

	"kickover/procedure/chart"
	"kickover/procedure/planner"
	"kickover/procedure/proficiency"
)

func point(prime float64, started, flooded int) planner.Point {
	const n = 100
	return planner.Point{Prime: prime, Start: proficiency.ShareOf(started, n), Flood: proficiency.ShareOf(flooded, n), Trials: n}
}

// A plan is drawn whatever has been flown of it, and says in words what it shows.
func TestOdds(t *testing.T) {
	cold := planner.Handbook{Unit: planner.Seconds, Min: 3.5, Ideal: 4.2, Max: 5}
	three := planner.Handbook{Unit: planner.Strokes, Min: 3, Ideal: 3, Max: 3}
	flown := []planner.Point{point(0, 0, 0), point(3.5, 80, 0), point(4.2, 100, 0), point(9, 2, 98)}
	for name, c := range map[string]struct {
		chart *chart.Chart
		says  string
	}{
		"a day":           {chart.Odds(cold, flown, planner.Advice{Given: true, Point: flown[2]}), "4.2 s starts in 100 %, floods in 0 %"},
		"nothing flown":   {chart.Odds(cold, nil, planner.Advice{}), "window: 3.5 to 5 s"},
		"still to fly":    {chart.Odds(cold, []planner.Point{{Prime: 0}, {Prime: 9}}, planner.Advice{}), "ideal 4.2 s."},
		"one point":       {chart.Odds(cold, flown[:1], planner.Advice{}), "0 s starts in 0 %"},
		"no prime":        {chart.Odds(planner.Handbook{Unit: planner.Strokes}, flown, planner.Advice{}), "no prime"},
		"strokes":         {chart.Odds(three, flown, planner.Advice{}), "window: 3 strokes"},
		"a map":           {chart.OddsMap([]chart.OddsRow{{-5, cold, flown}, {5, three, flown}}), "-5 degC, window 3.5 to 5 s, ideal 4.2 s: 0 s 0; 3.5 s 80;"},
		"an empty map":    {chart.OddsMap(nil), "Starts of 100"},
		"a map half done": {chart.OddsMap([]chart.OddsRow{{-5, cold, []planner.Point{flown[0], {Prime: 3}, flown[3]}}}), "0 s 0; 9 s 2;"},
	} {
		if !strings.Contains(c.chart.Alt, c.says) {
			t.Errorf("%s says %q, want %q in it", name, c.chart.Alt, c.says)
		}
		for _, size := range [][2]float64{{c.chart.Width, c.chart.Height}, {240, 160}} {
			var b bytes.Buffer
			if err := c.chart.WriteSVG(&b, size[0], size[1]); err != nil || b.Len() < 500 {
				t.Errorf("%s at %v: %d bytes, %v", name, size, b.Len(), err)
			}
		}
	}
}

// At night nothing may be lighter than the ink: in a dress of reds nothing of the
// paper's other colours is left, nor of what lies between them.
func TestADressColoursAllOfAPlan(t *testing.T) {
	red := func(v uint8) color.NRGBA { return color.NRGBA{R: v, A: 0xff} }
	dress := chart.Dress{Paper: red(5), Hair: red(60), Faint: red(30), Ink: red(250), Ink2: red(200), Ink3: red(150), Now: red(240),
		OK: red(190), OKTint: red(40), OKHatch: red(70), Caution: red(230), Warn: red(245)}
	cold := planner.Handbook{Unit: planner.Seconds, Min: 3.5, Ideal: 4.2, Max: 5}
	flown := []planner.Point{point(0, 0, 0), point(3.5, 80, 0), point(4.2, 100, 0), point(6, 40, 30), point(9, 2, 98), {Prime: 10}}
	for name, c := range map[string]*chart.Chart{
		"a day": chart.Odds(cold, flown, planner.Advice{Given: true, Point: flown[2]}),
		"a map": chart.OddsMap([]chart.OddsRow{{-5, cold, flown}, {5, cold, flown}}),
	} {
		m := c.In(dress).Image(c.Width, c.Height, 1)
		seen := map[uint32]bool{}
		for y := m.Bounds().Min.Y; y < m.Bounds().Max.Y; y++ {
			for x := m.Bounds().Min.X; x < m.Bounds().Max.X; x++ {
				r, g, b, _ := m.At(x, y).RGBA()
				if seen[r] = true; g != 0 || b != 0 {
					t.Fatalf("%s: at %d, %d there is a colour of the paper's: %v", name, x, y, m.At(x, y))
				}
			}
		}
		if len(seen) < 20 {
			t.Errorf("%s: only %d shades of red were drawn", name, len(seen))
		}
	}
}
