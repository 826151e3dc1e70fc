package rehearse

import (
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
)

// Steps that the flow went round are neither done nor to come, and the present
// step's card names its own window, whatever the stopwatch is timing.
func TestStripShowsWhatIsToComeAndItsOwnWindow(t *testing.T) {
	step := func(title string, longest time.Duration, s rehearsal.StepStatus) rehearsal.StepView {
		w := procedure.Window{Max: longest}
		return rehearsal.StepView{Step: &procedure.Step{Title: title, Window: w}, Window: w, Status: s}
	}
	s := stripOf(&rehearsal.Snapshot{
		Phase: procedure.Perform, Present: 2,
		Clock: rehearsal.ClockView{Window: procedure.Window{Max: 6 * time.Second}},
		Steps: []rehearsal.StepView{
			step("Crank", 6*time.Second, rehearsal.StepDone),
			step("Settle", 10*time.Second, rehearsal.StepNotReached),
			step("Boost pump off", 5*time.Second, rehearsal.StepPresent),
			step("Rest", time.Minute, rehearsal.StepNext),
		},
	}, units.Units{})
	if got := s.Next[0].Title; got != "Rest" {
		t.Errorf("next is %q", got)
	}
	if s.Past[0].Title != "Crank" || s.Past[1].Title != "" {
		t.Errorf("past is %v", s.Past)
	}
	if s.Now.Window != "within 5 s" {
		t.Errorf("the card names the window %q", s.Now.Window)
	}
}
