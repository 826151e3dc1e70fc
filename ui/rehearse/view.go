package rehearse

import (
	"time"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/ui/panel"
)

// view is one aircraft's board: its parts and the cells they are shown in.
type view struct {
	parts
	aircraft *procedure.Aircraft
	shown    *procedure.Aircraft // its gauges in the units that are shown
	variant  procedure.Panel
	opts     Options
	board    *panel.Board

	head     *panel.Cell[headState]
	time     *panel.Cell[timeState]
	strip    *panel.Cell[panel.StripState]
	dialed   []*panel.Cell[panel.DialState]
	traced   *panel.Cell[panel.TraceState]
	barred   []*panel.Cell[panel.BarState]
	rocked   []*panel.Cell[panel.RockerState]
	toggled  []*panel.Cell[panel.RockerState]
	lit      *panel.Cell[panel.LampsState]
	braked   *panel.Cell[panel.RockerState]
	keyed    *panel.Cell[panel.KeySwitchState]
	levered  []*panel.Cell[panel.LeverState]
	aimed    []*panel.Cell[panel.LeverState]
	watched  *panel.Cell[panel.StopwatchState]
	faced    *panel.Cell[panel.StopwatchState]
	ledgered *panel.Cell[panel.LedgerState]
	looked   *panel.Cell[panel.AreaState]
	scened   *panel.Cell[panel.AreaState]
	lesson   *panel.Cell[lessonState]
	question *panel.Cell[questionState]
	ended    *panel.Cell[endState]
	voice    *panel.Cell[voiceState]
	call     *panel.Cell[callState]
	said     *panel.Cell[panel.CaptionState]
	banned   *panel.Cell[panel.BannerState]

	told *rehearsal.Snapshot // what head and strip were made from

	// What the trace is painted from; its cell's state names the moment only.
	traceAt     time.Duration
	tracePoints []rehearsal.TracePoint
}

// plate is a button of the screen that is there now.
type plate struct {
	panel.Plate
	act act
	arg int
}

func newView(a *procedure.Aircraft, variant procedure.Panel, o Options) *view {
	v := &view{aircraft: a, shown: o.Units.Aircraft(a), variant: variant, opts: o}
	v.place(panel.LeastW, panel.LeastH)
	v.board = panel.NewBoard(o.Theme, v.arrange, func(p *panel.Pen) { v.scenery(p) })
	b := v.board
	v.head = panel.NewInlay(b, v.paintHead)
	v.time = panel.NewInlay(b, v.paintTime)
	v.strip = panel.NewInlay(b, func(p *panel.Pen, s panel.StripState) { panel.Strip{At: v.parts.strip}.Paint(p, s) })
	if v.trace != nil {
		v.traced = panel.NewCell(b, func(p *panel.Pen, s panel.TraceState) { v.trace.Paint(p, v.traceAt, v.tracePoints, s) })
	}
	for i := range v.dials {
		v.dialed = append(v.dialed, panel.NewCell(b, func(p *panel.Pen, s panel.DialState) { v.dials[i].Needle(p, s) }))
	}
	for i := range v.bars {
		v.barred = append(v.barred, panel.NewCell(b, func(p *panel.Pen, s panel.BarState) { v.bars[i].Pointer(p, s) }))
	}
	for i := range v.rockers {
		v.rocked = append(v.rocked, panel.NewInlay(b, func(p *panel.Pen, s panel.RockerState) { v.rockers[i].Paint(p, s) }))
	}
	for i := range v.toggles {
		v.toggled = append(v.toggled, panel.NewInlay(b, func(p *panel.Pen, s panel.RockerState) { v.toggles[i].Paint(p, s) }))
	}
	if v.lamps != nil {
		v.lit = panel.NewInlay(b, func(p *panel.Pen, s panel.LampsState) { v.lamps.Paint(p, s) })
	}
	if v.brake != nil {
		v.braked = panel.NewInlay(b, func(p *panel.Pen, s panel.RockerState) { v.brake.Paint(p, s) })
	}
	if v.key != nil {
		v.keyed = panel.NewInlay(b, func(p *panel.Pen, s panel.KeySwitchState) { v.key.Paint(p, s) })
	}
	for i := range v.levers {
		v.aimed = append(v.aimed, panel.NewInlay(b, func(p *panel.Pen, s panel.LeverState) { v.levers[i].PaintAim(p, s) }))
		v.levered = append(v.levered, panel.NewCell(b, func(p *panel.Pen, s panel.LeverState) { v.levers[i].Paint(p, s) }))
	}
	v.faced = panel.NewInlay(b, func(p *panel.Pen, s panel.StopwatchState) { v.watch.Face(p, s) })
	v.watched = panel.NewCell(b, func(p *panel.Pen, s panel.StopwatchState) { v.watch.Hand(p, s) }).
		Base(panel.SameFace, func(p *panel.Pen, s panel.StopwatchState) { v.watch.Face(p, s) })
	v.ledgered = panel.NewInlay(b, func(p *panel.Pen, s panel.LedgerState) { v.ledger.Paint(p, s) })
	v.looked = panel.NewInlay(b, func(p *panel.Pen, s panel.AreaState) { v.area.Paint(p, s) })
	v.said = panel.NewInlay(b, func(p *panel.Pen, s panel.CaptionState) { v.caption.Paint(p, s) })
	v.scened = panel.NewInlay(b, func(p *panel.Pen, s panel.AreaState) { v.scene.Paint(p, s) })
	v.lesson = panel.NewInlay(b, v.paintLesson)
	v.question = panel.NewInlay(b, v.paintQuestion)
	v.ended = panel.NewInlay(b, v.paintEnd)
	v.call = panel.NewInlay(b, v.paintCall)
	v.voice = panel.NewInlay(b, v.paintVoice)
	v.banned = panel.NewInlay(b, func(p *panel.Pen, s panel.BannerState) { v.banner.Paint(p, s) })
	return v
}

