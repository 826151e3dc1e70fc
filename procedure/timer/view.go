package timer

import (
	"fmt"
	"strings"
	"time"

	"kickover/procedure"
)

// Button is what the one button does now, as it is written on it.
type Button struct {
	Text string // "PRIME"
	Sub  string // "hold while the mixture is forward"
	Hold string // what holding it down does instead, or empty
	Held float64
	Warn bool // it must be let go, now
	Rest bool // it has nothing to do but wait
}

// Clock is the large time.
type Clock struct {
	Label   string // "PRIMING"
	Sub     string // "seconds"
	Elapsed time.Duration
	Down    bool             // it counts down, and Elapsed is what is left
	Scale   time.Duration    // a whole turn
	Window  procedure.Window // the window of a prime; for a limit only Max is set
	Running bool
	Over    bool // past its limit
}

// Area is the look around.
type Area struct {
	Looks  int           // presses made, of four
	Answer time.Duration // still to listen
	Wait   time.Duration // of that, in all
}

// View is everything a screen needs to show one moment.
type View struct {
	State     State
	Flow      *procedure.Flow
	Situation string // "cold"
	Button    Button
	Clock     Clock
	Area      *Area // instead of the clock
	Attempt   int   // of the set: the present, or the next
	Of        int
	Celsius   float64

	Over    string   // what kind of thing Head is: "Next", "Ask yourself"
	Head    string   // "Throttle to the start mark"
	Lines   []string // below it
	Rest    time.Duration
	Long    bool
	Warning string
	Undo    bool          // the last act can still be taken back
	UndoFor time.Duration // so long
	Latch   bool          // the prime is press and press
	Flows   []*procedure.Flow

	// AltitudeM is the pressure altitude, NaN when not known, and Ago the time
	// since the last shutdown, negative when not known.
	AltitudeM float64
	Ago       time.Duration
	Record    *Start   // of the start, once it runs
	Notes     []string // that may be added to it
	Note      int      // the one that the button keeps
}

// View shows the machine as it is at at, which is not before the last event.
func (m *Machine) View(at time.Duration) View {
	at = min(max(at, m.now), horizon)
	v := View{
		State: m.kind, Flow: m.plan.flow, Situation: m.plan.flow.Situation,
		Attempt: m.attemptAt(at), Of: m.ledger.Limits().Attempts, Celsius: m.celsius,
		Rest: m.ledger.Owed(at), Long: m.ledger.LongRest(),
		Undo: m.undo.possible && at-m.undo.at <= undoFor, UndoFor: max(0, m.undo.at+undoFor-at),
		Latch:     m.latch,
		AltitudeM: m.metres, Ago: m.ago(at),
	}
	if m.kind == Ready || m.kind == Thinking {
		v.Flows = m.Flows()
	}
	m.showRest(&v)
	m.show(&v, at)
	if m.down && !m.spent && m.holdFor() < horizon {
		v.Button.Held = min(1, max(0, float64(at-m.downAt)/float64(m.holdFor())))
	}
	return v
}

// attemptAt is the number of the attempt that is being made or comes next. While
// it is asked what became of the last one, that is the one.
func (m *Machine) attemptAt(at time.Duration) int {
	switch m.kind {
	case Cranking, Asking, Thinking, Oil, Reminding, Quiet, Noting:
		return m.ledger.Used()
	}
	if m.ledger.LongRest() { // which is before a new set
		return 1
	}
	return m.ledger.Number(at)
}

// showRest puts the starter's rest on the clock, for states that have no other.
func (m *Machine) showRest(v *View) {
	limits := m.ledger.Limits()
	if v.Rest == 0 {
		v.Clock = Clock{Label: "STARTER", Sub: "rested"}
		return
	}
	v.Clock = Clock{Label: "STARTER RESTS", Elapsed: v.Rest, Down: true, Scale: limits.Rest, Running: true}
	if v.Long {
		v.Clock.Label, v.Clock.Scale = "LONG REST", limits.LongRest
	}
	// A rest cut short may leave more than a whole turn to go.
	v.Clock.Scale = max(v.Clock.Scale, v.Rest, time.Second)
	v.Clock.Sub = "seconds"
	if v.Rest > time.Minute {
		v.Clock.Sub = "minutes"
	}
}

