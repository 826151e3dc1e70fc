package rehearse

import (
	"image/color"

	"kickover/procedure"
	"kickover/ui/panel"
)

// groups are the panels of the screen, in units.
type groups struct {
	top, strip, gauges, controls, right, caption panel.Rect
}

// arrange divides the board: the left hand's column, the middle, the clock's
// column, and the caption below them all. What a larger window has over the
// smallest goes mostly to the middle.
func arrange(w, h float64) groups {
	const margin, gap = 20.0, 12.0
	moreW, moreH := max(w-panel.LeastW, 0), max(h-panel.LeastH, 0)
	var g groups
	g.top = panel.Rect{X: margin, W: w - 2*margin, H: 62}
	g.caption = panel.Rect{X: margin, Y: h - 16 - 76, W: w - 2*margin, H: 76}
	bottom := g.caption.Y - gap
	g.strip = panel.Rect{X: margin, Y: 62, W: 268 + moreW*0.22, H: bottom - 62}
	rw := 308 + moreW*0.18
	g.right = panel.Rect{X: w - margin - rw, Y: 62, W: rw, H: bottom - 62}
	mx := g.strip.X + g.strip.W + gap
	mw := g.right.X - gap - mx
	g.gauges = panel.Rect{X: mx, Y: 62, W: mw, H: 330 + moreH*0.5}
	cy := g.gauges.Y + g.gauges.H + gap
	g.controls = panel.Rect{X: mx, Y: cy, W: mw, H: bottom - cy}
	return g
}

// parts are the drawn things of one aircraft.
type parts struct {
	groups
	dials   []panel.Dial
	trace   *panel.Trace
	bars    []panel.Bar
	lamps   *panel.Lamps
	rockers []panel.Rocker
	toggles []panel.Toggle
	brake   *panel.Brake
	key     *panel.KeySwitch
	levers  []panel.Lever
	watch   panel.Stopwatch
	ledger  panel.Ledger
	area    panel.SmallArea
	scene   panel.PropClear
	caption panel.CaptionBar
	banner  panel.Banner
	without string  // how to prime where no gauge shows the flow
	half    float64 // width of the left hand's half of the controls
}

// fit places an aircraft's parts on a board of a size.
func (p *parts) fit(a *procedure.Aircraft, variant procedure.Panel, w, h float64) {
	*p = parts{groups: arrange(w, h)}
	p.fitGauges(a, variant)
	p.fitControls(a)
	p.fitRight()
	p.caption = panel.CaptionBar{At: p.groups.caption, Caution: [2]string{
		"Training aid. The aircraft’s own handbook,", "local rules and your instructor come first.",
	}}
	p.banner = panel.Banner{At: panel.Rect{X: p.top.X, Y: 8, W: p.top.W, H: 46}}
	p.scene = panel.PropClear{At: p.gauges, LookKeys: lookKeys, CallKey: callKey}
}

func (p *parts) fitGauges(a *procedure.Aircraft, variant procedure.Panel) {
	g := p.gauges
	barTop := g.Y + g.H - 16 - 74
	cy := g.Y + (barTop-g.Y)/2 - 13
	r := min((barTop-g.Y)/2-32, (g.W-68-200)/4)
	var small, lamps []procedure.Instrument
	for _, i := range a.Instruments {
		if !variant.Shows(i.ID) {
			continue
		}
		switch {
		case i.Lamp():
			lamps = append(lamps, i)
		case i.ID == procedure.InstrumentFuelFlow:
			p.dials = append([]panel.Dial{{Instrument: i, X: g.X + 18 + r, Y: cy, R: r}}, p.dials...)
			x := g.X + 18 + 2*r + 18
			p.trace = &panel.Trace{
				Instrument: i, Span: traceSpan, Title: "flow, last 10 s",
				At: panel.Rect{X: x, Y: cy - r*0.92, W: g.X + g.W - 18 - 2*r - 18 - x, H: r * 1.84},
			}
		case i.ID == procedure.InstrumentRPM:
			p.dials = append(p.dials, panel.Dial{Instrument: i, X: g.X + g.W - 18 - r, Y: cy, R: r})
		default:
			small = append(small, i)
		}
	}
	p.without = "The prime is by the clock alone."
	if _, ok := a.Control(procedure.ControlPrimer); ok {
		p.without = "The prime is counted in strokes of the primer."
	}
	p.fitBars(small, lamps, panel.Rect{X: g.X + 18, Y: barTop, W: g.W - 36, H: 74})
}

