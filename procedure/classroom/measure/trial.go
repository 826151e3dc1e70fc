package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/simulated"
)

// watch holds a class and prints what was measured of it.
func watch(title string, t trial) error {
	return fly(t, func(t trial, class string, flights []heard, all flown) error {
		fmt.Printf("class, %s:\n", title)
		printFlights(t, flights, all)
		return account(t, class, all)
	})
}

// fly has a class fly as often as the trial says, and tells what was heard of each
// flight by the instructor's program and what all stations say at the end.
func fly(t trial, tell func(t trial, class string, flights []heard, all flown) error) error {
	folder, err := os.MkdirTemp("", "kickover-measure-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	t.Folder = folder
	in, o, err := openClass(&t)
	if err != nil {
		return err
	}
	defer in.kill()
	groups, err := seat(t)
	for _, g := range groups {
		defer g.kill()
	}
	if err != nil {
		return err
	}
	var flights []heard
	for range t.Goes {
		var h heard
		if err := in.read(&h); err != nil {
			return err
		}
		flights = append(flights, h)
	}
	all, err := finish(groups)
	if err := errors.Join(err, in.finish(nil)); err != nil {
		return err
	}
	return tell(t, o.Class, flights, all)
}

// openClass starts the instructor's program.
func openClass(t *trial) (*process, opened, error) {
	var o opened
	in, err := start("instructor", *t)
	if err != nil {
		return nil, o, err
	}
	if err := in.read(&o); err != nil {
		in.kill()
		return nil, o, err
	}
	t.Addr, t.Code, t.Port = o.Addr, o.Code, o.Port
	if t.Simulated > 0 {
		t.Pin = o.Pin
	}
	return in, o, nil
}

// together is how many simulated stations share a process. Each laptop has a disk
// and processors of its own; in one process of 300 the logs that are flushed at
// "go" held both of Go's processors, and the last station began 720 ms late.
const together = 30

// seat starts the stations.
func seat(t trial) ([]*process, error) {
	var groups []*process
	begin := func(stations int) error {
		some := t
		some.Simulated, some.Processes, some.Folder = stations, 0, filepath.Join(t.Folder, "process"+strconv.Itoa(len(groups)))
		p, err := start("stations", some)
		if err == nil {
			groups = append(groups, p)
		}
		return err
	}
	for range t.Processes {
		if err := begin(1); err != nil {
			return groups, err
		}
	}
	for left := t.Simulated; left > 0; left -= together {
		if err := begin(min(left, together)); err != nil {
			return groups, err
		}
	}
	return groups, nil
}

// finish lets the stations end, and gathers what they measured.
func finish(groups []*process) (all flown, err error) {
	for _, g := range groups {
		g.in.Close()
	}
	for _, g := range groups {
		var f flown
		err = errors.Join(err, g.finish(&f))
		all.Began = append(all.Began, f.Began...)
		all.Taken = append(all.Taken, f.Taken...)
		all.Stored = append(all.Stored, f.Stored...)
		all.Moved = append(all.Moved, f.Moved...)
		all.Wait += f.Wait
		all.CPU += f.CPU
		all.Alive = max(all.Alive, f.Alive)
	}
	return all, err
}

func printFlights(t trial, flights []heard, all flown) {
	var way, lever []float64
	var cpu time.Duration
	var memory int64
	for _, h := range flights {
		way, lever = append(way, h.Way...), append(lever, h.Lever...)
		cpu += h.CPU
		memory = max(memory, h.Memory)
	}
	length := time.Duration(t.Goes) * t.Flight
	fmt.Printf("  a lever's movement to the board, ms: p50 %.1f, p99 %.1f; of it on the way: p50 %.2f, p99 %.1f; %.0f positions a second\n",
		quantile(lever, 0.5), quantile(lever, 0.99), quantile(way, 0.5), quantile(way, 0.99), float64(len(way))/length.Seconds())
	fmt.Printf("  run events, ms: taken by the engine p50 %.1f, p99 %.1f; stored p50 %.1f, p99 %.1f\n",
		quantile(all.Taken, 0.5), quantile(all.Taken, 0.99), quantile(all.Stored, 0.5), quantile(all.Stored, 0.99))
	fmt.Printf("  the instructor's program: %.2f of a core, %.0f MB; all stations together, joining included: %.2f of a core\n",
		cpu.Seconds()/length.Seconds(), float64(memory)/1e6, all.CPU.Seconds()/all.Alive.Seconds())
	if t.Flooded {
		fmt.Printf("  the flood was cut off after %.0f ms\n", flights[0].CutAfter)
	}
	s := skews(t, flights, all)
	fmt.Printf("  go, ms from the moment meant: by the station's clock p50 %.3f, p99 %.2f, furthest %.2f; the program begins p50 %.2f, p99 %.1f, furthest %.1f\n",
		quantile(s.clock, 0.5), quantile(s.clock, 0.99), quantile(s.clock, 1), quantile(s.begun, 0.5), quantile(s.begun, 0.99), quantile(s.begun, 1))
	if t.Sound {
		fmt.Printf("  go as sound, ms from the middle of all stations' first samples: p50 %.2f, p99 %.2f, furthest %.2f; %d of %d heard\n",
			quantile(s.sound, 0.5), quantile(s.sound, 0.99), quantile(s.sound, 1), len(s.sound), len(all.Began))
	}
}

// skew is, in milliseconds and without sign, how far stations were off.
type skew struct {
	clock []float64 // the moment that a station's clock gave for "go", from the one that was meant
	begun []float64 // the moment when its program began
	sound []float64 // its first sample, from the middle of all stations'
}

func skews(t trial, flights []heard, all flown) (s skew) {
	for _, h := range flights {
		var sounds []float64
		for _, b := range all.Began {
			late := b.At - h.Go
			if late < -int64(t.Flight)/2 || late > int64(t.Flight) {
				continue // of another drill
			}
			s.begun = append(s.begun, apart(b.At, h.Go))
			s.clock = append(s.clock, apart(b.Meant, h.Go))
			if b.Sound > 0 {
				sounds = append(sounds, float64(b.Sound-h.Go)/1e6)
			}
		}
		middle := quantile(sounds, 0.5)
		for _, x := range sounds {
			s.sound = append(s.sound, max(x-middle, middle-x))
		}
	}
	return s
}

func apart(a, b int64) float64 { return milliseconds(time.Duration(a - b).Abs()) }

// account compares what is stored with what was written.
func account(t trial, class string, all flown) error {
	_, book, err := classroom.Reopen(t.Folder, class)
	if err != nil {
		return err
	}
	defer book.Close()
	stored, err := book.Runs("")
	if err != nil {
		return err
	}
	wrong, lost := 0, 0
	for _, b := range all.Began {
		events, err := book.Events(b.Run)
		if err != nil {
			return err
		}
		want := simulated.Events(b.Run, t.Events)
		lost += max(0, len(want)-len(events))
		if !simulated.Same(events, want[:min(len(want), len(events))]) {
			wrong++
		}
	}
	fmt.Printf("  %d runs of %d events: %d lost, %d runs with an event doubled, altered or out of order\n", len(stored), t.Events, lost, wrong)
	if want := t.stations() * t.Goes; lost > 0 || wrong > 0 || all.Wait > 0 || len(stored) != want || len(all.Began) != want {
		return fmt.Errorf("not everything was delivered: %d of %d runs began, %d are stored, %d events unconfirmed", len(all.Began), want, len(stored), all.Wait)
	}
	return nil
}

func slowDisk() error {
	if _, err := exec.LookPath(slowFsync[0]); err != nil {
		fmt.Println("class, slow disks: left out, since strace, which slows them, is not installed")
		return nil
	}
	for _, t := range []trial{
		with(func(t *trial) { t.Processes = 30 }),
		with(func(t *trial) { t.Simulated = 300 }),
	} {
		t.Slow = true
		if err := watch(fmt.Sprintf("each fsync 5 ms longer, %s", t), t); err != nil {
			return err
		}
	}
	return nil
}

// quantile is the p-quantile, 1 the last; zero of nothing.
func quantile(v []float64, p float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	return s[min(len(s)-1, int(p*float64(len(s))))]
}