func (m *Machine) show(v *View, at time.Duration) {
	switch m.kind {
	case Ready:
		m.showReady(v)
	case Priming:
		m.showPriming(v, at)
	case Setting:
		v.Button = Button{Text: "DONE", Sub: "press when it is set"}
		v.Over, v.Head = "Set", m.plan.set[0].Title
		v.Lines = append(titles(m.plan.set[1:]), "then look: left, ahead, right")
		m.showGiven(v)
	case Resting:
		v.Button = Button{Text: "RESTING", Sub: "the starter must rest", Hold: "it has rested", Rest: true}
		v.Over, v.Head, v.Lines = "Next", "Look: left, ahead, right", []string{"as soon as the starter has rested"}
	case Looking, Listening:
		m.showArea(v, at)
	case Armed:
		left := m.validUntil() - at
		v.Button = Button{Text: "START", Sub: "hold while the starter is in"}
		v.Clock = m.crankClock(0)
		v.Clock.Label = "CLEAR"
		v.Clock.Sub = "limit " + seconds(v.Clock.Window.Max)
		v.Over, v.Head = "Clear for", seconds(max(0, left.Truncate(time.Second)))
		v.Lines = []string{"then look again"}
	case Cranking:
		m.showCranking(v, at)
	case Asking:
		m.showAsking(v)
	case Thinking:
		m.showThinking(v)
	case Oil:
		m.showOil(v, at)
	case Reminding:
		v.Button = Button{Text: "DONE", Sub: "then the next", Hold: "it died"}
		v.Clock = Clock{Label: "RUNNING", Sub: "since the start", Elapsed: at - m.releasedAt, Running: true, Scale: time.Minute}
		v.Over, v.Head = "Now", m.plan.after[m.reminder].Title
		v.Lines = titles(m.plan.after[m.reminder+1:])
	case Quiet, Noting:
		m.showQuiet(v, at)
	}
}

func (m *Machine) showReady(v *View) {
	p := m.plan
	if len(p.holds) == 0 {
		v.Button = Button{Text: "NEXT", Sub: "no prime: " + p.flow.Situation}
		v.Over, v.Head = "Situation", p.flow.Title
		v.Lines = []string{p.flow.KnownBy}
		return
	}
	v.Button = Button{Text: "PRIME", Sub: "hold while the mixture is forward"}
	control := p.holds[0].Hold.Control
	if control != procedure.ControlMixture {
		v.Button.Sub = "hold while the primer is out"
	}
	if m.latch {
		v.Button.Sub = "press; press again to end it"
	}
	if n := len(p.holds); n > 1 {
		v.Button.Text = fmt.Sprintf("PRIME %d of %d", m.hold+1, n)
	}
	w := window(m.stroke(), m.celsius)
	if v.Rest == 0 {
		v.Clock = Clock{Label: "PRIME", Sub: windowText(w), Window: w, Scale: primeScale(w)}
	}
	v.Over, v.Head = "Situation", p.flow.Title
	v.Lines = []string{m.sinceText(v)}
	if len(p.before) > 0 {
		// The last two are what tells this start from another.
		v.Lines = append(v.Lines, "first: "+join(p.before[max(0, len(p.before)-2):]))
	}
}

// sinceText says on what the suggestion stands; during a rest, what is primed.
func (m *Machine) sinceText(v *View) string {
	switch {
	case !m.shutdownKnown && m.setup.Ran && !m.started:
		return "shutdown not known: it ran when this closed"
	case v.Rest > 0:
		return "prime " + windowText(window(m.stroke(), m.celsius)) + ", while the starter rests"
	case m.started && m.start.Attempts > 0:
		return "prime " + windowText(window(m.stroke(), m.celsius))
	case !m.shutdownKnown:
		return "the last shutdown is not known"
	default:
		return Spoken(m.now-m.shutdown) + " since shutdown"
	}
}

// Spoken prints a long time as a person says it.
func Spoken(d time.Duration) string {
	switch m := int(d / time.Minute); {
	case m < 120:
		return fmt.Sprintf("%d min", m)
	case m < 48*60:
		return fmt.Sprintf("%d h", m/60)
	default:
		return fmt.Sprintf("%d days", m/60/24)
	}
}

