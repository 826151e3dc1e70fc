// Command measure says how well a class works on this machine: it opens real
// classes over loopback, with TLS, the instructor's program in one process and
// stations in others, and prints a plain line for each figure. Developers run it
// with make bench; named parts run alone.
//
//	real           30 stations, each a process of its own
//	levers         30 processes with a real rehearsal each: from a hand to the board
//	simulated      300 stations, 30 a process
//	slow-disk      both, each fsync of every program taking 5 ms longer (needs strace)
//	spool          300 stations, the spool flushed for each message too
//	flood          30 stations and one that sends all it can
//	go             when 30 stations, and 300 simulated ones, begin and sound "go"
//	cut            30 processes through 30 s of dead network, a proxy that swallows all
//	cable          the same over a cable between two network namespaces (needs root)
//	killed         the instructor's program killed five times, and 30 stations once
//	growth         10, 30, 100, 300 and 1,000 stations
//
// Every station tells about twenty positions a second and writes forty events a
// run, all at once at "go" unless the part says otherwise; two of three have
// clocks that are an hour wrong. What is stored is compared to the bit with what
// was written.
//
// All parts run on one machine, so that the instructor's program shares its cores
// with all stations, and in one clock, which is what skews are measured against.
package main

import (
	"fmt"
	"os"
	"slices"
	"time"
)

// trial is one class that is measured, as its processes are told.
type trial struct {
	Processes  int           // stations, each in its own
	Simulated  int           // stations, many in one
	Goes       int           // drills, one after another
	Flight     time.Duration // of each
	Events     int           // in a run
	Burst      int           // of them at once at "go"
	Every      time.Duration // between two others
	SyncAlways bool          // the spool is flushed for each message
	Slow       bool          // each fsync takes 5 ms longer
	Flooded    bool
	// Host is the address that the class listens at, empty for loopback; TeacherNet
	// and StationNet are network namespaces, empty for this process's own.
	Host, TeacherNet, StationNet string

	Hands bool // stations fly real rehearsals, and move a lever
	Sound bool // stations schedule "go" on a sound device's clock

	// For the processes.
	Folder string
	Addr   string
	Code   string
	Pin    string // the certificate's fingerprint, so that a thousand do not work out check words on one machine
	Class  string // to reopen
	Port   int
	Resume bool // take up the drill as it stands and go on until killed
}

func (t trial) stations() int { return t.Simulated + t.Processes }

func (t trial) String() string {
	if t.Processes > 0 {
		return fmt.Sprintf("%d stations, each a process of its own", t.Processes)
	}
	return fmt.Sprintf("%d simulated stations, %d a process", t.Simulated, together)
}

// usual is a class as the figures are stated for.
var usual = trial{Goes: 1, Flight: 10 * time.Second, Events: 40, Burst: 40}

func with(change func(*trial)) trial {
	t := usual
	change(&t)
	return t
}

// part is something that can be measured alone.
type part struct {
	name string
	run  func() error
}

// parts are all of them, in the order of a whole run.
var parts = []part{
	{"real", func() error { return watch("30 station processes", with(func(t *trial) { t.Processes = 30 })) }},
	{"levers", levers},
	{"simulated", func() error { return watch("300 simulated stations", with(func(t *trial) { t.Simulated = 300 })) }},
	{"slow-disk", slowDisk},
	{"spool", func() error {
		return watch("300 simulated stations, spool flushed", with(func(t *trial) { t.Simulated, t.SyncAlways = 300, true }))
	}},
	{"flood", func() error {
		return watch("30 station processes and a flood", with(func(t *trial) { t.Processes, t.Flooded = 30, true }))
	}},
	{"go", goTogether},
	{"cut", cut},
	{"cable", pulled},
	{"killed", killed},
	{"growth", growth},
}

func main() {
	if role, argument, ok := roleOfProcess(); ok {
		if err := role(argument); err != nil {
			fmt.Fprintln(os.Stderr, "measure:", err)
			os.Exit(1)
		}
		return
	}
	chosen := os.Args[1:]
	for _, name := range chosen {
		if !slices.ContainsFunc(parts, func(p part) bool { return p.name == name }) {
			fmt.Fprintf(os.Stderr, "measure: there is no part %q; see go doc\n", name)
			os.Exit(2)
		}
	}
	for _, p := range parts {
		if len(chosen) > 0 && !slices.Contains(chosen, p.name) {
			continue
		}
		if err := p.run(); err != nil {
			fmt.Fprintf(os.Stderr, "measure: %s: %v\n", p.name, err)
			os.Exit(1)
		}
	}
}

func growth() error {
	for _, n := range []int{10, 30, 100, 300, 1000} {
		if err := watch(fmt.Sprintf("growth: %d simulated stations", n), with(func(t *trial) { t.Simulated = n })); err != nil {
			return err
		}
	}
	return nil
}

func goTogether() error {
	for _, t := range []trial{
		with(func(t *trial) { t.Processes, t.Goes = 30, 8 }),
		with(func(t *trial) { t.Simulated, t.Goes = 300, 3 }),
	} {
		t.Flight, t.Sound = 3*time.Second, true
		if err := watch(fmt.Sprintf("go %d times, %s", t.Goes, t), t); err != nil {
			return err
		}
	}
	return nil
}
