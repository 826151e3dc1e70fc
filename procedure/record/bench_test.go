package record_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/record"
)

// reportQuantiles adds the median and the 99th percentile to a benchmark.
func reportQuantiles(b *testing.B, took []time.Duration) {
	slices.Sort(took)
	at := func(share float64) float64 {
		return float64(took[int(share*float64(len(took)-1))]) / float64(time.Microsecond)
	}
	b.ReportMetric(at(.5), "µs-p50")
	b.ReportMetric(at(.99), "µs-p99")
}

// How long until one event is on the disk.
func BenchmarkAppendDurable(b *testing.B) {
	s := open(b, filepath.Join(b.TempDir(), "runs.db"))
	r, err := s.Begin(inventedHeader(0))
	if err != nil {
		b.Fatal(err)
	}
	events := inventedEvents(0, b.N)
	took := make([]time.Duration, b.N)
	b.ResetTimer()
	for i, e := range events {
		began := time.Now()
		if err := r.Append(e); err != nil {
			b.Fatal(err)
		}
		took[i] = time.Since(began)
	}
	reportQuantiles(b, took)
}

// How long a live run is held up by handing over an event, and how many events
// a second reach the disk when they come without pause.
func BenchmarkJournalAppend(b *testing.B) {
	s := open(b, filepath.Join(b.TempDir(), "runs.db"))
	j := s.Journal(inventedHeader(0), record.JournalOptions{})
	events := inventedEvents(0, b.N)
	took := make([]time.Duration, b.N)
	b.ResetTimer()
	for i, e := range events {
		began := time.Now()
		if err := j.Append(e); err != nil {
			b.Fatal(err)
		}
		took[i] = time.Since(began)
	}
	if err := j.Close(context.Background()); err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "durable-events/s")
	reportQuantiles(b, took)
}

// writeRuns writes so many runs of 40 events as JSON Lines.
func writeRuns(w io.Writer, runs int) error {
	buffered := bufio.NewWriterSize(w, 1<<20)
	for n := range runs {
		l := record.Listing{Header: inventedHeader(n), Finished: true, Summary: inventedSummary}
		l.Header.Format = record.Format
		if err := record.WriteRun(buffered, l, inventedEvents(n, 40)); err != nil {
			return err
		}
	}
	return buffered.Flush()
}

func filled(b *testing.B, runs int) *record.Store {
	b.Helper()
	s := open(b, filepath.Join(b.TempDir(), "runs.db"))
	out, in := io.Pipe()
	go func() { in.CloseWithError(writeRuns(in, runs)) }()
	got, err := s.Import(out)
	if err != nil || got.Added != runs {
		b.Fatalf("%+v, %v", got, err)
	}
	return s
}

func BenchmarkImport(b *testing.B) {
	for b.Loop() {
		filled(b, 2500)
	}
	b.ReportMetric(float64(b.N)*2500*40/b.Elapsed().Seconds(), "events/s")
}

func BenchmarkFirstPage(b *testing.B) {
	for _, runs := range []int{1000, 10_000, 100_000} {
		b.Run(fmt.Sprint(runs), func(b *testing.B) {
			s := filled(b, runs)
			for _, c := range []struct {
				name   string
				filter record.Filter
			}{
				{"all", record.Filter{}},
				{"one-flow", record.Filter{Aircraft: "brindle-180", Flow: "warm"}},
				{"nothing-matches", record.Filter{Phase: procedure.Explain}},
			} {
				b.Run(c.name, func(b *testing.B) {
					for b.Loop() {
						if _, err := s.Runs(c.filter, record.Page{}); err != nil {
							b.Fatal(err)
						}
					}
				})
			}
			b.Run("load-one", func(b *testing.B) {
				for b.Loop() {
					if _, _, err := s.Run(inventedHeader(runs / 2).ID); err != nil {
						b.Fatal(err)
					}
				}
			})
			b.Run("open", func(b *testing.B) {
				path := s.Path()
				for b.Loop() {
					again, err := record.Open(path)
					if err != nil {
						b.Fatal(err)
					}
					again.Close()
				}
			})
		})
	}
}
