package timer

import (
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"kickover/procedure/realstart"
	"kickover/procedure/timer"
)

// picture is what is shown: the machine's view, and what is said and amiss.
type picture struct {
	timer.View
	Aeroplane Aeroplane
	Caption   string
	Alarm     bool // the blinking half of a warning
	Notice    string
}

// driver owns the machine: it takes events in, carries effects out, and says
// what to show.
//
// Events are stamped by one clock, that of the ledger with which the screen was
// opened. Another aeroplane's ledger counts from another moment: the machine, its
// ledger and the captions are told times less a shift.
type driver struct {
	o       Options
	clock   func() time.Duration
	direct  func() bool
	publish func(*picture)
	in      chan func()
	stop    chan struct{}
	stopped chan struct{}
	once    sync.Once
	errands *errands

	// The goroutine's own.
	machine   *timer.Machine
	aeroplane Aeroplane
	ledger    Ledger
	shift     time.Duration
	boarded   int // how many aeroplanes before this one
	captions  captions
	notices   []string
	noticed   time.Duration // when the last of them came up
	mute      string        // what was the matter with the sound when last asked
	heard     time.Duration // when the sound came back; zero when that is no news
	dusty     time.Duration // when the ledger was last told that time passes
	woken     time.Duration // when the goroutine last looked
	timing    bool          // something was timed then
}

func newDriver(m *timer.Machine, o Options, direct func() bool, publish func(*picture)) *driver {
	d := &driver{
		machine: m, ledger: o.Ledger, clock: o.Ledger.Now, o: o, direct: direct, publish: publish,
		aeroplane: Aeroplane{Library: o.Library, Registration: o.Registration},
		in:        make(chan func(), 256), stop: make(chan struct{}), stopped: make(chan struct{}),
		notices: slices.Concat(o.Ledger.Notices(), o.Notices),
	}
	d.errands = newErrands(func(text string) { d.notice(text) })
	return d
}

// first is what is shown before anything happened.
func (d *driver) first() *picture {
	d.woken = d.here()
	d.apply(timer.Event{Kind: timer.Air, At: d.here(), Celsius: d.o.Celsius})
	return d.picture()
}

func (d *driver) start() { go d.run() }

// close settles what can still be undone, and ends.
func (d *driver) close() {
	d.once.Do(func() { close(d.stop) })
	<-d.stopped
	d.errands.close()
}

// now is the time since the screen was opened; any goroutine may ask.
func (d *driver) now() time.Duration { return d.clock() }

// here is now as the machine counts.
func (d *driver) here() time.Duration { return d.now() - d.shift }

func (d *driver) apply(e timer.Event) { d.carry(d.machine.Apply(e)) }

// do hands something to the goroutine; after the end it is dropped.
func (d *driver) do(f func()) {
	select {
	case d.in <- f:
	case <-d.stopped:
	}
}

// sendAt hands on an event that happened at a moment of now.
func (d *driver) sendAt(e timer.Event, at time.Duration) {
	d.do(func() {
		e.At = at - d.shift
		d.apply(e)
	})
}

func (d *driver) send(e timer.Event) { d.sendAt(e, d.now()) }

// button is the button going down or up at a moment.
func (d *driver) button(down bool, at time.Duration) {
	kind := timer.Release
	if down {
		kind = timer.Press
	}
	d.sendAt(timer.Event{Kind: kind}, at)
}

func (d *driver) lost() { d.send(timer.Event{Kind: timer.Lost}) }

func (d *driver) notice(text string) {
	d.do(func() {
		if text == "" {
			d.notices = nil
		}
		d.add(text)
	})
}

// change sends an event that depends on what is shown.
func (d *driver) change(event func(v timer.View) timer.Event) {
	at := d.now()
	d.do(func() {
		e := event(d.machine.View(at - d.shift))
		e.At = at - d.shift
		d.apply(e)
	})
}

// warmer changes the outside air temperature by degrees; one that was not known
// begins at the standard atmosphere's.
func (d *driver) warmer(by float64) {
	d.change(func(v timer.View) timer.Event {
		c := v.Celsius
		if math.IsNaN(c) {
			c = 15 - by
		}
		return timer.Event{Kind: timer.Air, Celsius: min(max(c+by, -60), 60)}
	})
}

// higher changes the pressure altitude by metres.
func (d *driver) higher(by float64) {
	d.change(func(v timer.View) timer.Event {
		a := v.AltitudeM
		if math.IsNaN(a) {
			a = -by
		}
		return timer.Event{Kind: timer.Height, Metres: min(max(a+by, -500), 6000)}
	})
}

// longer changes the time since the last shutdown by a step up or down.
func (d *driver) longer(up bool) {
	d.change(func(v timer.View) timer.Event {
		if up {
			return timer.Event{Kind: timer.Since, For: timer.Longer(v.Ago)}
		}
		return timer.Event{Kind: timer.Since, For: timer.Shorter(v.Ago)}
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
		now := d.here()
		at := now
		if d.direct() {
			at -= tickLag
		}
		if now-d.woken > held {
			// What happened meanwhile is on its way here, and comes first.
			at = d.woken
			d.heldUp(now)
		}
		d.apply(timer.Event{Kind: timer.Tick, At: at})
		if now-d.dusty >= time.Second {
			d.dusty = now
			d.ledger.Tick()
		}
		p := d.picture()
		d.publish(p)
		d.timing = p.Clock.Running || p.Rest > 0
		wake.Reset(d.until(p, now))
		d.woken = now
	}
}

// held is how long the program may be kept from running before that is said: much
// longer than it ever waits by itself.
const held = 3 * time.Second

// heldUp says that the program was kept from running while something was timed:
// the clocks went on, and what was to be heard meanwhile was not.
func (d *driver) heldUp(now time.Duration) {
	d.captions.missed(now)
	if d.timing {
		d.add(fmt.Sprintf("This computer held the program up for %s. The times are right; nothing was said aloud meanwhile.", spoken(now-d.woken)))
	}
}

// spoken prints how long something took, as a sentence has it.
func spoken(d time.Duration) string {
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%d seconds", int(d.Seconds()))
	case d < 2*time.Minute:
		return "a minute"
	case d < 2*time.Hour:
		return fmt.Sprintf("%d minutes", int(d.Minutes()))
	default:
		return fmt.Sprintf("%d hours", int(d.Hours()))
	}
}

