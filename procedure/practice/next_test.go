package practice_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kickover/procedure"
	"kickover/procedure/practice"
	"kickover/procedure/proficiency"
)

var monday = time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC)

func at(days float64) time.Time { return monday.Add(time.Duration(days * float64(24*time.Hour))) }

// flown is a run of the cold start with the given verdicts.
func flown(when time.Time, prompted bool, verdicts ...procedure.Verdict) proficiency.Run {
	r := proficiency.Run{
		At: when, Aircraft: "brindle-180", Flow: "cold", FlowTitle: "Cold start",
		Phase: procedure.Evaluate, Prompted: prompted,
	}
	if prompted {
		r.Phase = procedure.Perform
	}
	for i, v := range verdicts {
		s := []proficiency.Step{
			{ID: "throttle-prime", Title: "Throttle to the prime mark", Criticality: 2},
			{ID: "prime", Title: "Prime", Criticality: 2},
			{ID: "propeller-area", Title: "Propeller area clear", Criticality: 3},
		}[i]
		s.Verdict = v
		r.Steps = append(r.Steps, s)
	}
	return r
}

const (
	right = procedure.OnTime
	late  = procedure.Late
)

func TestWhatFailsComesFirst(t *testing.T) {
	var history []proficiency.Run
	for d := range 6 {
		history = append(history, flown(at(float64(2*d)), false, right, late, right))
	}
	got := practice.Next(history, at(11), practice.Options{})
	if len(got) != 1 || got[0].Weak[0].Step != "prime" {
		t.Fatalf("%+v", got)
	}
	s := got[0]
	for _, words := range []string{"“Prime”", "right 0 of 5 times", "“Throttle to the prime mark”, “Prime”, “Propeller area clear”", "without prompts"} {
		if !strings.Contains(s.Body, words) {
			t.Errorf("%q does not say %q", s.Body, words)
		}
	}
	t.Log(s.Head, s.Body)
}

func TestCriticalityDecidesBetweenEquals(t *testing.T) {
	history := []proficiency.Run{flown(at(0), false, right, right, right), flown(at(3), false, right, right, right)}
	if w := practice.Next(history, at(5), practice.Options{})[0].Weak[0]; w.Step != "propeller-area" {
		t.Errorf("most to gain: %s, want the step that endangers people", w.Step)
	}
}

// Prompted runs are not evidence, later runs of a session are not, and a prompted
// run counts less as practice.
func TestWhatIsEvidence(t *testing.T) {
	prompted := []proficiency.Run{flown(at(0), false, right, right, right), flown(at(2), true, late, late, late)}
	if f := practice.Forecasts(prompted, at(3))[0]; f.Evidence != 0 {
		t.Errorf("a prompted run was taken as evidence: %+v", f)
	}
	silent := []proficiency.Run{flown(at(0), false, right, right, right), flown(at(2), false, right, right, right)}
	if p, s := practice.Forecasts(prompted, at(3))[0].Chance, practice.Forecasts(silent, at(3))[0].Chance; p >= s {
		t.Errorf("prompted practice gives %.3f, unprompted %.3f", p, s)
	}
	session := append(silent, flown(at(2.02), false, right, right, right), flown(at(2.04), false, right, right, right))
	if f := practice.Forecasts(session, at(3))[0]; f.Evidence != 1 || f.Practised != 4 {
		t.Errorf("one session of three runs: %+v", f)
	}
}

