package paper

import (
	"fmt"
	"image"
	"io"
	"math"
	"strings"
	"time"

	"kickover/procedure"
	"kickover/procedure/chart"
	"kickover/procedure/debrief"
	"kickover/procedure/practice"
	"kickover/procedure/proficiency"
	"kickover/procedure/units"
)

// Record is a training record: one run, what it is part of, and room for remarks
// and signatures. A name that is empty leaves a line to write it on.
type Record struct {
	School, Student, Instructor string

	Aircraft   string
	Flow       string // title
	Phase      procedure.Phase
	When       time.Time
	Conditions []string // each as it should read: "outside air 10 °C"
	Run        *debrief.Report

	Progress *proficiency.Report   // nil leaves the trends out
	Next     []practice.Suggestion // what to practise next

	Remarks string    // of the instructor, where the run was signed in the records
	Signed  time.Time // when; zero when it was not

	Units   units.Units // what quantities are written in
	Sheet   Sheet       // A4 or Letter
	Printed time.Time
}

const recordMargin = 15.0

// Write makes the PDF: the run on one page, the trends on the next, and the
// signatures at the end.
func (r Record) Write(w io.Writer) error { return write(w, r) }

// Preview makes a picture of each page.
func (r Record) Preview(dpi int) ([]image.Image, error) { return preview(r, dpi) }

func (r Record) check() error {
	if r.Run == nil {
		return fmt.Errorf("a training record needs a run: choose one in the list of runs")
	}
	if r.Sheet.Width < 200 || r.Sheet.Height < 270 {
		return fmt.Errorf("a training record does not fit %s: print it on A4 or letter", r.Sheet.Name)
	}
	return nil
}

func (r Record) frame() (Sheet, float64) { return r.Sheet, recordMargin }
func (r Record) title() string           { return "Training record, engine start" }
func (r Record) date() time.Time         { return r.Printed }

func (r Record) draw(p *page) {
	y := r.begin(p)
	y = r.facts(p, y)
	y = r.verdicts(p, y)
	y = r.pictures(p, y)
	y = r.reasons(p, y)
	if r.Progress != nil && r.Progress.Runs > 1 {
		y = r.trends(p, r.begin(p))
	}
	y = r.practise(p, y)
	r.sign(p, y)
}

// begin starts a page with its head and foot and gives where to go on.
func (r Record) begin(p *page) float64 {
	p.add()
	left, right := r.School, "Training record: engine start"
	if left == "" {
		left, right = "Training record", "engine start"
	}
	p.text(p.left(), 20, "B", 15, black, p.fitted(left, p.width()*.55, "B", 15))
	p.textRight(p.right(), 20, "B", 11, black, right)
	p.line(p.left(), 23, p.right(), 23, .4, black)
	y := p.bottom() + 4
	p.line(p.left(), y-4, p.right(), y-4, .2, grey)
	p.text(p.left(), y, "", 7.5, grey, authority)
	p.textRight(p.right(), y, "", 7.5, grey, fmt.Sprintf("printed %s · page %d of %d", day(r.Printed), p.number, p.total))
	return 30
}

// facts are who, what, when and in which conditions.
func (r Record) facts(p *page, y float64) float64 {
	half := p.width() / 2
	conditions := r.Units.Words(strings.Join(r.Conditions, ", "))
	if conditions == "" {
		conditions = "not noted"
	}
	pairs := [][2]string{
		{"Student", r.Student}, {"Instructor", r.Instructor},
		{"Aircraft", r.Aircraft + ", simulated"}, {"Flow", r.Flow + ", " + string(r.Phase)},
		{"Begun", day(r.When) + r.When.Format(", 15:04")}, {"Outcome", r.outcome()},
	}
	for i, f := range pairs {
		x := p.left() + float64(i%2)*half
		p.text(x, y, "", 8, grey, f[0])
		if f[1] == "" {
			p.line(x+22, y+.6, x+half-6, y+.6, .2, grey)
		} else {
			p.text(x+22, y, "B", 10, black, p.fitted(f[1], half-26, "B", 10))
		}
		y += 6 * float64(i%2)
	}
	p.text(p.left(), y, "", 8, grey, "Conditions")
	return p.wrapped(p.left()+22, y, p.width()-22, "B", 10, black, conditions) + 3
}

func (r Record) outcome() string {
	s := string(r.Run.Outcome)
	switch r.Run.Outcome {
	case "":
		s = "not finished"
	case procedure.Stopped:
		s = "stopped rightly"
	case procedure.Abandoned:
		s = "broken off"
	}
	s = strings.ToUpper(s[:1]) + s[1:]
	if n := len(r.Run.Attempts); n > 0 {
		s += fmt.Sprintf(", attempt %d", n)
	}
	if n := len(r.Run.Breaches); n > 0 {
		s += fmt.Sprintf(", %d unsafe", n)
	}
	return s
}

