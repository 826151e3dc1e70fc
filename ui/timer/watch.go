package timer

import (
	"fmt"
	"time"

	"kickover/assets/fonts"
	"kickover/procedure/timer"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// watchState is what the clock shows; its face is the stopwatch's.
type watchState struct {
	panel.StopwatchState
	over    bool // past its limit
	running bool
	rested  bool // nothing is timed and nothing is owed
}

// watchOf is the clock of a picture.
func watchOf(p *picture) watchState {
	c := p.Clock
	s := watchState{
		StopwatchState: panel.StopwatchState{Label: c.Label, Sub: c.Sub, Window: c.Window, Scale: c.Scale, Hand: quarters(c.Elapsed, c.Scale)},
		over:           c.Over, running: c.Running, rested: c.Label == "STARTER",
	}
	switch p.State {
	case timer.Armed, timer.Cranking, timer.Asking:
		s.Limit = true
	}
	sub := c.Sub
	if c.Label == "RUNNING" && c.Elapsed < 100*time.Second {
		sub = "seconds " + sub
	}
	elapsed := c.Elapsed
	if c.Label == "RUNNING" { // of which nobody needs tenths
		elapsed = elapsed.Truncate(time.Second)
		s.Hand = quarters(elapsed, c.Scale)
	}
	s.Text, s.Sub = numeral(elapsed, c.Down, sub)
	if c.Label == "RUNNING" && elapsed < 10*time.Second {
		s.Text = fmt.Sprint(int(elapsed / time.Second))
	}
	switch {
	case s.rested:
		s.Text = "✓"
	case !c.Running && c.Elapsed == 0:
		s.Text, s.Idle = "0.0", true
	}
	if s.Scale == 0 {
		s.Scale = time.Minute
	}
	if c.Label == "RUNNING" {
		s.Hand = quarters(elapsed%time.Hour, time.Hour)
	}
	return s
}

// numeral prints a time in two or three figures, so that they can be large: going
// up tenths below ten seconds, then seconds, then minutes; going down seconds,
// or minutes. What is left out stands below.
func numeral(d time.Duration, down bool, sub string) (text, below string) {
	d = max(d, 0)
	switch {
	case down && d <= 99*time.Second:
		return fmt.Sprint(int64((d + time.Second - 1) / time.Second)), sub
	case down:
		whole := int64((d + time.Second - 1) / time.Second)
		return fmt.Sprint((whole + 59) / 60), fmt.Sprintf("minutes: %d:%02d to go", whole/60, whole%60)
	case d < 10*time.Second:
		return panel.Clock(d, false), sub
	case d < 100*time.Second:
		return fmt.Sprint(int64(d / time.Second)), sub
	default:
		whole := int64(d / time.Second)
		return fmt.Sprint(whole / 60), fmt.Sprintf("minutes %s", sub)
	}
}

func sameDial(a, b watchState) bool {
	return panel.SameFace(a.StopwatchState, b.StopwatchState) && a.rested == b.rested
}

func (v *view) paintDial(p *panel.Pen, s watchState) {
	if s.rested { // nothing to measure: a plain ring
		p.Sector(v.watchX, v.watchY, v.watchR*0.85, v.watchR, 0, 360, p.Raised, transparent, 0)
		return
	}
	v.clock().Face(p, s.StopwatchState)
}

// highest is the height of the numerals in units: 36 mm on a screen 175 mm high,
// as one of 13 inches is, when the window fills it.
const highest = 165

func (v *view) paintWatch(p *panel.Pen, s watchState) {
	x, y, r := v.watchX, v.watchY, v.watchR
	k := r / 270
	hand, ink, label := p.Now, p.Ink, p.Ink2
	if s.over {
		hand, label = p.Warn, p.Warn
		if !s.Limit {
			hand, label = p.Caution, p.Caution
		}
	}
	if s.Hand > 0 {
		p.Arc(x, y, r*0.92, 15*k, 0, float64(s.Hand)/4, hand, true)
	}
	if s.over {
		p.Sector(x, y, r*0.835, r, 0, 360, transparent, theme.Mix(p.Ground, hand, 0.8), 4)
		p.Triangle(x, y-r*0.63, 34*k, hand)
	}
	p.Text(s.Label, x, y-r*0.42, panel.Middle, p.Fit(s.Label, panel.Group.Sized(26*k).Weighted(fonts.WeightSemiBold), r*1.35, 14), label)
	if s.Idle {
		ink = p.Ink3
	}
	if s.rested {
		p.Tick(x, y+6*k, 120*k, p.OK)
	} else {
		// Inter's digits are 0.727 of an em high.
		t := p.Fit(s.Text, panel.Numeral.Sized(highest*k/0.727), r*1.6, 60)
		p.Text(s.Text, x, y+t.Size*0.727/2+4*k, panel.Middle, t, ink)
	}
	below := panel.Body.Sized(27 * k)
	p.Text(s.Sub, x, y+r*0.52, panel.Middle, p.Fit(s.Sub, below, r*1.3, 14), p.Ink2)
}
