package audio

import (
	"math"
	"sync"
	"time"

	"github.com/faiface/beep"

	"kickover/audio/speech"
)

// Clips finds the sound of a text. A speech.Library is one.
type Clips interface {
	Clip(text string) (speech.Clip, bool)
}

// How far the engine and other sounds are turned down under a line, and how
// fast. The line's own start is known ahead, so it is down in time.
const (
	duckDB      = -10.5
	duckAttack  = 0.035 // seconds to two thirds of the way
	duckRelease = 0.100 // 300 ms to nearly all of the way
)

// Mixer is the stream of samples: lines, tones and the engine. The zero value
// is not usable; make one with NewMixer.
type Mixer struct {
	clips    Clips
	captions chan Caption

	// mu is held for each block that is streamed and for the moment it takes to
	// hand something over; no clip is decoded and nothing is called under it.
	mu     sync.Mutex
	pos    int64 // of the next sample to be streamed
	clock  sampleClock
	voice  mouth
	tones  toneGenerator
	engine engine
	nextID uint64

	// How long nothing has been heard and nobody has asked for anything, and what
	// to call when somebody asks while resting.
	quietSince int64
	resting    bool
	rouse      func()

	levels                        Levels
	voiceGain, engineGain, master slider
	duck                          float64
	scratch                       [256][2]float64
}

// NewMixer makes a mixer of lines found in clips. latency is how long after the
// device took it a sample is heard.
func NewMixer(clips Clips, latency time.Duration) *Mixer {
	m := &Mixer{clips: clips, captions: make(chan Caption, 64), duck: 1}
	m.clock.latency = latency
	m.voice.emit = m.emit
	m.engine.init()
	m.levels = FullLevels
	m.voiceGain, m.engineGain, m.master = slider{1, 1}, slider{1, 1}, slider{1, 1}
	return m
}

// emit hands a caption on without ever waiting: when nobody reads them the
// oldest is dropped.
func (m *Mixer) emit(c Caption) {
	for {
		select {
		case m.captions <- c:
			return
		default:
		}
		select {
		case <-m.captions:
		default:
		}
	}
}

// Captions are the lines as they are heard. Those that nobody takes are
// dropped, the oldest first.
func (m *Mixer) Captions() <-chan Caption { return m.captions }

// Say queues a line. It returns at once, save that a clip asked for the first
// time, and not prepared, takes a few milliseconds to decode.
func (m *Mixer) Say(l Line) {
	clip, spoken := m.clips.Clip(l.spoken())
	if !spoken && l.Text != l.spoken() {
		clip, spoken = m.clips.Clip(l.Text)
	}
	if !spoken {
		clip = standIn(l)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.stir()
	m.nextID++
	m.voice.add(utterance{id: m.nextID, line: l, clip: clip, spoken: spoken})
}

// Hush drops the lines with the tag that have not begun.
func (m *Mixer) Hush(tag string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.voice.hush(tag, false)
}

// HushAll drops every line that has not begun and ends the one being said.
func (m *Mixer) HushAll() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.voice.hush("", true)
	if m.voice.speaking() {
		m.voice.cut(m.pos, &m.clock)
	}
}

// SetEngine says what the engine is doing now.
func (m *Mixer) SetEngine(s EngineState) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.stir()
	m.engine.set(s)
}

// Tone sounds a tone at once. A warning's replaces a caution's, never the other
// way about.
func (m *Mixer) Tone(t Tone) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.stir()
	m.tones.start(t)
}

// stir is called when somebody asks for something.
func (m *Mixer) stir() {
	m.quietSince = m.pos
	if m.resting {
		m.resting = false
		m.rouse()
	}
}

// rest reports whether there is nothing to play and has not been for a while;
// from then on rouse is called when there is.
func (m *Mixer) rest(after time.Duration) bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.resting = !m.sounding() && float64(m.pos-m.quietSince) > after.Seconds()*Rate
	return m.resting
}

func (m *Mixer) sounding() bool {
	return m.voice.speaking() || m.voice.oldLeft > 0 || m.voice.count > 0 || m.tones.sounding() || m.engine.sounding()
}

// Pull fills samples, which a device that takes them at once asked for at now.
func (m *Mixer) Pull(now time.Time, samples [][2]float64) { m.pullAhead(now, 0, samples) }

