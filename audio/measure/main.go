// Command measure says how well the voice does, from recorded sound: it starts
// a sound server of its own whose output nobody hears, plays through the real
// player, records what came out, and prints figures. Developers run it with
// make bench.
//
//	measure timing       where call-outs fall, scheduled and reactive
//	measure cold-start   a made-up cold start, to listen to and look at
package main

import (
	"flag"
	"fmt"
	"os"
	"time"
)

func main() {
	n := flag.Int("n", 1000, "call-outs of each kind")
	buffer := flag.Duration("buffer", 40*time.Millisecond, "the device's buffer")
	busy := flag.Bool("busy", false, "keep all cores busy meanwhile")
	flag.Parse()
	if err := run(flag.Arg(0), *n, *buffer, *busy); err != nil {
		fmt.Fprintln(os.Stderr, "measure:", err)
		os.Exit(1)
	}
}

func run(what string, n int, buffer time.Duration, busy bool) error {
	if what == "cold-start" {
		return coldStart(os.Stdout, ".")
	}
	s, err := startServer()
	if err != nil {
		return err
	}
	defer s.close()
	switch what {
	case "timing":
		return timing(os.Stdout, n, buffer, busy)
	default:
		return fmt.Errorf("no measurement %q; see go doc", what)
	}
}
