package classroom

import (
	"errors"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/flowfile"
	"kickover/procedure/powerplant"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// room is a class as a board sees it.
type room struct {
	rows  []classroom.Row
	drill *classroom.Drill
	door  classroom.Door
	told  classroom.Told
}

func (r *room) Class() classroom.Class    { return classroom.Class{Name: "Tuesday"} }
func (r *room) Rows(bool) []classroom.Row { return r.rows }
func (r *room) Tally() classroom.Tally {
	t := classroom.Tally{Here: len(r.rows)}
	for _, x := range r.rows {
		if x.Need == classroom.NeedLetIn {
			t.Outside++
		}
	}
	return t
}
func (r *room) Door() classroom.Door {
	d := r.door
	d.Code = classroom.JoinCode{Digits: "482913", Words: [3]string{"abandon", "ability", "able"}}
	return d
}
func (r *room) Addresses() []string { return []string{"192.0.2.7:4477"} }
func (r *room) Notices() []string   { return []string{"Station 3 was cut off."} }
func (r *room) Told() (classroom.Told, bool) {
	return r.told, len(r.told.Have)+len(r.told.Not)+len(r.told.Away) > 0
}
func (r *room) Drill() (classroom.Drill, bool) {
	if r.drill == nil {
		return classroom.Drill{}, false
	}
	return *r.drill, true
}

func show(t *testing.T, c fyne.CanvasObject) {
	t.Helper()
	w := test.NewTempWindow(t, c)
	w.SetPadded(false)
	w.Resize(fyne.NewSize(1280, 800))
}

func thirty() *room {
	r := &room{}
	for n := range 30 {
		r.rows = append(r.rows, classroom.Row{Station: classroom.StationID(strings.Repeat("A", n+1)), Number: n + 1, Name: "Ada", Here: true})
	}
	return r
}

// A tile that is pressed opens the station that it shows, also after the order
// has changed.
func TestATileOpensItsStation(t *testing.T) {
	test.NewTempApp(t)
	r := thirty()
	var opened classroom.StationID
	b := NewBoard(BoardOptions{Theme: theme.Dusk, Class: r, FlowTitle: func(classroom.Situation) string { return "Cold start" }, Open: func(s classroom.StationID) { opened = s }})
	show(t, b.Content())
	b.Refresh()
	w, _ := b.board.Units(fyne.NewPos(1000, 0))
	for _, i := range []int{0, 7, 29} {
		a := b.tiles[i].Area
		// In the middle of the tile, on whatever is on top there.
		at := fyne.NewPos(float32((a.X+a.W/2)*1000/w), float32((a.Y+a.H/2)*1000/w))
		test.TapCanvas(fyne.CurrentApp().Driver().CanvasForObject(b.sheet), at)
		if opened != r.rows[i].Station {
			t.Errorf("tile %d opened %q", i, opened)
		}
	}
	r.rows[0], r.rows[29] = r.rows[29], r.rows[0]
	b.Refresh()
	a := b.tiles[0].Area
	b.tapped(a.X+5, a.Y+5)
	if opened != r.rows[0].Station {
		t.Errorf("after another order the first tile opened %q", opened)
	}
}

// The keyboard goes over the tiles with the arrows, stays with its station when
// the order changes, and opens it with Enter.
func TestTilesByKeys(t *testing.T) {
	test.NewTempApp(t)
	r := thirty()
	for range 30 {
		n := len(r.rows)
		r.rows = append(r.rows, classroom.Row{Station: classroom.StationID(strings.Repeat("B", n)), Number: n + 1, Here: true})
	}
	var opened classroom.StationID
	b := NewBoard(BoardOptions{Theme: theme.Dusk, Class: r, FlowTitle: func(classroom.Situation) string { return "" }, Open: func(s classroom.StationID) { opened = s }})
	show(t, b.Content())
	b.Refresh()
	key := func(names ...fyne.KeyName) {
		for _, n := range names {
			b.keys.TypedKey(&fyne.KeyEvent{Name: n})
		}
	}
	b.keys.FocusGained()
	key(fyne.KeyReturn)
	if opened != r.rows[0].Station {
		t.Errorf("Enter on the first opened %q", opened)
	}
	key(fyne.KeyRight, fyne.KeyDown, fyne.KeyUp, fyne.KeyLeft, fyne.KeyLeft, fyne.KeyUp, fyne.KeyRight, fyne.KeyDown, fyne.KeyReturn)
	want := r.rows[1+b.columns].Station
	if opened != want {
		t.Errorf("right and down of the first opened %q, want %q", opened, want)
	}
	r.rows[0], r.rows[1+b.columns] = r.rows[1+b.columns], r.rows[0]
	b.Refresh()
	if key(fyne.KeySpace); opened != want {
		t.Errorf("after another order it opened %q, want %q", opened, want)
	}
	for range 6 {
		key(fyne.KeyDown)
	}
	if key(fyne.KeyReturn); b.page != 1 || opened != r.rows[48].Station {
		t.Errorf("below the last row is page %d, and it opened %q", b.page, opened)
	}
	if b.keys.FocusLost(); b.keyed {
		t.Error("the keyboard is elsewhere, and a tile says that it is there")
	}
}

// While somebody waits to be let into a drill, the button of "go" does that.
func TestLettingInFromTheBoard(t *testing.T) {
	test.NewTempApp(t)
	r := thirty()
	r.drill = &classroom.Drill{State: classroom.Going, Mode: classroom.Together}
	let := 0
	b := NewBoard(BoardOptions{Theme: theme.Dusk, Class: r, FlowTitle: func(classroom.Situation) string { return "" },
		Go: func() { t.Error("go was given again") }, LetIn: func() { let++ }})
	show(t, b.Content())
	b.Refresh()
	test.Tap(b.begin)
	r.rows[3].Need, r.rows[3].Live.Waits = classroom.NeedLetIn, true
	b.Refresh()
	if b.bar.begin != "Let 1 in" || wordFor(r.rows[3]) != "waits to begin" {
		t.Errorf("the button says %q, the tile %q", b.bar.begin, wordFor(r.rows[3]))
	}
	if test.Tap(b.begin); let != 1 {
		t.Errorf("let in %d times, want once", let)
	}
}

// What a projector shows has no name on it, and no sentence for the instructor.
func TestTheProjectorShowsNoNames(t *testing.T) {
	test.NewTempApp(t)
	r := thirty()
	b := NewBoard(BoardOptions{Theme: theme.Dusk, Class: r, Public: true, FlowTitle: func(classroom.Situation) string { return "" }})
	if len(b.left)+len(b.right) != 0 {
		t.Error("it has buttons")
	}
	if h := b.headNow(); h.notice != "" || h.code != "482 913 abandon ability able" || h.address != "192.0.2.7:4477" {
		t.Errorf("%+v", h)
	}
	if s := tileOf(r.rows[0], true); s.name != "" {
		t.Errorf("%+v", s)
	}
	if s := tileOf(r.rows[0], false); s.name != "Ada" {
		t.Errorf("%+v", s)
	}
}

func TestWhatATileSays(t *testing.T) {
	s := tileOf(classroom.Row{Number: 4, Here: true, Need: classroom.NeedUnsafe, Live: classroom.Live{Run: "r", Step: 4, Steps: 18, Title: "Crank",
		Overdue: 2700 * time.Millisecond, Prime: 4250 * time.Millisecond, Tries: 2, Unsafe: 1, Breach: procedure.BreachBrakesOff, Engine: "cranking"}}, true)
	if s.step != "5/18" || s.late != "+2 s" || s.prime != "prime 4.2 s" || s.tries != "attempt 2" || s.unsafe != string(procedure.BreachBrakesOff) || s.word != "cranking" {
		t.Errorf("%+v", s)
	}
}

// A run that the instructor ended did not come to its last step.
func TestATileOfARunThatWasEnded(t *testing.T) {
	s := tileOf(classroom.Row{Number: 4, Here: true, Need: classroom.NeedSlow, Live: classroom.Live{Run: "r", Step: 18, Steps: 18, Done: true, Outcome: procedure.Abandoned}}, true)
	if s.step != "" || s.share != 0 || s.word != "broken off" {
		t.Errorf("%+v", s)
	}
}

// Every shape of class has room for all its tiles inside the board.
func TestTilesFit(t *testing.T) {
	for n := range tilesAtMost + 1 {
		if c, r := shape(n); c*r < n {
			t.Errorf("%d stations on %d by %d", n, c, r)
		}
	}
}

// The student is told at once what is wrong with what was typed, and what was
// typed stays.
func TestJoinSaysWhatIsWrong(t *testing.T) {
	test.NewTempApp(t)
	calls := 0
	j := NewJoin(JoinOptions{Theme: theme.Dusk, Join: func(string, classroom.JoinCode, string) error {
		calls++
		return errors.New("this folder cannot be written")
	}})
	show(t, j.Content())
	j.join()
	if j.problem.text != sentence(errNoAddress.Error()) {
		t.Errorf("%q", j.problem.text)
	}
	j.address.SetText("192.0.2.7:4477")
	j.code.SetText("482913 abandon")
	j.join()
	if j.problem.text != sentence(classroom.ErrJoinCode.Error()) || calls != 0 || j.code.Text != "482913 abandon" {
		t.Errorf("%q, %d calls", j.problem.text, calls)
	}
	j.code.SetText("482913 aban abil able")
	j.join()
	if j.problem.text != "This folder cannot be written." || calls != 1 {
		t.Errorf("%q, %d calls", j.problem.text, calls)
	}
}

// A flow to be called aloud is taken by keys alone.
func TestAFlowIsPickedByKeys(t *testing.T) {
	test.NewTempApp(t)
	var taken *procedure.Flow
	flow := &procedure.Flow{ID: "cold", Title: "Cold start", Entry: true}
	content, focus := newPick(theme.Dusk, units.Units{}, []*procedure.Library{{Aircraft: &procedure.Aircraft{}, Flows: []*procedure.Flow{flow}}}, func(f *procedure.Flow) { taken = f }, func() {})
	w := test.NewTempWindow(t, content)
	focus(w)
	on := w.Canvas().Focused()
	if on == nil {
		t.Fatal("the keyboard is nowhere")
	}
	if on.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn}); taken != flow {
		t.Errorf("Return takes %v", taken)
	}
}

