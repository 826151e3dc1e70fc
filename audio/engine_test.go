package audio

import (
	"math"
	"math/cmplx"
	"testing"
)

// sound streams an engine whose state is given at 200 calls a second.
func sound(seconds float64, state func(t float64) EngineState) []float64 {
	var e engine
	e.init()
	var out []float64
	block := make([][2]float64, Rate/200)
	for t := 0.0; t < seconds; t += 1.0 / 200 {
		e.set(state(t))
		clear(block)
		e.add(block)
		for _, s := range block {
			out = append(out, s[0])
		}
	}
	return out
}

// power is how much of a signal lies at a frequency.
func power(x []float64, hz float64) float64 {
	turn := cmplx.Rect(1, 2*math.Pi*hz/Rate)
	taper := cmplx.Rect(1, 2*math.Pi/float64(len(x)))
	var sum complex128
	at, window := complex(1, 0), complex(1, 0)
	for _, v := range x {
		sum += complex(v*(0.5-0.5*real(window)), 0) * at
		at *= turn
		window *= taper
	}
	return cmplx.Abs(sum) / float64(len(x))
}

func level(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return 10 * math.Log10(sum/float64(len(x))+1e-20)
}

func TestSilentEngineIsSilent(t *testing.T) {
	for _, v := range sound(0.5, func(float64) EngineState { return EngineState{} }) {
		if v != 0 {
			t.Fatal("an engine that does nothing is heard")
		}
	}
}

// Four cylinders fire twice a turn: 33.3 Hz at 1000 rpm, 66.7 Hz at 2000.
func TestFiringFrequency(t *testing.T) {
	for _, rpm := range []float64{1000, 2000} {
		x := sound(4, func(float64) EngineState { return EngineState{RPM: rpm, Firing: 1, Load: 0.6} })[Rate:]
		firing := rpm / 60 * 2
		for harmonic := 1.0; harmonic <= 3; harmonic++ {
			on, off := power(x, firing*harmonic), power(x, firing*(harmonic+0.37))
			if on < 4*off {
				t.Errorf("%g rpm: %.1f Hz does not stand out (%.5f against %.5f beside it)", rpm, firing*harmonic, on, off)
			}
		}
	}
}

// With eyes closed: firing is louder and lower than cranking, and a weak
// battery turns the starter's whine down.
func TestFiringIsToldFromCranking(t *testing.T) {
	crank := sound(3, func(float64) EngineState { return EngineState{RPM: 130, StarterAmps: 230, BusVolts: 18} })[Rate:]
	fires := sound(3, func(float64) EngineState { return EngineState{RPM: 800, Firing: 1, Load: 0.5} })[Rate:]
	bass := func(x []float64) float64 {
		sum := 0.0
		for hz := 20.0; hz < 150; hz += 1 {
			sum += power(x, hz) * power(x, hz)
		}
		return 10 * math.Log10(sum)
	}
	if d := bass(fires) - bass(crank); d < 10 {
		t.Errorf("below 150 Hz firing is only %.1f dB above cranking", d)
	}
	weak := sound(3, func(float64) EngineState { return EngineState{RPM: 60, StarterAmps: 230, BusVolts: 13} })[Rate:]
	whine := func(x []float64) float64 {
		best, at := 0.0, 0.0
		for hz := 80.0; hz < 500; hz += 2 {
			if p := power(x, hz); p > best {
				best, at = p, hz
			}
		}
		return at
	}
	if strong, low := whine(crank), whine(weak); low > 0.6*strong {
		t.Errorf("the starter's whine is at %g Hz strong and %g Hz weak", strong, low)
	}
}

// A single charge that burns while cranking is heard at once, as a cough.
func TestCough(t *testing.T) {
	x := sound(3, func(t float64) EngineState {
		s := EngineState{RPM: 120, StarterAmps: 230, BusVolts: 18, Counted: true}
		if t >= 2 {
			s.Firings = 1
		}
		return s
	})
	before, cough := x[Rate:2*Rate], x[2*Rate:2*Rate+Rate/2]
	loudest := -100.0
	for at := 0; at+Rate/20 <= len(cough); at += Rate / 100 {
		loudest = max(loudest, level(cough[at:at+Rate/20]))
	}
	if d := loudest - level(before); d < 5 {
		t.Errorf("the cough is only %.1f dB above cranking", d)
	}
}

