package proficiency_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"kickover/procedure"
	"kickover/procedure/proficiency"
)

// The average run length in control of the two rules together is 152.73 points
// (Champ & Woodall 1987, Technometrics 29:393–399). Four thousand seeded charts
// of independent normal values come within 3 % of it.
func TestFalseAlarmsAreAsRareAsPublished(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	limits := proficiency.Limits{Centre: 0, Lower: -3, Upper: 3}
	const charts = 4000
	total := 0
	for range charts {
		var values []float64
		for length := 64; ; length *= 2 {
			for len(values) < length {
				values = append(values, rng.NormFloat64())
			}
			if s := proficiency.Signals(values, limits); len(s) > 0 {
				total += s[0].Index + 1
				break
			}
		}
	}
	if mean := float64(total) / charts; math.Abs(mean/152.73-1) > .03 {
		t.Errorf("a false alarm every %.1f points, published 152.73", mean)
	}
}

// Each rule by a worked case: seven on one side are chance, the eighth is marked;
// a value on the centre line is on neither side.
func TestRules(t *testing.T) {
	limits := proficiency.Limits{Centre: 0, Lower: -3, Upper: 3}
	for _, c := range []struct {
		name   string
		values []float64
		want   []proficiency.Signal
	}{
		{"seven above", []float64{1, 1, 1, 1, 1, 1, 1, -1}, nil},
		{"eight above", []float64{1, 1, 1, 1, 1, 1, 1, 1}, []proficiency.Signal{{Index: 7, Rule: proficiency.OnOneSide, Above: true}}},
		{"broken by the centre", []float64{1, 1, 1, 1, 0, 1, 1, 1, 1}, nil},
		{"on the limit", []float64{3, -3}, nil},
		{"beyond", []float64{0, -3.1}, []proficiency.Signal{{Index: 1, Rule: proficiency.BeyondLimits}}},
	} {
		got := proficiency.Signals(c.values, limits)
		if len(got) != len(c.want) || len(got) > 0 && got[0] != c.want[0] {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestFiftyRunsWithALapse(t *testing.T) {
	r := proficiency.Of(improving(3).runs(50))
	throttle := r.Steps[0]
	if throttle.Learning == nil || !throttle.Learning.Gain {
		t.Fatal("fifty improving runs show no learning curve")
	}
	marked := false
	for _, s := range throttle.Chart.Signals {
		if run := throttle.Chart.Runs[s.Index]; run >= 36 && run <= 39 && s.Above {
			marked = true
		}
	}
	if !marked {
		t.Errorf("the lapse of runs 36 to 39 is not marked: %+v", throttle.Chart.Signals)
	}
	if len(r.Confusions) != 1 || r.Confusions[0].Due != "throttle-start" || r.Confusions[0].Done != "brief" || r.Confusions[0].Times != 3 {
		t.Errorf("confusions: %+v", r.Confusions)
	}
	if h := throttle.Hesitation; math.Abs(h.Median/throttle.Time.Median-.7) > 1e-6 {
		t.Errorf("hesitation %.3f of %.3f s, the student hesitates for seven tenths", h.Median, throttle.Time.Median)
	}
	if c := r.Prime; c == nil || c.N != 20 || c.Mean < 3.9 || c.Mean > 4.6 {
		t.Errorf("prime: %+v", c)
	}
	for _, words := range []string{"Much slower than expected in run 37, 38, 39.", "Learned: from", "Eight of the next ten runs", "before acting"} {
		if said := strings.Join(throttle.Words(), " "); !strings.Contains(said, words) {
			t.Errorf("%q does not say %q", said, words)
		}
	}
	if said := strings.Join(r.Steps[1].Words(), " "); strings.Contains(said, "quicker") || strings.Contains(said, "Learned") {
		t.Errorf("a hold is not to be quick: %q", said)
	}
	if said := r.Confusions[0].Words(); said != "When “Throttle to the start mark” was due, “Brief: crank, catch, release” was done: 3 times." {
		t.Errorf("confusion: %q", said)
	}
}

func TestTooFewRunsSaySo(t *testing.T) {
	r := proficiency.Of(improving(1).runs(19))
	for _, s := range r.Steps {
		if s.Chart != nil {
			t.Errorf("%s: limits from %d runs", s.ID, s.Time.N)
		}
		want := fmt.Sprintf("Not enough runs to tell a change from chance: %d of 20.", s.Time.N)
		if s.Time.N > 19 || !strings.Contains(strings.Join(s.Words(), " "), want) {
			t.Errorf("%s does not say that there are too few: %v", s.ID, s.Words())
		}
	}
	if _, err := proficiency.ChartOf(make([]float64, 19), make([]int, 19), nil); !errors.Is(err, proficiency.ErrNotEnough) {
		t.Errorf("chart of 19: %v", err)
	}
	if _, err := proficiency.LearningOf(make([]float64, 9), make([]int, 9)); !errors.Is(err, proficiency.ErrNotEnough) {
		t.Errorf("curve of 9: %v", err)
	}
	if _, err := proficiency.ChanceOf(make([]float64, 4), primeWindow); !errors.Is(err, proficiency.ErrNotEnough) {
		t.Errorf("chance of 4: %v", err)
	}
	if r := proficiency.Of(nil); r.Runs != 0 || len(r.Steps) != 0 {
		t.Errorf("no runs: %+v", r)
	}
}

// Where there is no noise the curve comes back exactly.
func TestCurveWithoutNoise(t *testing.T) {
	var seconds []float64
	var runs []int
	for n := 1; n <= 40; n++ {
		seconds = append(seconds, 1+9*math.Exp(-.1*float64(n)))
		runs = append(runs, n)
	}
	l, err := proficiency.LearningOf(seconds, runs)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ got, want float64 }{{l.A, 1}, {l.B, 9}, {l.Alpha, .1}} {
		if math.Abs(c.got/c.want-1) > 1e-5 {
			t.Errorf("A, B, α = %g, %g, %g, want 1, 9, .1", l.A, l.B, l.Alpha)
			break
		}
	}
}

// What is said of the next ten runs must come true as often as it says: eight in
// ten, over 300 invented students who are measured for thirty runs and then fly
// ten more.
func TestPredictionComesTrueAsOftenAsItSays(t *testing.T) {
	inside, total := 0, 0
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 5))
		draw := func(n int) float64 {
			return (2 + 6*math.Exp(-.12*float64(n))) * math.Exp(.25*rng.NormFloat64())
		}
		var seconds []float64
		var runs []int
		for n := 1; n <= 30; n++ {
			seconds, runs = append(seconds, draw(n)), append(runs, n)
		}
		l, err := proficiency.LearningOf(seconds, runs)
		if err != nil {
			t.Fatal(err)
		}
		for n := 31; n <= 40; n++ {
			low, _, high := l.Next(n, .8)
			if v := draw(n); v >= low && v <= high {
				inside++
			}
			total++
		}
	}
	if share := float64(inside) / float64(total); share < .76 || share > .84 {
		t.Errorf("%.1f %% of the next runs fell where 80 %% should", 100*share)
	}
}

