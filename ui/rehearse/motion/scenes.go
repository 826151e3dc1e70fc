package motion

import (
	"math"
	"time"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// Scene is a moment of a run, or the whole of a prime.
type Scene string

// The scenes.
const (
	Full     Scene = "full"     // everything moves at once: for measuring
	Prime    Scene = "prime"    // the mixture is forward and the flow rises
	Clear    Scene = "clear"    // the propeller area, somebody walks in
	Answer   Scene = "answer"   // called, waiting for an answer
	Crank    Scene = "crank"    // the starter turns
	Alert    Scene = "alert"    // cranking without a look
	NoStart  Scene = "no-start" // what now?
	Explain  Scene = "explain"
	Evaluate Scene = "evaluate"
	Call     Scene = "call" // an interruption
	Rest     Scene = "rest"
	Started  Scene = "started"
	Idle     Scene = "idle"   // nothing moves
	Notice   Scene = "notice" // there is no sound
)

// Scenes lists them all.
func Scenes() []Scene {
	return []Scene{Full, Prime, Clear, Answer, Crank, Alert, NoStart, Explain, Evaluate, Call, Rest, Started, Idle, Notice}
}

// Where some of the aircraft's controls stand in its list.
const (
	pump     = 2
	ignition = 6
	throttle = 7
	mixture  = 8
)

// base is a run in the middle of its prime.
func base(at time.Duration, presentStep int) *rehearsal.Snapshot {
	n := &rehearsal.Snapshot{
		At: at, Aircraft: aircraft, FlowTitle: "Cold start", Phase: procedure.Perform,
		Conditions: rehearsal.Conditions{OATCelsius: 10, PressureAltM: 120, SinceShutdown: 12 * time.Hour},
		Positions:  []procedure.Position{1, 0, 1, 1, 0, 1, 0, 28, 0},
		Readings:   []float64{24.6, -9, 0, 0, 0, 11, 0, 0, 0, 0},
		Present:    presentStep,
		Starter:    rehearsal.StarterView{Limits: aircraft.Starter},
		Clock:      rehearsal.ClockView{Label: "STEP", Scale: 8 * time.Second},
		Area:       rehearsal.AreaView{BrakesHeld: true},
	}
	times := []float64{1.2, 0.9, 2.0, 1.1, 6.4, 4.1, 2.2, 3.0, 9.0, 3.4, 1.0, 1.4, 4.0, 3.0}
	for i := range steps {
		v := rehearsal.StepView{Key: string(steps[i].ID), Step: &steps[i], Window: steps[i].Window, Status: rehearsal.StepNext}
		switch {
		case i < presentStep:
			v.Status, v.Verdict, v.Elapsed = rehearsal.StepDone, procedure.OnTime, time.Duration(times[i]*float64(time.Second))
			if steps[i].ID == "prime-mark" {
				v.Verdict = procedure.Late
			}
			if steps[i].ID == "volts" {
				v.Detail = "24.6 V"
			}
		case i == presentStep:
			v.Status = rehearsal.StepPresent
		}
		n.Steps = append(n.Steps, v)
	}
	return n
}

// flow is an invented fuel flow, so many seconds after the mixture went forward.
func flow(s float64) float64 {
	if s < 0 {
		return 0
	}
	return 4.1 * (1 - math.Exp(-s/1.1)) * min(s/0.25, 1)
}

func trace(n *rehearsal.Snapshot, begun time.Duration) {
	for t := max(n.At-10*time.Second, 0); t <= n.At; t += 20 * time.Millisecond {
		n.FlowTrace = append(n.FlowTrace, rehearsal.TracePoint{At: t, Value: flow((t - begun).Seconds())})
	}
	n.Readings[2] = flow((n.At - begun).Seconds())
	n.FlowState = rehearsal.FlowRising
	if n.At-begun > 3800*time.Millisecond {
		n.FlowState = rehearsal.FlowLevel
	}
}

func priming(at, since time.Duration) *rehearsal.Snapshot {
	n := base(at, 5)
	n.Positions[mixture] = 1
	n.Clock = rehearsal.ClockView{Label: "PRIME", Sub: "mixture is forward", Running: true, Elapsed: since, Window: primeWindow, Scale: 8 * time.Second}
	n.Caption = rehearsal.Caption{Text: "three", Priority: procedure.PriorityCount, Hint: "watch the flow: it is still rising"}
	trace(n, at-since)
	return n
}

// full moves every part at once, which no start ever does.
func full(at time.Duration) *rehearsal.Snapshot {
	s := at.Seconds()
	n := priming(at, at%(7*time.Second))
	wave := func(period, lo, hi float64) float64 { return lo + (hi-lo)*(0.5-0.5*math.Cos(2*math.Pi*s/period)) }
	n.Readings = []float64{wave(3, 19, 28), wave(2.5, -50, 40), n.Readings[2], wave(4, 0, 2600), wave(5, 0, 600), wave(8, 0, 220), 0, 0, 0, 0}
	n.Positions[throttle] = procedure.Position(wave(3, 0, 80))
	n.Positions[mixture] = procedure.Position(wave(2, 0, 1))
	return n
}

// At is a scene's snapshot at a moment.
func At(sc Scene, at time.Duration) *rehearsal.Snapshot {
	const began = 38 * time.Second
	switch sc {
	case Full:
		return full(began + at)
	case Prime:
		since := 3100*time.Millisecond + at
		return priming(began+since, since)
	case Clear, Answer:
		return clearing(sc, began+at)
	case Crank, Alert:
		return cranking(sc, began+at)
	case NoStart, Rest:
		return failed(sc, began+at)
	case Explain:
		n := base(began, 5)
		n.Phase, n.Caption = procedure.Explain, rehearsal.Caption{Text: "The prime"}
		return n
	case Evaluate:
		n := priming(began+3*time.Second, 3*time.Second)
		n.Phase, n.Caption = procedure.Evaluate, rehearsal.Caption{}
		return n
	case Call:
		n := priming(began+3*time.Second, 3*time.Second)
		n.Asked = &rehearsal.Interruption{Who: "Tower, on the radio", Text: "Saltmarsh four, are you ready to copy your clearance?"}
		return n
	case Notice:
		n := priming(began+3*time.Second, 3*time.Second)
		n.Notice = "No sound device could be opened, so lines are shown and not spoken; everything else works. Connect or free one: it is tried again by itself."
		return n
	case Started:
		n := base(began, len(steps))
		n.Done, n.Outcome = true, procedure.Started
		return n
	default:
		return base(began, 4)
	}
}

func clearing(sc Scene, at time.Duration) *rehearsal.Snapshot {
	n := base(at, 8)
	n.Positions[throttle] = 9
	n.Clock = rehearsal.ClockView{Label: "LOOK", Sub: "propeller area", Running: true, Elapsed: 6200 * time.Millisecond, Window: within(20), Scale: 24 * time.Second}
	n.Area = rehearsal.AreaView{Active: true, BrakesHeld: true}
	n.Area.Sectors[0] = rehearsal.SectorView{Looked: true, Seen: true}
	n.Caption = rehearsal.Caption{Text: "ahead …"}
	if sc == Answer {
		for i := range n.Area.Sectors {
			n.Area.Sectors[i] = rehearsal.SectorView{Looked: true, Seen: true}
		}
		n.Area.Called, n.Area.AnswerLeft = true, 1700*time.Millisecond
		n.Caption.Text = "Clear!"
		return n
	}
	n.Area.Sectors[1] = rehearsal.SectorView{Occupied: true, Seen: true, Who: "somebody is walking in"}
	return n
}

func cranking(sc Scene, at time.Duration) *rehearsal.Snapshot {
	n := base(at, 9)
	n.Positions[throttle], n.Positions[ignition] = 9, 4
	n.Readings = []float64{20.8, -58, 0.2, 120 + 25*math.Sin(at.Seconds()*9), 20, 11, 1, 0, 0, 1}
	n.Starter.Used, n.Starter.Cranking = 1, true
	n.Clock = rehearsal.ClockView{Label: "CRANK", Sub: "let go at six", Running: true, Elapsed: 2400 * time.Millisecond, Window: within(6), Scale: 8 * time.Second}
	n.Caption = rehearsal.Caption{Text: "two", Priority: procedure.PriorityCount, Hint: "right hand on the mixture"}
	n.Area.Valid = true
	for i := range n.Area.Sectors {
		n.Area.Sectors[i] = rehearsal.SectorView{Looked: true, Seen: true}
	}
	if sc == Alert {
		n.Area.Valid = false
		n.Area.Sectors = [3]rehearsal.SectorView{}
		n.Alerts = []rehearsal.Alert{{At: at, Breach: procedure.BreachNoPropClear, Text: "Unsafe: cranked without looking around the propeller. Let go."}}
		n.Caption = rehearsal.Caption{Text: "Stop: nobody has looked", Priority: procedure.PriorityWarning}
	}
	return n
}

func failed(sc Scene, at time.Duration) *rehearsal.Snapshot {
	n := base(at, 10)
	n.Positions[2], n.Positions[4], n.Positions[throttle] = 0, 3, 9
	n.Starter.Used, n.Starter.RestLeft = 2, 38*time.Second
	n.Clock = rehearsal.ClockView{Label: "REST", Sub: "the starter cools", Running: true, Elapsed: 38 * time.Second, Scale: 45 * time.Second, Down: true}
	n.Caption = rehearsal.Caption{Text: "Rest the starter", Hint: "pump off, mixture at cut-off"}
	if sc == NoStart {
		n.Choices = []procedure.Choice{
			{ID: "prime-again", Ask: "Too little? The flow never rose, or the prime was short.", Title: "Half the prime again"},
			{ID: "flooded-patience", Ask: "A smell of fuel, or the prime was long: time mends it.", Title: "Flooded: patience"},
			{ID: "flooded-air", Ask: "Flooded, and you have the hands to catch it: air mends it.", Title: "Flooded: air"},
		}
	}
	return n
}
