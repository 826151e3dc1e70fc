package classroom

import (
	"context"
	"sync"
	"time"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// Cockpit is a Seat that flies drills as real rehearsals. A student's screen
// shows its snapshots and gives its inputs to Live.
//
// Set the fields, give it to Join as the seat, then call Sit with the station.
type Cockpit struct {
	Clock rehearsal.Clock
	// Every is how often a snapshot is published; zero is thirty times a second.
	Every time.Duration
	// Publish is called with each snapshot by the owner of the run; it must not
	// block.
	Publish func(*rehearsal.Snapshot)
	// Voice gives a run its voice; nil is captions only. Captioned says that the
	// voice tells what is heard, and when.
	Voice     func(run *Assignment, begins time.Duration) rehearsal.Voice
	Captioned bool
	// Sound makes the engine heard; nil is none. Begun is told of each run that
	// is being driven, for a voice that speaks at moments of it. Both may be nil.
	Sound rehearsal.Sound
	Begun func(*rehearsal.Live)
	// Ready and Go tell the screen of a drill; Say has a line spoken and shown;
	// Ended that the drill is over; Status that Station.Status is another; Fail
	// that a run could not begin. All may be nil and must not block.
	Ready  func(Assignment)
	Go     func(a Assignment, at time.Duration)
	Say    func(line procedure.Line)
	Ended  func()
	Status func()
	Fail   func(error)

	mu      sync.Mutex // guards what follows
	station *Station
	live    *rehearsal.Live
	stop    context.CancelFunc
	begins  time.Duration
}

// Sit tells the cockpit which station it is at.
func (c *Cockpit) Sit(s *Station) {
	c.mu.Lock()
	c.station = s
	c.mu.Unlock()
}

// Live is the run that goes on, nil when there is none.
func (c *Cockpit) Live() *rehearsal.Live {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.live
}

// Announced implements Seat.
func (c *Cockpit) Announced(a Assignment) {
	if c.Ready != nil {
		c.Ready(a)
	}
}

// Going implements Seat.
func (c *Cockpit) Going(a Assignment, at time.Duration) {
	c.mu.Lock()
	c.begins = at
	c.mu.Unlock()
	if c.Go != nil {
		c.Go(a, at)
	}
}

// Begin implements Seat.
func (c *Cockpit) Begin(a Assignment, r *Recorder) {
	o := a.Options
	o.Recorder, o.Sound, o.Captioned = r, c.Sound, c.Captioned
	c.mu.Lock()
	if c.Voice != nil {
		o.Voice = c.Voice(&a, c.begins)
	}
	station := c.station
	c.mu.Unlock()
	run, err := rehearsal.New(o)
	if err != nil {
		r.End()
		if c.Fail != nil {
			c.Fail(err)
		}
		return
	}
	every := c.Every
	if every == 0 {
		every = time.Second / 30
	}
	ctx, stop := context.WithCancel(context.Background())
	live := rehearsal.Drive(ctx, run, c.Clock, every, func(s *rehearsal.Snapshot) {
		if station != nil {
			station.Show(s)
		}
		if c.Publish != nil {
			c.Publish(s)
		}
	})
	c.mu.Lock()
	c.live, c.stop = live, stop
	c.mu.Unlock()
	if c.Begun != nil {
		c.Begun(live)
	}
	go func() {
		<-live.Done()
		stop()
		r.End()
		if c.Status != nil {
			c.Status()
		}
	}()
}

// Carry implements Seat.
func (c *Cockpit) Carry(o Order) {
	if o.Kind == OrderSay {
		if c.Say != nil {
			c.Say(procedure.Line{Caption: o.Text})
		}
		return
	}
	live := c.Live()
	if live == nil {
		return
	}
	switch o.Kind {
	case OrderFault:
		live.Do(func(r *rehearsal.Rehearsal) {
			if err := r.Inject(o.Fault); err != nil && c.Fail != nil {
				c.Fail(err)
			}
		})
	case OrderWalk:
		e := procedure.Event{Kind: procedure.EventArea, Subject: o.Sector, Value: 1, Text: o.Text, At: live.Now()}
		if o.Gone {
			e.Value, e.Text = 0, ""
		}
		live.Input(e)
	case OrderPause, OrderGo:
		live.Pause(o.Kind == OrderPause)
	case OrderEnd:
		live.End(procedure.EndAbandoned)
	}
}

// Pause implements Seat.
func (c *Cockpit) Pause(on bool) {
	if live := c.Live(); live != nil {
		live.Pause(on)
	}
}

// Over implements Seat.
func (c *Cockpit) Over() {
	c.mu.Lock()
	live := c.live
	c.live = nil
	c.mu.Unlock()
	if live != nil {
		live.End(procedure.EndAbandoned)
	}
	if c.Ended != nil {
		c.Ended()
	}
}

// Changed implements Seat.
func (c *Cockpit) Changed() {
	if c.Status != nil {
		c.Status()
	}
}
