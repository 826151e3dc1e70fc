package pool_test

import (
	"context"
	"fmt"
	"testing"

	"kickover/procedure/planner"
	"kickover/procedure/planner/pool"
)

// BenchmarkMap flies the whole map of 21 temperatures by 13 primes, cold, to a
// half-width of 0.05, on one core and on two.
func BenchmarkMap(b *testing.B) {
	for _, workers := range []int{1, 2} {
		b.Run(fmt.Sprintf("workers=%d", workers), func(b *testing.B) {
			benchSurvey(b, workers, func() (*planner.Survey, error) { return planner.Question{Aeroplane: brindle180(b)}.Map() })
		})
	}
}

// BenchmarkTrials shows that time goes with trials: a map of so many a cell.
func BenchmarkTrials(b *testing.B) {
	for _, each := range []int{25, 50, 100} {
		b.Run(fmt.Sprintf("each=%d", each), func(b *testing.B) {
			benchSurvey(b, 1, func() (*planner.Survey, error) {
				return planner.Question{Aeroplane: brindle180(b), Precision: planner.Precision{HalfWidth: 1e-6, Most: each}}.Map()
			})
		})
	}
}

// BenchmarkChart is what the Plan screen waits for.
func BenchmarkChart(b *testing.B) {
	benchSurvey(b, 2, func() (*planner.Survey, error) { return planner.Question{Aeroplane: brindle180(b)}.Chart() })
}

func benchSurvey(b *testing.B, workers int, ask func() (*planner.Survey, error)) {
	trials := 0
	for b.Loop() {
		s, err := ask()
		if err == nil {
			err = pool.Fly(context.Background(), s, pool.Options{Workers: workers})
		}
		if err != nil {
			b.Fatal(err)
		}
		for _, c := range s.Cells() {
			trials += c.Point().Trials
		}
	}
	b.ReportMetric(float64(trials)/float64(b.N), "trials/op")
	b.ReportMetric(float64(trials)/b.Elapsed().Seconds(), "trials/s")
}
