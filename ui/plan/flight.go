package plan

import (
	"context"
	"fmt"

	"kickover/procedure/chart"
	"kickover/procedure/planner"
	"kickover/procedure/planner/pool"
	"kickover/procedure/units"
)

// flight is one survey with what has come of it. All of it but the cells that are
// still being flown belongs to the window's goroutine.
type flight struct {
	survey   *planner.Survey
	whole    bool // a map
	units    units.Units
	points   [][]planner.Point
	belief   *planner.Belief
	done, of int
	state    state
	err      error
	cancel   context.CancelFunc // nil before it has begun
}

type state int

const (
	waiting state = iota // to be asked for
	flying
	flown
	calledOff
)

func (f *flight) running() bool { return f.state == flying }

func (f *flight) callOff() {
	if f.cancel != nil {
		f.cancel()
	}
}

// prepareMap shows the windows of a map before anything of it is flown.
func (s *Screen) prepareMap() {
	s.flight = s.lay(true)
	s.show()
}

// lay lays the question out, to be flown.
func (s *Screen) lay(whole bool) *flight {
	q := s.question()
	ask := q.Chart
	if whole {
		ask = q.Map
	}
	f := &flight{whole: whole, units: s.o.Units}
	if f.survey, f.err = ask(); f.err != nil {
		return f
	}
	for _, r := range f.survey.Rows {
		row := make([]planner.Point, len(r.Cells))
		for i := range row {
			row[i].Prime = f.survey.Primes[i]
		}
		f.points = append(f.points, row)
		f.of += len(row)
	}
	return f
}

// fly begins a survey of its own; an older one that still reports is not
// listened to.
func (s *Screen) fly() {
	s.Close()
	whole := s.view.Selected() == viewMap
	f := s.lay(whole)
	s.flight = f
	if f.err != nil {
		s.show()
		return
	}
	ctx, cancel := context.WithCancel(context.Background())
	f.cancel, f.state = cancel, flying
	s.show()
	go s.work(ctx, f, s.question(), s.seen())
}

// work flies a survey in its own goroutine: it learns first, if there is
// something to learn from.
func (s *Screen) work(ctx context.Context, f *flight, q planner.Question, seen []planner.Seen) {
	defer f.cancel()
	survey := f.survey
	if len(seen) > 0 {
		belief, err := planner.Learn(q.Aeroplane, seen)
		if err == nil {
			q.Belief = belief
			survey, err = laid(q, f.whole)
		}
		if err != nil {
			s.o.Do(func() { s.ended(f, err) })
			return
		}
		s.o.Do(func() { f.belief = belief })
	}
	cells := survey.Cells()
	err := pool.Fly(ctx, survey, pool.Options{Workers: s.o.Workers, Watch: func(cell, done, of int) {
		p := cells[cell].Point()
		s.o.Do(func() { s.landed(f, cell, p, done) })
	}})
	s.o.Do(func() { s.ended(f, err) })
}

// laid lays a question out as a day or as a map.
func laid(q planner.Question, whole bool) (*planner.Survey, error) {
	if whole {
		return q.Map()
	}
	return q.Chart()
}

// landed takes a cell that is done.
func (s *Screen) landed(f *flight, cell int, p planner.Point, done int) {
	wide := len(f.survey.Primes)
	f.points[cell/wide][cell%wide] = p
	f.done = done
	if f != s.flight {
		return
	}
	s.progress.set(f.done, f.of, f.words())
	if cell%wide == wide-1 || !f.whole {
		s.picture.draw(f.chart())
	}
}

// ended takes the end of a flight, its own or by being called off.
func (s *Screen) ended(f *flight, err error) {
	f.state = flown
	if err != nil {
		f.state = calledOff
		if f.done == f.of {
			f.state = flown
		}
	}
	if err != nil && !isCalledOff(err) {
		f.err = err
	}
	if f == s.flight {
		s.show()
	}
}

// row is a row as the planner weighs it, of the points that have been flown.
func (f *flight) row(i int) []planner.Point {
	var out []planner.Point
	for _, p := range f.points[i] {
		if p.Trials > 0 {
			out = append(out, p)
		}
	}
	return out
}

func (f *flight) chart() *chart.Chart {
	if f.whole {
		var rows []chart.OddsRow
		for i, r := range f.survey.Rows {
			rows = append(rows, chart.OddsRow{OATCelsius: r.Conditions.OATCelsius, Handbook: r.Handbook, Points: f.points[i]})
		}
		return chart.OddsMap(rows).Read(f.units)
	}
	h := f.survey.Rows[0].Handbook
	a := planner.Advise(h, f.row(0))
	if f.state == flying {
		a = planner.Advice{} // too early to say
	}
	return chart.Odds(h, f.points[0], a)
}

// words say how far it is.
func (f *flight) words() string {
	switch f.state {
	case waiting:
		return fmt.Sprintf("%d cells, some ten seconds", f.of)
	case flying:
		return fmt.Sprintf("%d of %d flown", f.done, f.of)
	case calledOff:
		return fmt.Sprintf("called off after %d of %d", f.done, f.of)
	}
	trials := 0
	for _, row := range f.points {
		for _, p := range row {
			trials += p.Trials
		}
	}
	return fmt.Sprintf("%d simulated starts", trials)
}