// pullAhead fills samples that were asked for at now to wait in a queue, of which
// the device has yet to take so many of those before.
func (m *Mixer) pullAhead(now time.Time, waiting int, samples [][2]float64) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if moved, from := m.clock.observe(m.pos-int64(waiting), now); moved {
		m.voice.lenient = m.pos + leniencyLasts
		m.voice.retract(m.pos, from, &m.clock)
	}
	m.fill(samples)
}

// Stream fills samples without being told the time: they follow the last. It
// never ends, as beep.Streamer has it.
func (m *Mixer) Stream(samples [][2]float64) (int, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.fill(samples)
	return len(samples), true
}

// Err is always nil.
func (m *Mixer) Err() error { return nil }

var _ beep.Streamer = (*Mixer)(nil)

func (m *Mixer) fill(samples [][2]float64) {
	m.voice.time(m.pos, &m.clock)
	for len(samples) > 0 {
		m.voice.hold = m.pos + m.tones.left()
		n := m.voice.begin(m.pos, min(len(samples), len(m.scratch)), &m.clock)
		m.block(samples[:n])
		m.pos += int64(n)
		samples = samples[n:]
	}
}

// block mixes one stretch within which no line begins. beep.Mixer would do the
// sum but allocates its buffer for every call, so the sum is done here.
func (m *Mixer) block(out [][2]float64) {
	clear(out)
	if !m.sounding() {
		m.settle()
		return
	}
	m.quietSince = m.pos + int64(len(out))
	bed := m.scratch[:len(out)]
	clear(bed)
	target := 1.0
	if m.voice.soon(m.pos) || m.tones.sounding() {
		target = duckFloor
	}
	if m.engine.sounding() {
		m.engine.add(bed)
	}
	m.voice.mix(out)
	m.tones.add(out)
	m.sum(out, bed, target)
}

var duckFloor = math.Pow(10, duckDB/20)

func (m *Mixer) sum(out, bed [][2]float64, target float64) {
	rate := 1 / (duckRelease * Rate)
	if target < m.duck {
		rate = 1 / (duckAttack * Rate)
	}
	for i := range out {
		m.duck += (target - m.duck) * rate
		master := m.master.next()
		voice, engine := m.voiceGain.next()*master, m.engineGain.next()*m.duck*master
		out[i][0] = soften(out[i][0]*voice + bed[i][0]*engine)
		out[i][1] = soften(out[i][1]*voice + bed[i][1]*engine)
	}
}

// settle puts the gains where they are going: nobody hears them move.
func (m *Mixer) settle() {
	m.duck = 1
	for _, s := range []*slider{&m.voiceGain, &m.engineGain, &m.master} {
		s.value = s.target
	}
}

// soften leaves what is quieter than 0.8 alone and bends what is louder, so
// that nothing passes full scale and nothing breaks off.
func soften(x float64) float64 {
	const knee = 0.8
	switch {
	case x > knee:
		return 1 - (1-knee)*(1-knee)/(x-knee+1-knee)
	case x < -knee:
		return -soften(-x)
	default:
		return x
	}
}

// standIn is heard in place of a line that cannot be spoken: a short soft tone,
// and silence for as long as the caption takes to read. A line with a beat makes
// room for the next, as a count does.
func standIn(l Line) speech.Clip {
	const sounds, hz = 0.16, 520
	reading := max(1.2, 0.06*float64(len(l.Text)))
	if !l.Beat.IsZero() {
		reading = 0.5
	}
	pcm := make([]int16, int(reading*Rate))
	for i := range int(sounds * Rate) {
		t := float64(i) / Rate
		pcm[i] = int16(7000 * math.Sin(2*math.Pi*hz*t) * math.Sin(math.Pi*t/sounds))
	}
	return speech.Clip{PCM: pcm, Centre: 40 * time.Millisecond}
}

// retime tells the mixer that another device, or none, pulls from now on: how long
// after it took it a sample is heard, and how much it plays when it is given no more.
func (m *Mixer) retime(latency, holds time.Duration) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.clock.reset(latency, holds)
	m.voice.lenient = m.pos + leniencyLasts
	m.quietSince = m.pos
}

// moves is how often the clock began anew while the same device pulled.
func (m *Mixer) moves() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.clock.moves
}
