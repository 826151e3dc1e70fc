package audio

import (
	"encoding/binary"
	"math"
	"sync"
	"sync/atomic"
	"time"

	"github.com/hajimehoshi/oto/v2"
)

// DefaultBuffer is the length of the device's own buffer; with the queue before
// it, a line that answers an event waits for a little more than twice as long.
//
// The stream ran dry, wherever it was recorded and witnessed, when the device could
// not ask for longer than this lasts, and for as long as it was longer. It asks three
// times in that while, so what feeds it may be two thirds of it late, by waiting for
// a processor in this program or in the sound server. The queue has to hold as much:
// a device that could not ask takes all of it at once before the queue is filled
// again, and would take silence for the rest. Through PulseAudio on two cores that
// five times as much work wanted 40 ms ran dry now and then, 50 and 60 seldom, 80 and
// 100 no less. 50 ms keeps a reactive line, and a caption's lead over its sound, near
// 100 ms, inside the 125 ms of ITU-R BT.1359.
const DefaultBuffer = 50 * time.Millisecond

const bytesPerFrame = 8 // two channels of 32-bit floats

// epoch carries the monotonic reading that a stored time would lose.
var epoch = time.Now()

// pullFunc fills frames, while so many before them wait for the device. It answers
// false when the stream belongs to somebody else now.
type pullFunc func(waiting int, frames [][2]float64) bool

// reader is what the device pulls from. It always fills what it returns and
// never ends: a device that is told of an end stays silent.
type reader struct {
	pull   pullFunc
	queued func() int   // bytes that wait for the device
	last   atomic.Int64 // when the device last asked, nanoseconds since epoch
	frames [480][2]float64
}

// Read fills at most 10 ms. A longer request comes in pieces, so the device's
// queue is topped up to its mark and not far beyond, which would be latency.
func (r *reader) Read(p []byte) (int, error) {
	r.last.Store(int64(time.Since(epoch)))
	frames := r.frames[:min(len(r.frames), len(p)/bytesPerFrame)]
	if !r.pull(r.queued()/bytesPerFrame, frames) {
		clear(frames)
	}
	for i, f := range frames {
		binary.LittleEndian.PutUint32(p[i*bytesPerFrame:], math.Float32bits(float32(f[0])))
		binary.LittleEndian.PutUint32(p[i*bytesPerFrame+4:], math.Float32bits(float32(f[1])))
	}
	return len(frames) * bytesPerFrame, nil
}

// sink is an open device.
type sink interface {
	// Err is why the device is gone, or nil.
	Err() error
	// LastAsked is when it last pulled.
	LastAsked() time.Time
	// Latency is from a sample's being asked for to its being taken, on the whole,
	// and from then to its being heard.
	Latency() (queue, device time.Duration)
	// Holds is how long it plays, full, when it is given no more; zero is not known.
	Holds() time.Duration
	// Rest has it ask for nothing, or again. It returns at once.
	Rest(bool)
	Close()
}

// otoSink keeps its player referenced: oto closes a player that was collected.
type otoSink struct {
	ctx    *oto.Context
	player oto.Player
	reader *reader
	buffer time.Duration

	resting atomic.Bool
	turn    sync.Mutex // held while it goes to rest or wakes, which a server that hangs holds up
}

func (s *otoSink) Err() error           { return s.ctx.Err() }
func (s *otoSink) LastAsked() time.Time { return epoch.Add(time.Duration(s.reader.last.Load())) }

// Latency was measured through PulseAudio, which makes three periods of the buffer
// and has one more under way: about two thirds of the queue wait when it asks.
func (s *otoSink) Latency() (queue, device time.Duration) {
	device = s.buffer * 4 / 3
	return 2*s.buffer - device, device
}

// Holds was measured through PulseAudio by stopping this program for 60 to 240 ms:
// the silence was 50 ms shorter than the time in which the device could not ask, at
// a buffer of 50 ms.
func (s *otoSink) Holds() time.Duration { return s.buffer }

func (s *otoSink) Rest(rest bool) {
	s.resting.Store(rest)
	go func() {
		s.turn.Lock()
		defer s.turn.Unlock()
		// An error is the context's own, and Err tells it.
		if s.resting.Load() {
			_ = s.ctx.Suspend()
		} else {
			_ = s.ctx.Resume()
		}
	}()
}

// Close leaves the context suspended, since it cannot be closed.
func (s *otoSink) Close() {
	s.player.Close()
	s.Rest(true)
}

// openOto opens an output, by its Device.ID. It may take seconds where a sound
// server hangs.
func openOto(device string, buffer time.Duration, pull pullFunc) (sink, error) {
	silenceDrivers()
	if err := chooseDevice(device); err != nil {
		return nil, err
	}
	if err := tryDevices(); err != nil {
		return nil, err
	}
	ctx, ready, err := oto.NewContextWithOptions(&oto.NewContextOptions{
		SampleRate: Rate, ChannelCount: 2, Format: oto.FormatFloat32LE, BufferSize: buffer,
	})
	if err != nil {
		return nil, err
	}
	<-ready
	// NewContext does not fail where there is no device; its context does.
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s := &otoSink{ctx: ctx, buffer: buffer, reader: &reader{pull: pull}}
	s.reader.last.Store(int64(time.Since(epoch)))
	s.player = ctx.NewPlayer(s.reader)
	s.reader.queued = s.player.UnplayedBufferSize
	// Less than half the device's buffer would have silence put in between;
	// more is latency.
	s.player.(oto.BufferSizeSetter).SetBufferSize(int(buffer.Seconds()*Rate) * bytesPerFrame)
	s.player.Play()
	return s, nil
}
