package rehearse

import (
	"kickover/procedure"
	"kickover/ui/panel"
)

// zoneKind says what is under the pointer.
type zoneKind int

const (
	zoneNone zoneKind = iota
	zonePlate
	zoneToggle
	zoneDetent
	zoneKnob
	zoneLever
	zoneThird
	zoneGauge
)

type zone struct {
	kind       zoneKind
	control    procedure.ControlID
	instrument procedure.InstrumentID
	act        act
	index      int
}

// hit finds what lies at a place, what is on top first.
func (v *view) hit(x, y float64, h *hands) zone {
	for _, b := range v.plates() {
		if b.At.Contains(x, y) {
			return zone{kind: zonePlate, act: b.act, index: b.arg}
		}
	}
	if v.call.Visible() && v.call.Area.Contains(x, y) {
		return zone{}
	}
	if z, ok := v.hitControls(x, y, h); ok {
		return z
	}
	if i, ok := v.area.Hit(x, y); ok {
		return zone{kind: zoneThird, index: i}
	}
	if !v.gauges.Contains(x, y) {
		return zone{}
	}
	if v.scened.Visible() {
		return v.hitScene(x, y)
	}
	if v.covered() {
		return zone{}
	}
	return v.hitGauges(x, y)
}

func (v *view) hitControls(x, y float64, h *hands) (zone, bool) {
	for _, r := range v.rockers {
		if r.Area().Contains(x, y) {
			return zone{kind: zoneToggle, control: r.Control.ID}, true
		}
	}
	for _, t := range v.toggles {
		if t.At.Contains(x, y) {
			return zone{kind: zoneToggle, control: t.Control.ID}, true
		}
	}
	if v.brake != nil && v.brake.Area().Contains(x, y) {
		return zone{kind: zoneToggle, control: v.brake.Control.ID}, true
	}
	if v.key != nil {
		for i := range v.key.Control.Detents {
			if v.key.Cell(i).Contains(x, y) {
				return zone{kind: zoneDetent, control: v.key.Control.ID, index: i}, true
			}
		}
	}
	for i, l := range v.levers {
		p, _ := h.position(l.Control.ID)
		if l.Knob(p).Inset(-6).Contains(x, y) {
			return zone{kind: zoneKnob, control: l.Control.ID, index: i}, true
		}
		tx, low, high := l.Track()
		if (panel.Rect{X: tx - 30, Y: high - 8, W: 60, H: low - high + 16}).Contains(x, y) {
			return zone{kind: zoneLever, control: l.Control.ID, index: i}, true
		}
	}
	return zone{}, false
}

func (v *view) hitScene(x, y float64) zone {
	if v.scene.BrakeButton().Contains(x, y) {
		return zone{kind: zoneToggle, control: procedure.ControlBrakes}
	}
	if v.scene.CallButton().Contains(x, y) {
		return zone{kind: zonePlate, act: actClear}
	}
	if i, ok := v.scene.Hit(x, y); ok {
		return zone{kind: zoneThird, index: i}
	}
	return zone{}
}

func (v *view) hitGauges(x, y float64) zone {
	for _, d := range v.dials {
		if d.Area().Contains(x, y) {
			return zone{kind: zoneGauge, instrument: d.Instrument.ID}
		}
	}
	if v.trace != nil && v.trace.At.Contains(x, y) {
		return zone{kind: zoneGauge, instrument: v.trace.Instrument.ID}
	}
	if v.lamps != nil {
		for i, l := range v.lamps.Instruments {
			if v.lamps.Line(i).Contains(x, y) {
				return zone{kind: zoneGauge, instrument: l.ID}
			}
		}
	}
	for _, b := range v.bars {
		if b.At.Contains(x, y) {
			return zone{kind: zoneGauge, instrument: b.Instrument.ID}
		}
	}
	return zone{}
}
