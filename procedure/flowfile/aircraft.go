package flowfile

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"kickover/procedure"
)

// AircraftSchema is the first line of an aircraft file.
const AircraftSchema = "kickover/aircraft/1"

// ParseAircraft reads an aircraft file. The name is the one that messages give.
// The error, if any, is an [*Errors] with everything that is wrong.
func ParseAircraft(name string, data []byte) (*procedure.Aircraft, error) {
	r := newReport(name, data)
	root := document(r, data)
	if root == nil {
		return nil, r.err()
	}
	a := readAircraft(r, root)
	if err := r.err(); err != nil {
		return nil, err
	}
	return a, nil
}

// schema checks the schema line.
func schema(r *report, f *fields, want string) {
	n := f.need("schema", want)
	if got, ok := scalar(r, n, "the schema"); ok && got != want {
		r.complain(n, fmt.Sprintf("%q is not a schema that this version reads here", got), "write "+strconv.Quote(want))
	}
}

func readAircraft(r *report, root *node) *procedure.Aircraft {
	f := group(r, root, "an aircraft", "schema", "id", "name", "summary", "powerplant",
		"min_bus_volts", "starter", "controls", "instruments", "panels")
	schema(r, &f, AircraftSchema)
	a := &procedure.Aircraft{
		ID:         procedure.AircraftID(ident(r, f.need("id", "brindle-180"))),
		Name:       text(r, f.need("name", "Brindle 180"), 40),
		Summary:    text(r, f.need("summary", "four seats, 180 hp"), 160),
		Powerplant: ident(r, f.need("powerplant", "brindle-180")),
	}
	a.MinBusVolts, _ = quantity(r, f.need("min_bus_volts", "24.2 V"), "voltage", "24.2 V")
	a.Starter = readStarter(r, f.need("starter", "{ crank: 6 s, rest: 45 s, attempts: 5, long_rest: 20 min }"))

	controlsAt := f.need("controls", "a list")
	seen := map[string]int{}
	for _, n := range list(r, controlsAt, "controls") {
		c, at := readControl(r, n)
		unique(r, at, string(c.ID), "control", seen)
		a.Controls = append(a.Controls, c)
	}
	if controlsAt != nil {
		checkNeededControls(r, controlsAt, a)
	}

	seen = map[string]int{}
	for _, n := range list(r, f.need("instruments", "a list"), "instruments") {
		i, at := readInstrument(r, n)
		unique(r, at, string(i.ID), "instrument", seen)
		a.Instruments = append(a.Instruments, i)
	}

	seen = map[string]int{}
	for _, n := range list(r, f.need("panels", "a list"), "panels") {
		p, at := readPanel(r, n, a)
		unique(r, at, p.ID, "panel", seen)
		a.Panels = append(a.Panels, p)
	}
	return a
}

func readStarter(r *report, n *node) procedure.StarterLimits {
	var s procedure.StarterLimits
	if n == nil {
		return s
	}
	f := group(r, n, "the starter", "crank", "rest", "attempts", "long_rest")
	s.Crank = positive(r, f.need("crank", "6 s"))
	s.Rest = positive(r, f.need("rest", "45 s"))
	s.Attempts = whole(r, f.need("attempts", "5"), 1, 20)
	longest := f.need("long_rest", "20 min")
	s.LongRest = positive(r, longest)
	if longest != nil && s.LongRest > 0 && s.LongRest < s.Rest {
		r.complain(longest, "the long rest is shorter than the rest between two attempts", "make it at least as long as rest")
	}
	return s
}

