package classroom

import (
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/flowfile"
	"kickover/ui/rehearse"
	"kickover/ui/theme"
)

var testMoment = time.Date(2026, 3, 3, 9, 0, 0, 0, time.UTC)

// stand is a stage that notes what was shown last.
type stand struct {
	t     *testing.T
	title string
	back  func() // where Escape leads
}

func (s *stand) Show(title string, c fyne.CanvasObject, _ func(fyne.Window), back func()) {
	s.title, s.back = title, back
	show(s.t, c)
}
func (s *stand) Fly(*rehearse.Screen) { s.title = "flight" }

// screen is a projector's window.
type screen struct {
	t     *testing.T
	on    bool
	shown int
}

func (s *screen) Show(c fyne.CanvasObject) { s.on, s.shown = true, s.shown+1; show(s.t, c) }
func (s *screen) Full(bool)                {}
func (s *screen) Open() bool               { return s.on }
func (s *screen) Close()                   { s.on = false }

// emptyRoom is a network that nobody is on.
type emptyRoom struct{ classroom.Room }

func (emptyRoom) Broadcast([]byte) error                 { return nil }
func (emptyRoom) Send(classroom.StationID, []byte) error { return nil }
func (emptyRoom) Addresses() []string                    { return []string{"192.0.2.7:4477"} }
func (emptyRoom) Close() error                           { return nil }
func (emptyRoom) Fingerprint() (f classroom.Fingerprint) { return f }

// newDesk is an instructor's side in a bubble of testing/synctest: the board that is
// shown five times a second, on a goroutine that the tests' toolkit takes for the
// window's, is shown while the test waits, and not while it does something.
func newDesk(t *testing.T, listen error) (*Desk, *stand, *screen) {
	t.Helper()
	test.NewTempApp(t)
	libs, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	st, sc := &stand{t: t}, &screen{t: t}
	d := NewDesk(DeskOptions{Theme: theme.Dusk, Libraries: libs, Folder: t.TempDir(), Stage: st, Projector: sc,
		Networks: func() []Network { return []Network{{Name: "wlan0", Host: "192.0.2.7"}} },
		Listen: func(classroom.Class, Network, *classroom.Instructor) (classroom.Room, error) {
			return emptyRoom{}, listen
		}})
	d.Start()
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return d, st, sc
}

// A class stays open while its instructor looks elsewhere, and can be opened
// again with its sequence after it was closed.
func TestAClassStaysOpen(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, st, _ := newDesk(t, nil)
		if err := d.open("Tuesday", Network{Host: "192.0.2.7"}); err != nil {
			t.Fatal(err)
		}
		if d.Opened() != "Tuesday" || st.title != "Tuesday" {
			t.Errorf("%q is open, %q is shown", d.Opened(), st.title)
		}
		d.sequence()
		d.Leave()
		d.Start()
		if st.title != "Tuesday" {
			t.Errorf("back at the class, %q is shown", st.title)
		}
		id, plan := d.class.Class().ID, len(d.class.Class().Plan)
		if err := d.Close(); err != nil {
			t.Fatal(err)
		}
		d.Start()
		if d.Opened() != "" || st.title != "Class" || !strings.Contains(d.farewell, "Tuesday is closed") {
			t.Errorf("%q is open, %q is shown, it says %q", d.Opened(), st.title, d.farewell)
		}
		if err := d.reopen(id, Network{Host: "192.0.2.7"}); err != nil || d.Opened() != "Tuesday" {
			t.Fatalf("%q is open again (%v)", d.Opened(), err)
		}
		if n := len(d.class.Class().Plan); n != plan || n == 0 {
			t.Errorf("its sequence has %d, and had %d", n, plan)
		}
	})
}

// A class that could not be opened on its network is not made once more by each
// try.
func TestATryThatFailsLeavesOneClass(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, _, _ := newDesk(t, errors.New("the port is taken"))
		for range 3 {
			if err := d.open("Tuesday", Network{Host: "192.0.2.7"}); err == nil {
				t.Fatal("it opened")
			}
		}
		if n := len(classroom.Classes(d.o.Folder)); n != 1 {
			t.Errorf("%d classes are kept, want 1", n)
		}
		id := classroom.Classes(d.o.Folder)[0].ID
		if err := d.reopen(id, Network{}); !errors.Is(err, errNoNetwork) {
			t.Errorf("without a network it says %v", err)
		}
	})
}

