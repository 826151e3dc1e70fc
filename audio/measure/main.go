// Command measure says how well the voice does, from recorded sound: it starts
// a sound server of its own whose output nobody hears, plays through the real
// player, records what came out, and prints figures; and where the sound had a gap,
// what the machine did in that moment. Developers run it with make bench.
//
//	measure timing          where call-outs fall, scheduled and reactive
//	measure centres         where counts are heard
//	measure words           what a recogniser understands, clean and over the engine
//	measure gaps            what gaps made on purpose do to call-outs
//	measure loss            the sound server goes, and comes back
//	measure idle            what silence costs, and how a resting device wakes
//	measure soak            hours of class use in the mixer
//	measure cold-start      a made-up cold start, to listen to and look at
//	measure recorded-start  a cold start of the program itself, the same
package main

import (
	"flag"
	"fmt"
	"os"
	"time"

	"kickover/audio"
)

func main() {
	var m measurement
	flag.IntVar(&m.n, "n", 1000, "scheduled call-outs, or counts in each voice")
	flag.DurationVar(&m.buffer, "buffer", audio.DefaultBuffer, "the device's buffer")
	flag.BoolVar(&m.busy, "busy", false, "keep all cores busy and draw a window meanwhile")
	flag.Float64Var(&m.hours, "hours", 24, "simulated hours")
	flag.StringVar(&m.folder, "folder", ".", "where sound files go")
	flag.StringVar(&m.program, "program", "bin/kickover", "the program that recorded-start records")
	flag.StringVar(&m.voice, "voice", "", "the voice of centres; both unless said")
	flag.Parse()
	if flag.Arg(0) == witnessing {
		if err := bearWitness(os.Stdout, flag.Args()[1:]); err != nil {
			fmt.Fprintf(os.Stderr, "measure witness: %v\n", err)
			os.Exit(1)
		}
		return
	}
	for _, what := range flag.Args() {
		if err := m.run(what); err != nil {
			fmt.Fprintf(os.Stderr, "measure %s: %v\n", what, err)
			os.Exit(1)
		}
	}
}

type measurement struct {
	n       int
	buffer  time.Duration
	busy    bool
	hours   float64
	folder  string
	program string
	voice   string
}

func (m measurement) run(what string) error {
	switch what {
	case "words":
		return words(os.Stdout)
	case "soak":
		return soak(os.Stdout, m.hours)
	case "cold-start":
		return coldStart(os.Stdout, m.folder)
	}
	s, err := startServer()
	if err != nil {
		return err
	}
	defer s.close()
	switch what {
	case "timing":
		_, err := timing(os.Stdout, s, m.n, 90*time.Millisecond, m.buffer, m.busy)
		return err
	case "centres":
		return centres(os.Stdout, s, m.n, m.voice, m.busy)
	case "idle":
		return idle(os.Stdout, min(m.n, 10))
	case "recorded-start":
		return recordedStart(os.Stdout, m.program, m.folder)
	case "gaps":
		return gaps(os.Stdout, s)
	case "loss":
		return loss(os.Stdout, s)
	default:
		return fmt.Errorf("there is no such measurement; see go doc")
	}
}
