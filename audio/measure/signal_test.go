package main

import (
	"math"
	"testing"

	"kickover/audio"
)

func TestOnsetsAreFoundToTheSample(t *testing.T) {
	x := make([]float64, audio.Rate)
	at := []int{5000, 12345, 30000}
	for _, first := range at {
		for i := range 1440 {
			x[first+i] = 0.4 * math.Cos(2*math.Pi*3000*float64(i)/audio.Rate) * (1 - float64(i)/1440)
		}
	}
	found := onsets(x)
	if len(found) != len(at) {
		t.Fatalf("found %v, want %v", found, at)
	}
	for i := range at {
		if found[i] != at[i] {
			t.Errorf("found %v, want %v", found, at)
		}
	}
}

func hum(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = 0.03 * math.Sin(2*math.Pi*118*float64(i)/audio.Rate)
	}
	return x
}

// A gap is seen whether samples went missing or silence was put in.
func TestGapsAreCounted(t *testing.T) {
	whole := hum(4 * audio.Rate)
	if n := gaps(whole); n != 0 {
		t.Errorf("%d gaps in a whole hum", n)
	}
	missing := append(append([]float64{}, whole[:50000]...), whole[50200:]...)
	if n := gaps(missing); n != 1 {
		t.Errorf("200 samples are missing once: %d gaps", n)
	}
	silent := append(append(append([]float64{}, whole[:90000]...), make([]float64, 480)...), whole[90000:]...)
	if n := gaps(silent); n != 1 {
		t.Errorf("10 ms of silence once: %d gaps", n)
	}
}

// The nearest rank, by its definition: of one to a hundred the q-th is q.
func TestSpread(t *testing.T) {
	var values []float64
	for i := 100; i >= 1; i-- {
		values = append(values, float64(i))
	}
	s := spreadOf(values)
	if s.N != 100 || s.P01 != 1 || s.P50 != 50 || s.P95 != 95 || s.P99 != 99 || s.Max != 100 || math.Abs(s.Mean-50.5) > 1e-9 {
		t.Errorf("%+v", s)
	}
	if z := spreadOf(nil); z.N != 0 {
		t.Errorf("of nothing: %+v", z)
	}
}