// A class that gave no place cannot be gone back to: only one that did is offered.
func TestTheWayBackToAClass(t *testing.T) {
	test.NewTempApp(t)
	folder := t.TempDir()
	code, err := classroom.ParseJoinCode("482913 aban abil able")
	if err != nil {
		t.Fatal(err)
	}
	id, err := classroom.IdentityFor(folder, code, "192.0.2.7:4477", "Imke", testMoment)
	if err != nil {
		t.Fatal(err)
	}
	if !neverIn(id) {
		t.Error("a place that was only asked for is a way back")
	}
	if id.Class = "Tuesday"; neverIn(id) {
		t.Error("a class that gave a place is no way back")
	}
}

// A class that was heard of fills in its address and nothing else: the code still
// has to be typed.
func TestAClassThatWasHeardOf(t *testing.T) {
	test.NewTempApp(t)
	j := NewJoin(JoinOptions{Theme: theme.Dusk})
	show(t, j.Content())
	j.offer(nil)
	if j.heard.Visible() {
		t.Error("nothing was heard of, and it has a heading")
	}
	j.offer([]Nearby{{"Tuesday", "192.0.2.7:4477"}, {"Wednesday", "192.0.2.8:4477"}})
	j.found.Objects[1].(*control.Row).Tapped(nil)
	if j.address.Text != "192.0.2.8:4477" || j.code.Text != "" || !j.heard.Visible() {
		t.Errorf("address %q, code %q", j.address.Text, j.code.Text)
	}
}

