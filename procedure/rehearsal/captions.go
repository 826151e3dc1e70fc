package rehearsal

import (
	"time"

	"kickover/procedure"
)

// captioner shows lines in place of a voice: each at its beat, the more urgent
// over the less, one at a time.
type captioner struct {
	waiting []Utterance
	shown   Caption
	until   time.Duration
	spoken  []Caption // every line shown, in order
}

func (c *captioner) say(u Utterance) { c.waiting = append(c.waiting, u) }

func (c *captioner) hush(tag string) {
	kept := c.waiting[:0]
	for _, u := range c.waiting {
		if tag != "" && u.Tag != tag {
			kept = append(kept, u)
		}
	}
	c.waiting = kept
}

// advance shows what is due. A line that must wait for a longer one to be read
// keeps its turn; one that lost its moment to a more urgent one is dropped.
func (c *captioner) advance(now time.Duration) {
	for {
		i := c.next(now)
		if i < 0 {
			return
		}
		u := c.waiting[i]
		c.waiting = append(c.waiting[:i], c.waiting[i+1:]...)
		at := u.Beat
		if u.Priority <= c.shown.Priority {
			at = max(at, c.until)
		}
		if timed(u.Priority) && at > u.Beat {
			continue // a number read late would be a lie
		}
		c.shown = Caption{Text: u.Line.Caption, Priority: u.Priority, At: at}
		c.until = at + readingTime(u.Line)
		c.spoken = append(c.spoken, c.shown)
	}
}

// next finds the line to show next, -1 when none is due.
func (c *captioner) next(now time.Duration) int {
	best := -1
	for i, u := range c.waiting {
		if u.Beat > now || u.Priority <= c.shown.Priority && c.until > now && !timed(u.Priority) {
			continue
		}
		if best < 0 || u.Beat < c.waiting[best].Beat ||
			u.Beat == c.waiting[best].Beat && u.Priority > c.waiting[best].Priority {
			best = i
		}
	}
	return best
}

// timed reports whether a line is worth nothing after its moment.
func timed(p procedure.Priority) bool { return p == procedure.PriorityCount }

// hear shows a line that a voice speaks, for as long as it is heard.
func (c *captioner) hear(line Caption, until time.Duration) {
	if line.Text == c.shown.Text && line.At == c.shown.At {
		c.until = until // it was cut short
		return
	}
	c.shown, c.until = line, until
	c.spoken = append(c.spoken, line)
}

// readingTime is how long a caption stays: about as long as it takes to say.
func readingTime(l procedure.Line) time.Duration {
	const perLetter = 65 * time.Millisecond
	return 400*time.Millisecond + time.Duration(len(l.Spoken()))*perLetter
}

// PageTurns are the acts of somebody who reads an Explain of a flow to its end, and
// turns each page when there has been time to read it.
func PageTurns(f *procedure.Flow) []procedure.Event {
	const pause = time.Second
	var out []procedure.Event
	var at time.Duration
	for i := range f.Steps {
		s := &f.Steps[i]
		at += pause
		for _, l := range []procedure.Line{s.Prompt, {Caption: s.Why}, {Caption: s.Wrong}} {
			if !l.Empty() {
				at += readingTime(l)
			}
		}
		turn := callEvent(procedure.CallNext)
		turn.At = at
		out = append(out, turn)
	}
	return out
}
