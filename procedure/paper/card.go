package paper

import (
	"fmt"
	"image"
	"io"
	"math"
	"time"

	"kickover/procedure"
	"kickover/procedure/units"
)

// Card is a flow as a card for the knee.
type Card struct {
	Aircraft   *procedure.Aircraft
	Flow       *procedure.Flow
	OATCelsius *float64    // chooses the windows for the cold; nil: both are printed
	Units      units.Units // what quantities are written in
	Sheet      Sheet
	Date       time.Time
}

const cardMargin = 9.0

// Write makes the PDF.
func (c Card) Write(w io.Writer) error { return write(w, c) }

// Preview makes a picture of each side.
func (c Card) Preview(dpi int) ([]image.Image, error) { return preview(c, dpi) }

func (c Card) check() error {
	if c.Aircraft == nil || c.Flow == nil {
		return fmt.Errorf("a card needs an aircraft and a flow")
	}
	if c.Sheet.Width < 130 || c.Sheet.Height < 180 {
		return fmt.Errorf("a card does not fit %.0f × %.0f mm: print it on A5, half-letter or larger", c.Sheet.Width, c.Sheet.Height)
	}
	return nil
}

func (c Card) frame() (Sheet, float64) { return c.Sheet, cardMargin }
func (c Card) title() string           { return c.Flow.Title + ", " + c.Aircraft.Name }
func (c Card) date() time.Time         { return c.Date }

func (c Card) draw(p *page) {
	p.add()
	y := c.head(p)
	y = c.steps(p, y)
	y = c.noStart(p, y)
	c.limits(p, y)
	c.foot(p)
}

func (c Card) head(p *page) float64 {
	p.text(p.left(), 16, "B", 17, black, c.Flow.Title)
	p.textRight(p.right(), 12.4, "B", 9, black, c.Aircraft.Name)
	p.textRight(p.right(), 16.4, "", 7.5, grey, "flown in training")
	y := p.wrapped(p.left(), 21.2, p.width(), "", 7.5, grey, c.Units.Words(c.Flow.KnownBy)) + 5.2
	p.blank(p.left(), y, p.width()*.62, "my aircraft's type, and its handbook's edition")
	p.blank(p.left()+p.width()*.66, y, p.width()*.34, "registration")
	return y + 6.5
}

// rowHeights the card's steps can live with, in mm.
const (
	tallestRow  = 6.6
	shortestRow = 4.5
)

// room is what stands below the steps on the last side.
func (c Card) room() float64 {
	room := 34.0
	if c.Flow.NoStart != nil {
		room += 8 + 4.2*float64(len(c.Flow.NoStart.Steps)) + 6.6*float64(len(c.Flow.NoStart.Choices))
	}
	return room
}

// steps writes a row a step, on a second side where one is not enough.
func (c Card) steps(p *page, y float64) float64 {
	n := len(c.Flow.Steps)
	h := math.Min(tallestRow, (p.bottom()-c.room()-y)/float64(max(n, 1)))
	if h < shortestRow {
		h = tallestRow
	}
	for i := range c.Flow.Steps {
		if y+h > p.bottom()-14 {
			y = c.turn(p)
		}
		c.step(p, i, y, h)
		y += h
	}
	p.line(p.left(), y, p.right(), y, .15, hair)
	return y + 2
}

// turn begins the other side.
func (c Card) turn(p *page) float64 {
	c.foot(p)
	p.add()
	p.text(p.left(), 14, "B", 12, black, c.Flow.Title+", continued")
	return 20
}

func (c Card) step(p *page, i int, y, h float64) {
	s := &c.Flow.Steps[i]
	p.line(p.left(), y, p.right(), y, .15, hair)
	base := y + h/2 + 1.15
	p.textRight(p.left()+5, base, "", 8, grey, fmt.Sprint(i+1))
	hand := handLetters[s.Hand]
	p.box(p.left()+6.8, y+h/2-1.8, 7.4, 3.6, .2, grey)
	p.textCentre(p.left()+10.5, y+h/2+.85, "B", 6.5, black, hand)
	x := p.left() + 16.5
	if s.Criticality == 3 {
		p.triangle(x+1.2, y+h/2, 1.3, black)
		x += 4
	}
	window := c.window(s)
	p.font("B", 8.5)
	wide := p.measure(window)
	p.textRight(p.right(), base, "B", 8.5, black, window)
	p.text(x, base, "B", 9, black, p.fitted(c.Units.Words(s.Title), p.right()-wide-3-x, "B", 9))
}