func (m *Machine) showPriming(v *View, at time.Duration) {
	w := window(m.stroke(), m.celsius)
	given := at - m.primedAt
	v.Clock = Clock{Label: "PRIMING", Sub: "seconds", Elapsed: given, Window: w, Scale: primeScale(w), Running: true, Over: w.Max > 0 && given > w.Max}
	v.Button = Button{Text: "LET GO", Sub: "when the mixture is back"}
	if m.stroke().Hold.Control != procedure.ControlMixture {
		v.Button.Sub = "when the primer is in"
	}
	if m.latch {
		v.Button.Text = "PRESS"
	}
	v.Over, v.Head, v.Lines = "Next", "Look around", []string{"left, ahead, right, then call CLEAR"}
	if len(m.plan.set) > 0 {
		v.Head, v.Lines = m.plan.set[0].Title, []string{"then look: left, ahead, right"}
	}
}

// showGiven leaves the prime on the clock's face.
func (m *Machine) showGiven(v *View) {
	if len(m.plan.holds) == 0 {
		return
	}
	w := m.plan.window(m.celsius)
	sub := windowText(w)
	if n := len(m.plan.holds); n > 1 {
		sub = fmt.Sprintf("%d strokes", n)
	}
	v.Clock = Clock{Label: "PRIME GIVEN", Sub: sub, Elapsed: m.prime, Window: w, Scale: primeScale(w), Over: w.Max > 0 && m.prime > w.Max}
}

// primeScale leaves room past the window, so that too long can be seen.
func primeScale(w procedure.Window) time.Duration {
	s := (w.Max*3/2 + time.Second - 1).Truncate(time.Second)
	return max(s, 4*time.Second)
}

func (m *Machine) showArea(v *View, at time.Duration) {
	v.Area = &Area{Looks: m.looks, Wait: m.plan.answerWait()}
	v.Over = "Before every attempt"
	if m.kind == Listening {
		v.Area.Answer = max(0, m.calledAt+m.plan.answerWait()-at)
		v.Button = Button{Text: "LISTEN", Sub: "press if anybody answers", Rest: true}
		v.Head, v.Lines = "Wait for an answer", []string{"nobody: the starter is next"}
		return
	}
	v.Button = []Button{
		{Text: "LEFT", Sub: "brakes held, left is clear"},
		{Text: "AHEAD", Sub: "ahead is clear"},
		{Text: "RIGHT", Sub: "right is clear"},
		{Text: "CLEAR", Sub: "called out loud"},
	}[min(m.looks, looks-1)]
	v.Head = []string{"Hold the brakes, look left", "Look ahead", "Look right", "Call CLEAR"}[min(m.looks, looks-1)]
	v.Lines = []string{"somebody there: wait"}
}

func (m *Machine) crankClock(elapsed time.Duration) Clock {
	limit := m.ledger.Limits().Crank
	return Clock{
		Label: "CRANKING", Sub: "seconds", Elapsed: elapsed, Window: procedure.Window{Max: limit},
		Scale: max(limit*4/3, 4*time.Second), Over: limit > 0 && elapsed > limit,
	}
}

func (m *Machine) showCranking(v *View, at time.Duration) {
	v.Clock = m.crankClock(at - m.engagedAt)
	v.Clock.Running = true
	v.Button = Button{Text: "LET GO", Sub: "when it fires, or at the limit", Warn: v.Clock.Over}
	v.Over, v.Head = "When it fires", "Mixture full forward"
	if m.plan.catch != nil {
		v.Head = m.plan.catch.Prompt.Caption
	}
	v.Lines = []string{"then let the starter go"}
	if v.Clock.Over {
		v.Warning = procedure.BreachCrankLimit.Warning().Caption
	}
}

func (m *Machine) showAsking(v *View) {
	v.Button = Button{Text: "RUNNING", Sub: "press if it runs", Hold: "NO START"}
	v.Clock = m.crankClock(m.releasedAt - m.engagedAt)
	v.Clock.Label = "CRANKED"
	v.Over, v.Head = "What became of it?", "Does the engine run?"
	v.Lines = []string{"the starter rests already"}
	if m.slippedOff {
		v.Lines = []string{"The window lost the button:", "the starter is taken to be let go."}
	}
}