// checkNeededControls complains when a control is missing that the safety
// rules speak about: without it no breach could be seen.
func checkNeededControls(r *report, at *node, a *procedure.Aircraft) {
	needs := func(id procedure.ControlID, detents ...string) {
		c, ok := a.Control(id)
		if !ok {
			r.complain(at, fmt.Sprintf("the aircraft has no control %q", id), "add it: the safety rules of a start need it, with the detents "+strings.Join(detents, ", "))
			return
		}
		for _, d := range detents {
			if _, ok := c.Detent(d); !ok {
				r.complain(at, fmt.Sprintf("the control %q has no detent %q", id, d), "add it to its detents: the safety rules of a start need it")
			}
		}
	}
	needs(procedure.ControlBrakes, procedure.DetentReleased, procedure.DetentHeld)
	needs(procedure.ControlIgnition, procedure.DetentOff, procedure.DetentBoth, procedure.DetentStart)
	ignition, ok := a.Control(procedure.ControlIgnition)
	if !ok || !slices.Contains(ignition.Detents, procedure.DetentStart) {
		return
	}
	if !slices.ContainsFunc(ignition.Sprung, func(s procedure.Sprung) bool { return s.From == procedure.DetentStart }) {
		r.complain(at, "the ignition's detent \"start\" does not spring back", "add \"sprung: { start: both }\" to the ignition")
	}
}

var (
	controlKeys = map[procedure.ControlKind][]string{
		procedure.Lever:  {"travel", "low", "high", "edge", "marks"},
		procedure.Switch: {"detents", "sprung"},
		procedure.Rotary: {"detents", "sprung"},
	}
	controlKinds = []string{string(procedure.Lever), string(procedure.Switch), string(procedure.Rotary)}
	hands        = []string{string(procedure.Left), string(procedure.Right), string(procedure.Feet)}
)

func readControl(r *report, n *node) (procedure.Control, *node) {
	var c procedure.Control
	f := group(r, n, "a control", "id", "name", "kind", "hand", "initial",
		"travel", "low", "high", "edge", "marks", "detents", "sprung")
	id := f.need("id", "throttle")
	c.ID = procedure.ControlID(ident(r, id))
	c.Name = text(r, f.need("name", "Throttle"), 24)
	c.Kind = procedure.ControlKind(word(r, f.need("kind", "lever"), "a kind of control", controlKinds...))
	c.Hand = procedure.Hand(word(r, f.need("hand", "right"), "a hand for a control", hands...))
	if c.Kind == "" {
		return c, id
	}
	foreignKeys(r, &f, "a "+string(c.Kind), controlKeys[c.Kind], controlKeys[procedure.Lever], controlKeys[procedure.Switch])
	if c.Kind == procedure.Lever {
		readLever(r, &f, &c)
	} else {
		readDetents(r, &f, &c)
	}
	initial := f.need("initial", "off")
	if p, ok := readPosition(r, initial, &c); ok {
		c.Initial = p.At
		if c.Rest(c.Initial) != c.Initial {
			r.complain(initial, fmt.Sprintf("the %s cannot stand at %q before the flow: it springs back", c.ID, initial.text), "write a detent that stays")
		}
	}
	return c, id
}

// foreignKeys complains about keys that belong to another kind.
func foreignKeys(r *report, f *fields, what string, own []string, all ...[]string) {
	for _, key := range slices.Concat(all...) {
		if at, there := f.keys[key]; there && !slices.Contains(own, key) {
			r.complain(at, fmt.Sprintf("%s has no key %q", what, key), nearest("remove it, or write", key, own))
			delete(f.keys, key) // once is enough when two kinds share the key
		}
	}
}

func readLever(r *report, f *fields, c *procedure.Control) {
	c.Low = text(r, f.need("low", "closed"), 16)
	c.High = text(r, f.need("high", "open"), 16)
	if n := f.get("edge"); n != nil {
		c.Edge = word(r, n, "an edge of a lever", "aft", "forward")
	}
	travel := f.need("travel", "80 mm")
	if s, ok := scalar(r, travel, "a travel"); ok {
		// A travel in per cent is a lever without a scale: 100 % of it is 1.
		if strings.HasSuffix(s, "%") {
			if v, ok := quantity(r, travel, "share", "100 %"); ok && v != 1 {
				r.complain(travel, "a travel in per cent is the whole of it", "write \"100 %\", or a length such as \"80 mm\"")
			}
			c.Travel = 1
		} else if v, ok := quantity(r, travel, "length", "80 mm"); ok {
			c.Travel, c.Unit = procedure.Position(v), "mm"
			if v <= 0 || v > 500 {
				r.complain(travel, "the travel is not between 0 and 500 mm", "write how far the lever slides, for example \"80 mm\"")
			}
		}
	}
	if f.has("marks") {
		seen := map[string]int{}
		for _, n := range list(r, f.get("marks"), "marks") {
			m, at := readMark(r, n, c)
			unique(r, at, string(m.ID), "mark", seen)
			c.Marks = append(c.Marks, m)
		}
	}
}

