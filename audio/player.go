package audio

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"sync"
	"sync/atomic"
	"time"

	"kickover/assets/voice"
	"kickover/audio/speech"
)

// Options are how a Player is opened. The zero value is the first shipped voice
// on the system's default output.
type Options struct {
	Voice    string        // the ID of one of Voices; empty is the first
	Device   string        // the ID of one of Devices; empty is the system's default
	CacheDir string        // where lines spoken by this machine's speech program are kept; empty keeps none
	Buffer   time.Duration // of the device; zero is DefaultBuffer. Longer survives more load and answers later
	Silent   bool          // open no device: captions only
	Clips    fs.FS         // index.json and the clips it names; nil is the shipped ones

	open func(device string, buffer time.Duration, pull func([][2]float64) bool) (sink, error)
}

// Status is how the sound is.
type Status struct {
	Sound   bool          // a device plays
	Device  string        // the one that plays, by its ID: the system's default where the chosen one is not there
	Text    string        // a sentence for the screen when it does not, else empty
	Latency time.Duration // from a line's being asked for to its being heard, about; with sound
	Losses  int           // how often the device was lost
	Dry     int           // how often it ran dry or was held up, so that the clock had to begin anew
}

// Player is a Mixer that is heard. Make one with Open and close it.
type Player struct {
	*Mixer
	library *speech.Library
	options Options

	owner   atomic.Uint64 // who may pull: the number of a device, or 0, the software clock
	notices chan string
	reopen  chan struct{}
	stop    chan struct{}
	stopped chan struct{}
	once    sync.Once

	mu     sync.Mutex
	status Status
	device string // that was chosen
}

// How the device is watched and reopened.
const (
	silentTick      = 20 * time.Millisecond
	stalledAfter    = time.Second           // without a request the device is not playing
	steadyGap       = 30 * time.Millisecond // and a buffer; a sound server first fills its buffers and then pauses
	steadyFor       = 400 * time.Millisecond
	giveUpAfter     = 5 * time.Second  // of being stalled
	steadyAfter     = 10 * time.Second // of playing, a later loss is a new one
	firstRetry      = time.Second
	longestRetry    = 30 * time.Second
	mostCatchUp     = 2 * time.Second // more silent time than that was slept, not lost
	noDeviceLatency = 0
)

// Open starts the sound. It returns at once and never fails: while there is no
// device, captions carry on and Status says what is the matter.
func Open(o Options) *Player {
	if o.Buffer == 0 {
		o.Buffer = DefaultBuffer
	}
	if o.Clips == nil {
		o.Clips = voice.Files
	}
	if o.open == nil {
		o.open = openOto
	}
	library, err := speech.Open(o.Clips, o.Voice, o.CacheDir)
	p := &Player{
		Mixer: NewMixer(library, 0), library: library, options: o,
		notices: make(chan string, 16), reopen: make(chan struct{}, 1),
		stop: make(chan struct{}), stopped: make(chan struct{}), device: o.Device,
	}
	if err != nil {
		p.notice(err.Error())
	}
	go p.run()
	return p
}

// Close ends the sound and returns when nothing runs any more.
func (p *Player) Close() {
	p.once.Do(func() { close(p.stop) })
	<-p.stopped
}

// Prepare makes lines ready to be spoken at once; see speech.Library.Prepare.
func (p *Player) Prepare(ctx context.Context, texts []string) speech.Report {
	return p.library.Prepare(ctx, texts)
}

// Say queues a line; see Mixer.Say. It never waits: a line that has to be decoded
// first, as a long explanation may, is queued when it was.
func (p *Player) Say(l Line) {
	if p.library.Ready(l.spoken()) {
		p.Mixer.Say(l)
		return
	}
	go p.Mixer.Say(l)
}

// Voices are the voices that can be chosen.
func (p *Player) Voices() []speech.Voice { return p.library.Voices() }

// Voice is the ID of the one that was chosen.
func (p *Player) Voice() string { return p.library.Voice() }

// SetVoice chooses a voice, by its ID, for the lines said from now on. Without
// Prepare a line's first saying in it comes some milliseconds later.
func (p *Player) SetVoice(id string) error { return p.library.SetVoice(id) }

