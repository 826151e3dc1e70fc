package audio

import "kickover/audio/speech"

const (
	mostPending = 64
	// Between two lines that are not tied to a time.
	breath = Rate * 120 / 1000
	// What a line may lose at its end to one that cuts in, unnoticed.
	tail      = Rate * 130 / 1000
	cutFade   = Rate * 8 / 1000
	duckAhead = Rate * 130 / 1000
	// By which a line tied to a time misses it, so that it makes way for the next.
	missed = Rate * 20 / 1000
)

// utterance is a line with its sound.
type utterance struct {
	id     uint64
	line   Line
	clip   speech.Clip
	spoken bool
	due    int64 // the position at which it is to begin
	dueSet bool
}

func (u *utterance) length() int64 { return int64(len(u.clip.PCM)) }

func (u *utterance) timed() bool { return !u.line.Beat.IsZero() }

// counts reports whether it is wrong when it is late.
func (u *utterance) counts() bool { return u.timed() && u.line.Priority == Count }

// place sets where a line that is tied to a time begins.
func (u *utterance) place(clock *sampleClock) {
	if beat, ok := clock.position(u.line.Beat); ok {
		u.due, u.dueSet = beat-int64(u.clip.Centre.Seconds()*Rate), true
	}
}

// late reports whether a line that is tied to a time misses it, beginning at pos:
// the device kept it waiting, or another line did.
func (u *utterance) late(pos int64) bool { return u.timed() && pos > u.due+missed }

// mouth says one line at a time, each at its sample, and
// decides who waits, who cuts in and who has become pointless. The mixer that
// holds it guards it.
type mouth struct {
	pending [mostPending]utterance // in the order they came
	count   int
	now     utterance // being said, while at < now.length()
	at      int64
	old     utterance // was cut, and fades
	oldAt   int64
	oldLeft int64
	free    int64 // a line that is tied to no time begins no earlier
	hold    int64 // the same, while a tone sounds: not even a warning talks into it
	lenient int64 // until here a line may be a little later than it likes
	emit    func(Caption)
}

func (v *mouth) speaking() bool { return v.at < v.now.length() }

// add queues a line. When the queue is full the least of it makes room.
func (v *mouth) add(u utterance) {
	if v.count == mostPending {
		least := 0
		for i := range v.count {
			if v.pending[i].line.Priority < v.pending[least].line.Priority {
				least = i
			}
		}
		if v.pending[least].line.Priority > u.line.Priority {
			return
		}
		v.remove(least)
	}
	v.pending[v.count] = u
	v.count++
}

func (v *mouth) remove(i int) {
	copy(v.pending[i:v.count], v.pending[i+1:v.count])
	v.count--
	v.pending[v.count] = utterance{}
}

// hush drops what has not begun and carries the tag, or everything.
func (v *mouth) hush(tag string, all bool) {
	kept := 0
	for i := range v.count {
		if !all && v.pending[i].line.Tag != tag {
			v.pending[kept] = v.pending[i]
			kept++
		}
	}
	clear(v.pending[kept:v.count])
	v.count = kept
}

// time brings every queued line's position up to date, since the clock is
// measured and moves a little.
func (v *mouth) time(pos int64, clock *sampleClock) {
	for i := range v.count {
		u := &v.pending[i]
		switch {
		case u.timed():
			u.place(clock)
		case !u.dueSet:
			u.due, u.dueSet = pos, true
		}
	}
}

// begin starts what is due at pos and returns how many samples may be said
// before it has to be asked again, at most n.
func (v *mouth) begin(pos int64, n int, clock *sampleClock) int {
	for {
		v.dropLate(pos, clock)
		i, ok := v.ready(pos)
		if !ok {
			break
		}
		v.start(i, pos, clock)
	}
	for i := range v.count {
		if until := v.pending[i].due - pos; v.pending[i].dueSet && until > 0 {
			n = min(n, int(min(until, int64(n))))
		}
	}
	return n
}

// When another device takes over, with another latency, or one ran dry, every
// position moves: what was in time a moment ago may be late through no fault of
// its own. A count is never said that late: it would count wrong.
const (
	leniencyLasts = Rate
	leniency      = Rate / 4
)

// dropLate drops the lines that have become pointless. One that the device lost
// keeps its caption, as all do while there is no device.
func (v *mouth) dropLate(pos int64, clock *sampleClock) {
	extra, lost := int64(0), pos < v.lenient
	if lost {
		extra = leniency
	}
	for i := 0; i < v.count; {
		u := &v.pending[i]
		may := int64(u.line.patience().Seconds() * Rate)
		if !u.counts() {
			may += extra
		}
		if !u.dueSet || pos-u.due <= may {
			i++
			continue
		}
		if lost && u.timed() {
			u.spoken = false
			v.emit(v.caption(u, u.due, pos+u.length(), clock))
		}
		v.remove(i)
	}
}

