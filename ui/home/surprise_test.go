package home

import (
	"reflect"
	"testing"
	"time"

	"kickover/procedure"
)

// A lesson can be given again: one seed gives one sequence of days and faults, and
// no two days of it are the same.
func TestSurprisesFollowTheSeed(t *testing.T) {
	a, b := surprises{seed: 7}, surprises{seed: 7}
	cold := &procedure.Flow{Situation: "cold"}
	faults := 0
	var last any
	for n := range 200 {
		day, wrong := a.draw(12*time.Hour, cold)
		again, wrongAgain := b.draw(12*time.Hour, cold)
		if day != again || !reflect.DeepEqual(wrong, wrongAgain) {
			t.Fatalf("draw %d: %+v %v, then %+v %v", n, day, wrong, again, wrongAgain)
		}
		if last == any(day) {
			t.Fatalf("draw %d repeats the day before", n)
		}
		last = day
		faults += len(wrong)
		if !day.SurpriseOffered || day.OATCelsius < -10 || day.OATCelsius > 30 || day.BatteryCharge < 0.6 || day.SinceShutdown < 9*time.Hour {
			t.Errorf("a day of %+v", day)
		}
	}
	if faults < 50 || faults > 110 { // two in five
		t.Errorf("%d of 200 days had something wrong", faults)
	}
}

// Whoever is to find out about fuel or fire is not given something else as well.
func TestFloodedAndFireAreEnough(t *testing.T) {
	s := surprises{seed: 1}
	for _, situation := range []string{"flooded", "fire"} {
		for range 50 {
			if _, wrong := s.draw(time.Hour, &procedure.Flow{Situation: situation}); len(wrong) > 0 {
				t.Fatalf("%s with %v", situation, wrong)
			}
		}
	}
}
