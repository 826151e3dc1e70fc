package flowfile

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"kickover/procedure"
)

var (
	stepKinds = []string{
		string(procedure.StepSet), string(procedure.StepCheck), string(procedure.StepHold), string(procedure.StepBrief),
		string(procedure.StepPropClear), string(procedure.StepCrank), string(procedure.StepCatch), string(procedure.StepRelease),
		string(procedure.StepSettle), string(procedure.StepRest),
	}
	stepHands = []string{string(procedure.Left), string(procedure.Right), string(procedure.Feet), string(procedure.Eyes), string(procedure.Voice)}

	// kindKeys are the keys that belong to a kind of step, beside those that
	// belong to all.
	kindKeys = map[procedure.StepKind][]string{
		procedure.StepSet:       {"set", "reads"},
		procedure.StepCheck:     {"reads"},
		procedure.StepHold:      {"hold", "count"},
		procedure.StepBrief:     {},
		procedure.StepPropClear: {"answer_wait", "valid_for"},
		procedure.StepCrank:     {"count"},
		procedure.StepCatch:     {"set"},
		procedure.StepRelease:   {"set"},
		procedure.StepSettle:    {"set", "reads", "dwell"},
		procedure.StepRest:      {},
	}
	allKindKeys = []string{"set", "reads", "hold", "count", "answer_wait", "valid_for", "dwell"}
	commonKeys  = []string{"id", "title", "kind", "hand", "prompt", "why", "wrong", "window", "cold_window",
		"together", "call_outs", "criticality"}
)

func readStep(r *report, n *node, a *procedure.Aircraft, ids map[string]int) (procedure.Step, fields) {
	var s procedure.Step
	f := group(r, n, "a step", slices.Concat(commonKeys, allKindKeys)...)
	id := f.need("id", "brakes")
	s.ID = procedure.StepID(ident(r, id))
	unique(r, id, string(s.ID), "step", ids)
	s.Title = text(r, f.need("title", "Brakes held"), 40)
	s.Kind = procedure.StepKind(word(r, f.need("kind", "set"), "a kind of step", stepKinds...))
	s.Hand = procedure.Hand(word(r, f.need("hand", "right"), "a hand", stepHands...))
	s.Prompt = readLine(r, f.need("prompt", "\"Brakes: held\""))
	s.Why = spokenText(r, f.need("why", "what it is for"), 320)
	if wrong := f.get("wrong"); wrong != nil {
		s.Wrong = spokenText(r, wrong, 320)
	}
	if at := f.need("criticality", "2"); at != nil {
		s.Criticality = whole(r, at, 1, 3)
	}
	s.Together = truth(r, f.get("together"))
	if s.Kind == "" {
		return s, f
	}
	foreignKeys(r, &f, "a "+string(s.Kind)+" step", kindKeys[s.Kind], allKindKeys)
	readTiming(r, &f, &s)
	readKind(r, &f, &s, a)
	if f.has("call_outs") {
		for _, m := range list(r, f.get("call_outs"), "call-outs") {
			if c, ok := readCallOut(r, m, &s, f.has("window")); ok {
				s.CallOuts = append(s.CallOuts, c)
			}
		}
	}
	return s, f
}

// timed are the kinds that mean nothing without a longest time.
var timed = []procedure.StepKind{procedure.StepHold, procedure.StepCrank, procedure.StepCatch, procedure.StepRelease, procedure.StepSettle}

