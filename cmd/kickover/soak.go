package main

import (
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"runtime/metrics"
	"runtime/pprof"
	"time"
)

// soakEvery is how often a soak wants the program measured from inside; zero is
// never.
func soakEvery() time.Duration {
	d, err := time.ParseDuration(os.Getenv("KICKOVER_SOAK"))
	if err != nil {
		return 0
	}
	return max(0, d)
}

// heapFile is where a soak finds who holds the heap.
func heapFile() string { return filepath.Join(stateFolder(), "heap.pprof") }

// sampled is what a leak would show in. What the language's runtime has from the
// system and has not given back is all but what is released; live is what the last
// collection found in use, heap that and what is rubbish since.
var sampled = []struct{ word, metric string }{
	{"heap", "/memory/classes/heap/objects:bytes"},
	{"live", "/gc/heap/live:bytes"},
	{"unused", "/memory/classes/heap/unused:bytes"},
	{"free", "/memory/classes/heap/free:bytes"},
	{"released", "/memory/classes/heap/released:bytes"},
	{"stacks", "/memory/classes/heap/stacks:bytes"},
	{"total", "/memory/classes/total:bytes"},
	{"collections", "/gc/cycles/total:gc-cycles"},
}

// logSamples notes what a leak would show in, for as long as the program runs.
func logSamples(every time.Duration) {
	samples := make([]metrics.Sample, len(sampled))
	for i, s := range sampled {
		samples[i].Name = s.metric
	}
	for range time.Tick(every) {
		metrics.Read(samples)
		said := []any{"goroutines", runtime.NumGoroutine()}
		for i, s := range sampled {
			said = append(said, s.word, samples[i].Value.Uint64())
		}
		slog.Debug("sample", said...)
		if err := writeHeap(heapFile()); err != nil {
			slog.Debug("no heap profile", "err", err)
		}
	}
}

// writeHeap leaves a profile of the heap in a file.
func writeHeap(name string) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	defer f.Close()
	return pprof.Lookup("heap").WriteTo(f, 0)
}