func readMark(r *report, n *node, c *procedure.Control) (procedure.Mark, *node) {
	var m procedure.Mark
	f := group(r, n, "a mark", "id", "name", "at", "tolerance")
	id := f.need("id", "prime")
	m.ID = procedure.MarkID(ident(r, id))
	if m.ID != "" && (string(m.ID) == c.Low || string(m.ID) == c.High) {
		r.complain(id, fmt.Sprintf("the mark %q is called like an end of the lever's travel", m.ID), "give it another identifier")
	}
	m.Name = text(r, f.need("name", "prime"), 16)
	at, tolerance := f.need("at", "28 mm"), f.need("tolerance", "2 mm")
	var ok bool
	if m.At, ok = along(r, at, c); ok && c.Travel > 0 && (m.At < 0 || m.At > c.Travel) {
		r.complain(at, fmt.Sprintf("the mark at %s lies outside the lever's travel of %s", at.text, lengthText(c.Travel, c)), "put it between the ends of the travel")
	}
	if m.Tolerance, ok = along(r, tolerance, c); ok && (m.Tolerance <= 0 || c.Travel > 0 && m.Tolerance > c.Travel/2) {
		r.complain(tolerance, fmt.Sprintf("a tolerance of %s cannot be used", tolerance.text), "write more than nothing and less than half the travel")
	}
	return m, id
}

// along reads a place on a lever, or a distance along it.
func along(r *report, n *node, c *procedure.Control) (procedure.Position, bool) {
	if c.Unit == "mm" {
		v, ok := quantity(r, n, "length", "28 mm")
		return procedure.Position(v), ok
	}
	v, ok := quantity(r, n, "share", "50 %")
	return procedure.Position(v), ok
}

// lengthText writes a place on a lever as the file does.
func lengthText(p procedure.Position, c *procedure.Control) string {
	if c.Unit == "mm" {
		return strconv.FormatFloat(float64(p), 'f', -1, 64) + " mm"
	}
	return strconv.FormatFloat(math.Round(float64(p)*1e6)/1e4, 'f', -1, 64) + " %"
}

func readDetents(r *report, f *fields, c *procedure.Control) {
	seen := map[string]int{}
	at := f.need("detents", "[off, on]")
	for _, n := range list(r, at, "detents") {
		d := ident(r, n)
		unique(r, n, d, "detent", seen)
		c.Detents = append(c.Detents, d)
	}
	if at != nil && at.kind == sequenceNode && len(c.Detents) == 1 {
		r.complain(at, "a switch with one position cannot be moved", "write at least two detents")
	}
	n := f.get("sprung")
	if n == nil {
		return
	}
	if n.kind != mappingNode {
		r.complain(n, "sprung needs the detent and where it springs to", "write it as \"sprung: { start: both }\"")
		return
	}
	for _, e := range n.entries {
		to, _ := scalar(r, e.value, "a detent")
		for _, end := range []*node{e.key, e.value} {
			if end.kind == scalarNode && !slices.Contains(c.Detents, end.text) {
				r.complain(end, fmt.Sprintf("the %s has no detent %q", c.ID, end.text), nearest("write", end.text, c.Detents))
			}
		}
		if to == e.key.text {
			r.complain(e.value, fmt.Sprintf("the detent %q springs back to itself", to), "write another detent, or remove it from sprung")
		}
		c.Sprung = append(c.Sprung, procedure.Sprung{From: e.key.text, To: to})
	}
}