// The room sees how to join until there is a drill, then the board; what the
// desk lent it is given back.
func TestWhatTheRoomSees(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, _, sc := newDesk(t, nil)
		if err := d.open("Tuesday", Network{Host: "192.0.2.7"}); err != nil {
			t.Fatal(err)
		}
		if sc.on {
			t.Error("a window for the room opened by itself")
		}
		d.wall.open()
		if d.wall.showing != "invitation" || !sc.on {
			t.Errorf("before the first drill it shows %q", d.wall.showing)
		}
		s := (&Sequence{o: SequenceOptions{Libraries: d.o.Libraries}}).first(d.o.Libraries[0])
		if err := d.announce(s, classroom.Together); err != nil {
			t.Fatal(err)
		}
		if d.wall.showing != "board" {
			t.Errorf("with a drill it shows %q", d.wall.showing)
		}
		d.debrief(-1)
		if !d.wall.lent {
			t.Error("the debrief is not shown to the room")
		}
		d.signOffs(nil, d.showBoard)
		if d.wall.lent || d.wall.showing != "board" {
			t.Error("the room does not have the board back while names are on the desk")
		}
		sc.Close()
		d.debrief(-1)
		if sc.on {
			t.Error("a window that was closed opened by itself")
		}
	})
}

// What the engine cannot be is refused before any station hears of it.
func TestAnImpossibleDayIsRefused(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, _, _ := newDesk(t, nil)
		if err := d.open("Tuesday", Network{Host: "192.0.2.7"}); err != nil {
			t.Fatal(err)
		}
		s := (&Sequence{o: SequenceOptions{Libraries: d.o.Libraries}}).first(d.o.Libraries[0])
		s.Conditions.OATCelsius = 500
		if err := d.announce(s, classroom.Together); err == nil {
			t.Error("500 °C were announced")
		}
		if _, ok := d.class.Drill(); ok {
			t.Error("there is a drill")
		}
	})
}

// What was called aloud can be looked back at, without any network.
func TestLookingBackAtACallAloud(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, st, _ := newDesk(t, nil)
		var cold *procedure.Flow
		for _, f := range d.o.Libraries[0].Flows {
			if f.Entry {
				cold = f
				break
			}
		}
		c, b, err := classroom.NewClass(d.o.Folder, "Aloud: "+cold.Title, nil, testMoment)
		if err != nil {
			t.Fatal(err)
		}
		a := classroom.NewAloud(cold, 0)
		if err := errors.Join(a.Tap(classroom.Called, 1), b.KeepAloud("x", testMoment, a), b.Close()); err != nil {
			t.Fatal(err)
		}
		if err := d.reopen(c.ID, Network{}); err != nil || st.title != "One machine" || d.Opened() != "" {
			t.Errorf("%q is shown, %q open (%v)", st.title, d.Opened(), err)
		}
	})
}

// A school's own servers are chosen by their file on the first screen: what is
// wrong with it is said there and nothing changes; a good one holds at once, and
// can be left again.
func TestChoosingASchoolsServers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, st, _ := newDesk(t, nil)
		own, used := d.o.Folder, ""
		theirs := t.TempDir()
		d.o.School = func() string { return used }
		d.o.UseSchool = func(file string) (string, error) {
			switch file {
			case "":
				used = ""
				return own, nil
			case "school.json":
				used = file
				return theirs, nil
			}
			return "", errors.New("the school's configuration cannot be read")
		}
		if err := d.useSchool("nowhere.json"); err == nil || d.o.Folder != own {
			t.Errorf("a file that cannot be read leads to %s (%v)", d.o.Folder, err)
		}
		if err := d.useSchool("school.json"); err != nil || d.o.Folder != theirs || st.title != "Class" || !strings.Contains(d.farewell, "on the school's servers") {
			t.Errorf("classes are kept in %s, it says %q (%v)", d.o.Folder, d.farewell, err)
		}
		if err := d.useSchool(""); err != nil || d.o.Folder != own || used != "" {
			t.Errorf("left, classes are kept in %s (%v)", d.o.Folder, err)
		}
	})
}

// The screen offers the file only where it can be used, and shows the one that is.
func TestTheSchoolsFileOnTheScreen(t *testing.T) {
	test.NewTempApp(t)
	tried := ""
	o := OpenOptions{Theme: theme.Dusk, Networks: []Network{{Name: "wlan0", Host: "192.0.2.7"}}, UseSchool: func(file string) error {
		tried = file
		return errors.New("it is no configuration")
	}}
	s := NewOpen(o)
	show(t, s.Content())
	s.school.SetText("school.json")
	if s.useSchool(); tried != "school.json" || s.problem.text != "It is no configuration." {
		t.Errorf("%q was tried, it says %q", tried, s.problem.text)
	}
	o.School = "school.json"
	if s = NewOpen(o); s.school.Text != "school.json" || !s.school.Disabled() {
		t.Errorf("the file that is used is shown as %q", s.school.Text)
	}
}

