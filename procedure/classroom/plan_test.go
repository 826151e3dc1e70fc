package classroom_test

import (
	"reflect"
	"testing"

	"kickover/procedure/classroom"
)

// The plan that was changed while the class was open is there when it is opened
// again, in its order, and knows what of it was drilled.
func TestThePlanIsKept(t *testing.T) {
	folder, libs := t.TempDir(), shipped(t)
	i := openClass(t, folder, classroom.InstructorOptions{Libraries: libs})
	mild, high := cold, cold
	mild.Conditions.OATCelsius, mild.Faults = 10, nil
	high.Conditions.PressureAltM = 1500
	if err := i.SetPlan([]classroom.Situation{mild, high, cold}); err != nil {
		t.Fatal(err)
	}
	if _, err := i.Announce(high, classroom.Together); err != nil {
		t.Fatal(err)
	}
	if err := i.Close(); err != nil {
		t.Fatal(err)
	}
	again := reopen(t, folder, i.Class().ID, classroom.InstructorOptions{Libraries: libs})
	defer again.Close()
	plan := again.Class().Plan
	if !reflect.DeepEqual(plan, []classroom.Situation{mild, high, cold}) {
		t.Errorf("the plan is %+v", plan)
	}
	for k, want := range []int{0, 1, 0} {
		if n := classroom.Drilled(plan[k], again.Drills()); n != want {
			t.Errorf("situation %d was drilled %d times, want %d", k+1, n, want)
		}
	}
}
