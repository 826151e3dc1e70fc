package audio

import (
	"testing"
	"testing/fstest"
	"testing/synctest"
	"time"
)

func TestDeviceRestsWhenNobodyAsksForAnything(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(9 * time.Second)
		if p.Status().Resting {
			t.Error("it rests before ten seconds have passed")
		}
		after(3 * time.Second)
		d := ds.all()[0]
		if s := p.Status(); !s.Resting || !s.Sound || s.Text != "" || !d.resting.Load() {
			t.Fatalf("status %+v, want a device that rests and would play", s)
		}
		after(time.Hour)
		if len(ds.all()) != 1 || p.Status().Losses != 0 {
			t.Errorf("after an hour's rest: %d devices opened, status %+v", len(ds.all()), p.Status())
		}
	})
}

// A line wakes it, and is heard from its first sample, with its caption.
func TestLineWakesTheDevice(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(time.Minute)
		asked := time.Now()
		p.Say(Line{Text: "hello"})
		after(100 * ms)
		d := ds.all()[0]
		if at := d.sounded.Load(); at == nil || at.Sub(asked) > 20*ms {
			t.Errorf("asked for at %v it sounds at %v; the device asks every 10 ms", asked, at)
		}
		if late := (<-p.Captions()).Begins.Sub(asked); late < 80*ms || late > 101*ms {
			t.Errorf("the caption says the sound begins after %v; the device has 80 ms and asks every 10", late)
		}
		if s := p.Status(); s.Resting || !s.Sound || s.Losses != 0 {
			t.Errorf("status %+v", s)
		}
	})
}

// A count that is asked for a quarter of a second ahead, the least a scheduled
// line is given, falls on its second though the device has to wake for it.
func TestCountWakesTheDeviceInTime(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(time.Minute)
		beat := time.Now().Add(250 * ms)
		p.Say(Line{Text: "one", Beat: beat, Priority: Count})
		after(500 * ms)
		if off := (<-p.Captions()).Beat.Sub(beat).Abs(); off > 2*ms {
			t.Errorf("the beat is off by %v", off)
		}
	})
}

func TestRunKeepsTheDeviceAwake(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		for range 600 { // nothing runs, and the run goes on
			p.SetEngine(EngineState{})
			after(100 * ms)
		}
		if p.Status().Resting {
			t.Error("the device rests in a run")
		}
	})
}

func TestDeviceIsGoneWhenItIsWoken(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(time.Minute)
		ds.all()[0].fail(errNotThere)
		p.Say(Line{Text: "hello"})
		after(200 * ms)
		if c := <-p.Captions(); c.Text != "hello" {
			t.Errorf("caption %+v", c)
		}
		after(2 * time.Second)
		if s := p.Status(); len(ds.all()) != 2 || !s.Sound || s.Losses != 1 {
			t.Errorf("%d devices opened, status %+v: want sound again", len(ds.all()), s)
		}
	})
}

func TestNeverRestsIfToldSo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ds := &devices{plugged: true}
		p := Open(Options{Clips: fstest.MapFS{}, RestAfter: -1, open: ds.open})
		after(time.Minute)
		if p.Status().Resting {
			t.Error("it rests")
		}
		p.Close()
	})
}

// When the machine was held up, the device could not ask, and is not blamed.
func TestMachineThatWasHeldUp(t *testing.T) {
	now := time.Now()
	d := newFakeDevice("", nil)
	begun := now
	d.last.Store(&begun)
	s := &supervisor{Player: &Player{}, sink: d, asked: now, tickedAt: now}
	now = now.Add(3 * time.Second)
	s.listen(now)
	if s.unasked > 100*ms {
		t.Errorf("the device is taken not to have asked for %v of three seconds in which nothing ran", s.unasked)
	}
	for range 60 {
		s.tickedAt = now
		now = now.Add(silentTick)
		s.listen(now)
	}
	if s.unasked < stalledAfter {
		t.Errorf("the device has not asked for 1.2 s in which all else ran: %v counted", s.unasked)
	}
}