func readTiming(r *report, f *fields, s *procedure.Step) {
	s.WindowFrom = procedure.FromStep
	var at *node
	if slices.Contains(timed, s.Kind) {
		at = f.need("window", "{ max: 5 s }")
	} else {
		at = f.get("window")
	}
	if at != nil {
		w := group(r, at, "a window", "min", "ideal", "max", "from")
		s.Window = readWindow(r, &w)
		if from := w.get("from"); from != nil {
			s.WindowFrom = procedure.Anchor(word(r, from, "a moment to count from", string(procedure.FromStep), string(procedure.FromFires)))
			if s.WindowFrom == procedure.FromFires && slices.Contains([]procedure.StepKind{procedure.StepHold, procedure.StepCrank, procedure.StepPropClear, procedure.StepBrief, procedure.StepRest}, s.Kind) {
				r.complain(from, fmt.Sprintf("a %s step is not counted from the firing", s.Kind), "remove \"from\"")
			}
		}
	}
	if at := f.get("cold_window"); at != nil {
		w := group(r, at, "a cold window", "below", "min", "ideal", "max")
		below, _ := quantity(r, w.need("below", "-10 degC"), "temperature", "-10 degC")
		s.Cold = &procedure.ColdWindow{BelowCelsius: below, Window: readWindow(r, &w)}
		if s.Window.Zero() {
			r.complain(at, "a cold window replaces a window, but the step has none", "add \"window\" for the usual case")
		}
	}
}

// readWindow reads min, ideal and max. Without min it is nothing; without
// ideal it is half way between the two.
func readWindow(r *report, f *fields) procedure.Window {
	var w procedure.Window
	maxAt := f.need("max", "5 s")
	minAt, idealAt := f.get("min"), f.get("ideal")
	okMin := true
	if minAt != nil {
		w.Min, okMin = duration(r, minAt)
	}
	var okMax bool
	if w.Max, okMax = duration(r, maxAt); !okMax || !okMin {
		return procedure.Window{}
	}
	if w.Max == 0 {
		r.complain(maxAt, "the window has no length: nobody can be in it", "write the longest acceptable time, for example \"max: 5 s\"")
		return procedure.Window{}
	}
	if w.Max < w.Min {
		r.complain(maxAt, fmt.Sprintf("the window ends at %s, before it starts at %s", maxAt.text, minAt.text), "make \"max\" at least as long as \"min\"")
		return procedure.Window{}
	}
	w.Ideal = w.Min + (w.Max-w.Min)/2
	if idealAt != nil {
		ideal, ok := duration(r, idealAt)
		if ok && (ideal < w.Min || ideal > w.Max) {
			r.complain(idealAt, fmt.Sprintf("the ideal of %s lies outside the window of %s to %s", idealAt.text, seconds(w.Min), seconds(w.Max)), "put it between \"min\" and \"max\"")
		}
		w.Ideal = ideal
	}
	return w
}

// seconds writes a time as the files do.
func seconds(d time.Duration) string {
	return number(d.Seconds()) + " s"
}

func readKind(r *report, f *fields, s *procedure.Step, a *procedure.Aircraft) {
	hand := s.Hand
	if hand != procedure.Left && hand != procedure.Right && hand != procedure.Feet {
		hand = ""
	}
	switch s.Kind {
	case procedure.StepSet:
		s.Targets = readTargets(r, f.get("set"), a, hand)
		s.Conditions = readConditions(r, f.get("reads"), a)
		if f.at != nil && !f.has("set") && !f.has("reads") {
			r.complain(f.at, "a set step needs \"set\"", "add it, for example \"set: { brakes: held }\"")
		}
	case procedure.StepCheck:
		s.Conditions = readConditions(r, f.need("reads", "{ bus_volts: { min: 24.2 V } }"), a)
	case procedure.StepHold:
		s.Count = truth(r, f.get("count"))
		s.Hold = readHold(r, f.need("hold", "{ control: mixture, rest: cut-off, full: full rich, by: clock }"), a, s.Hand)
	case procedure.StepPropClear:
		s.AnswerWait = positive(r, f.need("answer_wait", "3 s"))
		s.ValidFor = positive(r, f.need("valid_for", "30 s"))
		if at := f.get("answer_wait"); at != nil && !s.Window.Zero() && s.AnswerWait >= s.Window.Max {
			r.complain(at, "waiting for an answer takes longer than the step may", "shorten the wait or lengthen the window")
		}
	case procedure.StepCrank:
		s.Count = truth(r, f.get("count"))
	case procedure.StepCatch, procedure.StepRelease:
		s.Targets = readTargets(r, f.need("set", "{ mixture: full rich }"), a, hand)
		checkRelease(r, f, s)
	case procedure.StepSettle:
		s.Targets = readTargets(r, f.get("set"), a, hand)
		s.Conditions = readConditions(r, f.need("reads", "{ rpm: { at: 1000 rpm, tolerance: 50 rpm } }"), a)
		dwell := f.need("dwell", "2 s")
		s.Dwell = positive(r, dwell)
		if dwell != nil && !s.Window.Zero() && s.Dwell > s.Window.Max {
			r.complain(dwell, fmt.Sprintf("the band must be held for %s, longer than the step may take", dwell.text), "shorten dwell or lengthen the window")
		}
	}
}

