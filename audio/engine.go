package audio

import "math"

// EngineState is what the engine's sound is made from. Give it 50 to 200 times
// a second; between calls the sound goes on where it was, and when none comes for
// half a second, as in a pause, it fades away until one does. The zero state is
// silent.
type EngineState struct {
	RPM float64 // of the crankshaft

	// CrankPhase is how far the crankshaft has turned since a compression's top,
	// as a fraction of the turn from one to the next, from 0 to 1. Set HasPhase
	// when it is known; else the sound keeps its own.
	CrankPhase float64
	HasPhase   bool

	Firing  float64 // share of the charges that burn, 0 to 1
	Firings uint64  // charges burnt so far, where they are counted; each is heard
	Counted bool    // Firings is meaningful, and Firing is not needed
	Load    float64 // manifold pressure as a fraction of the ambient pressure

	StarterAmps float64 // current of the starter motor
	BusVolts    float64
	BoostPump   bool
	Battery     bool // master contactor
	Solenoid    bool // starter solenoid
	Alternator  bool
}

// The engine is a horizontally opposed four: two charges a turn.
const chargesPerTurn = 2

// The starter's pinion: the motor turns gearRatio times as fast as the
// crankshaft, with meshTeeth teeth coming into mesh each turn.
const (
	gearRatio    = 16
	meshTeeth    = 9
	nominalVolts = 24
)

// engine makes the sound. Everything is an oscillator or a filter that keeps
// its phase, so that no change of state clicks. Its mixer guards it.
type engine struct {
	to       EngineState // as last set
	told     int         // samples since then
	presence float64     // 1 while it is told of, 0 when it has faded away
	noise    noise

	rpm    float64
	phase  float64 // of the present charge, 0 at its compression's top
	target float64 // phase as the model has it, carried on from the last call

	credit   uint64 // charges that burnt and have not been heard
	strength float64
	since    float64 // seconds since the present charge fired
	cylinder int
	fired    float64 // how much of late has fired, 0 to 1

	pump, pumpPhase         float64
	starter, starterPhase   float64
	whine, whinePhase       float64
	exhaust, hiss, tone     float64 // filter memories
	rush                    float64
	contactor, clunk, click decayingNoise
	quiet                   int // samples since anything could be heard
}

// How long a state holds. Counts of charges that no longer come are carried on at
// the rate at which they came.
const (
	countsHold = Rate / 10
	stateHolds = Rate / 2
	fadeTime   = 0.1 // seconds to two thirds of the way
)

// One cylinder is never quite like the next: an idle's lope.
var cylinderGain = [4]float64{1, 0.86, 1.08, 0.93}

func (e *engine) init() {
	e.noise = 180
	e.quiet = Rate
	e.presence = 1
	e.contactor = decayingNoise{hz: 150, seconds: 0.030, gain: 0.25}
	e.clunk = decayingNoise{hz: 260, seconds: 0.045, gain: 0.50}
	e.click = decayingNoise{hz: 1800, seconds: 0.006, gain: 0.12}
}

func (e *engine) set(s EngineState) {
	was := e.to
	e.to, e.told = s, 0
	if s.Battery != was.Battery {
		e.contactor.strike()
	}
	if s.Solenoid != was.Solenoid {
		e.clunk.strike()
	}
	if s.BoostPump != was.BoostPump || s.Alternator != was.Alternator {
		e.click.strike()
	}
	if s.HasPhase {
		e.target = s.CrankPhase - math.Floor(s.CrankPhase)
	}
	if s.Counted && was.Counted && s.Firings > was.Firings {
		// More than two waiting are too many to be heard apart, and would sound
		// after the engine has stopped.
		e.credit = min(2, e.credit+s.Firings-was.Firings)
	}
	if s != (EngineState{}) && (s.RPM > 0 || s.BoostPump || s.StarterAmps > 0 || s.Battery != was.Battery || s.Solenoid != was.Solenoid) {
		e.quiet = 0
	}
}

// sounding is false when all has long died away, so that silence costs nothing.
func (e *engine) sounding() bool { return e.quiet < Rate }