// UseDevice plays on one of Devices, by its ID, from now on. It returns at once;
// Status says what came of it.
func (p *Player) UseDevice(id string) {
	p.mu.Lock()
	p.device = id
	p.mu.Unlock()
	select {
	case p.reopen <- struct{}{}:
	default:
	}
}

// Device is the ID of the one that was chosen.
func (p *Player) Device() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.device
}

// TestTone sounds a second of a plain tone.
func (p *Player) TestTone() { p.Tone(ToneTest) }

// TestLine is what SpeakTest says.
const TestLine = "This is the voice. One, two, three."

// SpeakTest says TestLine in the chosen voice; its caption carries the tag
// "sound test". One that is not over yet ends.
func (p *Player) SpeakTest() {
	p.Hush(testTag)
	p.Say(Line{Text: TestLine, Priority: Cue, Tag: testTag})
}

const testTag = "sound test"

// Status is how the sound is now.
func (p *Player) Status() Status {
	p.mu.Lock()
	defer p.mu.Unlock()
	status := p.status
	status.Dry = p.moves()
	return status
}

// Notices are sentences about the sound that a person should read once: it went,
// it came back. Those that nobody takes are dropped.
func (p *Player) Notices() <-chan string { return p.notices }

func (p *Player) notice(text string) {
	select {
	case p.notices <- text:
	default:
	}
}

// supervisor is the player's goroutine: it opens the device, watches it, and
// pulls the stream itself while there is none. It alone owns these fields.
type supervisor struct {
	*Player
	sink      sink      // nil while there is none
	number    uint64    // of the sink
	plays     string    // its ID
	missed    string    // the chosen device that was last told to be missing
	openedAt  time.Time // the sink
	steady    time.Time // since when it has asked without a break
	since     time.Time // the sink has the stream; zero before
	stalledAt time.Time // zero while it plays
	opening   chan opened
	retry     time.Duration
	tryAt     time.Time
	pulledTo  time.Time // by the software clock
	scratch   [480][2]float64
}

type opened struct {
	sink          sink
	asked, device string // the one that was chosen, and the one it is
	err           error
}

func (p *Player) run() {
	defer close(p.stopped)
	s := &supervisor{Player: p, retry: firstRetry, tryAt: time.Now(), pulledTo: time.Now()}
	if p.options.Silent {
		s.set(Status{Text: "Sound is off: lines are shown and not spoken."})
	}
	ticker := time.NewTicker(silentTick)
	defer ticker.Stop()
	for {
		s.tick(time.Now())
		select {
		case <-ticker.C:
		case <-p.reopen:
			s.lose(time.Now(), "")
			s.tryAt = time.Now()
		case <-p.stop:
			s.shut()
			return
		}
	}
}

func (s *supervisor) shut() {
	s.owner.Store(^uint64(0))
	if s.sink != nil {
		s.sink.Close()
	}
	if s.opening != nil {
		// An open that hangs cannot be called off; what it brings is closed.
		go func(late chan opened) {
			if o := <-late; o.sink != nil {
				o.sink.Close()
			}
		}(s.opening)
	}
}

func (s *supervisor) tick(now time.Time) {
	s.take(now)
	s.watch(now)
	if s.owner.Load() == 0 {
		s.pullSilently(now)
	}
	if s.sink == nil && s.opening == nil && !s.options.Silent && !now.Before(s.tryAt) {
		s.open()
	}
}

func (s *supervisor) open() {
	s.number++
	number, done := s.number, make(chan opened, 1)
	s.opening = done
	pull := func(frames [][2]float64) bool {
		if s.owner.Load() != number {
			return false
		}
		s.Pull(time.Now(), frames)
		return true
	}
	asked := s.Device()
	go func() {
		device := asked
		k, err := s.options.open(device, s.options.Buffer, pull)
		if err != nil && device != "" {
			device = ""
			k, err = s.options.open(device, s.options.Buffer, pull)
		}
		done <- opened{k, asked, device, err}
	}()
}

// take accepts a device that was opened. It gets the stream once it asks for
// samples steadily; until then it plays silence and the software clock goes on.
func (s *supervisor) take(now time.Time) {
	select {
	case o := <-s.opening:
		s.opening = nil
		if o.err != nil {
			s.noDevice(now, o.err)
			return
		}
		if o.asked != s.Device() {
			o.sink.Close() // another was chosen meanwhile, and is opened next
			return
		}
		s.sink, s.plays, s.openedAt, s.steady, s.stalledAt = o.sink, o.device, now, now, time.Time{}
	default:
	}
}

