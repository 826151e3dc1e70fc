package timer

import (
	"slices"
	"strings"
	"time"

	"kickover/procedure"
)

// recording reports whether the record of a start is still open: more can be
// learnt of it, and the next attempt belongs to it.
func (m *Machine) recording() bool {
	return m.started && (m.start.Attempts == 0 || m.ledger.Number(m.now) > 1)
}

// described reports whether what the pilot says of the air and of the last
// shutdown is said of a start that was made or is being made.
func (m *Machine) described() bool { return m.started && (m.kind != Ready || m.recording()) }

// correct brings the open record up to what is known now of the air.
func (m *Machine) correct() {
	if !m.described() || same(m.start.Celsius, m.celsius) && same(m.start.AltitudeM, m.metres) {
		return
	}
	m.start.Celsius, m.start.AltitudeM = m.celsius, m.metres
	m.keepAgain()
}

// keepAgain has a record that was kept already kept as it is now.
func (m *Machine) keepAgain() {
	if m.start.Outcome != "" {
		m.commit(Effect{Kind: Keep, Start: m.start})
	}
}

func same(a, b float64) bool { return a == b || !known(a) && !known(b) }

// shutAgo is the pilot's word on how long before the start, or before now, the
// engine was last shut down. Before the prime it suggests a situation.
func (m *Machine) shutAgo(ago time.Duration) {
	ago = min(ago, longestAgo)
	if m.described() {
		m.start.ShutdownKnown, m.start.SinceShutdown = ago >= 0, max(ago, 0)
		m.keepAgain()
		return
	}
	m.shutdown, m.shutdownKnown = m.now-max(ago, 0), ago >= 0
	if f := suggested(m.Flows(), situation(ago, ago >= 0)); f != nil && m.kind == Ready {
		m.plan, m.hold = m.plans[f.ID], 0
	}
}

// longestAgo is as long ago as a shutdown is told apart.
const longestAgo = 365 * 24 * time.Hour

// agos are the times since a shutdown that a key steps through.
var agos = func() []time.Duration {
	var out []time.Duration
	for m := time.Duration(0); m < 120; m += 10 {
		out = append(out, m*time.Minute)
	}
	for h := time.Duration(2); h < 12; h++ {
		out = append(out, h*time.Hour)
	}
	for _, d := range []time.Duration{12, 18, 24, 36, 48, 72, 7 * 24, 14 * 24, 30 * 24, 90 * 24, 365 * 24} {
		out = append(out, d*time.Hour)
	}
	return out
}()

// Longer is the next longer time since the last shutdown that a person would
// say; negative stands for not known, before and after.
func Longer(ago time.Duration) time.Duration {
	for _, a := range agos {
		if a > ago {
			return a
		}
	}
	return ago
}

// Shorter is the next shorter one, and not known at the end.
func Shorter(ago time.Duration) time.Duration {
	for _, a := range slices.Backward(agos) {
		if a < ago {
			return a
		}
	}
	return -1
}

// ago is the time since the last shutdown as a view shows it: of the start, once
// there is one, and until now before; negative when not known.
func (m *Machine) ago(at time.Duration) time.Duration {
	switch {
	case m.described() && m.start.ShutdownKnown:
		return m.start.SinceShutdown
	case m.described() || !m.shutdownKnown:
		return -1
	}
	return max(0, at-m.shutdown)
}

// longestNote is how many characters of a note are kept.
const longestNote = 120

// write adds a note to the record of the start.
func (m *Machine) write(text string) {
	if m.kind != Quiet && m.kind != Noting {
		return
	}
	m.remember()
	m.start.Note = tidied(text)
	m.commit(Effect{Kind: Keep, Start: m.start})
	m.enter(Quiet)
}

// tidied is a note on one line, and not too long.
func tidied(text string) string {
	runes := []rune(strings.Join(strings.Fields(strings.ToValidUTF8(text, "")), " "))
	return strings.TrimSpace(string(runes[:min(len(runes), longestNote)]))
}

// openNote offers the notes, beginning with the one that is kept.
func (m *Machine) openNote() {
	m.remember()
	m.note = max(0, slices.Index(m.notes(), m.start.Note))
	m.enter(Noting)
}

// notes are those that are offered; one in the pilot's own words comes first.
func (m *Machine) notes() []string {
	if own := m.start.Note; own != "" && !slices.Contains(m.setup.Notes, own) {
		return append([]string{own}, m.setup.Notes...)
	}
	return m.setup.Notes
}

// PrimeWindow is how long the whole prime of a flow may take in air of that
// temperature (NaN when it is not known): one hold, or the sum of a hand primer's
// strokes, of which there are so many. No strokes means that the flow has no
// prime.
func PrimeWindow(f *procedure.Flow, celsius float64) (w procedure.Window, strokes int) {
	p := newPlan(f)
	return p.window(celsius), len(p.holds)
}

// window is that of all the holds of the prime together.
func (p *plan) window(celsius float64) procedure.Window {
	var sum procedure.Window
	for _, s := range p.holds {
		w := window(s, celsius)
		sum.Min, sum.Ideal, sum.Max = sum.Min+w.Min, sum.Ideal+w.Ideal, sum.Max+w.Max
	}
	return sum
}