func (e *engine) add(out [][2]float64) {
	s := &e.to
	present := 0.0
	if e.told < stateHolds {
		present = 1
	}
	active := s.RPM > 1 || e.rpm > 1 || s.BoostPump || s.StarterAmps > 0 || s.Alternator && s.RPM > 0
	active = active && (present > 0 || e.presence > 1e-4)
	for i := range out {
		x := e.turn() + e.motors() + e.contactor.next(&e.noise) + e.clunk.next(&e.noise) + e.click.next(&e.noise)
		e.presence += (present - e.presence) * (1 / (fadeTime * Rate))
		x *= e.presence
		out[i][0] += x
		out[i][1] += x
	}
	e.told = min(e.told+len(out), 2*stateHolds)
	e.quiet += len(out)
	if active {
		e.quiet = 0
	}
}

// turn moves the crankshaft on by a sample and makes what it sounds like:
// exhaust, breath of the cylinders, propeller.
func (e *engine) turn() float64 {
	s := &e.to
	e.rpm += (s.RPM - e.rpm) * (1 / (0.008 * Rate))
	if e.rpm < 1 && s.RPM < 1 {
		e.rpm = 0
	}
	step := e.rpm / 60 * chargesPerTurn / Rate
	e.phase += step
	if s.HasPhase {
		e.target += step
		e.target -= math.Floor(e.target)
		off := e.target - e.phase
		off -= math.Round(off)
		e.phase += max(off*(1/(0.04*Rate)), -0.9*step)
	}
	if e.phase >= 1 {
		e.phase -= 1
		e.nextCharge()
	}
	e.since += 1.0 / Rate
	noise := e.noise.next()
	return e.exhaustNote(noise) + e.breath(noise) + e.propeller(noise)
}

func (e *engine) nextCharge() {
	e.cylinder = (e.cylinder + 1) & 3
	burns := 0.0
	switch {
	case e.credit > 0:
		e.credit--
		burns = 1
	case !e.to.Counted && 0.5+0.5*e.noise.next() < e.to.Firing:
		burns = 1
	case e.to.Counted && e.told > countsHold && 0.5+0.5*e.noise.next() < e.fired:
		burns = 1
	}
	e.fired += 0.2 * (burns - e.fired)
	e.strength = 0
	if burns > 0 {
		load := min(max(e.to.Load, 0.25), 1)
		e.strength = cylinderGain[e.cylinder] * (1 + 0.12*e.noise.next()) * (0.45 + 0.75*load)
		e.since = 0
	}
}

// exhaustNote is one burst a burnt charge: a decaying thump and noise, as long
// as a charge lasts but never longer than a cough, through a pipe that lets
// more through the harder the engine works.
func (e *engine) exhaustNote(noise float64) float64 {
	const slowest = 22 // charges a second: slower ones sound like a cough each
	u := e.since * max(e.rpm/60*chargesPerTurn, slowest)
	burst := 0.0
	if e.strength > 0 && u < 3 {
		burst = e.strength * (thump.at(u/3) + 0.5*fading.at(u/3)*noise)
	}
	corner := 600 + 900*min(1, e.rpm/2400)
	e.exhaust += (burst - e.exhaust) * min(1, 2*math.Pi*corner/Rate)
	// Small loudspeakers do not give the firing frequency back: bending the wave
	// adds the harmonics from which the ear makes it up.
	x := 3 * e.exhaust
	return 0.23 * x / (1 + math.Abs(x))
}

// breath is the air a cylinder squeezes and lets go, all that is heard of a
// crankshaft that turns without firing.
func (e *engine) breath(noise float64) float64 {
	if e.rpm == 0 {
		return 0
	}
	level := 0.10 * min(1, e.rpm/150) * (1 - 0.6*min(1, e.rpm/1200))
	e.hiss += (noise*squeeze.at(e.phase)*level - e.hiss) * (2 * math.Pi * 700 / Rate)
	return e.hiss
}

func (e *engine) propeller(noise float64) float64 {
	blade := 0.55 + 0.45*cosine(e.phase)
	speed := min(1.3, e.rpm/2400)
	e.rush += (noise*blade*speed*speed*0.5 - e.rush) * (2 * math.Pi * 400 / Rate)
	return e.rush
}

