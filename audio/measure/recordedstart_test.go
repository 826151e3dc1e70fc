package main

import (
	"math"
	"testing"
	"time"

	"kickover/audio"
)

// What the program exports of a run, shortened.
const exported = `{"kickover_run":1,"id":"A1","started":"2026-11-25T17:40:13Z","phase":"demonstrate"}
{"seq":18,"at_ns":2440000000,"kind":"move","subject":"battery","value":1}
{"seq":19,"at_ns":2500000000,"kind":"reading","subject":"bus_volts","value":"7ff8000000000001"}
{"seq":302,"at_ns":26140000000,"kind":"move","subject":"ignition","value":4}
{"seq":401,"at_ns":27880000000,"kind":"move","subject":"ignition","value":3}
`

func TestHappeningsOfARun(t *testing.T) {
	f := &flight{when: map[string]time.Duration{}}
	if err := f.read([]byte(exported)); err != nil {
		t.Fatal(err)
	}
	if f.id != "A1" || f.when["battery on"] != 2440*time.Millisecond || f.when["starter released"] != f.when["end"] {
		t.Errorf("%+v", f)
	}
}

func TestStrikeAndFind(t *testing.T) {
	x := hum(2 * audio.Rate)
	clunk := make([]float64, audio.Rate/10)
	for i := range clunk {
		clunk[i] = 0.2 * math.Exp(-float64(i)/2000) * math.Sin(2*math.Pi*260*float64(i)/audio.Rate)
		x[60000+i] += 0.8 * clunk[i]
		x[80000+i] += clunk[i]
	}
	if at, ok := strike(x, 0, len(x)); !ok || at < 60000-48 || at > 60000+48 {
		t.Errorf("the clunk at 60000 is heard at %d", at)
	}
	if at := find(x, clunk); at < 60000-50 || at > 60000+3 {
		t.Errorf("the clunk at 60000 is found at %d", at)
	}
	if _, ok := strike(x, 0, 50000); ok {
		t.Error("a steady hum is taken for a strike")
	}
}
