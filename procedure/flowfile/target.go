package flowfile

import (
	"fmt"
	"math"
	"strings"

	"kickover/procedure"
)

// endTolerance is the share of a lever's travel within which it counts as at
// its end: a hand stops a little short of the stop.
const endTolerance = 0.04

// readTargets reads "set": controls and where each must stand.
func readTargets(r *report, n *node, a *procedure.Aircraft, hand procedure.Hand) []procedure.Target {
	if n == nil {
		return nil
	}
	if n.kind != mappingNode {
		r.complain(n, "set needs controls and positions", "write it as \"set: { throttle: prime }\"")
		return nil
	}
	var targets []procedure.Target
	seen := map[string]int{}
	for _, e := range n.entries {
		c, ok := findControl(r, e.key, a)
		if !ok {
			continue
		}
		unique(r, e.key, string(c.ID), "control", seen)
		if hand != "" && c.Hand != hand {
			r.complain(e.key, fmt.Sprintf("the %s belongs to the %s, the step to the %s", c.ID, handText(c.Hand), handText(hand)),
				fmt.Sprintf("write \"hand: %s\", or make it a step of its own", c.Hand))
		}
		t, ok := readTarget(r, e.value, c)
		if !ok {
			continue
		}
		if startAt, has := c.Detent(procedure.DetentStart); has && c.ID == procedure.ControlIgnition && t.Met(startAt) {
			r.complain(e.value, "only a crank step may put the ignition to start", "use \"kind: crank\": it has the starter's limit and needs a propeller-area check")
		}
		targets = append(targets, t)
	}
	return targets
}

func handText(h procedure.Hand) string {
	switch h {
	case procedure.Left, procedure.Right:
		return string(h) + " hand"
	default:
		return string(h)
	}
}

// findControl reads the name of one of the aircraft's controls.
func findControl(r *report, n *node, a *procedure.Aircraft) (*procedure.Control, bool) {
	s, ok := scalar(r, n, "a control")
	if !ok {
		return nil, false
	}
	c, ok := a.Control(procedure.ControlID(s))
	if !ok {
		names := make([]string, len(a.Controls))
		for k := range a.Controls {
			names[k] = string(a.Controls[k].ID)
		}
		r.complain(n, fmt.Sprintf("the %s has no control %q", a.Name, s), nearest("write", s, names))
	}
	return c, ok
}

// readTarget reads a position, "{ at, tolerance }" or "{ from, to }".
func readTarget(r *report, n *node, c *procedure.Control) (procedure.Target, bool) {
	if n.kind != mappingNode {
		return readPosition(r, n, c)
	}
	f := group(r, n, "a target", "at", "tolerance", "from", "to")
	if f.has("from") || f.has("to") {
		foreignKeys(r, &f, "a target from one place to another", nil, []string{"at", "tolerance"})
		from, okFrom := readPosition(r, f.need("from", "off"), c)
		end := f.need("to", "both")
		to, okTo := readPosition(r, end, c)
		if !okFrom || !okTo {
			return procedure.Target{}, false
		}
		if to.At < from.At {
			r.complain(end, "the target ends before it starts", "make \"to\" lie beyond \"from\"")
			return procedure.Target{}, false
		}
		return procedure.Target{Control: c.ID, At: (from.At + to.At) / 2, Tolerance: (to.At - from.At) / 2}, true
	}
	t, ok := readPosition(r, f.need("at", "28 mm"), c)
	if tolerance := f.get("tolerance"); tolerance != nil && c.Kind != procedure.Lever {
		r.complain(f.keys["tolerance"], fmt.Sprintf("the control %s has detents and needs no tolerance", c.ID), "remove it")
	} else if tolerance != nil {
		v, good := along(r, tolerance, c)
		if good && (v <= 0 || v > c.Travel/2) {
			r.complain(tolerance, fmt.Sprintf("a tolerance of %s cannot be used", tolerance.text), "write more than nothing and less than half the travel")
		}
		t.Tolerance, ok = v, ok && good
	}
	return t, ok
}