func checkRelease(r *report, f *fields, s *procedure.Step) {
	at := f.get("set")
	if s.Kind != procedure.StepRelease || at == nil || at.kind != mappingNode {
		return
	}
	for _, e := range at.entries {
		if e.key.text == string(procedure.ControlIgnition) {
			return
		}
	}
	r.complain(at, "a release step must say where the ignition goes", "write \"set: { ignition: both }\"")
}

func readHold(r *report, n *node, a *procedure.Aircraft, hand procedure.Hand) *procedure.Hold {
	if n == nil {
		return nil
	}
	h := &procedure.Hold{}
	f := group(r, n, "a hold", "control", "rest", "full", "by", "cue", "grace")
	controlAt := f.need("control", "mixture")
	if controlAt != nil {
		if c, ok := findControl(r, controlAt, a); ok {
			readHoldEnds(r, &f, h, c, controlAt, hand)
		}
	}
	h.By = procedure.HoldBy(word(r, f.need("by", "both"), "what ends a hold",
		string(procedure.ByClock), string(procedure.ByCue), string(procedure.ByBoth)))
	switch h.By {
	case procedure.ByClock:
		foreignKeys(r, &f, "a hold by the clock", nil, []string{"cue", "grace"})
	case procedure.ByCue, procedure.ByBoth:
		h.CueGrace = positive(r, f.need("grace", "1 s"))
		at := f.need("cue", "fuel_flow")
		if at == nil {
			break
		}
		i, ok := findInstrument(r, at, a)
		if !ok {
			break
		}
		h.Cue = i.ID
		if shown, hidden := shownBy(a, i.ID); len(shown) == 0 {
			r.complain(at, fmt.Sprintf("no panel of the %s shows the %s", a.Name, i.ID), "take it out of \"hides\" of one panel, or write \"by: clock\"")
		} else if h.By == procedure.ByCue && len(hidden) > 0 {
			r.complain(at, fmt.Sprintf("on the panel %s there is no %s, so the hold could not be ended", joined(hidden), i.ID), "write \"by: both\"")
		}
	}
	return h
}

func readHoldEnds(r *report, f *fields, h *procedure.Hold, c *procedure.Control, at *node, hand procedure.Hand) {
	h.Control = c.ID
	if c.Kind != procedure.Lever {
		r.complain(at, fmt.Sprintf("the control %s has detents; only a lever can be held for a time", c.ID), "hold a lever; for the starter use \"kind: crank\"")
		return
	}
	if hand != c.Hand {
		r.complain(at, fmt.Sprintf("the %s belongs to the %s, the step to the %s", c.ID, handText(c.Hand), handText(hand)), fmt.Sprintf("write \"hand: %s\"", c.Hand))
	}
	fullAt := f.need("full", "full rich")
	rest, okRest := readPosition(r, f.need("rest", "cut-off"), c)
	full, okFull := readPosition(r, fullAt, c)
	if !okRest || !okFull {
		return
	}
	h.Rest, h.Tolerance, h.Full = rest.At, rest.Tolerance, full.At
	if rest.Met(full.At) {
		r.complain(fullAt, "the hold goes nowhere: full and rest are the same place", "write two different positions")
	}
}

// callOutMoments are the keys that say when a call-out is due.
var callOutMoments = []string{"at", "before_ideal", "before_limit", "on"}

