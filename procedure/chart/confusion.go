package chart

import (
	"strconv"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure"
	"kickover/procedure/proficiency"
)

// Confusions is a small map of which step was done when which was due: a row for
// the one that was due, a column for the one that was done.
func Confusions(r *proficiency.Report) *Chart {
	involved := map[procedure.StepID]bool{}
	alt := "No step was taken for another."
	if len(r.Confusions) > 0 {
		alt = ""
	}
	for i, c := range r.Confusions {
		involved[c.Due], involved[c.Done] = true, true
		if i > 0 {
			alt += " "
		}
		alt += c.Words()
	}
	var steps []numbered
	for i, s := range r.Steps {
		if involved[s.ID] {
			steps = append(steps, numbered{i + 1, s.ID, s.Title})
		}
	}
	return &Chart{
		Title: "Which step was taken for which", Alt: alt,
		Width: 460, Height: float64(len(steps))*rowHeight + 70,
		draw: func(c draw.Canvas) { drawConfusions(c, steps, r.Confusions) },
	}
}

// numbered is a step with its number in the flow.
type numbered struct {
	number int
	id     procedure.StepID
	title  string
}

func drawConfusions(c draw.Canvas, steps []numbered, confusions []proficiency.Confusion) {
	if len(steps) == 0 {
		c.FillText(aligned(regular(13, ink2), -0.5, -0.5), c.Center(), "No step was taken for another.")
		return
	}
	s := regular(13, ink2)
	left := vg.Length(80)
	for _, step := range steps {
		left = max(left, s.Width(step.title)+40)
	}
	left = min(left, c.Size().X*0.6)
	cell := min((c.Size().X-left)/vg.Length(len(steps)), (c.Size().Y-40)/vg.Length(len(steps)), 34)
	top := c.Max.Y - 34
	place := map[procedure.StepID]int{}
	c.FillText(aligned(regular(11, ink3), 0, -1), vg.Point{X: c.Min.X, Y: c.Max.Y}, "due")
	c.FillText(aligned(regular(11, ink3), 0, -1), vg.Point{X: c.Min.X + left, Y: c.Max.Y}, "done instead, by number")
	for i, step := range steps {
		place[step.id] = i
		y := top - (vg.Length(i)+0.5)*cell
		number := strconv.Itoa(step.number)
		c.FillText(aligned(medium(12, ink3), 0, -0.4), vg.Point{X: c.Min.X, Y: y}, number)
		c.FillText(aligned(s, 0, -0.4), vg.Point{X: c.Min.X + 24, Y: y}, fitted(s, step.title, left-34))
		x := c.Min.X + left + (vg.Length(i)+0.5)*cell
		c.FillText(aligned(medium(12, ink3), -0.5, 0), vg.Point{X: x, Y: top + 3}, number)
		for j := range steps {
			r := box(c.Min.X+left+vg.Length(j)*cell, y-cell/2, c.Min.X+left+vg.Length(j+1)*cell, y+cell/2)
			if i == j {
				fillBox(&c, r, 0, faint)
			}
			strokeBox(&c, r, 0, line(0.8, hair))
		}
	}
	most := confusions[0].Times
	for _, f := range confusions {
		x := c.Min.X + left + (vg.Length(place[f.Done])+0.5)*cell
		y := top - (vg.Length(place[f.Due])+0.5)*cell
		half := cell * (0.22 + 0.2*vg.Length(f.Times)/vg.Length(most))
		fillBox(&c, box(x-half, y-half, x+half, y+half), 3, caution)
		c.FillText(aligned(bold(11, paper), -0.5, -0.38), vg.Point{X: x, Y: y}, strconv.Itoa(f.Times))
	}
}
