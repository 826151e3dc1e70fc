package chart_test

import (
	"fmt"
	"image"
	"strings"
	"testing"

	"kickover/procedure/chart"
	"kickover/procedure/practice/learner"
	"kickover/procedure/proficiency"
)

func stepOf(t testing.TB, r *proficiency.Report, id string) *proficiency.StepReport {
	t.Helper()
	for i := range r.Steps {
		if string(r.Steps[i].ID) == id {
			return &r.Steps[i]
		}
	}
	t.Fatalf("no step %q in the report", id)
	return nil
}

// Fifty invented runs, flown on the simulated engine and debriefed, must tell
// their story: the lapse after three weeks away, the steps that were swapped, the
// one that was left out, and a hold that came right.
func TestFiftyRunsTellTheirStory(t *testing.T) {
	r := fifty(t)
	throttle, prime := stepOf(t, r, "throttle-prime"), stepOf(t, r, "prime")
	inside := func(id string) string {
		s := stepOf(t, r, id)
		return fmt.Sprintf("%s: %d of %d", s.Title, s.Inside.Of, s.Inside.N)
	}
	for _, c := range []struct {
		chart *chart.Chart
		says  []string
	}{
		{chart.Course(r), []string{"each of 50 runs", "Yes: "}},
		{chart.Individuals(throttle), []string{"50 runs", "is marked: beyond the limits."}},
		{chart.Ranges(throttle), []string{"by chance up to"}},
		{chart.Learning(prime), []string{"“Prime” takes about 4.2 s now", "Eight of the next ten runs should take"}},
		{chart.Share(r), []string{inside("prime"), inside("pump-off"), "Crank: 50 of 50"}},
		{chart.Hesitation(r), []string{"Propeller area clear: 1."}},
		{chart.Confusions(r), []string{
			"When “Throttle to the start mark” was due, “Brief: crank, catch, release” was done: ",
			"When “Boost pump off” was due, “Amperes: starter is out” was done: ",
		}},
	} {
		for _, words := range c.says {
			if !strings.Contains(c.chart.Alt, words) {
				t.Errorf("%s: %q does not say %q", c.chart.Title, c.chart.Alt, words)
			}
		}
		if got := c.chart.Image(c.chart.Width, c.chart.Height, 1).Bounds().Size(); got != image.Pt(int(c.chart.Width), int(c.chart.Height)) {
			t.Errorf("%s: %v", c.chart.Title, got)
		}
	}
	if prime.Time.Median < 4 || prime.Time.Median > 4.6 {
		t.Errorf("median prime %.2f s, the student aims for 4.2 s", prime.Time.Median)
	}
	lapse := false
	for _, m := range throttle.Chart.Signals {
		run := throttle.Chart.Runs[m.Index]
		lapse = lapse || m.Above && run >= learner.Lapse.From && run <= learner.Lapse.To
	}
	if !lapse {
		t.Errorf("no run of the lapse is marked: %+v", throttle.Chart.Signals)
	}
}

func TestChartsOfNothing(t *testing.T) {
	empty := &proficiency.Report{}
	few := &proficiency.StepReport{Title: "Prime", Seconds: []float64{4, 4.4, 3.9}, Runs: []int{1, 2, 3}}
	for _, c := range []*chart.Chart{
		chart.Share(empty), chart.Hesitation(empty), chart.Confusions(empty),
		chart.Individuals(&proficiency.StepReport{}), chart.Learning(&proficiency.StepReport{}),
		chart.Individuals(few), chart.Learning(few),
	} {
		if got := c.Image(300, 200, 1).Bounds().Size(); got != image.Pt(300, 200) {
			t.Errorf("%s: %v", c.Title, got)
		}
	}
	if alt := chart.Individuals(few).Alt; !strings.Contains(alt, "Not enough runs for limits: 3 of 20.") {
		t.Errorf("too few: %q", alt)
	}
	if alt := chart.Confusions(empty).Alt; alt != "No step was taken for another." {
		t.Errorf("no confusion: %q", alt)
	}
}