// However the state jumps, the wave does not: no step between two samples is
// larger than the sound makes by itself.
func TestNoClickBetweenStates(t *testing.T) {
	worst := func(x []float64) float64 {
		w := 0.0
		for i := 1; i < len(x); i++ {
			w = max(w, math.Abs(x[i]-x[i-1]))
		}
		return w
	}
	steady := worst(sound(2, func(float64) EngineState {
		return EngineState{RPM: 2400, Firing: 1, Load: 1, BoostPump: true, BusVolts: 28}
	}))
	jumping := worst(sound(4, func(t float64) EngineState {
		if int(t*7)%2 == 0 {
			return EngineState{RPM: 2400, Firing: 1, Load: 1, BusVolts: 28}
		}
		return EngineState{RPM: 300, CrankPhase: math.Mod(t*31, 1), HasPhase: true, BusVolts: 12, StarterAmps: 250}
	}))
	if jumping > 1.6*steady {
		t.Errorf("the largest step is %.3f when the state jumps, %.3f when it does not", jumping, steady)
	}
}

// The sound's compressions keep step with the model's.
func TestPhaseFollowsTheModel(t *testing.T) {
	var e engine
	e.init()
	block := make([][2]float64, Rate/100)
	phase := 0.5
	for range 300 {
		phase = math.Mod(phase+120.0/60*2/100, 1)
		e.set(EngineState{RPM: 120, StarterAmps: 200, BusVolts: 20, CrankPhase: phase, HasPhase: true})
		e.add(block)
	}
	end := math.Mod(phase+120.0/60*2/100, 1)
	off := e.phase - end
	off -= math.Round(off)
	if math.Abs(off) > 0.05 {
		t.Errorf("after three seconds the sound is %.2f of a charge from the model", off)
	}
}

func TestSilenceCostsNothing(t *testing.T) {
	var e engine
	e.init()
	if e.sounding() {
		t.Error("an engine that was never started is still computed")
	}
	e.set(EngineState{RPM: 1000, Firing: 1})
	block := make([][2]float64, Rate)
	e.add(block)
	if !e.sounding() {
		t.Error("a running engine is not computed")
	}
	e.set(EngineState{})
	for range 3 {
		e.add(block)
	}
	if e.sounding() {
		t.Error("an engine at rest is still computed after three seconds")
	}
}

func BenchmarkStream(b *testing.B) {
	for name, s := range map[string]EngineState{
		"engine at rest": {},
		"engine running": {RPM: 1000, Firing: 1, Load: 0.5, BusVolts: 28, Alternator: true, Battery: true},
		"cranking":       {RPM: 120, StarterAmps: 230, BusVolts: 18, BoostPump: true},
	} {
		b.Run(name, func(b *testing.B) {
			m := NewMixer(testClips, 0)
			m.SetEngine(s)
			block := make([][2]float64, 480)
			for range 300 {
				m.Stream(block)
			}
			for b.Loop() {
				m.SetEngine(s)
				m.Stream(block)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1e7*100, "%core")
		})
	}
}

// A run that pauses, or is over, says nothing more of an engine that runs. It
// goes on as it was for half a second, and has faded away after two.
func TestEngineThatIsNotToldOf(t *testing.T) {
	var e engine
	e.init()
	block := make([][2]float64, Rate/200)
	var x []float64
	stream := func() {
		clear(block)
		e.add(block)
		for _, s := range block {
			x = append(x, s[0])
		}
	}
	s := EngineState{RPM: 1000, Load: 0.5, Counted: true, Battery: true}
	for i := range 400 {
		s.Firings = uint64(i) / 6 // 33.3 a second
		e.set(s)
		stream()
	}
	for range 600 {
		stream()
	}
	told, untold := level(x[Rate:2*Rate]), level(x[2*Rate+Rate/10:2*Rate+Rate/2])
	if d := untold - told; math.Abs(d) > 5 { // thirteen charges, of which chance lets some go unburnt
		t.Errorf("in the half second after the last call it is %+.1f dB", d)
	}
	if after := level(x[4*Rate:]); after > told-60 {
		t.Errorf("after two seconds it is %.1f dB down, want it gone", told-after)
	}
	if e.sounding() {
		t.Error("after three seconds the device may not rest yet")
	}
	e.set(s)
	stream()
	if !e.sounding() {
		t.Error("it is told of again and is not heard")
	}
}
