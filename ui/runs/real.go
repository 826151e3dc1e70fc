package runs

import (
	"context"
	"time"

	"kickover/procedure"
	"kickover/ui/control"
)

// Real is one start of a real engine as the list shows it.
type Real struct {
	At      time.Time
	Title   string // registration and situation
	Prime   string // against its window, in a few words
	Verdict procedure.Verdict
	Note    string
	Outcome procedure.Outcome
}

// readReal lists the real starts, newest first. They are looked at and not opened:
// what a real engine did inside is not known.
func (s *Screen) readReal() {
	s.work.Start(func(context.Context, func(string)) func() {
		list, err := s.o.Real()
		return func() { s.addReal(list, err) }
	}, s.wait)
}

func (s *Screen) addReal(list []Real, err error) {
	switch {
	case err != nil:
		s.say("The real starts cannot be read: " + err.Error())
		return
	case len(list) == 0:
		s.say("No real start yet. The cockpit timer keeps them, if you let it.")
		return
	}
	s.say("")
	for _, r := range list {
		note := when(r.At) + "  ·  prime " + r.Prime
		if r.Note != "" {
			note += "  ·  " + r.Note
		}
		row := control.NewRow(s.o.Theme, r.Title, note, primeSign(r.Verdict)+Words(r.Outcome), func() {})
		if s.first == nil {
			s.first = row
		}
		s.rows.Add(row)
	}
	s.rows.Refresh()
}

// primeSign is how the prime stood to its window, with a sign that does not need
// colour; empty where it was not compared.
func primeSign(v procedure.Verdict) string {
	switch v {
	case procedure.OnTime:
		return "✓ prime in the window   "
	case procedure.Early:
		return "▲ prime short   "
	case procedure.Late:
		return "▲ prime long   "
	}
	return ""
}