// readPosition reads where a control stands: a detent, a mark, the name of an
// end of the travel, or a place on it.
func readPosition(r *report, n *node, c *procedure.Control) (procedure.Target, bool) {
	t := procedure.Target{Control: c.ID}
	s, ok := scalar(r, n, "a position")
	if !ok || c.Kind == "" {
		return t, false
	}
	if c.Kind != procedure.Lever {
		at, ok := c.Detent(s)
		if !ok {
			r.complain(n, fmt.Sprintf("the %s has no detent %q", c.ID, s), nearest("write", s, c.Detents))
		}
		t.At = at
		return t, ok
	}
	switch {
	case s == c.Low:
		t.Tolerance = round(c.Travel * endTolerance)
		return t, true
	case s == c.High:
		t.At, t.Tolerance = c.Travel, round(c.Travel*endTolerance)
		return t, true
	}
	if m, ok := c.Mark(procedure.MarkID(s)); ok {
		t.At, t.Tolerance, t.Mark = m.At, m.Tolerance, m.ID
		return t, true
	}
	if !strings.ContainsAny(s, "0123456789") {
		places := []string{c.Low, c.High}
		for _, m := range c.Marks {
			places = append(places, string(m.ID))
		}
		r.complain(n, fmt.Sprintf("the %s has no mark or end %q", c.ID, s), nearest("write", s, places)+leverExample(c))
		return t, false
	}
	if t.At, ok = along(r, n, c); !ok {
		return t, false
	}
	if t.At < 0 || t.At > c.Travel {
		r.complain(n, fmt.Sprintf("%s lies outside the travel of the %s, 0 to %s", s, c.ID, lengthText(c.Travel, c)), "write a place between the ends of the travel")
		return t, false
	}
	t.Tolerance = round(c.Travel * endTolerance)
	return t, true
}

func leverExample(c *procedure.Control) string {
	return fmt.Sprintf(" A place on the travel works too, for example %q.", lengthText(round(c.Travel/2), c))
}

// round keeps positions free of the noise of binary fractions.
func round(p procedure.Position) procedure.Position {
	return procedure.Position(math.Round(float64(p)*1e6) / 1e6)
}

// readConditions reads "reads" of a step: instruments and what each must show.
func readConditions(r *report, n *node, a *procedure.Aircraft) []procedure.Condition {
	return readReadings(r, n, a, checkVolts)
}

// readReadings reads instruments and what each shows; check, if any, looks at
// each besides.
func readReadings(r *report, n *node, a *procedure.Aircraft, check func(*report, *node, procedure.Condition, *procedure.Aircraft)) []procedure.Condition {
	if n == nil {
		return nil
	}
	if n.kind != mappingNode {
		r.complain(n, "reads needs instruments and readings", "write it as \"reads: { bus_volts: { min: 24.2 V } }\"")
		return nil
	}
	var conditions []procedure.Condition
	seen := map[string]int{}
	for _, e := range n.entries {
		i, ok := findInstrument(r, e.key, a)
		if !ok {
			continue
		}
		unique(r, e.key, string(i.ID), "instrument", seen)
		if shown, _ := shownBy(a, i.ID); len(shown) == 0 {
			r.complain(e.key, fmt.Sprintf("no panel of the %s shows the %s", a.Name, i.ID), "take it out of \"hides\" of one panel, or check another instrument")
		}
		if c, ok := readCondition(r, e.value, i); ok {
			if check != nil {
				check(r, e.value, c, a)
			}
			conditions = append(conditions, c)
		}
	}
	return conditions
}

// checkVolts refuses a check that would pass a battery which the aircraft's
// own least voltage does not.
func checkVolts(r *report, n *node, c procedure.Condition, a *procedure.Aircraft) {
	if c.Instrument == procedure.InstrumentBusVolts && !math.IsInf(c.Min, -1) && c.Min < a.MinBusVolts {
		r.complain(n, fmt.Sprintf("this passes less than the %s V that the %s needs before a start", number(a.MinBusVolts), a.Name),
			fmt.Sprintf("write \"min: %s V\" or more", number(a.MinBusVolts)))
	}
}