// ready picks the line that begins at pos: of those that are due and may begin,
// the one with the highest priority, then the first that came.
func (v *mouth) ready(pos int64) (int, bool) {
	best, found := 0, false
	for i := range v.count {
		u := &v.pending[i]
		if !u.dueSet || u.due > pos || !v.mayBegin(u, pos) {
			continue
		}
		if !found || u.line.Priority > v.pending[best].line.Priority {
			best, found = i, true
		}
	}
	return best, found
}

func (v *mouth) mayBegin(u *utterance, pos int64) bool {
	if v.speaking() && u.line.Priority <= v.now.line.Priority && !v.overtakes(u, pos) {
		return false
	}
	if !u.timed() && (pos < v.hold || !v.speaking() && u.line.Priority < Warning && pos < v.free) {
		return false
	}
	// It would only be cut short: let it wait until after.
	for i := range v.count {
		o := &v.pending[i]
		first := o.line.Priority > u.line.Priority || o.line.Priority == u.line.Priority && o.timed() && u.late(pos)
		if o.dueSet && o.due > pos && first && o.due < pos+u.length()-tail {
			return false
		}
	}
	return true
}

// overtakes reports whether a line that is on time finds one of its own kind being
// said that was not: a count that came late must not make the next one late.
func (v *mouth) overtakes(u *utterance, pos int64) bool {
	return u.line.Priority == v.now.line.Priority && u.timed() && !u.late(pos) && v.now.late(pos-v.at)
}

func (v *mouth) start(i int, pos int64, clock *sampleClock) {
	if v.speaking() {
		v.cut(pos, clock)
	}
	v.now, v.at = v.pending[i], 0
	v.remove(i)
	v.free = pos + v.now.length() + breath
	v.emit(v.caption(&v.now, pos, pos+v.now.length(), clock))
}

func (v *mouth) caption(u *utterance, begins, ends int64, clock *sampleClock) Caption {
	return Caption{
		ID: u.id, Text: u.line.Text, Priority: u.line.Priority, Tag: u.line.Tag, Spoken: u.spoken,
		Begins: clock.heard(begins), Beat: clock.heard(begins).Add(u.clip.Centre), Ends: clock.heard(ends),
	}
}

// cut ends what is being said with a fade short enough not to be heard as one
// and long enough not to click.
func (v *mouth) cut(pos int64, clock *sampleClock) {
	c := v.caption(&v.now, pos-v.at, pos, clock)
	c.Cut = true
	v.old, v.oldAt, v.oldLeft = v.now, v.at, min(cutFade, v.now.length()-v.at)
	v.at = v.now.length()
	v.emit(c)
}

// retract is told that the device ran dry before it took the sample at from. What
// is being said is late since then, so that it makes way for the next; and a count of
// which nothing had been heard ends, since it would count wrong.
func (v *mouth) retract(pos, from int64, clock *sampleClock) {
	u := &v.now
	if !v.speaking() || !u.timed() {
		return
	}
	u.place(clock)
	if begun := pos - v.at; u.counts() && begun >= from && u.late(begun) {
		v.cut(pos, clock)
	}
}

// mix adds what is being said into the samples.
func (v *mouth) mix(samples [][2]float64) {
	const gain = 1.0 / 32768
	if v.speaking() {
		pcm := v.now.clip.PCM[v.at:]
		pcm = pcm[:min(len(pcm), len(samples))]
		for i, s := range pcm {
			x := float64(s) * gain
			samples[i][0] += x
			samples[i][1] += x
		}
		v.at += int64(len(pcm))
	}
	for i := 0; i < len(samples) && v.oldLeft > 0; i++ {
		x := float64(v.old.clip.PCM[v.oldAt]) * gain * float64(v.oldLeft) / cutFade
		samples[i][0] += x
		samples[i][1] += x
		v.oldAt++
		v.oldLeft--
	}
}

// soon reports whether a line sounds now or begins so soon that the engine
// must already be turned down.
func (v *mouth) soon(pos int64) bool {
	if v.speaking() {
		return true
	}
	for i := range v.count {
		if u := &v.pending[i]; u.dueSet && u.due < pos+duckAhead {
			return true
		}
	}
	return false
}