// A hand that does not change shows no gain: of 200 students without learning at
// most one in five may be given a curve by chance.
func TestLevelIsNotTakenForLearning(t *testing.T) {
	gains := 0
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 9))
		var seconds []float64
		var runs []int
		for n := 1; n <= 30; n++ {
			seconds, runs = append(seconds, 3*math.Exp(.3*rng.NormFloat64())), append(runs, n)
		}
		l, err := proficiency.LearningOf(seconds, runs)
		if err != nil {
			t.Fatal(err)
		}
		if l.Gain {
			gains++
		}
	}
	if gains > 40 {
		t.Errorf("%d of 200 level students were given a learning curve", gains)
	}
}

func TestShareHoldsItsValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 500).Draw(t, "n")
		s := proficiency.ShareOf(rapid.IntRange(0, n).Draw(t, "of"), n)
		if v := s.Value(); s.Low < 0 || s.High > 1 || s.Low > v || s.High < v {
			t.Fatalf("%+v does not hold %g", s, v)
		}
	})
}

// Wild values move a line through the medians little: a tenth of the runs ten
// times as long leave the slope where it was.
func TestTrendIgnoresWildRuns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		slope := rapid.Float64Range(-.1, .1).Draw(t, "slope")
		var x, y []float64
		for i := range 40 {
			x, y = append(x, float64(i)), append(y, slope*float64(i))
		}
		for range 4 {
			y[rapid.IntRange(0, 39).Draw(t, "wild")] += math.Log(10)
		}
		if got := proficiency.TheilSen(x, y).Slope; math.Abs(got-slope) > .005 {
			t.Fatalf("slope %g became %g", slope, got)
		}
	})
}

func TestPromptedRunsAreCounted(t *testing.T) {
	runs := improving(2).runs(6)
	runs[1].Prompted, runs[4].Prompted = true, true
	if got := proficiency.Of(runs).Prompted; got != 2 {
		t.Errorf("%d of 6 runs were prompted, want 2", got)
	}
}

func TestNothingTimedIsNotTimed(t *testing.T) {
	runs := improving(2).runs(12)
	for i := range runs {
		runs[i].Steps[0] = proficiency.Step{ID: "throttle-prime", Title: "Throttle to the prime mark", Verdict: procedure.Missed, Hesitation: -1}
		runs[i].Steps[3].Elapsed = 0
	}
	r := proficiency.Of(runs)
	if s := r.Steps[0]; s.Time.N != 0 || s.Missed != 12 || s.Inside.Of != 0 || s.Inside.N != 12 {
		t.Errorf("a step always left out: %+v", s)
	}
	if s := r.Steps[3]; s.Time.N != 0 || s.Learning != nil {
		t.Errorf("a step that was so already was timed: %+v", s.Time)
	}
	if !math.IsNaN(r.Steps[0].Time.Median) {
		t.Errorf("median of nothing: %g", r.Steps[0].Time.Median)
	}
}

// BenchmarkReport shows how a report grows with the runs it is made of.
func BenchmarkReport(b *testing.B) {
	for _, n := range []int{50, 200, 1000} {
		runs := improving(1).runs(n)
		b.Run(fmt.Sprintf("%d-runs", n), func(b *testing.B) {
			for b.Loop() {
				proficiency.Of(runs)
			}
		})
	}
}
