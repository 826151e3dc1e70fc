package audio

import (
	"context"
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

	// RestAfter is how long nothing must have been heard and nobody have asked for
	// anything until the device rests; zero is DefaultRestAfter, below zero never.
	RestAfter time.Duration

	Clips fs.FS // index.json and the clips it names; nil is the shipped ones

	open func(device string, buffer time.Duration, pull pullFunc) (sink, error)
}

// Status is how the sound is.
type Status struct {
	Sound   bool          // a device plays, or would at once
	Resting bool          // it does not, since there is nothing to play
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

	owner   atomic.Uint64 // who may pull: the number of a device, softwareClock or nobody
	notices chan string
	reopen  chan struct{}
	woken   chan struct{}
	stop    chan struct{}
	stopped chan struct{}
	once    sync.Once

	mu     sync.Mutex
	status Status
	device string // that was chosen
}

// Open starts the sound. It returns at once and never fails: while there is no
// device, captions carry on and Status says what is the matter.
func Open(o Options) *Player {
	if o.Buffer == 0 {
		o.Buffer = DefaultBuffer
	}
	if o.RestAfter == 0 {
		o.RestAfter = DefaultRestAfter
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
		notices: make(chan string, 16), reopen: make(chan struct{}, 1), woken: make(chan struct{}, 1),
		stop: make(chan struct{}), stopped: make(chan struct{}), device: o.Device,
	}
	if err != nil {
		p.notice(err.Error())
	}
	p.rouse = func() { signal(p.woken) }
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
	signal(p.reopen)
}

// signal never waits: one that is already there will do.
func signal(c chan struct{}) {
	select {
	case c <- struct{}{}:
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