// With one machine the step stays hidden until it is asked for, so that the
// class has to know it.
func TestAloudHidesTheStep(t *testing.T) {
	test.NewTempApp(t)
	now := time.Duration(0)
	f := &procedure.Flow{Title: "Cold start", Steps: []procedure.Step{{ID: "a", Title: "Brakes held"}, {ID: "b", Title: "Battery on"}}}
	kept := 0
	a := NewAloud(AloudOptions{Theme: theme.Dusk, Flow: f, Now: func() time.Duration { now += time.Second; return now }, Keep: func(*classroom.Aloud) { kept++ }})
	show(t, a.Content())
	if a.step.Text != "?" {
		t.Errorf("it shows %q", a.step.Text)
	}
	a.reveal.Tapped(nil)
	if a.step.Text != "Brakes held" {
		t.Errorf("it shows %q", a.step.Text)
	}
	a.taps[0].Tapped(nil)
	a.taps[2].Tapped(nil)
	if a.hint.Text != "Noted: 1 wrong. The class calls this step again." {
		t.Errorf("after a wrong call it says %q", a.hint.Text)
	}
	a.taps[1].Tapped(nil)
	if a.step.Text != "All called" || a.hint.Text != "1 called at once, 0 slowly, 1 wrong first." || kept != 3 {
		t.Errorf("%q, %q, %d kept", a.step.Text, a.hint.Text, kept)
	}
}

// A position that is shorter than the aeroplane, or from a drill with another
// flow, is shown as far as it goes.
func TestSnapshotOfAPoorPosition(t *testing.T) {
	lib := &procedure.Library{Aircraft: &procedure.Aircraft{Controls: []procedure.Control{{ID: "x", Kind: procedure.Lever, Travel: 80}, {ID: "y", Kind: procedure.Lever, Travel: 1}}, Instruments: []procedure.Instrument{{ID: "i"}}},
		Flows: []*procedure.Flow{{ID: "cold", Steps: []procedure.Step{{ID: "a"}}}}}
	n := snapshot(lib, classroom.Drill{Situation: classroom.Situation{Flow: "cold"}}, classroom.Live{Step: 9, Steps: 12})
	if n.Present != 1 || len(n.Positions) != 2 || len(n.Readings) != 1 {
		t.Errorf("%+v", n)
	}
}