// readCondition reads "lit" or "dark" for a lamp, else "normal", "{ min, max }" or "{ at, tolerance }".
func readCondition(r *report, n *node, i *procedure.Instrument) (procedure.Condition, bool) {
	c := procedure.Condition{Instrument: i.ID, Min: math.Inf(-1), Max: math.Inf(1)}
	u, known := unitOf(i)
	switch {
	case !known:
		return c, false
	case i.Lamp():
		return readLamp(r, n, i, c)
	case n.kind == scalarNode:
		return readNormal(r, n, i, u, c)
	}
	f := group(r, n, "a reading", "min", "max", "at", "tolerance")
	switch {
	case f.at == nil:
		return c, false
	case f.has("at") || f.has("tolerance"):
		return readAround(r, &f, i, u, c)
	default:
		return readBetween(r, n, &f, i, u, c)
	}
}

// readLamp reads what a lamp must be.
func readLamp(r *report, n *node, i *procedure.Instrument, c procedure.Condition) (procedure.Condition, bool) {
	if n.kind != scalarNode {
		r.complain(n, fmt.Sprintf("the %s is a lamp and has no scale to be read", i.ID), "write \"lit\" or \"dark\"")
		return c, false
	}
	switch word(r, n, "what a lamp can show", "lit", "dark") {
	case "lit":
		c.Min, c.Max = 1, 1
	case "dark":
		c.Min, c.Max = 0, 0
	default:
		return c, false
	}
	return c, true
}

// readNormal reads "normal": the green arc.
func readNormal(r *report, n *node, i *procedure.Instrument, u unit, c procedure.Condition) (procedure.Condition, bool) {
	if word(r, n, "what an instrument can show", "normal") == "" {
		return c, false
	}
	for _, m := range i.Ranges {
		if m.Kind == procedure.Normal {
			c.Min, c.Max = m.From, m.To
			return c, true
		}
	}
	r.complain(n, fmt.Sprintf("the %s has no normal range", i.ID), fmt.Sprintf("write what it must show, for example \"{ min: %s %s }\"", number(i.Min), u.name))
	return c, false
}

// readAround reads "{ at, tolerance }".
func readAround(r *report, f *fields, i *procedure.Instrument, u unit, c procedure.Condition) (procedure.Condition, bool) {
	foreignKeys(r, f, "a reading with a tolerance", nil, []string{"min", "max"})
	at, okAt := onScale(r, f.need("at", number(i.Max)+" "+u.name), i, u)
	tolAt := f.need("tolerance", number(i.Resolution)+" "+u.name)
	tol, okTol := spread(r, tolAt, u)
	if okTol && tol <= 0 {
		r.complain(tolAt, "a tolerance must be more than nothing", "write how far the reading may be off")
		return c, false
	}
	c.Min, c.Max = at-tol, at+tol
	return c, okAt && okTol
}

// readBetween reads "{ min, max }", of which one may be left out.
func readBetween(r *report, n *node, f *fields, i *procedure.Instrument, u unit, c procedure.Condition) (procedure.Condition, bool) {
	lowAt, highAt := f.get("min"), f.get("max")
	if !f.has("min") && !f.has("max") {
		r.complain(n, "the reading has neither \"min\" nor \"max\"", fmt.Sprintf("write at least one, for example \"min: %s %s\"", number(i.Min), u.name))
		return c, false
	}
	okLow, okHigh := !f.has("min"), !f.has("max")
	if lowAt != nil {
		c.Min, okLow = onScale(r, lowAt, i, u)
	}
	if highAt != nil {
		c.Max, okHigh = onScale(r, highAt, i, u)
	}
	if okLow && okHigh && c.Min > c.Max {
		r.complain(highAt, fmt.Sprintf("no reading is at least %s and at most %s", lowAt.text, highAt.text), "make \"max\" greater than \"min\"")
		return c, false
	}
	return c, okLow && okHigh
}

// onScale reads a reading that the instrument can show.
func onScale(r *report, n *node, i *procedure.Instrument, u unit) (float64, bool) {
	v, ok := measured(r, n, u)
	if ok && (v < i.Min || v > i.Max) {
		r.complain(n, fmt.Sprintf("%s lies outside the scale of the %s, %s: it can never be read", n.text, i.ID, scaleText(i)), "write a reading that is on the scale")
		return v, false
	}
	return v, ok
}
