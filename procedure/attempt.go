package procedure

import "time"

// This file is the hold of the prime and the attempt with the starter.

// Prime is one time that fuel was let through with the engine stopped.
type Prime struct {
	Begin, End time.Duration
	LevelledAt time.Duration // when the indicated flow levelled off; zero when it did not
	Open       bool          // still held, and so far until End
}

// Length is how long it was held.
func (p Prime) Length() time.Duration { return p.End - p.Begin }

// Attempt is one engagement of the starter and what came of it.
type Attempt struct {
	Engaged  time.Duration
	Released time.Duration
	Open     bool // still engaged, and so far until Released
	Running  bool // engaged in an engine that ran already: a mistake, and no try to start it
	Fired    bool
	FiredAt  time.Duration
	Ran      bool // it ran without the starter
	Died     bool // it fired or ran, and stopped
	DiedAt   time.Duration
}

// Crank is how long the starter was engaged.
func (a Attempt) Crank() time.Duration { return a.Released - a.Engaged }

// ToFire is the time from engaging to firing, zero when it did not fire.
func (a Attempt) ToFire() time.Duration {
	if !a.Fired {
		return 0
	}
	return a.FiredAt - a.Engaged
}

type holding struct {
	step  int // index of the hold's step; -1 when the flow has none now
	begin time.Duration
}

type cueState struct {
	levelledAt time.Duration
	levelled   bool
}

// engineState is what the run knows of the engine from its signals.
type engineState struct {
	cranking   bool
	releasedAt time.Duration
	fired      bool
	firedAt    time.Duration
	runs       bool
	limitSaid  bool
	starterIn  bool
	noOilSaid  bool
	raced      bool
	oilSeen    bool
	stalled    bool // it died on a starter that was put into it running
}

// overspeedRPM is where racing a cold engine becomes unsafe. Estimate: half as
// fast again as the 1,500 rpm that flows call racing, with a margin.
const overspeedRPM = 2000

// holdMoved begins or ends the hold of the prime when its control moved.
func (r *Run) holdMoved(id ControlID, from, to Position) {
	if id != ControlMixture || r.engine.fired || !r.primesByMixture() {
		return
	}
	rest := r.restPosition()
	left, back := !rest(from), rest(to)
	switch {
	case r.holding == nil && !left && !back && !r.engine.cranking:
		r.beginHold()
	case r.holding != nil && back:
		r.endHold()
	}
}

// primesByMixture reports whether this aeroplane is primed with its mixture, as
// an injected engine is: some flow of it has a hold of that control.
func (r *Run) primesByMixture() bool {
	for _, f := range r.setup.Library.Flows {
		for i := range f.Steps {
			if h := f.Steps[i].Hold; h != nil && h.Control == ControlMixture {
				return true
			}
		}
	}
	return false
}

// restPosition says when the mixture counts as back at cut-off: as the flow's
// hold says, or within two hundredths where the flow has none.
func (r *Run) restPosition() func(Position) bool {
	rest, tol := Position(0), Position(0.02)
	for i := range r.steps {
		if h := r.steps[i].Step.Hold; h != nil && !r.steps[i].Finished() {
			rest, tol = h.Rest, h.Tolerance
			break
		}
	}
	return func(p Position) bool { return p >= rest-tol && p <= rest+tol }
}

func (r *Run) beginHold() {
	r.inferChoice(true)
	s := r.comeTo(StepHold)
	r.cue = cueState{}
	r.holding = &holding{step: r.index(s), begin: r.now}
	r.primes = append(r.primes, Prime{Begin: r.now, End: r.now, Open: true})
	if s != nil {
		r.emit(Effect{Kind: EffectHush, At: r.now, Step: s.Step.ID})
		r.count(s)
		r.scheduleFrom(s, FromStep, r.now)
		r.scheduleIdeal(s, r.now)
	}
}

// comeTo finds the coming step of a kind, whose hand is at it now whatever the run
// was at, and begins it; nil when there is none.
func (r *Run) comeTo(k StepKind) *StepState {
	s := r.upcoming(k)
	if s == nil {
		return nil
	}
	i := r.index(s)
	if i > r.present {
		r.passTo(i, r.metBefore())
	}
	s = &r.steps[i] // passing over may have made the list anew
	s.Begin = r.now
	return s
}

// endHold closes the hold and judges its length. A second hold of the same
// prime adds to the first: what matters is the fuel let through.
func (r *Run) endHold() {
	if s, p := r.closeHold(); s != nil {
		r.finish(s, r.now, r.judgeHold(s, p))
	}
}

// cutHold judges the hold by how long it had been held when the run ended.
func (r *Run) cutHold() {
	if s, p := r.closeHold(); s != nil {
		r.closeStep(s, r.now, s.verdict(r.judgeHold(s, p)))
	}
}