// A run that is shown again says what it is an example of.
func TestWhatAReplayIsAnExampleOf(t *testing.T) {
	two := classroom.ClassReport{Best: "a", Worst: "b"}
	for _, c := range []struct {
		report classroom.ClassReport
		run    classroom.RunID
		want   string
	}{{two, "a", "the best run"}, {two, "b", "the worst run"}, {classroom.ClassReport{Best: "a"}, "a", "the only run"}} {
		if got := exampleOf(c.report, c.run); got != c.want {
			t.Errorf("%s of %+v is %q, want %q", c.run, c.report, got, c.want)
		}
	}
}

// A port that another program has is told as such, and another is offered in the
// window; the class keeps it, since its stations look for it there.
func TestAnotherPort(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, _, _ := newDesk(t, nil)
		taken := "4477"
		var at []int
		d.o.Listen = func(_ classroom.Class, on Network, _ *classroom.Instructor) (classroom.Room, error) {
			at = append(at, on.Port)
			if on.Port == 0 {
				return nil, &classroom.PortError{Host: on.Host, Port: taken, Taken: true, Free: 4478}
			}
			return emptyRoom{}, nil
		}
		s := NewOpen(OpenOptions{Theme: theme.Dusk, Networks: d.o.Networks(), Called: "Tuesday", Open: d.open, Reopen: d.reopen})
		show(t, s.Content())
		if s.port.Visible() {
			t.Error("a port is asked for before that is needed")
		}
		s.open()
		if !s.port.Visible() || s.port.Text != "4478" || !strings.Contains(s.problem.text, "another program has port 4477") && !strings.Contains(s.problem.text, "Another program has port 4477") || strings.Contains(s.problem.text, "--") {
			t.Fatalf("port %q, it says %q", s.port.Text, s.problem.text)
		}
		s.port.SetText("70000")
		if s.open(); !strings.Contains(s.problem.text, "from 1 to 65535") || len(at) != 1 {
			t.Errorf("with no port it says %q, and tried %v", s.problem.text, at)
		}
		s.port.SetText("4478")
		if s.open(); d.Opened() != "Tuesday" || len(classroom.Classes(d.o.Folder)) != 1 {
			t.Fatalf("%q is open; it says %q", d.Opened(), s.problem.text)
		}
		id := d.class.Class().ID
		if err := d.Close(); err != nil {
			t.Fatal(err)
		}
		if err := d.reopen(id, Network{Host: "192.0.2.7"}); err != nil || at[len(at)-1] != 4478 {
			t.Errorf("it was opened again at %v, %v", at, err)
		}
	})
}

// A class that is opened again goes where its stations look for it, unless another
// network was chosen for it, or its own is gone.
func TestAClassGoesBackToItsNetwork(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, _, _ := newDesk(t, nil)
		networks := []Network{{Name: "eth0", Host: "192.0.2.7"}, {Name: "wlan0", Host: "198.51.100.7"}}
		d.o.Networks = func() []Network { return networks }
		var on string
		d.o.Listen = func(_ classroom.Class, n Network, _ *classroom.Instructor) (classroom.Room, error) {
			on = n.Host
			return emptyRoom{}, nil
		}
		if err := d.open("Tuesday", networks[1]); err != nil {
			t.Fatal(err)
		}
		id := d.class.Class().ID
		again := func(n Network) string {
			t.Helper()
			if err := d.Close(); err != nil {
				t.Fatal(err)
			}
			if err := d.reopen(id, n); err != nil {
				t.Fatal(err)
			}
			return on
		}
		if got := again(networks[0]); got != "198.51.100.7" {
			t.Errorf("with the first that stands there it is opened on %s", got)
		}
		chosen := networks[0]
		chosen.Chosen = true
		if got := again(chosen); got != "192.0.2.7" {
			t.Errorf("where another was chosen it is opened on %s", got)
		}
		networks = networks[1:]
		if got := again(networks[0]); got != "198.51.100.7" {
			t.Errorf("when its own is gone it is opened on %s", got)
		}
	})
}
