package pool_test

import (
	"context"
	"errors"
	"reflect"
	"testing"
	"time"

	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/planner"
	"kickover/procedure/planner/pool"
	"kickover/procedure/powerplant"
)

func brindle180(t testing.TB) *planner.Aeroplane {
	t.Helper()
	a, err := planner.NewAeroplane(shipped.Brindle180(t))
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func survey(t testing.TB) *planner.Survey {
	t.Helper()
	s, err := planner.Question{
		Aeroplane: brindle180(t), Conditions: powerplant.Conditions{OATCelsius: 10, SinceShutdown: 45 * time.Minute},
		Temperatures: []float64{-10, 30}, Primes: []float64{0.5, 1.5, 4, 7}, Precision: planner.Precision{Most: 60}, Seed: 5,
	}.Map()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func points(s *planner.Survey) [][]planner.Point {
	var out [][]planner.Point
	for _, r := range s.Rows {
		out = append(out, r.Points())
	}
	return out
}

// However many fly, the counts are those of one flying alone.
func TestCountsDoNotDependOnWorkers(t *testing.T) {
	alone := survey(t)
	if err := alone.Fly(); err != nil {
		t.Fatal(err)
	}
	for _, workers := range []int{0, 1, 2, 3, 50} {
		s := survey(t)
		seen := map[int]bool{}
		last := 0
		err := pool.Fly(context.Background(), s, pool.Options{Workers: workers, Watch: func(cell, done, of int) {
			if of != 8 || done != last+1 || seen[cell] || !s.Cells()[cell].Done() {
				t.Errorf("%d workers: told of cell %d as %d of %d", workers, cell, done, of)
			}
			seen[cell], last = true, done
		}})
		if err != nil || last != 8 {
			t.Fatalf("%d workers: %d cells, %v", workers, last, err)
		}
		if !reflect.DeepEqual(points(s), points(alone)) {
			t.Errorf("%d workers: %+v, alone %+v", workers, points(s), points(alone))
		}
	}
}

// Called off, it stops soon and says so. Its workers wait for nobody to hear of a cell
// that is done, and must not be through by then: one that is plain takes some 200
// trials here, and one that is open, by the half-width of even odds, 9,600.
func TestCancel(t *testing.T) {
	s, err := planner.Question{
		Aeroplane: brindle180(t), Conditions: powerplant.Conditions{SinceShutdown: 45 * time.Minute},
		Temperatures: []float64{30}, Primes: []float64{1.5, 4}, Precision: planner.Precision{HalfWidth: 0.01, Most: 1e6}, Seed: 5,
	}.Map()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	err = pool.Fly(ctx, s, pool.Options{Workers: 2, Watch: func(_, done, _ int) {
		if done == 1 {
			cancel()
		}
	}})
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("called off, it said %v", err)
	}
	if cells := s.Cells(); cells[0].Done() == cells[1].Done() {
		t.Errorf("called off after one of two cells, %v of them were flown", []bool{cells[0].Done(), cells[1].Done()})
	}
	if err := pool.Fly(ctx, s, pool.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("called off before it began, it said %v", err)
	}
}

// A survey that was flown in part is taken up where it was.
func TestTakenUpAgain(t *testing.T) {
	whole := survey(t)
	if err := whole.Fly(); err != nil {
		t.Fatal(err)
	}
	s := survey(t)
	strips := s.Strips()
	for _, batches := range []int{1, 2} {
		for range batches {
			if _, _, err := strips[batches].Fly(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := pool.Fly(context.Background(), s, pool.Options{}); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(points(s), points(whole)) {
		t.Errorf("taken up again: %+v, in one go %+v", points(s), points(whole))
	}
}
