package chart

import (
	"fmt"
	"image/color"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure"
	"kickover/procedure/debrief"
)

// Timeline shows when each step was done and when it was due: a bar for the act,
// a dashed box for its window, and the verdict. It stands 26 points high a step.
func Timeline(r *debrief.Report) *Chart {
	reached := r.Reached()
	return &Chart{
		Title: "When you did it, and when it was due",
		Alt:   timelineAlt(reached),
		Width: 960, Height: float64(len(reached))*rowHeight + 54,
		draw: func(c draw.Canvas) { drawTimeline(c, reached, r.Length) },
	}
}

func timelineAlt(steps []debrief.Step) string {
	s := "Each step against its window."
	for _, step := range steps {
		s += " " + step.Step.Title + ": " + verdictWords(step) + "."
	}
	return s
}

const rowHeight = 26

// Verdict writes what became of a step with by how much: "late 1.9 s".
func verdictWords(s debrief.Step) string {
	off := s.Off()
	switch {
	case s.Verdict == procedure.Late && off > 0, s.Verdict == procedure.Early && off < 0:
		return string(s.Verdict) + " " + secs(off.Abs().Seconds())
	case s.Verdict == procedure.Pending:
		return "not finished"
	}
	return string(s.Verdict)
}

func verdictColour(v procedure.Verdict) color.NRGBA {
	switch v {
	case procedure.Early, procedure.Late, procedure.OutOfOrder:
		return caution
	case procedure.Unsafe, procedure.Missed:
		return warn
	}
	return ink
}

// verdictShape draws the shape that stands for a verdict, so that it is told
// without colour.
func verdictShape(c *draw.Canvas, at vg.Point, v procedure.Verdict) {
	switch v {
	case procedure.OnTime:
		tickMark(c, at, 5, ok)
	case procedure.Early, procedure.Late:
		triangle(c, at, 5.5, caution)
	case procedure.OutOfOrder:
		diamond(c, at, 5.5, caution)
	case procedure.Unsafe:
		square(c, at, 5.5, warn)
	case procedure.Missed:
		hollowSquare(c, at, 5.5, warn)
	}
}

func drawTimeline(c draw.Canvas, steps []debrief.Step, length time.Duration) {
	title := regular(13, ink2)
	left := vg.Length(60)
	for _, s := range steps {
		left = max(left, title.Width(s.Step.Title))
	}
	left = min(left+18, c.Size().X*0.4)
	const right = 118
	p := bare()
	f := foldAround(actTimes(steps, length))
	p.X.Min, p.X.Max = 0, f.length()
	p.Y.Min, p.Y.Max = 0, float64(max(len(steps), 1))
	p.HideY()
	p.X.Tick.Marker = f.ticks(c.Size().X - left - right)
	p.Add(plotterFunc(func(dc draw.Canvas, p *plot.Plot) {
		onAxis, y := p.Transforms(&dc)
		x := func(d time.Duration) vg.Length { return onAxis(f.of(d)) }
		for _, t := range p.X.Tick.Marker.Ticks(p.X.Min, p.X.Max) {
			dc.StrokeLine2(line(1, faint), onAxis(t.Value), dc.Min.Y, onAxis(t.Value), dc.Max.Y)
		}
		for i, s := range steps {
			at := y(float64(len(steps)) - float64(i) - 0.5)
			drawDue(&dc, s, at, x)
			drawDone(&dc, s, at, x)
			dc.FillText(aligned(title, 0, -0.4), vg.Point{X: c.Min.X, Y: at}, fitted(title, s.Step.Title, left-14))
			verdictShape(&dc, vg.Point{X: dc.Max.X + 22, Y: at}, s.Verdict)
			dc.FillText(aligned(medium(13, ink), 0, -0.4), vg.Point{X: dc.Max.X + 38, Y: at}, verdictWords(s))
		}
		f.drawCuts(&dc, onAxis)
	}))
	p.Draw(draw.Crop(c, left, -right, 14, 0))
	key(draw.Crop(c, left, 0, 0, 0), c.Min.Y+1)
}