// motors are what the battery turns: pump and starter, and the alternator's
// whine when it is turned itself.
func (e *engine) motors() float64 {
	s := &e.to
	volts := s.BusVolts / nominalVolts
	pump := 0.0
	if s.BoostPump {
		pump = min(1.2, volts)
	}
	e.pump += (pump - e.pump) * (1 / (0.12 * Rate))
	e.pumpPhase = wrap(e.pumpPhase + 118*e.pump/Rate)
	x := 0.0
	if e.pump > 0.01 {
		x += 0.030 * e.pump * (sine(e.pumpPhase) + 0.7*sine(2*e.pumpPhase) + 0.5*sine(3*e.pumpPhase) + 0.35*sine(7*e.pumpPhase))
	}
	return x + e.starterNote() + e.alternatorNote()
}

// starterNote is the gears' whine, which drops in pitch and grows as the motor
// labours over each compression; a motor that cannot turn it only hums.
func (e *engine) starterNote() float64 {
	s := &e.to
	drive := min(1.3, s.StarterAmps/200)
	e.starter += (drive - e.starter) * (1 / (0.025 * Rate))
	if e.starter < 0.003 {
		return 0
	}
	slow := 1 - min(1, e.rpm/500)
	labour := 0.5 + 0.5*cosine(e.phase)
	labour *= labour * slow
	mesh := e.rpm / 60 * gearRatio * meshTeeth * (1 - 0.14*labour)
	e.starterPhase = wrap(e.starterPhase + max(mesh, 45)/Rate)
	p := e.starterPhase
	tone := sine(p) + 0.5*sine(2*p) + 0.25*sine(3*p) + 0.12*sine(5*p)
	e.tone += (tone - e.tone) * (2 * math.Pi * 1200 / Rate)
	return 0.055 * min(1, e.starter) * (0.55 + 0.75*labour) * e.tone
}

func (e *engine) alternatorNote() float64 {
	on := 0.0
	if e.to.Alternator && e.rpm > 400 {
		on = 1
	}
	e.whine += (on - e.whine) * (1 / (0.2 * Rate))
	if e.whine < 0.01 {
		return 0
	}
	e.whinePhase = wrap(e.whinePhase + e.rpm/60*3*6/Rate)
	return 0.006 * e.whine * (sine(e.whinePhase) + 0.5*sine(3*e.whinePhase))
}

func wrap(phase float64) float64 {
	if phase >= 1 {
		phase -= 1
	}
	return phase
}

// sine is of whole turns, from zero up.
func sine(turns float64) float64 { return sines.at(turns - math.Floor(turns)) }

func cosine(turns float64) float64 { return sine(turns + 0.25) }

// curve is a function of 0 to 1, looked up: computed for each sample, its sines
// and powers would take most of the time.
type curve [2049]float64

func tabulate(f func(x float64) float64) *curve {
	var c curve
	for i := range c {
		c[i] = f(float64(i) / float64(len(c)-1))
	}
	return &c
}

func (c *curve) at(x float64) float64 {
	x *= float64(len(c) - 1)
	i := min(max(int(x), 0), len(c)-2)
	return c[i] + (c[i+1]-c[i])*(x-float64(i))
}

var (
	sines = tabulate(func(x float64) float64 { return math.Sin(2 * math.Pi * x) })
	// A burnt charge over three of its lengths: how its pressure swings, and how
	// its noise fades.
	thump = tabulate(func(x float64) float64 {
		u := 3 * x
		return math.Exp(-5*u) * (math.Sin(6*math.Pi*u) + 0.55*math.Sin(11*math.Pi*u))
	})
	fading = tabulate(func(x float64) float64 { return math.Exp(-15 * x) })
	// The air of a turn from one compression to the next.
	squeeze = tabulate(func(x float64) float64 { return math.Exp(-7*x) + 0.6*math.Exp(-9*(1-x)) })
)

// noise is white, from -1 to 1, and the same every time (G. Marsaglia, "Xorshift
// RNGs", 2003). It must not be zero.
type noise uint64

func (n *noise) next() float64 {
	*n ^= *n << 13
	*n ^= *n >> 7
	*n ^= *n << 17
	return float64(int64(*n)) / (1 << 63)
}

// decayingNoise is something that is struck: a relay, a contactor.
type decayingNoise struct {
	hz, seconds, gain float64
	level, phase      float64
}

func (d *decayingNoise) strike() { d.level, d.phase = d.gain, 0 }

func (d *decayingNoise) next(noise *noise) float64 {
	if d.level < 1e-4 {
		return 0
	}
	d.level *= 1 - 1/(d.seconds*Rate)
	d.phase += d.hz / Rate
	return d.level * (0.6*sine(d.phase) + 0.4*noise.next())
}
