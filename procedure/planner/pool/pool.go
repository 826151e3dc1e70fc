// Package pool flies the strips of a survey on several cores.
//
// Call [Fly]. It is the only part of the planner that starts goroutines: each
// worker takes the next strip that nobody has taken and flies it to its end, so a
// cell has one owner at a time, and its counts are what they would be alone.
package pool

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"

	"kickover/procedure/planner"
)

// Options say how to fly. The zero value uses every core and tells nobody.
type Options struct {
	Workers int // at most; zero is one a core
	// Watch is told of each cell when it is done, by its place in the survey's
	// cells, and how many of all are done. It is called from the goroutine that
	// called Fly, and may read that cell.
	Watch func(cell, done, of int)
}

// Fly flies every cell to its end. When the context ends first it returns the
// context's error; what was flown until then stays and counts, and flying again
// goes on from there.
func Fly(ctx context.Context, s *planner.Survey, o Options) error {
	workers := o.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	strips, cells, landed := s.Strips(), s.Cells(), 0
	for _, c := range cells {
		if c.Done() {
			landed++
		}
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	reports := make(chan report, len(cells)+len(strips)) // no worker ever waits to be heard
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(workers, len(strips)) {
		group.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(strips) {
					return
				}
				if err := flyStrip(ctx, strips[i], reports); err != nil {
					reports <- report{err: err}
					return
				}
			}
		})
	}
	go func() {
		group.Wait()
		close(reports)
	}()
	watch := func(cell int) {
		landed++
		if o.Watch != nil {
			o.Watch(cell, landed, len(cells))
		}
	}
	if err := listen(reports, watch, stop); err != nil {
		return fmt.Errorf("the survey was not flown to its end: %w", err)
	}
	return nil
}

// report is a cell that is done, or what went wrong.
type report struct {
	cell int
	err  error
}

// flyStrip looks up from its trials after every batch.
func flyStrip(ctx context.Context, s *planner.Strip, reports chan<- report) error {
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		landed, done, err := s.Fly()
		if err != nil {
			return err
		}
		for _, cell := range landed {
			reports <- report{cell: cell}
		}
		if done {
			return nil
		}
	}
}

// listen hears the reports to their end. One that fails fails them all.
func listen(reports <-chan report, landed func(cell int), stop func()) error {
	var failed error
	for r := range reports {
		switch {
		case failed != nil:
		case r.err != nil:
			failed = r.err
			stop()
		default:
			landed(r.cell)
		}
	}
	return failed
}
