package audio

import (
	"errors"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"testing/synctest"
	"time"
)

// fakeDevice is a sound card on a bubble's clock: it asks for 10 ms every 10 ms
// until it is told to stall or to die.
type fakeDevice struct {
	name    string
	pull    pullFunc
	stop    chan struct{}
	failure atomic.Pointer[error]
	stalled atomic.Bool
	resting atomic.Bool
	last    atomic.Pointer[time.Time]
	played  atomic.Int64              // blocks that were the stream's
	sounded atomic.Pointer[time.Time] // the first block in which something was heard
}

func newFakeDevice(name string, pull pullFunc) *fakeDevice {
	d := &fakeDevice{name: name, pull: pull, stop: make(chan struct{})}
	now := time.Now()
	d.last.Store(&now)
	return d
}

func (d *fakeDevice) Err() error {
	if err := d.failure.Load(); err != nil {
		return *err
	}
	return nil
}

func (d *fakeDevice) fail(err error)                         { d.failure.Store(&err) }
func (d *fakeDevice) LastAsked() time.Time                   { return *d.last.Load() }
func (d *fakeDevice) Rest(rest bool)                         { d.resting.Store(rest) }
func (d *fakeDevice) Latency() (queue, device time.Duration) { return 0, 80 * ms }
func (d *fakeDevice) Holds() time.Duration                   { return 0 }
func (d *fakeDevice) Close()                                 { close(d.stop) }

func (d *fakeDevice) run() {
	block := make([][2]float64, 480)
	for {
		select {
		case <-d.stop:
			return
		case <-time.After(10 * ms):
		}
		if d.stalled.Load() || d.Err() != nil || d.resting.Load() {
			continue
		}
		now := time.Now()
		d.last.Store(&now)
		if d.pull(0, block) {
			d.played.Add(1)
		}
		if block[1][0] != 0 {
			d.sounded.CompareAndSwap(nil, &now)
		}
	}
}

// devices hands out fake devices, or fails while none is plugged in.
type devices struct {
	mu      sync.Mutex
	plugged bool
	missing string // the one that is not
	opened  []*fakeDevice
	tries   int
}

func (ds *devices) open(device string, _ time.Duration, pull pullFunc) (sink, error) {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	ds.tries++
	if !ds.plugged {
		return nil, errors.New("no card")
	}
	if device != "" && device == ds.missing {
		return nil, errNotThere
	}
	d := newFakeDevice(device, pull)
	ds.opened = append(ds.opened, d)
	go d.run()
	return d, nil
}

func (ds *devices) plug(plugged bool) {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	ds.plugged = plugged
}

func (ds *devices) lack(name string) {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	ds.missing = name
}

// all are the devices opened so far, the latest last.
func (ds *devices) all() []*fakeDevice {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	return slices.Clone(ds.opened)
}

func (ds *devices) latest() *fakeDevice {
	all := ds.all()
	return all[len(all)-1]
}

func (ds *devices) tried() int {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	return ds.tries
}

// inBubble runs a player on fake devices and a fake clock.
func inBubble(t *testing.T, plugged bool, test func(t *testing.T, p *Player, ds *devices)) {
	synctest.Test(t, func(t *testing.T) {
		ds := &devices{plugged: plugged}
		p := Open(Options{Clips: fstest.MapFS{"index.json": {Data: []byte(`{"version":1,"clips":[]}`)}}, open: ds.open})
		test(t, p, ds)
		p.Close()
		for _, d := range ds.all() {
			select {
			case <-d.stop:
			default:
				t.Error("a device was left open")
			}
		}
	})
}

// after lets time pass until everything that is due has happened. The clock is
// that of a bubble of testing/synctest: it jumps ahead, and no test waits for it.
func after(d time.Duration) {
	time.Sleep(d)
	synctest.Wait()
}

func TestPlaysWhenThereIsADevice(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(time.Second)
		if s := p.Status(); !s.Sound || s.Text != "" || s.Latency != 80*ms {
			t.Errorf("status %+v", s)
		}
		p.Say(Line{Text: "hello"})
		asked := time.Now()
		after(50 * ms)
		c := <-p.Captions()
		if d := c.Begins.Sub(asked); d < 79*ms || d > 101*ms {
			t.Errorf("the caption says the sound begins after %v; the device has 80 ms and asks every 10", d)
		}
	})
}

func TestWithoutADeviceCaptionsCarryOn(t *testing.T) {
	inBubble(t, false, func(t *testing.T, p *Player, ds *devices) {
		after(time.Second)
		beat := time.Now().Add(time.Second)
		p.Say(Line{Text: "one", Beat: beat, Priority: Count})
		after(1500 * ms)
		c := <-p.Captions()
		if off := c.Beat.Sub(beat).Abs(); off > ms {
			t.Errorf("the beat is off by %v", off)
		}
		for _, part := range []string{"No sound device", "everything else works", "tried again"} {
			if s := p.Status(); s.Sound || !strings.Contains(s.Text, part) {
				t.Errorf("the status does not say %q: %+v", part, s)
			}
		}
	})
}