// closeHold closes the prime and gives the step that it was, nil where it was
// none of its own.
func (r *Run) closeHold() (*StepState, Prime) {
	h := r.holding
	r.holding = nil
	p := &r.primes[len(r.primes)-1]
	p.End, p.Open = r.now, false
	if r.cue.levelled {
		p.LevelledAt = r.cue.levelledAt
	}
	if h.step >= 0 {
		s := &r.steps[h.step]
		s.Begin = h.begin
		return s, *p
	}
	if s := r.lastHold(); s != nil {
		s.Elapsed += p.Length()
		s.Verdict = s.Window.Judge(s.Elapsed)
		r.emit(Effect{Kind: EffectVerdict, At: r.now, Step: s.Step.ID, Verdict: s.Verdict})
	}
	return nil, *p
}

// lastHold is the prime of the present attempt when it is done already.
func (r *Run) lastHold() *StepState {
	for i := min(r.present, len(r.steps)) - 1; i >= 0; i-- {
		switch s := &r.steps[i]; s.Step.Kind {
		case StepHold:
			if s.Status == StatusDone && s.Flow == r.presentFlow() {
				return s
			}
			return nil
		case StepCrank, StepRest:
			return nil
		}
	}
	return nil
}

// presentFlow is the flow that the present step, or the last one, came from.
func (r *Run) presentFlow() FlowID {
	if len(r.steps) == 0 {
		return r.flow.ID
	}
	return r.steps[min(r.present, len(r.steps)-1)].Flow
}

// judgeHold judges a prime by the clock, by the cue or by both, as its step
// says. Where the panel has no such instrument the clock alone can judge.
func (r *Run) judgeHold(s *StepState, p Prime) Verdict {
	h := s.Step.Hold
	byClock := s.Window.Judge(p.Length())
	if h.By == ByClock || !r.panel.Shows(h.Cue) {
		return byClock
	}
	byCue := Early
	if p.LevelledAt > 0 {
		byCue = Window{Max: h.CueGrace}.Judge(p.End - p.LevelledAt)
	}
	if h.By == ByCue {
		return byCue
	}
	if byClock == OnTime || byCue == OnTime {
		return OnTime
	}
	return byClock
}

// ignition notes the starter's engagement and release.
func (r *Run) ignition(c *Control, from, to Position) {
	start, ok := c.Detent(DetentStart)
	switch {
	case !ok:
	case to == start:
		r.engage()
	case from == start:
		r.release()
	}
}

// engage begins an attempt, whatever the flow was waiting for, and says at once
// what makes it unsafe.
func (r *Run) engage() {
	if r.engine.fired {
		r.engageRunning()
		return
	}
	r.inferChoice(false)
	if r.holding != nil {
		r.endHold()
	}
	valid := r.area.valid(r.now)
	s := r.comeTo(StepCrank)
	owed := r.setup.Ledger.Engage(r.now)
	r.engine = engineState{cranking: true}
	r.branch.pending = false
	r.forgetStillSigns()
	r.attempts = append(r.attempts, Attempt{Engaged: r.now, Released: r.now, Open: true})
	r.emit(Effect{Kind: EffectAttempt, At: r.now})
	r.breachesOfEngaging(s, valid, owed)
	r.area.spend()
	if s != nil {
		r.emit(Effect{Kind: EffectHush, At: r.now, Step: s.Step.ID})
		r.count(s)
		r.scheduleFrom(s, FromStep, r.now)
		r.scheduleLimit(s)
	}
}

// engageRunning grinds the starter into an engine that fires already. That is no
// try to start it: what is known of the engine stays.
func (r *Run) engageRunning() {
	r.setup.Ledger.Engage(r.now)
	r.engine.cranking, r.engine.limitSaid, r.engine.starterIn = true, true, true // the breach below says it all
	r.attempts = append(r.attempts, Attempt{Engaged: r.now, Released: r.now, Open: true, Running: true})
	r.emit(Effect{Kind: EffectAttempt, At: r.now})
	r.breach(BreachStarterIn, nil)
}

// lastTry is the last attempt to start the engine.
func (r *Run) lastTry() *Attempt {
	for i := len(r.attempts) - 1; i > 0; i-- {
		if !r.attempts[i].Running {
			return &r.attempts[i]
		}
	}
	return &r.attempts[0] // nothing can run before the first
}

func (r *Run) breachesOfEngaging(s *StepState, valid bool, owed time.Duration) {
	switch {
	case r.area.anybody():
		r.breach(BreachAreaOccupied, s)
	case !valid && !r.fightingFire():
		r.breach(BreachNoPropClear, s)
	}
	if !r.brakesHeld() {
		r.breach(BreachBrakesOff, s)
	}
	if owed > 0 && !r.fightingFire() {
		r.breach(BreachRest, s)
	}
}

func (r *Run) brakesHeld() bool {
	c, ok := r.setup.Library.Aircraft.Control(ControlBrakes)
	if !ok {
		return true
	}
	held, _ := c.Detent(DetentHeld)
	return r.positions[ControlBrakes] == held
}