func readCallOut(r *report, n *node, s *procedure.Step, hasWindow bool) (procedure.CallOut, bool) {
	var c procedure.CallOut
	f := group(r, n, "a call-out", append([]string{"show", "say"}, callOutMoments...)...)
	if f.at == nil {
		return c, false
	}
	c.Line = lineOf(r, &f)
	var moments []string
	for _, key := range callOutMoments {
		if f.has(key) {
			moments = append(moments, key)
		}
	}
	if len(moments) != 1 {
		r.complain(n, fmt.Sprintf("a call-out is due at one moment, not %d", len(moments)), "write one of: "+joined(callOutMoments))
		return c, false
	}
	at := f.get(moments[0])
	if at == nil {
		return c, false
	}
	if moments[0] == "on" {
		switch word(r, at, "a moment", "fires", "done") {
		case "fires":
			c.Anchor = procedure.OnFires
		case "done":
			c.Anchor = procedure.OnDone
		}
		return c, c.Anchor != ""
	}
	var ok bool
	if c.Offset, ok = duration(r, at); !ok {
		return c, false
	}
	if s.Window.Zero() && (hasWindow || slices.Contains(timed, s.Kind)) {
		return c, true // the window was complained about; its length is not known
	}
	switch moments[0] {
	case "at":
		c.Anchor = procedure.FromStep
		if !s.Window.Zero() && c.Offset > s.Window.Max {
			r.complain(at, fmt.Sprintf("the call-out at %s comes after the step's longest time, %s", at.text, seconds(s.Window.Max)), "put it within the window")
		}
	case "before_ideal":
		c.Anchor = procedure.BeforeIdeal
		if s.Window.Zero() || c.Offset > s.Window.Ideal {
			r.complain(at, "the call-out would come before the step begins", "the step needs a window whose ideal is longer than this")
		}
	case "before_limit":
		c.Anchor = procedure.OnLimit
		if s.Window.Zero() || c.Offset > s.Window.Max {
			r.complain(at, "the call-out would come before the step begins", "the step needs a window that is longer than this")
		}
	}
	return c, true
}

// readLine reads something spoken: a text, or "{ show, say }" where spelling
// and sound differ.
func readLine(r *report, n *node) procedure.Line {
	if n == nil {
		return procedure.Line{}
	}
	if n.kind == scalarNode {
		return procedure.Line{Caption: spokenText(r, n, 120)}
	}
	f := group(r, n, "a line", "show", "say")
	return lineOf(r, &f)
}

// lineOf reads the keys show and say. Either alone will do.
func lineOf(r *report, f *fields) procedure.Line {
	var l procedure.Line
	show, say := f.get("show"), f.get("say")
	switch {
	case f.at == nil:
	case show == nil && say == nil && !f.has("show") && !f.has("say"):
		r.complain(f.at, f.what+" has nothing to say", "add \"say: three\"")
	case show == nil:
		l.Caption = spokenText(r, say, 120)
	case say == nil:
		l.Caption = spokenText(r, show, 120)
	default:
		l.Caption = text(r, show, 120)
		l.Say = spokenText(r, say, 120)
	}
	return l
}

// spokenText reads a text that a voice is given as it stands.
func spokenText(r *report, n *node, longest int) string {
	s := text(r, n, longest)
	for _, c := range s {
		if !speakable(c) {
			r.complain(n, fmt.Sprintf("a voice cannot say %q", c), "write it in words; where a caption needs it, write \"show\" and \"say\" apart")
			return s
		}
	}
	if strings.Contains(s, "..") {
		r.complain(n, "a voice cannot say an ellipsis", "write it in words; where a caption needs it, write \"show\" and \"say\" apart")
	}
	return s
}

// speakable reports whether a speech engine reads the character as a person
// would: letters, digits, and the marks that shape a sentence.
func speakable(c rune) bool {
	return unicode.IsLetter(c) || unicode.IsDigit(c) || unicode.IsMark(c) || strings.ContainsRune(" ,.:;?!'’-()", c)
}
