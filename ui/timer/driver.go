package timer

import (
	"math"
	"slices"
	"sync"
	"time"

	"kickover/procedure"
	"kickover/procedure/realstart"
	"kickover/procedure/timer"
)

// picture is what is shown: the machine's view, and what is said and amiss.
type picture struct {
	timer.View
	Altitude float64
	Caption  string
	Alarm    bool // the blinking half of a warning
	Notice   string
}

// driver owns the machine: it takes events in, carries effects out, and says
// what to show.
type driver struct {
	machine *timer.Machine
	o       Options
	direct  func() bool
	publish func(*picture)
	in      chan func()
	stop    chan struct{}
	stopped chan struct{}
	once    sync.Once
	errands *errands

	// The goroutine's own.
	captions captions
	notices  []string
	altitude float64
	dusty    time.Duration // when the ledger was last told that time passes
}

func newDriver(m *timer.Machine, o Options, direct func() bool, publish func(*picture)) *driver {
	d := &driver{
		machine: m, o: o, direct: direct, publish: publish, altitude: o.AltitudeM,
		in: make(chan func(), 256), stop: make(chan struct{}), stopped: make(chan struct{}),
		notices: slices.Concat(o.Ledger.Notices(), o.Notices),
	}
	d.errands = newErrands(func(text string) { d.notice(text) })
	return d
}

// first is what is shown before anything happened.
func (d *driver) first() *picture {
	d.carry(d.machine.Apply(timer.Event{Kind: timer.Air, At: 0, Celsius: d.o.Celsius}))
	return d.picture(d.now())
}

func (d *driver) start() { go d.run() }

// close settles what can still be undone, and ends.
func (d *driver) close() {
	d.once.Do(func() { close(d.stop) })
	<-d.stopped
	d.errands.close()
}

// now is the time since the ledger was opened.
func (d *driver) now() time.Duration { return d.o.Ledger.Now() }

// do hands something to the goroutine; after the end it is dropped.
func (d *driver) do(f func()) {
	select {
	case d.in <- f:
	case <-d.stopped:
	}
}

// button is the button going down or up at a moment.
func (d *driver) button(down bool, at time.Duration) {
	kind := timer.Release
	if down {
		kind = timer.Press
	}
	d.do(func() { d.carry(d.machine.Apply(timer.Event{Kind: kind, At: at})) })
}

func (d *driver) lost() { d.send(timer.Event{Kind: timer.Lost}) }

// send stamps an event and hands it on.
func (d *driver) send(e timer.Event) {
	e.At = d.now()
	d.do(func() { d.carry(d.machine.Apply(e)) })
}

func (d *driver) notice(text string) {
	d.do(func() {
		if text == "" {
			d.notices = nil
		} else if !slices.Contains(d.notices, text) {
			d.notices = append(slices.Clone(d.notices), text)
		}
	})
}

// warmer changes the outside air temperature by degrees.
func (d *driver) warmer(by float64) {
	at := d.now()
	d.do(func() {
		c := d.machine.Celsius()
		if math.IsNaN(c) {
			c = 15 - by // the standard atmosphere's
		}
		d.carry(d.machine.Apply(timer.Event{Kind: timer.Air, At: at, Celsius: min(max(c+by, -60), 60)}))
	})
}

// higher changes the pressure altitude by metres.
func (d *driver) higher(by float64) {
	d.do(func() {
		if math.IsNaN(d.altitude) {
			d.altitude = -by
		}
		d.altitude = min(max(d.altitude+by, -500), 6000)
	})
}

// A stamped key may arrive a little after it was pressed; a tick that came
// between would only make the machine's work harder, so ticks lag behind.
const tickLag = 20 * time.Millisecond

func (d *driver) run() {
	defer close(d.stopped)
	wake := time.NewTimer(0)
	defer wake.Stop()
	for {
		select {
		case f := <-d.in:
			f()
		case <-wake.C:
		case <-d.stop:
			d.end()
			return
		}
		now := d.now()
		at := now
		if d.direct() {
			at -= tickLag
		}
		d.carry(d.machine.Apply(timer.Event{Kind: timer.Tick, At: at}))
		if now-d.dusty >= time.Second {
			d.dusty = now
			d.o.Ledger.Tick()
		}
		p := d.picture(now)
		d.publish(p)
		wake.Reset(d.until(p, now))
	}
}

// end lets what could still be undone come out, as though two seconds had gone by.
func (d *driver) end() {
	for {
		select {
		case f := <-d.in:
			f()
			continue
		default:
		}
		break
	}
	at := d.now()
	d.carry(d.machine.Apply(timer.Event{Kind: timer.Lost, At: at}))
	d.carry(d.machine.Settle(at))
	d.errands.display(d.o.Display, false)
}