// playing hands the stream to the device.
func (s *supervisor) playing(now time.Time) {
	s.since, s.stalledAt = now, time.Time{}
	s.retime(s.sink.Latency())
	s.owner.Store(s.number)
	was := s.Status()
	s.set(Status{Sound: true, Device: s.plays, Latency: s.sink.Latency(), Losses: was.Losses})
	chosen := s.Device()
	if chosen == s.plays {
		s.missed = ""
	}
	switch {
	case chosen != s.plays && chosen != s.missed:
		s.missed = chosen
		s.notice("The chosen sound device cannot be opened, so the system's default plays. " +
			"Connect it or choose another, and choose again.")
	case was.Text != "":
		s.notice("Sound is back.")
	}
}

func (s *supervisor) noDevice(now time.Time, err error) {
	s.tryAt = now.Add(s.retry)
	s.retry = min(2*s.retry, longestRetry)
	text := "No sound device could be opened, so lines are shown and not spoken; everything else works. " +
		"Connect or free one: it is tried again by itself."
	was := s.Status()
	if was.Text != text {
		s.notice(fmt.Sprintf("%s (%v)", text, err))
	}
	s.set(Status{Text: text, Losses: was.Losses})
}

// watch notices that the device is gone, or plays no more, or again.
func (s *supervisor) watch(now time.Time) {
	if s.sink == nil {
		return
	}
	asked := now.Sub(s.sink.LastAsked())
	if asked > s.options.Buffer+steadyGap {
		s.steady = now
	}
	switch err := s.sink.Err(); {
	case err != nil:
		s.lose(now, "The sound device went away, so lines are shown and not spoken; everything else works. "+
			"It is opened again by itself when it is back.")
	case s.since.IsZero() && now.Sub(s.steady) >= steadyFor:
		s.playing(now)
	case s.since.IsZero():
		if now.Sub(s.openedAt) > giveUpAfter {
			s.noDevice(now, errors.New("the device was opened and takes no sound"))
			s.sink.Close()
			s.sink = nil
		}
	case s.stalledAt.IsZero() && asked > stalledAfter:
		s.stalledAt = now
		s.silence("The sound device stopped taking sound, so lines are shown and not spoken; everything else works. " +
			"Another program may hold it; it is tried again by itself.")
	case s.stalledAt.IsZero():
		if now.Sub(s.since) > steadyAfter {
			s.retry = firstRetry
		}
	case asked < stalledAfter/2:
		s.playing(now)
	case now.Sub(s.stalledAt) > giveUpAfter:
		s.lose(now, s.Status().Text)
	}
}

// lose gives a device up and has another opened after a while; text says why,
// empty when another was chosen. The driver leaks a little with each, hence the
// growing pause.
func (s *supervisor) lose(now time.Time, text string) {
	if s.sink == nil {
		return
	}
	s.silence(text)
	s.sink.Close()
	s.sink, s.since, s.stalledAt = nil, time.Time{}, time.Time{}
	s.tryAt = now.Add(s.retry)
	s.retry = min(2*s.retry, longestRetry)
}

// silence takes the stream back from the device.
func (s *supervisor) silence(text string) {
	if s.owner.Load() == 0 {
		return
	}
	s.owner.Store(0)
	s.retime(noDeviceLatency)
	// A device is known to be gone only a while after it last asked. The software
	// clock begins there, so that the captions of that while are not lost.
	s.pulledTo = s.sink.LastAsked()
	losses := s.Status().Losses
	if text != "" {
		losses++
		s.notice(text)
	}
	s.set(Status{Text: text, Losses: losses})
}

// pullSilently is the software clock: it streams as much as time has passed.
func (s *supervisor) pullSilently(now time.Time) {
	if now.Sub(s.pulledTo) > mostCatchUp {
		s.pulledTo = now.Add(-mostCatchUp)
	}
	const step = time.Second * 480 / Rate
	for ; now.Sub(s.pulledTo) >= step; s.pulledTo = s.pulledTo.Add(step) {
		s.Pull(s.pulledTo.Add(step), s.scratch[:])
	}
}

func (s *supervisor) set(status Status) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.status = status
}