// The keyboard is on what whoever is there came for: without a network on what
// works all the same, and for a student on joining.
func TestReturnOnTheWayIntoAClass(t *testing.T) {
	test.NewTempApp(t)
	led := ""
	aloud, join := func() { led += "one machine" }, func() { led += "joining" }
	for _, c := range []struct {
		o    OpenOptions
		want string
	}{
		{OpenOptions{Aloud: aloud, Join: join}, "one machine"},
		{OpenOptions{Aloud: aloud, Join: join, Student: true}, "joining"},
		{OpenOptions{Aloud: aloud, Join: join, Student: true, Networks: []Network{{Name: "lo", Host: "127.0.0.1"}}}, "joining"},
	} {
		led, c.o.Theme = "", theme.Dusk
		s := NewOpen(c.o)
		w := test.NewTempWindow(t, s.Content())
		s.Focus(w)
		on := w.Canvas().Focused()
		if on == nil {
			t.Fatal("the keyboard is nowhere")
		}
		if on.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn}); led != c.want {
			t.Errorf("Return leads to %q, want %q", led, c.want)
		}
	}
}

// The board says who has what was ordered without saying what: the class may see it.
// Where it was ordered it is named.
func TestWhoHasItInWords(t *testing.T) {
	test.NewTempApp(t)
	fault := classroom.Order{Kind: classroom.OrderFault, Fault: powerplant.FaultWeakBattery}
	walk := classroom.Order{Kind: classroom.OrderWalk, Sector: procedure.LookLeft, Text: "a refueller walks in"}
	for _, c := range []struct {
		told classroom.Told
		open bool
		want string
	}{
		{classroom.Told{Order: fault, Have: []int{1, 2, 3}}, false, "Your order: 3 of 3 stations have it"},
		{classroom.Told{Order: fault, Have: []int{1, 2}, Not: []int{3}}, true, "Weak battery: 2 of 3 stations have it, not yet 3"},
		{classroom.Told{Order: walk, Have: []int{4}}, true, "Left: a refueller walks in: station 4 has it"},
		{classroom.Told{Order: walk, Not: []int{4}}, false, "Your order: station 4 does not have it yet"},
		{classroom.Told{Order: classroom.Order{Kind: classroom.OrderPause}, Have: []int{1, 2}, Away: []int{3, 4, 5, 6, 7, 8, 9, 10}}, false,
			"Pause: 2 of 2 stations have it; away: 3, 4, 5, 6, 7, 8 and 2 more"},
		{classroom.Told{Order: classroom.Order{Kind: classroom.OrderSay}, Away: []int{1}}, false, "Your line: nobody has it yet; away: 1"},
		{classroom.Told{Order: classroom.Order{Kind: classroom.OrderEnd}}, false, ""},
	} {
		if got := toldWords(c.told, c.open); got != c.want {
			t.Errorf("it says %q, want %q", got, c.want)
		}
	}
	r := thirty()
	r.told = classroom.Told{Order: fault, Have: []int{1, 2, 3}}
	o := BoardOptions{Theme: theme.Dusk, Class: r, FlowTitle: func(classroom.Situation) string { return "" }}
	if h := NewBoard(o).headNow(); h.told != "Your order: 3 of 3 stations have it" || h.notice != "" {
		t.Errorf("the board's head: %+v", h)
	}
	o.Public = true
	if h := NewBoard(o).headNow(); h.told != "" {
		t.Errorf("the room reads %q", h.told)
	}
}

// Who is watched, and what is replayed, is not said to be a demonstration.
func TestAWatchedStationSaysSo(t *testing.T) {
	test.NewTempApp(t)
	libs, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	var area classroom.AreaBits = 1 // left was looked at
	d := classroom.Drill{Situation: classroom.Situation{Aircraft: libs[0].Aircraft.ID, Flow: "cold", Phase: procedure.Evaluate}}
	n := snapshot(libs[0], d, classroom.Live{Area: area})
	if !n.Area.Sectors[0].Looked || n.Area.Sectors[1].Looked {
		t.Errorf("the propeller's area stands %+v", n.Area)
	}
	s := NewStation(StationOptions{Theme: theme.Dusk, Library: libs[0], Drill: d, Told: func() string { return "Your order: station 1 has it" },
		Row: func() (classroom.Row, bool) {
			return classroom.Row{Number: 1, Name: "Ada", Here: true, Live: classroom.Live{Run: "r", Steps: 18}}, true
		}})
	show(t, s.Content())
	s.Refresh()
	if s.word.Text != "evaluate   Your order: station 1 has it" {
		t.Errorf("beside its name stands %q", s.word.Text)
	}
}