func TestDeviceComesLater(t *testing.T) {
	inBubble(t, false, func(t *testing.T, p *Player, ds *devices) {
		after(10 * time.Minute)
		if ds.tried() < 15 || ds.tried() > 30 {
			t.Errorf("%d tries in ten minutes: each costs something, the pause should grow to half a minute", ds.tried())
		}
		ds.plug(true)
		after(31 * time.Second)
		if !p.Status().Sound {
			t.Error("a device was plugged in and is not used")
		}
		after(time.Second)
		if ds.all()[0].played.Load() < 90 {
			t.Error("the device does not get the stream")
		}
	})
}

func TestDeviceDies(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(time.Second)
		ds.all()[0].fail(errors.New("server gone"))
		p.Say(Line{Text: "one", Beat: time.Now().Add(500 * ms), Priority: Count})
		after(700 * ms)
		if s := p.Status(); s.Sound || s.Losses != 1 || !strings.Contains(s.Text, "went away") {
			t.Errorf("status %+v", s)
		}
		select {
		case <-p.Captions():
		default:
			t.Error("the line that was scheduled when the device died has no caption")
		}
		after(2 * time.Second)
		if len(ds.all()) != 2 || !p.Status().Sound {
			t.Error("sound did not come back by itself")
		}
	})
}

// Counts follow one another while the device dies, unnoticed for 0.4 s as the
// real driver has it, and comes back: none loses its caption.
func TestNoCaptionIsLostWithTheDevice(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(time.Second)
		asked, seen := 0, map[string]bool{}
		for i := range 40 {
			d := ds.latest()
			switch i {
			case 10:
				d.stalled.Store(true)
			case 11:
				d.fail(errors.New("server gone"))
			}
			asked++
			p.Say(Line{Text: string(rune('A' + i)), Beat: time.Now().Add(300 * ms), Priority: Count})
			after(710 * ms)
			for more := true; more; {
				select {
				case c := <-p.Captions():
					seen[c.Text] = true
				default:
					more = false
				}
			}
		}
		if len(seen) != asked {
			for i := range asked {
				if text := string(rune('A' + i)); !seen[text] {
					t.Errorf("line %s of %d has no caption", text, asked)
				}
			}
		}
		if len(ds.all()) != 2 || !p.Status().Sound {
			t.Error("the device did not come back")
		}
	})
}

func TestDeviceStallsAndGoesOn(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(4 * time.Second)
		d := ds.all()[0]
		d.stalled.Store(true)
		after(1500 * ms)
		if s := p.Status(); s.Sound || s.Text != "" || s.Losses != 1 {
			t.Errorf("a device that asks for nothing for a second and a half: status %+v, want no sound and no words yet", s)
		}
		d.stalled.Store(false)
		after(500 * ms)
		if !p.Status().Sound || len(ds.all()) != 1 {
			t.Error("a device that goes on is not used again")
		}
	})
}

func TestDeviceStallsForGood(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(4 * time.Second)
		ds.all()[0].stalled.Store(true)
		after(4 * time.Second)
		if s := p.Status(); !strings.Contains(s.Text, "takes no more sound") {
			t.Errorf("after four seconds nobody is told: %+v", s)
		}
		after(5 * time.Second)
		if len(ds.all()) != 2 || !p.Status().Sound {
			t.Errorf("%d devices opened, status %+v: want another after the first was given up", len(ds.all()), p.Status())
		}
		ds.all()[0].stalled.Store(false)
		played := ds.all()[0].played.Load()
		after(time.Second)
		if ds.all()[0].played.Load() != played {
			t.Error("two devices pull the stream")
		}
	})
}

func TestOpenThatHangsHoldsNobodyUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		release := make(chan struct{})
		late := newFakeDevice("", nil)
		p := Open(Options{
			Clips: fstest.MapFS{},
			open: func(string, time.Duration, pullFunc) (sink, error) {
				<-release
				return late, nil
			},
		})
		p.Say(Line{Text: "hello"})
		after(500 * ms)
		if c := <-p.Captions(); c.Text != "hello" {
			t.Errorf("caption %+v", c)
		}
		p.Close()
		close(release)
		synctest.Wait()
		select {
		case <-late.stop:
		default:
			t.Error("the device that came too late was not closed")
		}
	})
}

func TestSilentOpensNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ds := &devices{plugged: true}
		p := Open(Options{Clips: fstest.MapFS{}, Silent: true, open: ds.open})
		after(time.Minute)
		if ds.tried() != 0 || p.Status().Text == "" {
			t.Errorf("%d devices opened, status %+v", ds.tried(), p.Status())
		}
		p.Close()
	})
}

// On a machine so busy that it never asks steadily, a device is used all the same.
func TestDeviceThatAsksUnsteadily(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		for range 40 { // a tenth of a second without a request, in every third
			after(100 * ms)
			ds.all()[0].stalled.Store(true)
			after(100 * ms)
			ds.all()[0].stalled.Store(false)
			after(100 * ms)
		}
		if s := p.Status(); !s.Sound || len(ds.all()) != 1 {
			t.Errorf("status %+v, %d devices opened", s, len(ds.all()))
		}
	})
}