// fitBars places the small gauges and, after them, the lamps in a row.
func (p *parts) fitBars(small, lamps []procedure.Instrument, r panel.Rect) {
	n := float64(len(small))
	if len(lamps) > 0 {
		n++
	}
	gap := 12.0
	if n > 5 {
		gap = 8
	}
	w := (r.W - gap*(n-1)) / max(n, 1)
	at := func(i int) panel.Rect { return panel.Rect{X: r.X + float64(i)*(w+gap), Y: r.Y, W: w, H: r.H} }
	for i, in := range small {
		p.bars = append(p.bars, panel.Bar{Instrument: in, At: at(i)})
	}
	if len(lamps) > 0 {
		p.lamps = &panel.Lamps{Instruments: lamps[:min(len(lamps), panel.MostLamps)], At: at(len(small))}
	}
}

func (p *parts) fitRight() {
	r := p.right
	room := r.H - 302
	radius := min((r.W-66)/2, (room-60)/2)
	p.watch = panel.Stopwatch{X: r.X + r.W/2, Y: r.Y + room/2 + 2, R: radius}
	p.ledger = panel.Ledger{At: panel.Rect{X: r.X + 24, Y: r.Y + r.H - 286, W: r.W - 48, H: 92}}
	p.area = panel.SmallArea{At: panel.Rect{X: r.X + 24, Y: r.Y + r.H - 168, W: r.W - 48, H: 160}}
}

// scenery draws everything that stands still.
func (p *parts) scenery(pen *panel.Pen) {
	none := color.NRGBA{}
	for _, g := range []panel.Rect{p.strip, p.gauges, p.controls, p.right} {
		pen.Box(g, 14, pen.Panel, none, 0)
	}
	for _, d := range p.dials {
		d.Face(pen)
	}
	if p.trace != nil {
		p.trace.Face(pen)
	} else {
		x, y := p.gauges.X+28, p.gauges.Y+p.gauges.H*0.36
		pen.Text("No fuel-flow gauge on this panel.", x, y, panel.Start, panel.Title, pen.Ink)
		pen.Text(p.without, x, y+26, panel.Start, panel.Lead, pen.Ink2)
	}
	for _, b := range p.bars {
		b.Face(pen)
	}
	c := p.controls
	pen.Text("LEFT HAND", c.X+22, c.Y+26, panel.Start, panel.Group, pen.Ink2)
	pen.Text("RIGHT HAND", c.X+p.half+18, c.Y+26, panel.Start, panel.Group, pen.Ink2)
	pen.Rule(c.X+p.half, c.Y+16, c.X+p.half, c.Y+c.H-16, pen.Tokens.Line)
	for _, r := range p.rockers {
		r.Face(pen)
	}
	for _, t := range p.toggles {
		t.Face(pen)
	}
	if p.lamps != nil {
		p.lamps.Face(pen)
	}
	if p.brake != nil {
		p.brake.Face(pen)
	}
	if p.key != nil {
		p.key.Face(pen)
	}
	for _, l := range p.levers {
		l.Face(pen)
	}
	for _, y := range []float64{p.ledger.At.Y - 14, p.area.At.Y - 14} {
		pen.Rule(p.right.X+24, y, p.right.X+p.right.W-24, y, pen.Tokens.Line)
	}
	p.caption.Face(pen)
}