// actTimes are the stretches that the timeline must show. Of a long wait only its
// ends matter.
func actTimes(steps []debrief.Step, length time.Duration) []span {
	busy := []span{{0, 0}}
	for _, s := range steps {
		from, to := s.Begin.Seconds(), s.Done.Seconds()
		if to-from > longWait {
			busy = append(busy, span{from, from}, span{to, to})
			continue
		}
		busy = append(busy, span{from, to})
	}
	return append(busy, span{length.Seconds() - margin, length.Seconds() - margin})
}

// drawDue draws the window in which the step should have been finished.
func drawDue(c *draw.Canvas, s debrief.Step, at vg.Length, x func(time.Duration) vg.Length) {
	if s.Window.Zero() {
		return
	}
	from, to := x(s.Begin+s.Window.Min), x(s.Begin+s.Window.Max)
	r := box(min(from, c.Max.X), at-9, min(to, c.Max.X), at+9)
	if r.Size().X < 1 {
		return
	}
	fillBox(c, r, 4, okTint)
	strokeBox(c, r, 4, line(1, ok, 3, 2.5))
}

// drawDone draws the time the step took. What lies past the window is hatched.
func drawDone(c *draw.Canvas, s debrief.Step, at vg.Length, x func(time.Duration) vg.Length) {
	if s.Verdict == procedure.Missed || s.Verdict == procedure.Pending {
		return
	}
	const half = 5.5
	end := x(s.Done)
	r := box(x(s.Begin), at-half, end, at+half)
	if r.Size().X < 4 {
		r.Min.X, r.Max.X = end-2, end+2
	}
	clr := verdictColour(s.Verdict)
	if limit := x(s.Begin + s.Window.Max); !s.Window.Zero() && limit < r.Max.X-2 {
		over := vg.Rectangle{Min: vg.Point{X: limit, Y: r.Min.Y}, Max: r.Max}
		fillBox(c, r, 2.5, clr)
		fillBox(c, vg.Rectangle{Min: r.Min, Max: vg.Point{X: limit, Y: r.Max.Y}}, 2.5, ink)
		hatch(c, over, 5, line(1.2, paper))
		return
	}
	fillBox(c, r, 2.5, clr)
}

// key explains the two kinds of box at the foot of the timeline.
func key(c draw.Canvas, y vg.Length) {
	s := aligned(regular(11, ink3), 0, -0.4)
	at := vg.Point{X: c.Min.X, Y: y + 4}
	entry := func(words string, show func(r vg.Rectangle)) {
		show(box(at.X, at.Y-4, at.X+22, at.Y+4))
		c.FillText(s, vg.Point{X: at.X + 28, Y: at.Y}, words)
		at.X += 28 + s.Width(words) + 20
	}
	entry("due", func(r vg.Rectangle) {
		fillBox(&c, r, 3, okTint)
		strokeBox(&c, r, 3, line(1, ok, 3, 2.5))
	})
	entry("done", func(r vg.Rectangle) { fillBox(&c, r, 2, ink) })
	entry("past its window", func(r vg.Rectangle) {
		fillBox(&c, r, 2, caution)
		hatch(&c, r, 5, line(1.2, paper))
	})
	entry("time since the run began", func(r vg.Rectangle) {
		c.StrokeLine2(line(1, ink3), r.Min.X, at.Y, r.Max.X, at.Y)
		c.StrokeLines(line(1, ink3), []vg.Point{
			{X: r.Max.X - 4, Y: at.Y + 3}, {X: r.Max.X, Y: at.Y}, {X: r.Max.X - 4, Y: at.Y - 3},
		})
	})
}

// fitted shortens a text until it is no wider than a width.
func fitted(s draw.TextStyle, txt string, wide vg.Length) string {
	if s.Width(txt) <= wide {
		return txt
	}
	letters := []rune(txt)
	for len(letters) > 1 && s.Width(string(letters)+"…") > wide {
		letters = letters[:len(letters)-1]
	}
	return fmt.Sprintf("%s…", string(letters))
}