func (p *page) heading(y float64, s string) float64 {
	p.text(p.left(), y, "B", 11, black, s)
	return y + 5.5
}

// verdictSigns stand for verdicts, so that they are told without colour.
var verdictSigns = map[procedure.Verdict]string{
	procedure.OnTime: "✓", procedure.Early: "▲", procedure.Late: "▲",
	procedure.Missed: "✗", procedure.OutOfOrder: "○", procedure.Unsafe: "■",
}

// verdicts lists the steps in two columns, on further pages where there are many.
func (r Record) verdicts(p *page, y float64) float64 {
	steps := r.Run.Reached()
	const row = 4.7
	for {
		y = p.heading(y, "What became of each step")
		rows := min((len(steps)+1)/2, int((p.bottom()-8-y)/row))
		fit := min(len(steps), 2*rows)
		for i, s := range steps[:fit] {
			column, at := i/rows, y+float64(i%rows)*row
			r.verdict(p, s, p.left()+float64(column)*(p.width()/2+4), at, p.width()/2-4)
		}
		y += float64(rows)*row + 4
		if steps = steps[fit:]; len(steps) == 0 {
			return y
		}
		y = r.begin(p)
	}
}

func (r Record) verdict(p *page, s debrief.Step, x, y, width float64) {
	p.text(x, y, "", 9, black, verdictSigns[s.Verdict])
	words := verdictWords(s)
	p.textRight(x+width, y, "", 8.5, black, words)
	room := width - 9 - p.measure(words)
	p.text(x+5, y, "", 8.5, black, p.fitted(r.Units.Words(s.Step.Title), room, "", 8.5))
	p.line(x, y+1.4, x+width, y+1.4, .1, hair)
}

// verdictWords writes the time a step took and how that stands to its window.
func verdictWords(s debrief.Step) string {
	off := s.Off()
	switch {
	case s.Verdict == procedure.Missed:
		return string(s.Verdict)
	case s.Verdict == procedure.Pending:
		return "not finished"
	case off != 0 && (s.Verdict == procedure.Late || s.Verdict == procedure.Early):
		return fmt.Sprintf("%.1f s, %s by %.1f s", s.Elapsed.Seconds(), s.Verdict, off.Abs().Seconds())
	}
	return fmt.Sprintf("%.1f s, %s", s.Elapsed.Seconds(), s.Verdict)
}

// picture draws a chart at a place, scaled to a width, and gives its height.
func (p *page) picture(c *chart.Chart, x, y, width, wide, high float64) float64 {
	scale := width / wide
	p.to.chart(c, x, y, wide, high, scale)
	return high * scale
}

func (r Record) pictures(p *page, y float64) float64 {
	if y > p.bottom()-62 {
		y = r.begin(p)
	}
	left := p.width()*.6 - 3
	h := p.picture(chart.Vapour(r.Run), p.left(), y, left, 560, 290)
	right := p.width() - left - 6
	p.picture(chart.Prime(r.Run).Read(r.Units), p.left()+left+6, y, right, 290*right/h, 290)
	return y + h + 7
}

func (r Record) reasons(p *page, y float64) float64 {
	if y > p.bottom()-42 {
		y = r.begin(p)
	}
	y = p.heading(y, "Why")
	y = p.wrapped(p.left(), y, p.width(), "", 9.5, black, r.Units.Words(r.Run.Why)) + 1
	for i, reason := range r.Run.Reasons {
		p.text(p.left(), y, "B", 9.5, black, fmt.Sprint(i+1))
		y = p.wrapped(p.left()+6, y, p.width()-6, "B", 9.5, black, r.Units.Words(reason.Head))
		y = p.wrapped(p.left()+6, y, p.width()-6, "", 9.5, black, r.Units.Words(reason.Body)) + 1
	}
	return y + 3
}

// trends is the table over many runs, with the prime's chart.
func (r Record) trends(p *page, y float64) float64 {
	g := r.Progress
	y = p.heading(y, fmt.Sprintf("Over %d runs of this flow, %s to %s", g.Runs, day(g.From), day(g.To)))
	words := "Started in " + g.Started.Words() + "."
	if g.Prompted > 0 {
		words += fmt.Sprintf(" %d were flown with prompts.", g.Prompted)
	}
	if g.Unsafe > 0 {
		words += fmt.Sprintf(" %d had an unsafe act.", g.Unsafe)
	}
	y = p.wrapped(p.left(), y, p.width(), "", 9, black, words) + 1.5
	y = r.table(p, y)
	for _, s := range g.Steps {
		if s.Kind == procedure.StepHold {
			y += p.picture(chart.Individuals(&s), p.left(), y, p.width(), 760, 175) + 3
			break
		}
	}
	if g.Prime != nil {
		y = p.wrapped(p.left(), y+3, p.width(), "", 9, black, strings.Join(g.Prime.Words(), " ")) + 1
	}
	for _, line := range changes(g, 3) {
		y = p.wrapped(p.left(), y, p.width(), "", 9, black, r.Units.Words(line))
	}
	for _, c := range g.Confusions[:min(2, len(g.Confusions))] {
		y = p.wrapped(p.left(), y, p.width(), "", 9, black, r.Units.Words(c.Words()))
	}
	return y + 4
}

