package rehearse

import (
	"fmt"
	"testing"
	"time"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// inside lists the parts that must lie within each group of the screen.
func (p *parts) inside() map[string][2]panel.Rect {
	m := map[string][2]panel.Rect{}
	for i, d := range p.dials {
		m[fmt.Sprint("dial ", i)] = [2]panel.Rect{d.Area(), p.gauges}
	}
	if p.trace != nil {
		m["trace"] = [2]panel.Rect{p.trace.At, p.gauges}
	}
	for i, b := range p.bars {
		m[fmt.Sprint("bar ", i)] = [2]panel.Rect{b.At, p.gauges}
	}
	for i, r := range p.rockers {
		m[fmt.Sprint("rocker ", i)] = [2]panel.Rect{r.Area(), p.controls}
	}
	for i, g := range p.toggles {
		m[fmt.Sprint("toggle ", i)] = [2]panel.Rect{g.At, p.controls}
	}
	if p.lamps != nil {
		m["lamps"] = [2]panel.Rect{p.lamps.At, p.gauges}
	}
	for i, l := range p.levers {
		m[fmt.Sprint("lever ", i)] = [2]panel.Rect{l.Moving(), p.controls}
		m[fmt.Sprint("knob ", i)] = [2]panel.Rect{l.Knob(l.Control.Travel), p.controls}
	}
	m["brake"] = [2]panel.Rect{p.brake.Area(), p.controls}
	m["ignition"] = [2]panel.Rect{p.key.Area(), p.controls}
	m["stopwatch"] = [2]panel.Rect{p.watch.Area(), p.right}
	m["ledger"] = [2]panel.Rect{p.ledger.At, p.right}
	m["area"] = [2]panel.Rect{p.area.At, p.right}
	return m
}

func within(in, out panel.Rect) bool {
	const hair = 1
	return in.X >= out.X-hair && in.Y >= out.Y-hair && in.X+in.W <= out.X+out.W+hair && in.Y+in.H <= out.Y+out.H+hair
}

func overlap(a, b panel.Rect) bool {
	return a.X < b.X+b.W && b.X < a.X+a.W && a.Y < b.Y+b.H && b.Y < a.Y+a.H
}

// sizes are boards of windows that people have, in units of the board.
var sizes = [][2]float64{{1280, 800}, {1366.0 / 768 * 800, 800}, {1920.0 / 1080 * 800, 800}, {1280, 1024.0 / 1280 * 1280}, {2560.0 / 1080 * 800, 800}}

func TestEveryPartHasItsPlaceAtEverySize(t *testing.T) {
	for _, size := range sizes {
		var p parts
		p.fit(cockpit().Aircraft, procedure.Panel{}, size[0], size[1])
		for name, r := range p.inside() {
			if !within(r[0], r[1]) {
				t.Errorf("%v: %s %+v is not within %+v", size, name, r[0], r[1])
			}
		}
		groups := []panel.Rect{p.strip, p.gauges, p.controls, p.right, p.groups.caption}
		for i, a := range groups {
			for _, b := range groups[i+1:] {
				if overlap(a, b) {
					t.Errorf("%v: groups %+v and %+v overlap", size, a, b)
				}
			}
		}
	}
}

// A screen makes a cell for each part once: on whatever board they are laid out
// afterwards, there must be as many of each, of the aeroplanes that come with it too.
func TestAWiderWindowHasTheSameParts(t *testing.T) {
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range libraries {
		for _, variant := range append([]procedure.Panel{{}}, l.Aircraft.Panels...) {
			v := newView(l.Aircraft, variant, Options{Theme: theme.Dusk})
			for _, size := range sizes {
				v.arrange(size[0], size[1])
				if len(v.rockers) != len(v.rocked) || len(v.toggles) != len(v.toggled) || len(v.bars) != len(v.barred) || len(v.dials) != len(v.dialed) || len(v.levers) != len(v.levered) {
					t.Errorf("%s at %v: %d large switches for %d cells, %d small for %d", l.Aircraft.ID, size, len(v.rockers), len(v.rocked), len(v.toggles), len(v.toggled))
				}
			}
		}
	}
}

func TestNothingIsPaintedWhileNothingChanges(t *testing.T) {
	k := sit(t, nil)
	v := k.screen.view
	count := func() int {
		n := v.head.Painted + v.time.Painted + v.strip.Painted + v.watched.Painted + v.looked.Painted + v.said.Painted + v.ledgered.Painted
		for _, c := range v.dialed {
			n += c.Painted
		}
		for _, c := range v.levered {
			n += c.Painted
		}
		return n
	}
	before := count()
	for range 100 {
		same := *k.snap
		k.screen.Show(&same)
	}
	if after := count(); after != before {
		t.Errorf("a hundred snapshots of the same moment painted %d cells", after-before)
	}
}

func TestSceneryIsRenderedOnceHoweverMuchMoves(t *testing.T) {
	k := sit(t, nil)
	v := k.screen.view
	built, strip := v.board.Rebuilt, v.strip.Painted
	for i := range 50 {
		next := *k.snap
		next.At = time.Duration(i) * 33 * time.Millisecond
		next.Readings = []float64{float64(i) / 10, float64(i * 50), 24}
		next.Clock.Elapsed, next.Clock.Running = next.At, true
		k.screen.Show(&next)
	}
	if v.board.Rebuilt != built || v.strip.Painted != strip {
		t.Errorf("the scenery was rendered %d times more, the strip %d", v.board.Rebuilt-built, v.strip.Painted-strip)
	}
	if v.dialed[0].Painted < 40 {
		t.Errorf("the needle was painted %d times in 50 moves", v.dialed[0].Painted)
	}
}

// Each frame is the whole window painted again: what only waits moves with its
// figures, ten times a second, or once where nobody needs tenths, and what is timed
// with every frame.
func TestAHandThatWaitsMovesWithItsFigures(t *testing.T) {
	const seconds, rate = 3, 30
	waiting := rehearsal.ClockView{Label: "STEP", Running: true, Scale: 24 * time.Second}
	resting := rehearsal.ClockView{Label: "REST", Running: true, Down: true, Scale: time.Minute}
	outlasted := rehearsal.ClockView{Label: "STEP", Running: true, Scale: 8 * time.Second}
	overheld := rehearsal.ClockView{Label: "PRIME", Running: true, Scale: 8 * time.Second}
	priming := rehearsal.ClockView{Label: "PRIME", Running: true, Scale: 8 * time.Second}
	for name, run := range map[string]struct {
		clock rehearsal.ClockView
		from  time.Duration
		needs bool // a needle moves too
		want  int
	}{
		"a wait": {waiting, 0, false, 10 * seconds}, "a wait in which a needle moves": {waiting, 0, true, rate * seconds},
		"a wait longer than the dial": {outlasted, 9 * time.Second, false, seconds},
		"a rest":                      {resting, 40 * time.Second, false, seconds}, "the end of a rest": {resting, 9 * time.Second, false, 10 * seconds},
		"a prime": {priming, 0, false, rate * seconds}, "a prime longer than the dial": {overheld, 9 * time.Second, false, 10 * seconds},
	} {
		k := sit(t, nil)
		v := k.screen.view
		before := v.watched.Painted
		for i := 1; i <= seconds*rate; i++ {
			next := *k.snap
			next.Clock = run.clock
			gone := time.Duration(i) * time.Second / rate
			next.Clock.Elapsed = run.from + gone
			if run.clock.Down {
				next.Clock.Elapsed = run.from - gone
			}
			if run.needs {
				next.Readings = []float64{float64(i%2) * 3, 0, 24}
			}
			shown := v.watched.Value()
			k.screen.Show(&next)
			if back := shown.Hand - v.watched.Value().Hand; i > 1 && !run.clock.Down && back > 0 {
				t.Errorf("%s: the hand went back by %d", name, back)
			}
			want := panel.Clock(next.Clock.Elapsed, run.clock.Down)
			if run.want == seconds {
				want = fmt.Sprint(wholeSeconds(next.Clock.Elapsed, run.clock.Down))
			}
			if v.watched.Value().Text != want {
				t.Fatalf("%s: it shows %s at %s", name, v.watched.Value().Text, want)
			}
		}
		if n := v.watched.Painted - before; n < run.want-2 || n > run.want+2 {
			t.Errorf("%s painted the stopwatch %d times in %d s, and not %d", name, n, seconds, run.want)
		}
	}
}

// wholeSeconds is rounded down going up and up going down, as a stopwatch's figures.
func wholeSeconds(d time.Duration, down bool) int {
	if down {
		return int((d + time.Second - 1) / time.Second)
	}
	return int(d / time.Second)
}

// The strip's words are made anew for what they tell of, whoever changes it.
func TestTheStripFollowsEverySnapshot(t *testing.T) {
	k := sit(t, nil)
	for name, change := range map[string]func(*rehearsal.Snapshot){
		"a step is done": func(n *rehearsal.Snapshot) {
			n.Steps = append([]rehearsal.StepView(nil), n.Steps...)
			n.Steps[0].Status, n.Steps[0].Verdict = rehearsal.StepDone, procedure.Late
			n.Present = 1
		},
		"somebody asks": func(n *rehearsal.Snapshot) { n.Asked = &rehearsal.Interruption{Who: "Tower"} },
		"in silence":    func(n *rehearsal.Snapshot) { n.Phase = procedure.Evaluate },
	} {
		k.screen.Show(k.snap)
		next := *k.snap
		change(&next)
		k.screen.Show(&next)
		if got, want := k.screen.view.strip.Value(), stripOf(&next, k.screen.opts.Units); got != want {
			t.Errorf("%s: the strip is %+v, not %+v", name, got, want)
		}
		if got, want := k.screen.view.head.Value(), headOf(&next, k.screen.opts.Units, k.screen.opts.Watched); got != want {
			t.Errorf("%s: the head is %+v, not %+v", name, got, want)
		}
	}
}

func TestHandsDoNotCross(t *testing.T) {
	// The halves of a keyboard as a ten-finger typist has them.
	const left, right = "12345QWERTASDFGZXCV", "67890YUIOPHJKLBNM"
	hands := map[act]string{
		actRocker: left, actStart: left, actTurnBack: left, actTurnOn: left, actLeftUp: left, actLeftDown: left,
		actOpen: right, actClose: right, actMarkUp: right, actMarkDown: right, actRich: right, actCut: right,
	}
	for key, b := range keymap {
		half, ok := hands[b.act]
		if !ok {
			continue
		}
		found := false
		for _, r := range half {
			found = found || string(r) == string(key)
		}
		if !found {
			t.Errorf("key %s lies under the wrong hand", key)
		}
	}
}

// A run that is looked on at says what it is, in whatever phase it is drawn.
func TestAWatchedRunSaysSo(t *testing.T) {
	n := &rehearsal.Snapshot{Aircraft: &procedure.Aircraft{Name: "Brindle 180"}, Phase: procedure.Demonstrate}
	if h := headOf(n, units.Units{}, Watched{"Replay", "as it was flown"}); h.phase != "Replay" || h.says != "as it was flown" {
		t.Errorf("the line at the top says %q, %q", h.phase, h.says)
	}
	if h := headOf(n, units.Units{}, Watched{}); h.phase != "Demonstrate" || h.says != "watch the hands" {
		t.Errorf("of a demonstration it says %q, %q", h.phase, h.says)
	}
}