var handLetters = map[procedure.Hand]string{
	procedure.Left: "L", procedure.Right: "R", procedure.Feet: "FEET", procedure.Eyes: "EYES", procedure.Voice: "SAY",
}

// window writes what a step may take, "3.5–5.0 s, ideal 4.2"; both windows where
// the cold one differs and nobody said how cold it is.
func (c Card) window(s *procedure.Step) string {
	if s.Window.Zero() {
		return ""
	}
	w := s.Window
	if s.Cold != nil {
		switch {
		case c.OATCelsius == nil:
			return fmt.Sprintf("%s; below %s %s", windowText(w), c.Units.Celsius(s.Cold.BelowCelsius), windowText(s.Cold.Window))
		case *c.OATCelsius < s.Cold.BelowCelsius:
			w = s.Cold.Window
		}
	}
	return windowText(w)
}

func windowText(w procedure.Window) string {
	if w.Min == 0 {
		return "≤ " + seconds(w.Max) + " s"
	}
	return fmt.Sprintf("%s–%s s, ideal %s", seconds(w.Min), seconds(w.Max), seconds(w.Ideal))
}

// seconds drops a decimal that says nothing.
func seconds(d time.Duration) string {
	if d%time.Second == 0 {
		return fmt.Sprintf("%d", d/time.Second)
	}
	return fmt.Sprintf("%.1f", d.Seconds())
}

// noStart is what to do when it does not fire.
func (c Card) noStart(p *page, y float64) float64 {
	ns := c.Flow.NoStart
	if ns == nil {
		return y
	}
	if y+c.room()-30 > p.bottom()-14 {
		y = c.turn(p)
	}
	p.text(p.left(), y+4, "B", 9.5, black, "If it does not fire")
	y += 8.2
	for _, s := range ns.Steps {
		p.text(p.left()+3, y, "", 8, black, "→")
		p.text(p.left()+8, y, "", 8.5, black, p.fitted(c.Units.Words(s.Title), p.width()-8, "", 8.5))
		y += 4.2
	}
	for _, ch := range ns.Choices {
		p.text(p.left()+3, y, "", 8, black, p.fitted(c.Units.Words(ch.Ask), p.width()-3, "", 8))
		p.text(p.left()+8, y+3.1, "B", 8, black, "→ "+c.Units.Words(ch.Title))
		y += 6.6
	}
	return y
}

// limits are the starter's and the caution that goes with every attempt.
func (c Card) limits(p *page, y float64) {
	if y+20 > p.bottom()-10 {
		y = c.turn(p)
	}
	s := c.Aircraft.Starter
	p.fill(p.left(), y, p.width(), 19, tint)
	p.text(p.left()+2.5, y+4.6, "B", 8.5, black, fmt.Sprintf("Starter: %s s at most, then rest %s. After %d attempts rest %s.",
		seconds(s.Crank), length(s.Rest), s.Attempts, length(s.LongRest)))
	p.triangle(p.left()+4, y+9.4, 1.5, black)
	p.wrapped(p.left()+7.5, y+9.8, p.width()-10, "B", 7.8, black, propCaution)
}

func length(d time.Duration) string {
	if d >= 2*time.Minute && d%time.Minute == 0 {
		return fmt.Sprintf("%d min", d/time.Minute)
	}
	return seconds(d) + " s"
}

func (c Card) foot(p *page) {
	y := p.bottom() - 2.6
	p.line(p.left(), y-4, p.right(), y-4, .2, grey)
	p.text(p.left(), y, "", 7, grey, authority)
	p.textRight(p.right(), y+3.4, "", 7, grey, day(c.Date))
	p.text(p.left(), y+3.4, "", 7, grey, "L, R: left and right hand.")
	p.triangle(p.left()+34, y+2.5, 1, grey)
	p.text(p.left()+36.5, y+3.4, "", 7, grey, "endangers people or engine when left out.")
}
