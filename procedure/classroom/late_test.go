package classroom_test

import (
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"kickover/procedure/classroom"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// mild is a situation whose demonstration ends by itself.
func mild() classroom.Situation {
	s := cold
	s.Conditions.OATCelsius, s.Faults = 10, []powerplant.Fault{powerplant.FaultRightMagneto}
	return s
}

// drilled opens a class of two that wait for "go", and calls fly with it.
func drilled(t *testing.T, fly func(t *testing.T, i *classroom.Instructor, net *network, d classroom.Drill)) {
	libs := shipped(t)
	synctest.Test(t, func(t *testing.T) {
		dir := t.TempDir()
		i := openClass(t, filepath.Join(dir, "class"), classroom.InstructorOptions{Libraries: libs})
		net := newNetwork()
		net.open(i)
		var stations []*classroom.Station
		for _, name := range []string{"Ada", "Bo"} {
			clock := rehearsal.NewSystem()
			pit := &classroom.Cockpit{Clock: clock, Every: 100 * time.Millisecond, Fail: func(err error) { t.Error(err) }}
			s := join(t, net, filepath.Join(dir, name), i, classroom.StationOptions{Libraries: libs, Clock: clock, Seat: pit}, name)
			pit.Sit(s)
			stations = append(stations, s)
		}
		d, err := i.Announce(mild(), classroom.Together)
		if err != nil {
			t.Fatal(err)
		}
		settle(t, 10*time.Second, "two stations are ready", func() bool { return i.Tally().Ready == 2 })
		fly(t, i, net, d)
		for _, s := range stations {
			s.Close()
		}
		i.Close()
	})
}

// later lets the bubble's time go on.
func later(d time.Duration) {
	wait := time.NewTimer(d)
	<-wait.C
}

func begin(t *testing.T, i *classroom.Instructor) {
	t.Helper()
	if err := i.Go(1500 * time.Millisecond); err != nil {
		t.Fatal(err)
	}
}

// A station that comes when all have begun does not begin by itself: the
// instructor sees that it waits, and lets it in. Its run is a late one, and its
// times stand beside nobody's.
func TestALateStationIsLetIn(t *testing.T) {
	drilled(t, func(t *testing.T, i *classroom.Instructor, net *network, d classroom.Drill) {
		bo := i.Rows(false)[1].Station
		net.severOne(bo, true)
		begin(t, i)
		later(20 * time.Second)
		net.severOne(bo, false)
		settle(t, 10*time.Second, "it waits", func() bool { return i.Tally().Outside == 1 })
		later(5 * time.Second)
		if tally := i.Tally(); tally.Flying != 1 || tally.Outside != 1 {
			t.Fatalf("before it is let in: %+v", tally)
		}
		if r, _ := i.Row(bo); r.Need != classroom.NeedLetIn || i.Rows(true)[0].Station != bo {
			t.Errorf("the board says %v of it, and has %v first", r.Need, i.Rows(true)[0].Number)
		}
		if err := i.LetIn(); err != nil {
			t.Fatal(err)
		}
		settle(t, 10*time.Second, "it flies", func() bool { return i.Tally().Flying == 2 && i.Tally().Outside == 0 })
		if r, _ := i.Row(bo); !r.Live.LetIn {
			t.Errorf("the board does not say that it was let in: %+v", r.Live)
		}
		if err := i.LetIn(); err == nil {
			t.Error("nobody waits, and somebody was let in")
		}
		settle(t, 10*time.Minute, "both runs are finished and delivered", func() bool {
			tally := i.Tally()
			return tally.Finished == 2 && tally.Waiting == 0
		})
		all, runs, left, err := i.Report(d.ID)
		if err != nil || left != 0 || len(runs) != 2 || all.Late != 1 {
			t.Fatalf("%d runs, %d left out, %d late, %v", len(runs), left, all.Late, err)
		}
		for _, r := range runs {
			if late := r.Station == bo; late != (r.Late > 0) || late && (r.Late < 20*time.Second || r.Late > 40*time.Second) {
				t.Errorf("station %s began %v late", r.Station, r.Late)
			}
			if r.Late == 0 && all.Best != r.Run {
				t.Errorf("the best example is %s", all.Best)
			}
		}
		if all.Worst != "" {
			t.Errorf("of one run with the others there is a worst, %s", all.Worst)
		}
	})
}

// What came a moment late over a poor network begins by itself.
func TestAMomentLateIsNotLate(t *testing.T) {
	drilled(t, func(t *testing.T, i *classroom.Instructor, net *network, d classroom.Drill) {
		bo := i.Rows(false)[1].Station
		net.severOne(bo, true)
		begin(t, i)
		later(2500 * time.Millisecond)
		net.severOne(bo, false)
		settle(t, 10*time.Second, "both fly", func() bool { return i.Tally().Flying == 2 })
	})
}

// A station that is let in while time stands still stands still too.
func TestLetInDuringAPause(t *testing.T) {
	drilled(t, func(t *testing.T, i *classroom.Instructor, net *network, d classroom.Drill) {
		bo := i.Rows(false)[1].Station
		net.severOne(bo, true)
		begin(t, i)
		later(20 * time.Second)
		if err := i.Pause(true); err != nil {
			t.Fatal(err)
		}
		net.severOne(bo, false)
		settle(t, 10*time.Second, "it waits", func() bool { return i.Tally().Outside == 1 })
		if err := i.LetIn(bo); err != nil {
			t.Fatal(err)
		}
		settle(t, 10*time.Second, "it is paused", func() bool { r, _ := i.Row(bo); return r.Live.Run != "" && r.Live.Paused })
		if err := i.Pause(false); err != nil {
			t.Fatal(err)
		}
		settle(t, 10*time.Second, "it goes on", func() bool { r, _ := i.Row(bo); return !r.Live.Paused && r.Live.At > time.Second })
	})
}

// Between the order and "go" a station says that it is about to begin, and not
// that the drill is under way.
func TestAStationKnowsThatItIsAboutToBegin(t *testing.T) {
	libs := shipped(t)
	synctest.Test(t, func(t *testing.T) {
		dir := t.TempDir()
		i := openClass(t, filepath.Join(dir, "class"), classroom.InstructorOptions{Libraries: libs})
		defer i.Close()
		net := newNetwork()
		net.open(i)
		clock := rehearsal.NewSystem()
		pit := &classroom.Cockpit{Clock: clock, Every: 100 * time.Millisecond, Fail: func(err error) { t.Error(err) }}
		s := join(t, net, filepath.Join(dir, "Ada"), i, classroom.StationOptions{Libraries: libs, Clock: clock, Seat: pit}, "Ada")
		defer s.Close()
		pit.Sit(s)
		if _, err := i.Announce(mild(), classroom.Together); err != nil {
			t.Fatal(err)
		}
		settle(t, 10*time.Second, "it is ready", func() bool { return i.Tally().Ready == 1 })
		if s.Status().Begins {
			t.Error("it is about to begin before anybody said so")
		}
		begin(t, i)
		later(time.Second)
		if st := s.Status(); !st.Begins {
			t.Errorf("half a second before: %+v", st)
		}
		later(time.Second)
		if st := s.Status(); st.Begins || st.State != classroom.Going {
			t.Errorf("half a second after: %+v", st)
		}
	})
}
