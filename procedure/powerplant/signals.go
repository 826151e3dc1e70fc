package powerplant

import "time"

// Signal is a moment of the engine's life that a person in the seat notices.
type Signal string

// The signals.
const (
	SignalFires     Signal = "fires"      // it fires on its own while cranked
	SignalRuns      Signal = "runs"       // it runs without the starter
	SignalDies      Signal = "dies"       // it had fired or run, and no longer does
	SignalStops     Signal = "stops"      // the propeller stands still
	SignalLevelsOff Signal = "levels_off" // the indicated fuel flow stopped rising
	SignalFire      Signal = "fire"       // smoke or flame at the cowling
)

// The thresholds behind the signals. The firing fraction F is smoothed over
// about ten charges: three in a row take it past FiresAbove.
const (
	FiresAbove  = 0.25        // F while the starter turns it, or soon after
	DiesBelow   = 0.10        // F
	RunsRPM     = 400.0       // without the starter,
	RunsFiring  = 0.50        // at this F,
	RunsFor     = time.Second // for so long
	DiesRPM     = 150.0       // without the starter
	StopsFor    = 300 * time.Millisecond
	LevelSlope  = 0.25                   // g/s per s: the flow counts as level below,
	RisingSlope = 0.60                   // after it rose faster than this,
	LevelFlow   = 0.50                   // above this much g/s,
	LevelFor    = 300 * time.Millisecond // for so long
	slopeOver   = 400 * time.Millisecond
)

// Detector turns a plant's readings into signals. The zero value is ready for a
// plant that stands still. Observe it at even intervals of 50 ms or less.
type Detector struct {
	turned, fired, running bool
	runsSince, stillSince  time.Duration
	ran, stood             bool // the two times above count
	burning                bool

	last       time.Duration
	observed   bool
	flow       float64
	slope      float64 // g/s per s, smoothed
	rising     bool
	levelSince time.Duration
	level      bool

	out [6]Signal
}

// Observe looks at the plant at a time since the run began and returns what has
// just happened, in order. The slice is good until the next call.
func (d *Detector) Observe(now time.Duration, p *Plant) []Signal {
	out := d.out[:0]
	rpm, f := p.rpm(), p.smoothed
	out = d.engine(out, now, p, rpm, f)
	if d.levels(now, p) {
		out = append(out, SignalLevelsOff)
	}
	burning := p.blaze > 0.15
	if burning && !d.burning {
		out = append(out, SignalFire)
	}
	d.burning = burning
	return out
}

func (d *Detector) engine(out []Signal, now time.Duration, p *Plant, rpm, f float64) []Signal {
	if !d.fired && rpm > 0 && f >= FiresAbove {
		d.fired = true
		out = append(out, SignalFires)
	}
	if d.fired && !d.running {
		if !p.engaged && rpm >= RunsRPM && f >= RunsFiring {
			if !d.ran {
				d.ran, d.runsSince = true, now
			}
			if now-d.runsSince >= RunsFor {
				d.running = true
				out = append(out, SignalRuns)
			}
		} else {
			d.ran = false
		}
	}
	if d.fired && (f < DiesBelow || !p.engaged && rpm < DiesRPM) {
		d.fired, d.running, d.ran = false, false, false
		out = append(out, SignalDies)
	}
	switch {
	case p.speed != 0:
		d.turned, d.stood = true, false
	case d.turned && !d.stood:
		d.stood, d.stillSince = true, now
	case d.turned && now-d.stillSince >= StopsFor:
		d.turned, d.stood = false, false
		out = append(out, SignalStops)
	}
	return out
}

// levels reports the moment the indicated flow stops rising.
func (d *Detector) levels(now time.Duration, p *Plant) bool {
	dt := (now - d.last).Seconds()
	flow := p.shownFlow
	if !p.powered() || !d.observed || dt <= 0 {
		d.last, d.flow, d.observed = now, flow, true
		return false
	}
	raw := (flow - d.flow) / dt
	d.slope += float64((raw - d.slope) * min(1, dt/slopeOver.Seconds()))
	d.last, d.flow = now, flow
	switch {
	case flow < LevelFlow || d.slope < -RisingSlope:
		d.rising, d.level = false, false
	case d.slope > RisingSlope:
		d.rising, d.level = true, false
	case d.rising && d.slope < LevelSlope:
		if !d.level {
			d.level, d.levelSince = true, now
		}
		if now-d.levelSince >= LevelFor {
			d.rising, d.level = false, false
			return true
		}
	default:
		d.level = false
	}
	return false
}
