package review

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/ui/theme"
)

// shown is the debrief of a run, and which way its foremost button leads.
func shown(t *testing.T, phase procedure.Phase, r *debrief.Report) (*Screen, *string) {
	t.Helper()
	test.NewTempApp(t)
	way := new(string)
	s := New(Debriefing{Caption: "Brindle 180, cold start", Phase: phase, Report: r}, Options{
		Theme: theme.Dusk, NextIs: "In silence: Evaluate", Sign: &Signing{}, Print: func() {}, Replay: func() {},
		Again: func() { *way = "again" }, Next: func() { *way = "next" },
	})
	return s, way
}

// A run of one's own that went wrong is flown again before the next phase; what
// was watched or went well leads on.
func TestTheWayOnFollowsHowItWent(t *testing.T) {
	for _, c := range []struct {
		phase procedure.Phase
		r     debrief.Report
		want  string
	}{
		{procedure.Perform, debrief.Report{Started: true, Outcome: procedure.Started}, "next"},
		{procedure.Perform, debrief.Report{Outcome: procedure.NotStarted}, "again"},
		{procedure.Evaluate, debrief.Report{Started: true, Unsafe: true}, "again"},
		{procedure.Evaluate, debrief.Report{Outcome: procedure.Stopped}, "next"},
		{procedure.Perform, debrief.Report{Outcome: procedure.Abandoned}, "again"},
		{procedure.Demonstrate, debrief.Report{Outcome: procedure.Abandoned}, "next"},
	} {
		s, way := shown(t, c.phase, &c.r)
		s.first.Tapped(nil)
		if *way != c.want {
			t.Errorf("%s, %s, unsafe %v: the first button leads to %q, want %q", c.phase, c.r.Outcome, c.r.Unsafe, *way, c.want)
		}
	}
}

// A demonstration was nobody's run to do differently.
func TestADemonstrationIsNotCorrected(t *testing.T) {
	step := debrief.Step{Step: &procedure.Step{Title: "Battery on"}, Verdict: procedure.OnTime, Reached: true,
		Elapsed: 2e9, Window: procedure.Window{Max: 5e9}}
	s, _ := shown(t, procedure.Demonstrate, &debrief.Report{Started: true, Steps: []debrief.Step{step}})
	if got := s.reasons.title.Text; got != "What you saw" {
		t.Errorf("the title is %q", got)
	}
	if n := len(s.reasons.items); n != 1 || s.reasons.items[0].Body != "Nearest to its limit: battery on, 2.0 s of 5.0 s." {
		t.Errorf("%d items: %v", n, s.reasons.items)
	}
}

// Whatever the width, nothing lies beside the page and no button on another.
func TestTheDebriefFitsEveryWidth(t *testing.T) {
	s, _ := shown(t, procedure.Perform, &debrief.Report{Outcome: procedure.NotStarted, Why: "It did not start: the starter was not engaged."})
	for _, width := range []float32{leastOne, 731, 899, 900, 1024, 1280, 1920} {
		s.page.Resize(fyne.NewSize(width, 4000))
		for _, o := range s.page.Objects {
			if right := o.Position().X + o.Size().Width; o.Position().X < 0 || right > width+0.5 {
				t.Errorf("at %.0f something lies from %.0f to %.0f", width, o.Position().X, right)
			}
		}
		for i := 1; i < len(s.buttons); i++ {
			a, b := s.buttons[i-1], s.buttons[i]
			if a.Position().X+a.Size().Width > b.Position().X {
				t.Errorf("at %.0f button %d lies on the next", width, i)
			}
		}
	}
}
