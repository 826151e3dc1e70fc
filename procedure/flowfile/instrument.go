package flowfile

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"kickover/procedure"
)

// faces gives the units as they are printed on an instrument's face, where
// that differs from how they are written in a file.
var faces = map[string]string{"degC": "°C", "degF": "°F"}

// unitOf finds the unit of an instrument.
func unitOf(i *procedure.Instrument) (unit, bool) {
	for name, face := range faces {
		if i.Unit == face {
			return unitNamed(name)
		}
	}
	return unitNamed(i.Unit)
}

// faceUnits are the units an instrument may have.
func faceUnits() []string {
	var names []string
	for _, u := range units {
		if u.dimension != "time" && u.dimension != "length" && u.dimension != "share" {
			names = append(names, u.name)
		}
	}
	return names
}

func readInstrument(r *report, n *node) (procedure.Instrument, *node) {
	var i procedure.Instrument
	f := group(r, n, "an instrument", "id", "name", "unit", "scale", "resolution", "decimals", "ranges")
	id := f.need("id", "rpm")
	i.ID = procedure.InstrumentID(ident(r, id))
	i.Name = text(r, f.need("name", "Engine speed"), 24)
	unitAt := f.need("unit", "rpm")
	name := word(r, unitAt, "a unit of an instrument", faceUnits()...)
	u, known := unitNamed(name)
	if !known {
		return i, id // without a unit nothing below can be read
	}
	i.Unit = name
	if i.Lamp() {
		foreignKeys(r, &f, "a lamp", nil, []string{"scale", "resolution", "decimals", "ranges"})
		i.Max, i.Resolution = 1, 1
		return i, id
	}
	i.Decimals = whole(r, f.need("decimals", "0"), 0, 4)
	if face, ok := faces[name]; ok {
		i.Unit = face
	}
	scale := f.need("scale", "{ from: 0 "+name+", to: 100 "+name+" }")
	if scale != nil {
		s := group(r, scale, "a scale", "from", "to")
		from, to := s.need("from", "0 "+name), s.need("to", "100 "+name)
		var okFrom, okTo bool
		i.Min, okFrom = measured(r, from, u)
		i.Max, okTo = measured(r, to, u)
		if okFrom && okTo && i.Max <= i.Min {
			r.complain(to, fmt.Sprintf("the scale ends at %s, before it starts", to.text), "make \"to\" greater than \"from\"")
		}
	}
	if at := f.need("resolution", "1 "+name); at != nil {
		v, ok := spread(r, at, u)
		i.Resolution = v
		if ok && (v <= 0 || i.Max > i.Min && v > (i.Max-i.Min)/10) {
			r.complain(at, fmt.Sprintf("a resolution of %s cannot be used", at.text), "write more than nothing and at most a tenth of the scale")
		}
	}
	if f.has("ranges") {
		for _, m := range list(r, f.get("ranges"), "ranges") {
			i.Ranges = append(i.Ranges, readRange(r, m, &i, u))
		}
	}
	return i, id
}

func readRange(r *report, n *node, i *procedure.Instrument, u unit) procedure.Range {
	var m procedure.Range
	f := group(r, n, "a range", "kind", "from", "to", "at")
	kind := f.need("kind", "normal")
	m.Kind = procedure.RangeKind(word(r, kind, "a kind of range",
		string(procedure.Normal), string(procedure.Caution), string(procedure.Limit)))
	within := func(at *node, v float64) {
		if i.Max > i.Min && (v < i.Min || v > i.Max) {
			r.complain(at, fmt.Sprintf("%s lies outside the scale of the %s, %s", at.text, i.ID, scaleText(i)), "keep it on the scale, or make the scale longer")
		}
	}
	switch m.Kind {
	case procedure.Limit:
		foreignKeys(r, &f, "a limit", []string{"kind", "at"}, []string{"from", "to"})
		at := f.need("at", "2700 "+u.name)
		if v, ok := measured(r, at, u); ok {
			m.From, m.To = v, v
			within(at, v)
		}
	case procedure.Normal, procedure.Caution:
		foreignKeys(r, &f, "a "+string(m.Kind)+" range", []string{"kind", "from", "to"}, []string{"at"})
		from, to := f.need("from", "0 "+u.name), f.need("to", "10 "+u.name)
		var okFrom, okTo bool
		if m.From, okFrom = measured(r, from, u); okFrom {
			within(from, m.From)
		}
		if m.To, okTo = measured(r, to, u); okTo {
			within(to, m.To)
		}
		if okFrom && okTo && m.To <= m.From {
			r.complain(to, fmt.Sprintf("the range ends at %s, before it starts", to.text), "make \"to\" greater than \"from\"")
		}
	}
	return m
}

// scaleText is an instrument's scale in words.
func scaleText(i *procedure.Instrument) string {
	return fmt.Sprintf("%s to %s %s", number(i.Min), number(i.Max), fileUnit(i))
}

// fileUnit is the instrument's unit as a file has it.
func fileUnit(i *procedure.Instrument) string {
	u, _ := unitOf(i)
	return u.name
}

func number(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64)
}

func readPanel(r *report, n *node, a *procedure.Aircraft) (procedure.Panel, *node) {
	var p procedure.Panel
	f := group(r, n, "a panel", "id", "name", "hides")
	id := f.need("id", "standard")
	p.ID = ident(r, id)
	p.Name = text(r, f.need("name", "Standard panel"), 40)
	if f.has("hides") {
		for _, h := range list(r, f.get("hides"), "instruments") {
			if i, ok := findInstrument(r, h, a); ok {
				p.Hides = append(p.Hides, i.ID)
			}
		}
	}
	return p, id
}

// findInstrument reads the name of one of the aircraft's instruments.
func findInstrument(r *report, n *node, a *procedure.Aircraft) (*procedure.Instrument, bool) {
	s, ok := scalar(r, n, "an instrument")
	if !ok {
		return nil, false
	}
	i, ok := a.Instrument(procedure.InstrumentID(s))
	if !ok {
		names := make([]string, len(a.Instruments))
		for k := range a.Instruments {
			names[k] = string(a.Instruments[k].ID)
		}
		r.complain(n, fmt.Sprintf("the %s has no instrument %q", a.Name, s), nearest("write", s, names))
	}
	return i, ok
}

// shownBy lists the panels that have the instrument, and those that have not.
func shownBy(a *procedure.Aircraft, id procedure.InstrumentID) (shown, hidden []string) {
	for _, p := range a.Panels {
		if p.Shows(id) {
			shown = append(shown, p.ID)
		} else {
			hidden = append(hidden, p.ID)
		}
	}
	return shown, hidden
}

func joined(words []string) string { return strings.Join(words, ", ") }
