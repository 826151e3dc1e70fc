package classroom_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/classroom/simulated"
	"kickover/procedure/powerplant"
	"kickover/procedure/record"
	"kickover/procedure/rehearsal"
)

// offClock is a clock that is wrong, as a laptop's may be.
type offClock struct {
	rehearsal.System
	by time.Duration
}

func (c offClock) Now() time.Duration { return c.System.Now() + c.by }

var cold = classroom.Situation{
	Title: "A weak battery on a cold morning", Aircraft: "brindle-180", Flow: "cold", Phase: procedure.Demonstrate,
	Conditions: rehearsal.Conditions{OATCelsius: -7.25, SinceShutdown: 13 * time.Hour}, Hidden: true,
	Faults: []powerplant.Fault{powerplant.FaultWeakBattery},
}

// openClass opens a class in a folder with nothing in it.
func openClass(t testing.TB, folder string, o classroom.InstructorOptions) *classroom.Instructor {
	t.Helper()
	c, b, err := classroom.NewClass(folder, "Tuesday, first hour", []classroom.Situation{cold}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	i, err := classroom.NewInstructor(c, b, o)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

// reopen takes up a class whose program was ended.
func reopen(t testing.TB, folder, id string, o classroom.InstructorOptions) *classroom.Instructor {
	t.Helper()
	c, b, err := classroom.Reopen(folder, id)
	if err != nil {
		t.Fatal(err)
	}
	i, err := classroom.NewInstructor(c, b, o)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

// settle lets the class go on until a condition holds, in the bubble's time.
func settle(t testing.TB, most time.Duration, what string, ok func() bool) {
	t.Helper()
	for begun := time.Now(); !ok(); {
		if time.Since(begun) > most {
			t.Fatalf("after %v still not: %s", most, what)
		}
		tick := time.NewTimer(100 * time.Millisecond)
		<-tick.C
	}
}

// A class of three with clocks an hour apart flies one drill together in real
// rehearsals: everyone begins at the same moment, everything arrives, is filed
// in the records, and can be debriefed.
func TestAClassFliesTogether(t *testing.T) {
	libs := shipped(t)
	synctest.Test(t, func(t *testing.T) {
		dir := t.TempDir()
		records, err := record.Open(filepath.Join(dir, "records.db"))
		if err != nil {
			t.Fatal(err)
		}
		defer records.Close()
		i := openClass(t, filepath.Join(dir, "class"), classroom.InstructorOptions{Libraries: libs, Records: records})
		net := newNetwork()
		net.open(i)

		var mu sync.Mutex
		var began []time.Time
		var stations []*classroom.Station
		for k, name := range []string{"Ada", "Bo", "3"} {
			clock := offClock{rehearsal.NewSystem(), time.Duration(k-1) * time.Hour}
			pit := &classroom.Cockpit{Clock: clock, Every: 100 * time.Millisecond, Fail: func(err error) { t.Error(err) }}
			noted := false
			pit.Publish = func(s *rehearsal.Snapshot) {
				if !noted {
					noted = true
					mu.Lock()
					began = append(began, time.Now())
					mu.Unlock()
				}
			}
			s := join(t, net, filepath.Join(dir, name), i, classroom.StationOptions{Libraries: libs, Clock: clock, Seat: pit}, name)
			pit.Sit(s)
			stations = append(stations, s)
		}
		settle(t, 10*time.Second, "three stations are here", func() bool { return i.Tally().Here == 3 })
		// One that starts in spite of its fault, so that the demonstration ends.
		mild := cold
		mild.Conditions.OATCelsius, mild.Faults = 10, []powerplant.Fault{powerplant.FaultRightMagneto}
		d, err := i.Announce(mild, classroom.Together)
		if err != nil {
			t.Fatal(err)
		}
		settle(t, 10*time.Second, "three stations are ready", func() bool { return i.Tally().Ready == 3 })
		at := time.Now().Add(1500 * time.Millisecond)
		if err := i.Go(1500 * time.Millisecond); err != nil {
			t.Fatal(err)
		}
		settle(t, 10*time.Minute, "three runs are finished and delivered", func() bool {
			tally := i.Tally()
			return tally.Finished == 3 && tally.Waiting == 0
		})
		for _, b := range began {
			if off := b.Sub(at).Abs(); off > time.Millisecond {
				t.Errorf("a station began %v off", off)
			}
		}
		if len(began) != 3 {
			t.Errorf("%d stations began", len(began))
		}
		all, runs, left, err := i.Report(d.ID)
		if err != nil || left != 0 || len(runs) != 3 {
			t.Fatalf("report: %d runs, %d left out, %v", len(runs), left, err)
		}
		if all.Runs != 3 || all.Best == "" || all.Worst == "" || len(all.Steps) == 0 {
			t.Errorf("%+v", all)
		}
		// All met the same engine: the same seed and the same acts.
		if a, b := runs[0].Report, runs[1].Report; a.Outcome != b.Outcome || len(a.Steps) != len(b.Steps) || a.Outcome == procedure.Running {
			t.Errorf("the same drill came to %q and %q", a.Outcome, b.Outcome)
		}
		for _, s := range stations {
			if w := s.Status().Waiting; w != 0 {
				t.Errorf("%d events wait", w)
			}
			s.Close()
		}
		if err := i.Close(); err != nil {
			t.Error(err)
		}
		list, err := records.Runs(record.Filter{}, record.Page{})
		if err != nil || len(list) != 3 {
			t.Fatalf("%d runs in the records, %v", len(list), err)
		}
		for _, l := range list {
			if !l.Finished || len(l.Header.Faults) != 1 || l.Header.Faults[0] != string(powerplant.FaultRightMagneto) || !l.Header.Conditions.Hidden {
				t.Errorf("filed as %+v", l.Header)
			}
			_, events, err := records.Run(l.Header.ID)
			if err != nil || len(events) < 50 || events[0].Kind != procedure.EventFault || events[0].Subject != string(powerplant.FaultRightMagneto) {
				t.Errorf("%d events, first %+v, %v", len(events), events[:1], err)
			}
		}
	})
}

// Everything that stations are sent, everything they send, and everything they
// keep is read, for a class with faults and hidden conditions in the drill and
// more ordered in the middle: none of it can be read anywhere.
func TestNothingAStationReceivesTellsOfFaults(t *testing.T) {
	libs := shipped(t)
	synctest.Test(t, func(t *testing.T) {
		dir := t.TempDir()
		i := openClass(t, filepath.Join(dir, "class"), classroom.InstructorOptions{Libraries: libs})
		net := newNetwork()
		net.open(i)
		var stations []*classroom.Station
		var pits []*classroom.Cockpit
		for _, name := range []string{"a", "b"} {
			clock := rehearsal.NewSystem()
			pit := &classroom.Cockpit{Clock: clock, Fail: func(err error) { t.Error(err) }}
			s := join(t, net, filepath.Join(dir, "station-"+name), i, classroom.StationOptions{Libraries: libs, Clock: clock, Seat: pit}, name)
			pit.Sit(s)
			stations, pits = append(stations, s), append(pits, pit)
		}
		settle(t, 10*time.Second, "two are here", func() bool { return i.Tally().Here == 2 })
		drill := cold
		drill.Phase = procedure.Evaluate
		drill.Faults = []powerplant.Fault{powerplant.FaultFlooded, powerplant.FaultImpulse}
		if _, err := i.Announce(drill, classroom.Together); err != nil {
			t.Fatal(err)
		}
		settle(t, 10*time.Second, "two are ready", func() bool { return i.Tally().Ready == 2 })
		if err := i.Go(time.Second); err != nil {
			t.Fatal(err)
		}
		settle(t, 10*time.Second, "two fly", func() bool { return i.Tally().Flying == 2 })
		var injected []powerplant.Fault
		for _, f := range powerplant.Faults() {
			if err := i.Order(classroom.Order{Kind: classroom.OrderFault, Fault: f.Fault}); err != nil {
				t.Fatal(err)
			}
			injected = append(injected, f.Fault)
		}
		if err := i.Order(classroom.Order{Kind: classroom.OrderWalk, Sector: procedure.LookLeft, Text: "a refueller walks in"}); err != nil {
			t.Fatal(err)
		}
		settle(t, time.Minute, "all orders were carried out", func() bool {
			for _, r := range i.Rows(false) {
				if r.Live.Orders != len(injected)+1 || r.Live.Waiting > 0 {
					return false
				}
			}
			return true
		})

		var kept []byte
		err := filepath.Walk(filepath.Join(dir), func(path string, info os.FileInfo, err error) error {
			if err != nil || info.IsDir() || !strings.Contains(path, "station-") {
				return err
			}
			text, err := os.ReadFile(path)
			kept = append(kept, text...)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		net.mu.Lock()
		received, sent := bytes.Clone(net.received), bytes.Clone(net.sent)
		net.mu.Unlock()
		if len(received) < 10_000 || len(sent) < 1000 || len(kept) < 500 {
			t.Fatalf("read %d received, %d sent and %d kept bytes: too few to mean anything", len(received), len(sent), len(kept))
		}
		var secrets []string
		for _, f := range powerplant.Faults() {
			secrets = append(secrets, string(f.Fault), f.Name, f.Signs, f.WayOut)
		}
		secrets = append(secrets, drill.Title, "-7.25", "OATCelsius", "refueller", string(classroom.OrderFault)+`"`)
		for where, text := range map[string][]byte{"received": received, "sent": sent, "kept on its disk": kept} {
			for _, s := range secrets {
				if where != "received" && s == string(classroom.OrderFault)+`"` || where != "received" && s == "refueller" {
					continue // that something was ordered is in the run itself; what, is not
				}
				if bytes.Contains(bytes.ToLower(text), bytes.ToLower([]byte(s))) {
					t.Errorf("what stations %s tells of %q", where, s)
				}
			}
		}
		// The instructor's store has their names.
		runs, err := i.Book().Runs("")
		if err != nil || len(runs) != 2 {
			t.Fatal(len(runs), err)
		}
		events, err := i.Book().Events(runs[0].Run)
		if err != nil {
			t.Fatal(err)
		}
		var faults []powerplant.Fault
		for _, e := range events {
			if e.Kind == procedure.EventFault {
				faults = append(faults, powerplant.Fault(e.Subject))
			}
		}
		if want := append(drill.Faults, injected...); !equal(faults, want) {
			t.Errorf("the store has %v, want %v", faults, want)
		}
		for _, s := range stations {
			s.Close()
		}
		for _, p := range pits {
			if l := p.Live(); l != nil {
				<-l.Done()
			}
		}
		if err := i.Close(); err != nil {
			t.Error(err)
		}
	})
}

func equal[T comparable](a, b []T) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// The length of what a station receives tells nothing either: a drill with
// faults and one without are announced in as many bytes, and so are a fault, a
// pause and a line.
func TestLengthsTellNothing(t *testing.T) {
	libs := shipped(t)
	lengths := func(s classroom.Situation, o classroom.Order) (drill, order int) {
		synctest.Test(t, func(t *testing.T) {
			dir := t.TempDir()
			i := openClass(t, filepath.Join(dir, "class"), classroom.InstructorOptions{Libraries: libs})
			net := newNetwork()
			net.open(i)
			seat := &simulated.Seat{Stop: t.Context(), Lives: time.Minute}
			st := join(t, net, filepath.Join(dir, "a"), i, classroom.StationOptions{Libraries: libs, Seat: seat}, "a")
			seat.Sit(st)
			settle(t, 10*time.Second, "it is here", func() bool { return i.Tally().Here == 1 })
			synctest.Wait()
			longest := func(f func() error) int {
				net.mu.Lock()
				net.received = nil
				net.mu.Unlock()
				if err := f(); err != nil {
					t.Fatal(err)
				}
				synctest.Wait()
				net.mu.Lock()
				defer net.mu.Unlock()
				n := 0
				for l := range bytes.Lines(net.received) {
					n = max(n, len(l))
				}
				return n
			}
			drill = longest(func() error { _, err := i.Announce(s, classroom.OwnPace); return err })
			if err := i.Go(0); err != nil {
				t.Fatal(err)
			}
			settle(t, 10*time.Second, "it flies", func() bool { st.Begin(); return i.Tally().Flying == 1 })
			order = longest(func() error { return i.Order(o) })
			st.Close()
			i.Close()
		})
		return drill, order
	}
	plain := cold
	plain.Faults, plain.Conditions = nil, rehearsal.Conditions{}
	d1, o1 := lengths(cold, classroom.Order{Kind: classroom.OrderFault, Fault: powerplant.FaultSulphated})
	d2, o2 := lengths(plain, classroom.Order{Kind: classroom.OrderSay, Text: strings.Repeat("long ", 60)})
	if d1 != d2 {
		t.Errorf("a drill with a fault takes %d bytes, one without %d", d1, d2)
	}
	if o1 != o2 {
		t.Errorf("a fault takes %d bytes, a line %d", o1, o2)
	}
	if d1 < 1000 || o1 < 1000 {
		t.Errorf("too short to mean anything: %d, %d", d1, o1)
	}
}

// A dozen stations burst on a network that loses a third of everything, brings
// some of it twice, is cut for half a minute, and an instructor's program that
// is ended and started again: every event arrives once, in order, to the bit.
func TestNothingIsLostOrDoubled(t *testing.T) {
	libs := shipped(t)
	synctest.Test(t, func(t *testing.T) {
		dir := t.TempDir()
		folder := filepath.Join(dir, "class")
		i := openClass(t, folder, classroom.InstructorOptions{Libraries: libs})
		id := i.Class().ID
		net := newNetwork()
		net.lose, net.twice = 0.33, 0.2
		net.open(i)
		const many, events = 12, 300
		ctx, stop := context.WithCancel(t.Context())
		defer stop()
		var stations []*classroom.Station
		var seats []*simulated.Seat
		for range many {
			seat := &simulated.Seat{Events: events, Every: 100 * time.Millisecond, Stop: ctx}
			s := join(t, net, filepath.Join(t.TempDir()), i, classroom.StationOptions{Libraries: libs, Seat: seat}, "")
			seat.Sit(s)
			stations, seats = append(stations, s), append(seats, seat)
		}
		settle(t, time.Minute, "all are here", func() bool { return i.Tally().Here == many })
		d, err := i.Announce(cold, classroom.Together)
		if err != nil {
			t.Fatal(err)
		}
		settle(t, time.Minute, "all are ready", func() bool { return i.Tally().Ready == many })
		if err := i.Go(time.Second); err != nil {
			t.Fatal(err)
		}
		settle(t, time.Minute, "some has arrived", func() bool {
			_ = i.LetIn() // those for whom "go" was lost again and again; mostly there is nobody
			return i.Tally().Flying == many
		})
		net.sever(true)
		away := time.NewTimer(30 * time.Second)
		<-away.C
		net.sever(false)
		settle(t, time.Minute, "they are back", func() bool { return i.Tally().Here == many })
		net.gone()
		i.Book().Close() // the program ends without a word
		i = reopen(t, folder, id, classroom.InstructorOptions{Libraries: libs})
		net.open(i)
		if now, ok := i.Drill(); !ok || now.ID != d.ID || now.State != classroom.Going {
			t.Fatalf("the class was taken up with %+v", now)
		}
		settle(t, 10*time.Minute, "everything was delivered", func() bool {
			for _, s := range stations {
				if s.Status().Waiting > 0 {
					return false
				}
			}
			return true
		})
		runs, err := i.Book().Runs(d.ID)
		if err != nil || len(runs) != many {
			t.Fatalf("%d runs, %v", len(runs), err)
		}
		for _, r := range runs {
			got, err := i.Book().Events(r.Run)
			if err != nil || !r.Ended || !simulated.Same(got, simulated.Events(r.Run, events)) {
				t.Errorf("run of %s: %d of %d events, ended %v, %v", r.Station, len(got), events, r.Ended, err)
			}
		}
		stop()
		for k, s := range stations {
			seats[k].Wait()
			s.Close()
		}
		if err := i.Close(); err != nil {
			t.Error(err)
		}
	})
}

// A station's program that is killed in the middle of a run delivers what its
// disk has when it is started again, without a code.
func TestAStationThatWasKilledDelivers(t *testing.T) {
	libs := shipped(t)
	synctest.Test(t, func(t *testing.T) {
		dir := t.TempDir()
		i := openClass(t, filepath.Join(dir, "class"), classroom.InstructorOptions{Libraries: libs})
		net := newNetwork()
		net.open(i)
		folder := filepath.Join(dir, "station")
		ctx, stop := context.WithCancel(t.Context())
		defer stop()
		seat := &simulated.Seat{Events: 1000, Every: 50 * time.Millisecond, Stop: ctx}
		s := join(t, net, folder, i, classroom.StationOptions{Libraries: libs, Seat: seat}, "Ada")
		seat.Sit(s)
		settle(t, time.Minute, "it is here", func() bool { return i.Tally().Here == 1 })
		letBegin(t, i, s)
		s.Begin()
		net.sever(true) // so that nothing of the run is delivered
		settle(t, time.Minute, "some of the run is on its disk", func() bool { return s.Status().Waiting > 100 })

		// What a kill leaves: the folder as it is now, with half a line at its end.
		killed := filepath.Join(dir, "killed")
		if err := os.CopyFS(killed, os.DirFS(folder)); err != nil {
			t.Fatal(err)
		}
		names, _ := filepath.Glob(filepath.Join(killed, "*", "runs", "*.run"))
		if len(names) != 1 {
			t.Fatalf("%d runs on the disk", len(names))
		}
		f, err := os.OpenFile(names[0], os.O_APPEND|os.O_WRONLY, 0)
		if err != nil {
			t.Fatal(err)
		}
		f.WriteString("0123abcd {\"event\":{\"n\":")
		f.Close()
		stop()
		seat.Wait()
		s.Close()

		net.sever(false)
		net.code = "" // it was here before
		ids := classroom.Identities(killed)
		if len(ids) != 1 || ids[0].Name != "Ada" {
			t.Fatalf("%+v", ids)
		}
		s, err = classroom.Join(ids[0], classroom.StationOptions{Libraries: libs, Seat: &simulated.Seat{Stop: t.Context()}}, net.dial)
		if err != nil {
			t.Fatal(err)
		}
		if n := s.Logbook().Notices(); len(n) != 1 {
			t.Errorf("it says %q of the line that was cut short", n)
		}
		settle(t, time.Minute, "it has delivered", func() bool { return s.Status().Connected && s.Status().Waiting == 0 })
		runs, err := i.Book().Runs("")
		if err != nil || len(runs) != 1 || !runs[0].Ended || runs[0].Events < 100 {
			t.Fatalf("%+v, %v", runs, err)
		}
		got, err := i.Book().Events(runs[0].Run)
		if err != nil || !simulated.Same(got, simulated.Events(runs[0].Run, len(got))) {
			t.Errorf("%d events, %v", len(got), err)
		}
		s.Close()
		i.Close()
	})
}

// letBegin announces a drill at each one's own pace and waits until a station may
// begin it.
func letBegin(t *testing.T, i *classroom.Instructor, s *classroom.Station) {
	t.Helper()
	if _, err := i.Announce(cold, classroom.OwnPace); err != nil {
		t.Fatal(err)
	}
	if err := i.Go(0); err != nil {
		t.Fatal(err)
	}
	settle(t, time.Minute, "it may begin", func() bool { return s.Status().MayBegin })
}