// place fits the parts. The trace has no figures and keeps the unit of what it
// draws; all other scales are in the units that are shown.
func (v *view) place(w, h float64) {
	v.fit(v.shown, v.variant, w, h)
	if v.trace != nil {
		if i, ok := v.aircraft.Instrument(v.trace.Instrument.ID); ok {
			v.trace.Instrument = *i
		}
	}
	for i := range v.levers {
		v.levers[i].Units = v.opts.Units
	}
}

// shows is a reading in the units that are shown.
func (v *view) shows(n *rehearsal.Snapshot, id procedure.InstrumentID) float64 {
	r, _ := reading(n, id)
	if i, ok := v.aircraft.Instrument(id); ok {
		return v.opts.Units.Reading(i.Unit, r)
	}
	return r
}

// arrange places the parts and the cells on a board of a size.
func (v *view) arrange(w, h float64) {
	v.place(w, h)
	top := v.top
	v.time.Area = panel.Rect{X: top.X + top.W - 300, Y: 6, W: 300, H: 52}
	v.head.Area = panel.Rect{X: top.X, Y: 6, W: top.W - 304, H: 52}
	v.strip.Area = v.parts.strip
	for i, d := range v.dials {
		v.dialed[i].Area = d.Area()
	}
	if v.trace != nil {
		v.traced.Area = v.trace.At
	}
	for i, b := range v.bars {
		v.barred[i].Area = b.At
	}
	for i, r := range v.rockers {
		v.rocked[i].Area = r.Area()
	}
	for i, t := range v.toggles {
		v.toggled[i].Area = t.At
	}
	if v.lamps != nil {
		v.lit.Area = v.lamps.At
	}
	if v.brake != nil {
		v.braked.Area = v.brake.Area()
	}
	if v.key != nil {
		v.keyed.Area = v.key.Area()
	}
	for i, l := range v.levers {
		v.levered[i].Area, v.aimed[i].Area = l.Moving(), l.Beside()
	}
	v.watched.Area, v.faced.Area = v.watch.Moving(), v.watch.Area()
	v.ledgered.Area = v.ledger.At
	v.looked.Area = v.area.At
	v.said.Area = panel.Rect{X: v.caption.At.X, Y: v.caption.At.Y, W: v.caption.At.W - 278, H: v.caption.At.H} // as CaptionBar.Words
	for _, c := range []*panel.Rect{&v.scened.Area, &v.lesson.Area, &v.question.Area} {
		*c = v.gauges
	}
	v.ended.Area, v.call.Area = v.endCard(), v.callCard()
	v.voice.Area = v.voiceRow()
	v.banned.Area = v.banner.At
}

// callCard is where an interruption stands: near the foot of the step strip, away
// from everything that a hand needs.
func (v *view) callCard() panel.Rect {
	s := v.parts.strip
	return panel.Rect{X: s.X + 10, Y: s.Y + s.H - 202 - voiceHigh, W: s.W - 20, H: 192}
}