func TestNotFlownYet(t *testing.T) {
	cold := &procedure.Flow{ID: "cold", Aircraft: "brindle-180", Title: "Cold start", Entry: true}
	warm := &procedure.Flow{ID: "warm", Aircraft: "brindle-180", Title: "Warm start", Entry: true}
	again := &procedure.Flow{ID: "again", Aircraft: "brindle-180", Title: "Half the prime again"}
	o := practice.Options{Flows: []*procedure.Flow{again, cold, warm}}
	if got := practice.Next(nil, monday, o); len(got) != 1 || got[0].Flow != "cold" || got[0].Phase != procedure.Explain {
		t.Errorf("with no history: %+v", got)
	}
	// Something that is due comes before something new.
	one := []proficiency.Run{flown(at(0), true, right, right, right)}
	if got := practice.Next(one, at(9), o); got[0].Flow != "cold" || !got[0].Overdue || got[0].Phase != procedure.Perform {
		t.Errorf("after one prompted run: %+v", got[0])
	}
	if got := practice.Next(often(), at(57.1), o); got[0].Flow != "warm" {
		t.Errorf("once the cold start is kept: %+v", got[0])
	}
	if got := practice.Next(often(), at(57.1), practice.Options{})[0]; !strings.Contains(got.Body, "Nothing stands out") {
		t.Errorf("when all is well kept: %q", got.Body)
	}
	if got := practice.Next(nil, monday, practice.Options{}); len(got) != 0 {
		t.Errorf("from nothing: %+v", got)
	}
}

// Whatever the history: a chance is one, it lies in its band, it falls as the
// flight moves away, a due date is at most sixty days after the last practice,
// and nothing after now is looked at.
func TestForecastsAreChances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var history []proficiency.Run
		d := 0.0
		for range rapid.IntRange(1, 12).Draw(t, "runs") {
			d += rapid.Float64Range(0, 20).Draw(t, "gap")
			v := rapid.SampledFrom([]procedure.Verdict{right, late, procedure.Missed}).Draw(t, "verdict")
			history = append(history, flown(at(d), rapid.Bool().Draw(t, "prompted"), v, right, v))
		}
		soon, later := practice.Forecasts(history, at(d+1)), practice.Forecasts(history, at(d+40))
		for i, f := range soon {
			if !(f.Chance > 0 && f.Chance < 1 && f.Low <= f.Chance && f.Chance <= f.High) {
				t.Fatalf("%+v", f)
			}
			if later[i].Chance > f.Chance {
				t.Fatalf("the chance rose from %g to %g by waiting", f.Chance, later[i].Chance)
			}
			if wait := f.Due.Sub(at(d)); wait < -time.Minute || wait > practice.LongestGap*24*time.Hour+time.Minute {
				t.Fatalf("due %v after the last practice", wait)
			}
		}
		past := practice.Forecasts(append(history, flown(at(d+30), false, late, late, late)), at(d+1))
		if past[0].Chance != soon[0].Chance {
			t.Fatal("the future changed a forecast")
		}
	})
}

// A step is due when its chance has fallen to .85, no later and no earlier.
func TestDueWhenTheRuleSays(t *testing.T) {
	mixed := []proficiency.Run{flown(at(0), false, right, right, right), flown(at(2), false, right, late, right)}
	for d := range 4 {
		mixed = append(mixed, flown(at(float64(5+3*d)), false, right, right, right))
	}
	due := practice.Forecasts(mixed, at(15))[1].Due
	if c := practice.Forecasts(mixed, due)[1].Chance; math.Abs(c-practice.DueAt) > .002 {
		t.Errorf("chance on the day it is due, %v: %.4f", due, c)
	}
	weak := []proficiency.Run{flown(at(0), false, late, late, late), flown(at(2), false, late, late, late)}
	if wait := practice.Forecasts(weak, at(2))[0].Due.Sub(at(2)); wait.Round(time.Hour) != 24*time.Hour {
		t.Errorf("what is not known is due after %v, want a day: practice that is massed does not last", wait)
	}
	if wait := practice.Forecasts(often(), at(60))[0].Due.Sub(at(57)); wait.Round(time.Hour) != practice.LongestGap*24*time.Hour {
		t.Errorf("what is well kept is due after %v, want %d days", wait, practice.LongestGap)
	}
}

// often is twenty good runs, three days apart.
func often() []proficiency.Run {
	var history []proficiency.Run
	for d := range 20 {
		history = append(history, flown(at(float64(3*d)), false, right, right, right))
	}
	return history
}
