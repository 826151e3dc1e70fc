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

// What went missing on the way to the recording is told from silence that was put
// into the stream.
func TestGapsAreToldApart(t *testing.T) {
	whole := hum(4 * audio.Rate)
	if d, j := dryRuns(whole), jumps(whole); len(d)+len(j) != 0 {
		t.Errorf("in a whole hum: dry at %v, jumps at %v", d, j)
	}
	missing := append(append([]float64{}, whole[:50000]...), whole[50200:]...)
	if d, j := dryRuns(missing), jumps(missing); len(d) != 0 || len(j) != 1 {
		t.Errorf("200 samples are missing once: dry at %v, jumps at %v", d, j)
	}
	silent := append(append(append([]float64{}, whole[:90000]...), make([]float64, 480)...), whole[90000:]...)
	d, j := dryRuns(silent), jumps(silent)
	if len(d) != 1 || d[0].at < 89999 || d[0].at > 90000 || d[0].length < 480 || d[0].length > 482 {
		t.Errorf("10 ms of silence at 90000: dry at %v", d)
	}
	if lost := far(j, d, audio.Rate/5); len(j) != 1 || len(lost) != 0 {
		t.Errorf("10 ms of silence at 90000: jumps at %v, of which %v are taken for lost samples", j, lost)
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
