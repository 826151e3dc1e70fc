package audio

import "time"

// Priority orders what wants to be heard: a higher one cuts in.
type Priority int

// From what may wait to what may not.
const (
	Prompt Priority = iota
	Count
	Cue
	Warning
)

// Line is one thing to be heard.
type Line struct {
	Text string // the caption; also what is spoken, unless Say is given
	Say  string // as spoken, where spelling and sound differ

	// Beat is when the line's perceptual centre is to fall. A line with a beat
	// is scheduled at its sample and belongs in at least a quarter of a second
	// ahead; zero is as soon as possible.
	Beat time.Time

	Priority Priority
	Tag      string // Hush(tag) drops the lines that carry it

	// Expires is how long after it was due the line may still begin; later it
	// is dropped with its caption. Zero is the kind's own: 20 ms for a count with a
	// beat, which is wrong when late, and 60 ms for another line with one; otherwise
	// 4 s for a prompt, 1.5 s for a count or cue, 6 s for a warning.
	Expires time.Duration
}

func (l Line) spoken() string {
	if l.Say != "" {
		return l.Say
	}
	return l.Text
}

func (l Line) patience() time.Duration {
	switch {
	case l.Expires > 0:
		return l.Expires
	case !l.Beat.IsZero() && l.Priority == Count:
		return 20 * time.Millisecond
	case !l.Beat.IsZero():
		return 60 * time.Millisecond
	case l.Priority == Warning:
		return 6 * time.Second
	case l.Priority == Prompt:
		return 4 * time.Second
	default:
		return 1500 * time.Millisecond
	}
}

// Caption is a line as it is heard. It is sent when its sound is made, a little
// before it leaves the device, so a screen may show it at once and stays within
// ITU-R BT.1359 (sound at most 125 ms after the picture), or wait for Begins.
type Caption struct {
	ID       uint64 // the same for every caption of one line
	Text     string
	Priority Priority
	Tag      string
	Begins   time.Time // at the device
	Beat     time.Time // when its perceptual centre is heard
	Ends     time.Time
	Cut      bool // a second caption of the line: it was cut short, and ends at Ends
	Spoken   bool // false: there was no clip, and a tone stands in for the voice
}
