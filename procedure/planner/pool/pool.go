// Package pool flies the cells of a survey on several cores.
//
// Call [Fly]. It is the only part of the planner that starts goroutines: each
// worker takes the next cell that nobody has taken and flies it to its end, so a
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
	// Watch is told of each cell when it is done, by its place in the list, and
	// how many of all are done. It is called from the goroutine that called Fly,
	// and may read that cell.
	Watch func(cell, done, of int)
}

// Fly flies every cell to its end. When the context ends first it returns the
// context's error; what was flown until then stays and counts, and flying again
// goes on from there.
func Fly(ctx context.Context, cells []*planner.Cell, o Options) error {
	workers := o.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	finished := make(chan flown, len(cells)) // no worker ever waits to be heard
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(workers, len(cells)) {
		group.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(cells) || ctx.Err() != nil {
					return
				}
				finished <- flown{i, flyCell(ctx, cells[i])}
			}
		})
	}
	go func() {
		group.Wait()
		close(finished)
	}()
	done := 0
	var failed error
	for f := range finished {
		if f.err != nil {
			if failed == nil {
				failed = f.err
			}
			stop() // one that fails fails them all
			continue
		}
		done++
		if o.Watch != nil && failed == nil {
			o.Watch(f.cell, done, len(cells))
		}
	}
	if failed == nil && done < len(cells) {
		failed = ctx.Err()
	}
	if failed != nil {
		return fmt.Errorf("the survey was not flown to its end: %w", failed)
	}
	return nil
}

// flown is a cell that a worker has let go of.
type flown struct {
	cell int
	err  error
}

// flyCell looks up from its trials after every batch.
func flyCell(ctx context.Context, c *planner.Cell) error {
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		if done, err := c.Fly(); done || err != nil {
			return err
		}
	}
}
