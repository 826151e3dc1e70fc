package planner

import (
	"math"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/proficiency"
	"kickover/procedure/realstart"
)

// Whatever is asked: an error in words or a survey that can be flown, whose
// shares are shares and whose advice lies inside the handbook's window.
func FuzzQuestion(f *testing.F) {
	aircraft := []*Aeroplane{aeroplane(f, "brindle-180"), aeroplane(f, "brindle-100")}
	f.Add(false, 10.0, 0.0, int64(0), 0.9, "", 4.2, 0.05, 24, uint64(1))
	f.Add(true, -20.0, 2000.0, int64(40*time.Minute), 0.5, "cold", 3.0, 0.0, 0, uint64(2))
	f.Add(false, math.NaN(), math.Inf(1), int64(-1), 7.0, "nothing", -1.0, 0.6, math.MaxInt, uint64(3))
	f.Fuzz(func(t *testing.T, hand bool, oat, altitude float64, since int64, charge float64, flow string, prime, halfWidth float64, most int, seed uint64) {
		a := aircraft[0]
		if hand {
			a = aircraft[1]
		}
		survey, err := Question{
			Aeroplane: a, Flow: procedure.FlowID(flow), Primes: []float64{prime}, Seed: seed,
			Conditions: powerplant.Conditions{OATCelsius: oat, PressureAltitudeM: altitude, SinceShutdown: time.Duration(since), BatteryCharge: charge},
			Precision:  Precision{HalfWidth: halfWidth, Least: 2, Most: most, Batch: 2},
		}.Chart()
		if err != nil {
			if strings.TrimSpace(err.Error()) == "" {
				t.Fatal("an error without words")
			}
			return
		}
		if _, _, err := survey.Strips()[0].Fly(); err != nil {
			t.Fatalf("a question that was taken cannot be flown: %v", err)
		}
		inside(t, survey.Rows[0].Handbook, survey.Rows[0].Points())
	})
}

// Whatever was flown: advice lies inside the window, and there is none where the
// handbook primes not at all.
func FuzzAdvise(f *testing.F) {
	f.Add(3.5, 4.2, 5.0, []byte{42, 30, 2, 60, 40, 0, 20, 1, 39})
	f.Add(0.0, 0.0, 0.0, []byte{42, 30, 2})
	f.Fuzz(func(t *testing.T, low, ideal, high float64, flown []byte) {
		if !(low >= 0 && low <= ideal && ideal <= high && high <= MostPrime) {
			return // no flow file is read with such a window
		}
		var points []Point
		for ; len(flown) >= 3; flown = flown[3:] {
			const trials = 40
			started := int(flown[1]) % (trials + 1)
			points = append(points, Point{
				Prime: float64(flown[0]) / 10, Trials: trials, Start: proficiency.ShareOf(started, trials),
				Flood: proficiency.ShareOf(int(flown[2])%(trials-started+1), trials),
			})
		}
		inside(t, Handbook{Title: "Cold start", Unit: Seconds, Min: low, Ideal: ideal, Max: high}, points)
	})
}

func inside(t *testing.T, h Handbook, points []Point) {
	t.Helper()
	for _, p := range points {
		for _, s := range []Share{p.Start, p.Flood} {
			if !(0 <= s.Low && s.Low <= s.Value() && s.Value() <= s.High && s.High <= 1) {
				t.Fatalf("a share of %v in %v to %v", s.Value(), s.Low, s.High)
			}
		}
	}
	advice := Advise(h, points)
	if advice.Given && !h.Inside(advice.Point.Prime) {
		t.Fatalf("%g is advised, and the handbook says %v", advice.Point.Prime, h)
	}
	if advice.Why == "" || !h.Primes() && advice.Given {
		t.Fatalf("advice %+v where the handbook says %v", advice, h)
	}
}

// Whatever a record of a start says: it is left out with a reason, or what is
// learnt from it is still a probability.
func FuzzFromRecords(f *testing.F) {
	a := aeroplane(f, "brindle-180")
	f.Add("cold", 3.0, 120.0, int64(14*time.Hour), true, int64(4*time.Second), 1, true)
	f.Add("flooded", math.NaN(), math.NaN(), int64(0), false, int64(-1), -1, false)
	f.Add("again", -300.0, 1e300, int64(math.MinInt64), true, int64(math.MaxInt64), 2, false)
	f.Fuzz(func(t *testing.T, situation string, oat, altitude float64, since int64, known bool, prime int64, attempts int, started bool) {
		s := realstart.Start{
			Registration: "X", Situation: situation, OATCelsius: oat, AltitudeM: altitude, SinceShutdown: time.Duration(since), ShutdownKnown: known,
			Prime: time.Duration(prime), Attempts: attempts, Outcome: procedure.NotStarted,
		}
		if started {
			s.Outcome = procedure.Started
		}
		r := a.FromRecords("X", []realstart.Start{s})
		if len(r.Seen)+len(r.Left) != 1 {
			t.Fatalf("one start became %+v", r)
		}
		if len(r.Seen) == 0 {
			return
		}
		b, err := Learn(a, r.Seen)
		if err != nil {
			return // a prime longer than any
		}
		sum := 0.0
		for _, w := range b.weights {
			if !(w >= 0 && w <= 1) {
				t.Fatalf("a weight of %v", w)
			}
			sum += w
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("the weights add up to %v", sum)
		}
	})
}