// How often the picture is drawn: while a hand is counted for, while seconds
// are shown, and while nothing moves.
const (
	counting = time.Second / 30
	seconds  = time.Second / 4
	still    = time.Second
)

// until is how long nothing new is to be shown.
func (d *driver) until(p *picture, now time.Duration) time.Duration {
	wait := still
	switch {
	case p.State == timer.Priming, p.State == timer.Cranking, p.State == timer.Listening, p.Button.Held > 0:
		wait = counting
	case p.State == timer.Oil:
		wait = time.Second / 10
	case p.Rest > 0, p.Clock.Running, p.Undo, p.Caption != "", p.State == timer.Armed, p.Warning != "":
		wait = seconds
	}
	if due, ok := d.machine.Next(); ok {
		// One frame late at most: what is due is asked for well ahead.
		wait = min(wait, max(due-now, time.Millisecond))
	}
	return wait
}

func (d *driver) picture(now time.Duration) *picture {
	p := &picture{View: d.machine.View(now), Altitude: d.altitude, Caption: d.captions.at(now)}
	if p.Warning != "" {
		p.Alarm = now/(300*time.Millisecond)%2 == 0
	}
	if n := len(d.notices); n > 0 { // each has its turn
		p.Notice = d.notices[int(now/noticeTurn)%n]
	}
	return p
}

const noticeTurn = 6 * time.Second

// carry carries effects out.
func (d *driver) carry(effects []timer.Effect) {
	for _, e := range effects {
		switch e.Kind {
		case timer.Say, timer.Warn:
			d.say(e)
		case timer.Hush:
			d.captions.hush(e.Tag)
			if d.o.Voice != nil {
				d.o.Voice.Hush(e.Tag)
			}
		case timer.Keep:
			d.keep(e.Start)
		case timer.Awake:
			d.errands.display(d.o.Display, e.On)
		default:
			d.note(e)
		}
	}
}

func (d *driver) say(e timer.Effect) {
	d.captions.say(e)
	if d.o.Voice == nil {
		return
	}
	d.o.Voice.Say(Utterance{
		Line: e.Line, Beat: time.Now().Add(e.At - d.now()), Priority: e.Priority, Tag: e.Tag,
	})
}

// note tells the ledger on disk.
func (d *driver) note(e timer.Effect) {
	l := d.o.Ledger
	switch e.Kind {
	case timer.Engaged:
		l.Engaged(e.At)
	case timer.Released:
		l.Released(e.At, e.Rest)
	case timer.Resumed:
		l.Resumed(e.At)
	case timer.Struck:
		l.Struck(e.At)
	case timer.Rested:
		l.Rested(e.At)
	case timer.Runs:
		l.Runs(e.At)
	case timer.Stopped:
		l.Stopped(e.At)
	}
}

// keep hands a real start to the records.
func (d *driver) keep(s timer.Start) {
	if d.o.Records == nil {
		return
	}
	at := time.Now().Add(s.Began - d.now())
	situation := string(s.Flow)
	if f, ok := d.o.Library.Flow(s.Flow); ok {
		situation = f.Situation
	}
	d.errands.keep(d.o.Records, s.Serial, realstart.Start{
		Registration: d.o.Registration, Aircraft: d.o.Library.Aircraft.ID, At: at, Situation: situation,
		OATCelsius: s.Celsius, AltitudeM: d.altitude, SinceShutdown: s.SinceShutdown, ShutdownKnown: s.ShutdownKnown,
		Prime: s.Prime, Attempts: s.Attempts, Outcome: s.Outcome, Note: s.Note,
	})
}

// captions stands in for the voice: the latest line that is due, for as long as
// it takes to say.
type captions struct {
	waiting []timer.Effect
	shown   timer.Effect
	until   time.Duration
}

func (c *captions) say(e timer.Effect) { c.waiting = append(c.waiting, e) }

func (c *captions) hush(tag string) {
	kept := c.waiting[:0]
	for _, e := range c.waiting {
		if e.Tag != tag {
			kept = append(kept, e)
		}
	}
	c.waiting = kept
}

func (c *captions) at(now time.Duration) string {
	kept := c.waiting[:0]
	for _, e := range c.waiting {
		if e.At > now {
			kept = append(kept, e)
			continue
		}
		if now >= c.until || e.Priority >= c.shown.Priority && e.At >= c.shown.At {
			c.shown, c.until = e, e.At+readingTime(e.Line)
		}
	}
	c.waiting = kept
	if now >= c.until {
		return ""
	}
	return c.shown.Line.Caption
}

// readingTime is about as long as a line takes to say.
func readingTime(l procedure.Line) time.Duration {
	return 700*time.Millisecond + time.Duration(len(l.Spoken()))*65*time.Millisecond
}