func (m *Machine) showThinking(v *View) {
	v.Button = Button{Text: "AGAIN", Sub: "the same start once more"}
	v.Over, v.Head = "It did not start", "What was different?"
	if m.died {
		v.Over = "It died"
	}
	if len(m.questions) > 0 {
		q := m.questions[m.question]
		v.Button = Button{Text: "YES", Sub: uncapital(q.Title)}
		if len(m.questions) > 1 {
			v.Button.Hold = "no, next question"
		}
		v.Head = q.Ask
	}
	v.Lines = []string{m.givenText()}
	if v.Long {
		v.Lines = append(v.Lines, fmt.Sprintf("All %d attempts made: time to ask a mechanic.", v.Of))
	}
}

// givenText is what there is to think about: the prime and the temperature.
func (m *Machine) givenText() string {
	text := "No prime was given"
	if m.start.Prime > 0 {
		text = "Prime " + seconds(m.prime)
		if len(m.plan.holds) > 0 {
			text += ", window " + windowText(m.plan.window(m.celsius))
		}
		if m.start.Prime > m.prime {
			text += ", in all " + seconds(m.start.Prime)
		}
	}
	if known(m.celsius) {
		text += fmt.Sprintf(", %s", Degrees(m.celsius))
	}
	return text
}

func (m *Machine) showOil(v *View, at time.Duration) {
	left := m.oilDue() - at
	v.Button = Button{Text: "IN THE GREEN", Sub: "oil pressure", Hold: "it died"}
	v.Clock = Clock{Label: "OIL PRESSURE", Sub: "seconds left", Elapsed: max(0, left), Down: true, Scale: m.plan.oilLimit(m.celsius), Running: true}
	v.Over, v.Head, v.Lines = "Next", "", titles(m.plan.after)
	if len(v.Lines) > 0 {
		v.Head, v.Lines = v.Lines[0], v.Lines[1:]
	}
	if left < 0 {
		v.Clock.Over, v.Button.Hold = true, "engine stopped"
		v.Over, v.Head, v.Lines = "Now", "Mixture to cut-off", []string{"unless the gauge is in the green"}
		v.Warning = procedure.BreachNoOil.Warning().Caption
	}
}

func (m *Machine) showQuiet(v *View, at time.Duration) {
	record := m.start
	v.Record, v.Notes = &record, m.notes()
	v.Clock = Clock{Label: "RUNNING", Sub: "since the start", Elapsed: at - m.releasedAt, Running: true, Scale: time.Hour}
	v.Over, v.Head = "Kept", m.keptText()
	v.Lines = []string{"Nobody's maintenance record."}
	if m.kind == Noting {
		v.Note, v.Lines = m.note, nil
		v.Button = Button{Text: "KEEP", Sub: v.Notes[m.note], Hold: "another note"}
		return
	}
	v.Button = Button{Text: "NOTE", Sub: "add one to this start", Hold: "engine stopped"}
	if m.start.Note != "" {
		v.Button.Sub = "kept: " + m.start.Note
	}
}

func (m *Machine) keptText() string {
	attempts := "1 attempt"
	if m.start.Attempts != 1 {
		attempts = fmt.Sprintf("%d attempts", m.start.Attempts)
	}
	if m.start.Prime == 0 {
		return fmt.Sprintf("%s, no prime, %s", m.plan.flow.Situation, attempts)
	}
	return fmt.Sprintf("%s, prime %s, %s", m.plan.flow.Situation, seconds(m.start.Prime), attempts)
}

func titles(steps []*procedure.Step) []string {
	var out []string
	for _, s := range steps {
		out = append(out, s.Title)
	}
	return out
}

func join(steps []*procedure.Step) string {
	var out []string
	for _, t := range titles(steps) {
		out = append(out, uncapital(t))
	}
	return strings.Join(out, ", ")
}

// uncapital lets a title stand inside a sentence.
func uncapital(title string) string {
	if title == "" {
		return ""
	}
	return strings.ToLower(title[:1]) + title[1:]
}

func windowText(w procedure.Window) string {
	if w.Zero() {
		return "no window"
	}
	return fmt.Sprintf("%.1f–%.1f s", w.Min.Seconds(), w.Max.Seconds())
}

func seconds(d time.Duration) string {
	if d%time.Second == 0 {
		return fmt.Sprintf("%d s", d/time.Second)
	}
	return fmt.Sprintf("%.1f s", d.Seconds())
}

// Degrees prints a temperature with a true minus.
func Degrees(celsius float64) string {
	s := fmt.Sprintf("%.0f °C", celsius)
	if s == "-0 °C" {
		return "0 °C"
	}
	return strings.Replace(s, "-", "−", 1)
}
