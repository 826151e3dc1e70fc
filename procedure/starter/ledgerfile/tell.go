package ledgerfile

import "time"

// Engaged notes that the starter was engaged at at, counted from the opening.
// Neither this nor any other note waits for the disk.
func (f *File) Engaged(at time.Duration) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.holding, f.lastMark = true, at
	f.note(entry{kind: engaged, at: f.at(at)})
}

// Released notes that it was let go at at, and must now rest so long.
func (f *File) Released(at, rest time.Duration) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.holding, f.restless = false, max(f.restless, at+rest)
	f.note(entry{kind: released, at: f.at(at), until: rest})
}

// Resumed notes that the release was a slip.
func (f *File) Resumed(at time.Duration) { f.happened(resumed, at, true) }

// Struck notes that the engagement was a mistake.
func (f *File) Struck(at time.Duration) { f.happened(struck, at, false) }

// Rested notes the pilot's word that the starter has rested.
func (f *File) Rested(at time.Duration) { f.happened(rested, at, false) }

// Runs notes that the engine runs since at.
func (f *File) Runs(at time.Duration) { f.happened(runs, at, false) }

// Stopped notes that the engine was shut down at at.
func (f *File) Stopped(at time.Duration) { f.happened(stopped, at, false) }

func (f *File) happened(k kind, at time.Duration, holding bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.holding = holding
	f.note(entry{kind: k, at: f.at(at)})
}

// How often the file notes that the program is still there: often while the
// starter is in, since a kill then hides its release; seldom during a rest; and
// at once when the wall clock was moved, since over a restart there may be no
// other.
const (
	markHolding = time.Second
	markResting = 30 * time.Second
	clockMoved  = time.Second
)

// Tick notes what a restart will need to know. Call it about once a second.
func (f *File) Tick() {
	at := f.Now()
	f.mu.Lock()
	defer f.mu.Unlock()
	wall := f.o.Clock.Now().Wall
	drift := wall.Sub(f.lastWall) - (at - f.lastAt)
	f.lastWall, f.lastAt = wall, at
	since := at - f.lastMark
	if drift > clockMoved || drift < -clockMoved || f.holding && since >= markHolding || at < f.restless && since >= markResting {
		f.lastMark = at
		f.note(entry{kind: mark, at: f.at(at)})
		return
	}
	f.out.nudge()
}

func (f *File) note(e entry) { f.out.write(e.line()) }

// moment is now by every clock.
func (f *File) moment() Moment {
	m := f.o.Clock.Now()
	m.Hardware = f.o.Clock.Hardware()
	return m
}

// at is a time counted from the opening, by every clock: those that do not count
// from the opening are set back from now.
func (f *File) at(at time.Duration) Moment {
	now := f.moment()
	ago := f.Now() - at
	if now.Boot == f.origin.Boot {
		ago = now.Since - (f.origin.Since + at)
	}
	now.Since -= ago
	now.Wall = now.Wall.Add(-ago)
	if !now.Hardware.IsZero() {
		now.Hardware = now.Hardware.Add(-ago).Truncate(time.Second)
	}
	return now
}
