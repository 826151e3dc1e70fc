package panel

import (
	"fmt"
	"strconv"
	"time"

	"kickover/procedure"
)

// Ledger is the starter's account: attempts used, rest that is due, limits.
type Ledger struct{ At Rect }

// LedgerState is what the ledger shows.
type LedgerState struct {
	Limits   procedure.StarterLimits
	Used     int
	Cranking bool
	Rest     int // seconds of rest left, rounded up
	Long     bool
	Skip     bool // the rest may be skipped over
}

// SkipButton is where the rest can be skipped.
func (l Ledger) SkipButton() Rect { return Rect{l.At.X, l.At.Y + 62, l.At.W, 28} }

// Paint draws the ledger.
func (l Ledger) Paint(p *Pen, s LedgerState) {
	r := l.At
	p.Text("STARTER", r.X, r.Y+14, Start, Group, p.Ink2)
	word, ink := "ready", p.OK
	switch {
	case s.Cranking:
		word, ink = "cranking", p.Now
	case s.Rest > 0:
		word, ink = "rest "+Clock(time.Duration(s.Rest)*time.Second, false), p.Caution
		if s.Rest < 60 {
			word = fmt.Sprintf("rest %d s", s.Rest)
		}
	}
	w := p.Text(word, r.X+r.W, r.Y+14, End, Label.Sized(14), ink)
	switch {
	case s.Cranking:
		p.Disc(r.X+r.W-w-11, r.Y+9, 4.5, ink)
	case s.Rest > 0:
		p.Triangle(r.X+r.W-w-12, r.Y+9, 11, ink)
	default:
		p.Tick(r.X+r.W-w-12, r.Y+9, 10, ink)
	}
	n := max(s.Limits.Attempts, s.Used)
	pitch := min(44, (r.W-24)/float64(max(n-1, 1)))
	for i := range n {
		x, y := r.X+12+float64(i)*pitch, r.Y+42
		switch {
		case i < s.Used-1 || i == s.Used-1 && !s.Cranking:
			p.Disc(x, y, 11, p.Ink2)
			p.Text(strconv.Itoa(i+1), x, y+4.4, Middle, Label.Sized(12).Weighted(3), p.Panel)
		case i == s.Used-1:
			p.Disc(x, y, 11, p.Now)
			p.Text(strconv.Itoa(i+1), x, y+4.4, Middle, Label.Sized(12).Weighted(3), p.Panel)
		default:
			p.Ring(x, y, 10.5, 1.4, p.Line)
			p.Text(strconv.Itoa(i+1), x, y+4.4, Middle, Label.Sized(12), p.Ink2)
		}
	}
	if s.Skip && s.Rest > 0 {
		b := l.SkipButton()
		p.Box(b, 7, p.Raised, p.Line, 1.2)
		p.Text("Skip the rest", b.X+b.W/2-14, b.Y+18.6, Middle, Label, p.Ink)
		p.Key("R", b.X+b.W/2+56, b.Y+b.H/2)
		return
	}
	p.Text(limits(s.Limits), r.X, r.Y+77, Start, p.Fit(limits(s.Limits), Small, r.W, 8), p.Ink2)
}

func limits(l procedure.StarterLimits) string {
	return fmt.Sprintf("%s at most, %s between, %s after %s", words(l.Crank), words(l.Rest), words(l.LongRest), count(l.Attempts))
}

// words prints a duration as a placard does.
func words(d time.Duration) string {
	if d >= 2*time.Minute && d%time.Minute == 0 {
		return fmt.Sprintf("%d min", d/time.Minute)
	}
	return strconv.FormatFloat(d.Seconds(), 'f', -1, 64) + " s"
}

func count(n int) string {
	if n >= 0 && n < 11 {
		return [...]string{"none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}[n]
	}
	return strconv.Itoa(n)
}