// add shows a notice at once; that of the display, of which there is no hurry,
// after those that are there.
func (d *driver) add(notice string) {
	switch {
	case notice == "" || slices.Contains(d.notices, notice):
	case notice == mayGoDark && len(d.notices) > 0:
		d.notices = append([]string{notice}, d.notices...)
	default:
		d.notices, d.noticed = append(slices.Clone(d.notices), notice), d.now()
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
	d.settle()
	d.errands.display(d.o.Display, false)
}

func (d *driver) settle() {
	at := d.here()
	d.apply(timer.Event{Kind: timer.Lost, At: at})
	d.carry(d.machine.Settle(at))
}

// How often the picture is drawn while a hand is counted for, while tenths are
// counted down, while a warning blinks, and while nothing moves. On software OpenGL
// a picture is the dearest thing there is.
const (
	counting = time.Second / 20
	tenths   = time.Second / 10
	blink    = 300 * time.Millisecond
	still    = time.Second
	// After the program was held up, what happened meanwhile is waited for so long.
	lookAgain = time.Second / 10
)

// until is how long nothing new is to be shown.
func (d *driver) until(p *picture, now time.Duration) time.Duration {
	if now-d.woken > held {
		return lookAgain
	}
	wait := still
	sooner := func(w time.Duration) { wait = min(wait, max(w, time.Millisecond)) }
	switch {
	case p.State == timer.Priming, p.State == timer.Cranking, p.Button.Held > 0:
		sooner(counting - p.Clock.Elapsed%counting)
	case p.State == timer.Listening:
		sooner(p.Area.Answer % tenths)
	case p.Clock.Running && p.Clock.Down:
		sooner(p.Clock.Elapsed % time.Second)
	case p.Clock.Running:
		sooner(time.Second - p.Clock.Elapsed%time.Second)
	}
	if p.Warning != "" {
		sooner(blink - now%blink)
	}
	if at, ok := d.captions.next(now); ok {
		sooner(at - now)
	}
	if p.Undo {
		sooner(p.UndoFor)
	}
	if due, ok := d.machine.Next(); ok {
		sooner(due - now)
	}
	return wait
}

func (d *driver) picture() *picture {
	now := d.here()
	p := &picture{View: d.machine.View(now), Aeroplane: d.aeroplane, Caption: d.captions.at(now)}
	if p.Warning != "" {
		p.Alarm = now/blink%2 == 0
	}
	p.Notice = d.notified(d.now())
	return p
}

const noticeTurn = 6 * time.Second

// notified is the notice that is shown: each has its turn, the last one first.
func (d *driver) notified(now time.Duration) string {
	notices := d.notices
	if sound := d.sound(now); sound != "" {
		notices = append(slices.Clone(notices), sound)
	}
	n := len(notices)
	if n == 0 {
		return ""
	}
	return notices[(n-1+int((now-d.noticed)/noticeTurn))%n]
}

const soundIsBack = "Sound is back."

// sound is what is to be said of the sound: what is the matter, for as long as it
// is, and for one turn that it is no more.
func (d *driver) sound(now time.Duration) string {
	if d.o.Sound == nil {
		return ""
	}
	text := d.o.Sound()
	if text != d.mute {
		d.heard = 0
		if text == "" {
			d.heard = now
		}
		d.mute, d.noticed = text, now
	}
	if text == "" && d.heard > 0 && now-d.heard < noticeTurn {
		return soundIsBack
	}
	return text
}

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

// tooLate is how long after its moment a line is of no more use.
const tooLate = 2 * time.Second

func (d *driver) say(e timer.Effect) {
	if e.Kind == timer.Say && d.here()-e.At > tooLate {
		return
	}
	d.captions.say(e)
	if d.o.Voice == nil {
		return
	}
	d.o.Voice.Say(Utterance{
		Line: e.Line, Beat: time.Now().Add(e.At - d.here()), Priority: e.Priority, Tag: e.Tag,
	})
}

// note tells the ledger on disk.
func (d *driver) note(e timer.Effect) {
	l := d.ledger
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
	at := time.Now().Add(s.Began - d.here())
	lib := d.aeroplane.Library
	situation := string(s.Flow)
	if f, ok := lib.Flow(s.Flow); ok {
		situation = f.Situation
	}
	d.errands.keep(d.o.Records, made{d.boarded, s.Serial}, realstart.Start{
		Registration: d.aeroplane.Registration, Aircraft: lib.Aircraft.ID, At: at, Situation: situation,
		OATCelsius: s.Celsius, AltitudeM: s.AltitudeM, SinceShutdown: s.SinceShutdown, ShutdownKnown: s.ShutdownKnown,
		Prime: s.Prime, Attempts: s.Attempts, Outcome: s.Outcome, Note: s.Note,
	})
}