// changes are the steps that a chart marks, the most critical first.
func changes(g *proficiency.Report, most int) []string {
	var out []string
	for criticality := 3; criticality >= 0; criticality-- {
		for _, s := range g.Steps {
			if words := s.Change(); words != "" && s.Criticality == criticality && len(out) < most {
				out = append(out, s.Title+": "+words)
			}
		}
	}
	return out
}

func (r Record) table(p *page, y float64) float64 {
	columns := []struct {
		at   float64 // right end, as a share of the width
		name string
	}{{.44, "median"}, {.58, "middle half"}, {.72, "as it should be"}, {.84, "95 % interval"}, {1, "last ten"}}
	p.text(p.left(), y, "", 8, grey, "step")
	for _, c := range columns {
		p.textRight(p.left()+c.at*p.width(), y, "", 8, grey, c.name)
	}
	p.line(p.left(), y+1.3, p.right(), y+1.3, .2, grey)
	y += 4.6
	for _, s := range r.Progress.Steps {
		p.text(p.left(), y, "", 8.5, black, p.fitted(r.Units.Words(s.Title), .35*p.width(), "", 8.5))
		cells := []string{
			number("%.1f s", s.Time.Median), number("%.1f", s.Time.Low) + "–" + number("%.1f s", s.Time.High),
			fmt.Sprintf("%d of %d", s.Inside.Of, s.Inside.N),
			fmt.Sprintf("%.0f–%.0f %%", 100*s.Inside.Low, 100*s.Inside.High),
			fmt.Sprintf("%d of %d", s.Recent.Of, s.Recent.N),
		}
		if s.Time.N == 0 {
			cells[0], cells[1] = "—", "—"
		}
		for i, c := range columns {
			p.textRight(p.left()+c.at*p.width(), y, "", 8.5, black, cells[i])
		}
		p.line(p.left(), y+1.3, p.right(), y+1.3, .1, hair)
		y += 4.6
	}
	return y + 2
}

func number(format string, v float64) string {
	if math.IsNaN(v) {
		return "—"
	}
	return fmt.Sprintf(format, v)
}

func (r Record) practise(p *page, y float64) float64 {
	if len(r.Next) == 0 {
		return y
	}
	if y > p.bottom()-30 {
		y = r.begin(p)
	}
	y = p.heading(y, "What to practise next")
	for _, s := range r.Next[:min(2, len(r.Next))] {
		y = p.wrapped(p.left(), y, p.width(), "B", 9, black, r.Units.Words(s.Head))
		y = p.wrapped(p.left(), y, p.width(), "", 9, black, r.Units.Words(s.Body)) + 1
	}
	return y + 3
}

// sign leaves room for remarks and signatures at the foot of the last page.
func (r Record) sign(p *page, y float64) {
	const least, most = 40.0, 66.0
	if y > p.bottom()-least {
		y = r.begin(p)
	}
	y = max(y, p.bottom()-most)
	x := p.text(p.left(), y, "B", 11, black, "Remarks")
	if !r.Signed.IsZero() {
		p.textRight(p.right(), y, "", 8, grey, p.fitted("signed in the records on "+day(r.Signed)+" by "+r.Instructor, p.right()-x-6, "", 8))
	}
	last := p.bottom() - 24
	at := y + 9
	if r.Remarks != "" {
		at = p.wrapped(p.left(), y+6, p.width(), "", 9.5, black, r.Remarks) + 5
	}
	for ; at < last-4; at += 8 {
		p.line(p.left(), at, p.right(), at, .15, hair)
	}
	third := p.width() / 3
	p.blank(p.left(), last+8, third*1.2-5, p.fitted(signature("student", r.Student), third*1.2-5, "", 7))
	p.blank(p.left()+third*1.2, last+8, third*1.2-5, p.fitted(signature("instructor", r.Instructor), third*1.2-5, "", 7))
	p.blank(p.left()+third*2.4, last+8, third*.6, "date")
}

func signature(who, name string) string {
	if name == "" {
		return who + "'s signature"
	}
	return who + "'s signature: " + name
}
