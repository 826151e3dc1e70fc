package classroom_test

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"kickover/procedure/classroom"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// told waits until it stands so who has what was ordered last.
func told(t *testing.T, i *classroom.Instructor, kind classroom.OrderKind, have, not, away []int) {
	t.Helper()
	var got classroom.Told
	settle(t, 15*time.Second, "it is known who has it", func() bool {
		got, _ = i.Told()
		return got.Order.Kind == kind && reflect.DeepEqual([][]int{got.Have, got.Not, got.Away}, [][]int{have, not, away})
	})
}

// The instructor learns from the stations themselves who has what he ordered: who
// cannot be reached has not, until he is back.
func TestWhoHasWhatWasOrdered(t *testing.T) {
	drilled(t, func(t *testing.T, i *classroom.Instructor, net *network, d classroom.Drill) {
		fault := classroom.Order{Kind: classroom.OrderFault, Fault: powerplant.FaultVapourInLines}
		if err := i.Order(fault); err == nil || !strings.Contains(err.Error(), "nobody flies") {
			t.Errorf("before anybody flies a fault is ordered with %v", err)
		}
		begin(t, i)
		told(t, i, classroom.OrderBegin, []int{1, 2}, nil, nil)
		settle(t, 10*time.Second, "both fly", func() bool { return i.Tally().Flying == 2 })
		if err := i.Order(fault); err != nil {
			t.Fatal(err)
		}
		if got, ok := i.Told(); !ok || len(got.Have) != 0 || len(got.Not) != 2 {
			t.Errorf("before a word of theirs it stands %+v", got)
		}
		told(t, i, classroom.OrderFault, []int{1, 2}, nil, nil)
		bo := i.Rows(false)[1].Station
		net.severOne(bo, true)
		if err := i.Pause(true); err != nil {
			t.Fatal(err)
		}
		told(t, i, classroom.OrderPause, []int{1}, nil, []int{2})
		net.severOne(bo, false)
		told(t, i, classroom.OrderPause, []int{1, 2}, nil, nil)
		later(30 * time.Second)
		if got, ok := i.Told(); ok {
			t.Errorf("half a minute after everybody had it, %+v is still told", got)
		}
		if err := i.Order(classroom.Order{Kind: classroom.OrderSay, Text: "Well done."}, bo); err != nil {
			t.Fatal(err)
		}
		told(t, i, classroom.OrderSay, []int{2}, nil, nil)
		i.Refuse("The sequence could not be kept.")
		if got, ok := i.Told(); ok {
			t.Errorf("what the instructor has to read stands behind %+v", got)
		}
		if n := i.Notices(); len(n) != 1 || n[0] != "The sequence could not be kept." {
			t.Errorf("the notices are %q", n)
		}
		if err := i.Pause(false); err != nil {
			t.Fatal(err)
		}
		if n := i.Notices(); len(n) != 0 {
			t.Errorf("when what was wanted next has happened, the notices are %q", n)
		}
	})
}

// A program that was started again passes over what was ordered before: it is not
// among those that have it.
func TestAStationStartedAgainHasNoneOfIt(t *testing.T) {
	libs := shipped(t)
	synctest.Test(t, func(t *testing.T) {
		dir := t.TempDir()
		i := openClass(t, filepath.Join(dir, "class"), classroom.InstructorOptions{Libraries: libs})
		net := newNetwork()
		net.open(i)
		sit := func(name string) *classroom.Station {
			pit := &classroom.Cockpit{Clock: rehearsal.NewSystem()}
			s := join(t, net, filepath.Join(dir, name), i, classroom.StationOptions{Libraries: libs, Seat: pit}, name)
			pit.Sit(s)
			return s
		}
		ada, bo := sit("Ada"), sit("Bo")
		settle(t, 10*time.Second, "two are here", func() bool { return i.Tally().Here == 2 })
		bo.Close()
		if err := i.Order(classroom.Order{Kind: classroom.OrderSay, Text: "Look up."}); err != nil {
			t.Fatal(err)
		}
		told(t, i, classroom.OrderSay, []int{1}, nil, []int{2})
		bo = sit("Bo")
		settle(t, 10*time.Second, "two are here again", func() bool { return i.Tally().Here == 2 })
		told(t, i, classroom.OrderSay, []int{1}, nil, nil)
		ada.Close()
		bo.Close()
		i.Close()
	})
}