// release ends the engagement.
func (r *Run) release() {
	if !r.engine.cranking {
		return
	}
	r.setup.Ledger.Release(r.now)
	r.engine.cranking, r.engine.releasedAt = false, r.now
	a := &r.attempts[len(r.attempts)-1]
	a.Released, a.Open = r.now, false
	r.emit(Effect{Kind: EffectAttempt, At: r.now})
	if r.stops() {
		return // it is meant to stop
	}
	if s := r.presentOf(StepCrank); s != nil && !r.engine.fired {
		r.emit(Effect{Kind: EffectHush, At: r.now, Step: s.Step.ID})
		r.branch.pending, r.branch.due = true, r.now+catchGrace
	}
	if a.Died || r.engine.stalled {
		r.branch.pending, r.branch.due = true, r.now
	}
}

func (r *Run) presentOf(k StepKind) *StepState {
	if r.present < len(r.steps) && r.steps[r.present].Step.Kind == k {
		return &r.steps[r.present]
	}
	return nil
}

// signal takes a moment of the engine's life.
func (r *Run) signal(subject string) {
	switch subject {
	case SignalFires:
		r.fires()
	case SignalRuns:
		r.runs()
	case SignalDies:
		r.dies()
	case SignalLevelsOff:
		if r.holding != nil && !r.cue.levelled {
			r.cue = cueState{levelledAt: r.now, levelled: true}
			r.primes[len(r.primes)-1].LevelledAt = r.now
		}
	}
}

// fires ends the crank step: catch and release are due from this moment.
func (r *Run) fires() {
	if r.engine.fired || len(r.attempts) == 0 {
		return
	}
	r.engine.fired, r.engine.firedAt, r.engine.stalled = true, r.now, false
	r.branch.pending = false
	a := &r.attempts[len(r.attempts)-1]
	a.Fired, a.FiredAt, a.Died = true, r.now, false
	if s := r.presentOf(StepCrank); s != nil {
		i := r.index(s)
		for _, c := range s.Step.CallOuts {
			if c.Anchor == OnFires {
				r.say(r.now+c.Offset, s.Step.ID, c.Line, PriorityCue)
			}
		}
		r.finish(s, r.now, s.Window.Judge(r.now-s.Begin))
		r.beginAfterFiring(i + 1)
	}
	r.reconsider(nil)
}

// beginAfterFiring starts the clocks of catch and release together.
func (r *Run) beginAfterFiring(from int) {
	for i := from; i < len(r.steps); i++ {
		s := &r.steps[i]
		if s.Step.Kind != StepCatch && s.Step.Kind != StepRelease {
			return
		}
		s.Begin = r.now
		for _, c := range s.Step.CallOuts {
			if c.Anchor == OnFires {
				r.say(r.now+c.Offset, s.Step.ID, c.Line, PriorityCue)
			}
		}
	}
}

func (r *Run) runs() {
	if !r.engine.fired || r.engine.runs {
		return
	}
	r.engine.runs = true
	r.lastTry().Ran = true
}

func (r *Run) dies() {
	if !r.engine.fired {
		return
	}
	a := r.lastTry()
	a.Died, a.DiedAt = true, r.now
	r.engine.fired, r.engine.runs = false, false
	if last := &r.attempts[len(r.attempts)-1]; last.Running && last.Open {
		// From here on this engagement is a try to start it, like another.
		last.Running, last.Engaged = false, r.now
		r.engine.limitSaid, r.engine.starterIn, r.engine.stalled = false, false, true
	}
	if r.stops() {
		return
	}
	if a.Ran && !r.engine.cranking && r.restPosition()(r.positions[ControlMixture]) {
		r.conclude(NotStarted) // the pilot stopped it
		return
	}
	if !r.engine.cranking {
		r.branch.pending, r.branch.due = true, r.now
	}
}

// watchRunning looks for racing and notes oil pressure in a running engine.
func (r *Run) watchRunning(id InstrumentID, v float64) {
	if !r.engine.fired {
		return
	}
	switch id {
	case InstrumentRPM:
		if v > overspeedRPM && !r.engine.raced && !r.fightingFire() {
			r.engine.raced = true
			r.breach(BreachOverspeed, r.step(StepSettle))
		}
	case InstrumentOilPressure:
		if s := r.oilCheck(); s != nil && s.Step.Conditions[0].Holds(v) {
			r.engine.oilSeen = true
		}
	}
}

func (r *Run) oilCheck() *StepState {
	for i := range r.steps {
		s := &r.steps[i]
		if s.Step.Kind == StepCheck && s.Status != StatusNotReached && len(s.Step.Conditions) > 0 &&
			s.Step.Conditions[0].Instrument == InstrumentOilPressure {
			return s
		}
	}
	return nil
}
