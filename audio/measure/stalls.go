package main

import (
	"bufio"
	"fmt"
	"io"
	"os/exec"
	"runtime"
	"strconv"
	"sync"
	"time"
)

// A virtual machine is at times not run at all, and no program on it can help
// that. So that a gap of that is not laid to this one, a process for each
// processor, which comes before all else on it, looks every millisecond whether
// time passed.

// stalledFor is what counts: less than half of what the device's buffer holds.
const stalledFor = 20 * time.Millisecond

// stall is a while in which a processor ran nothing.
type stall struct{ from, to time.Time }

// watcher is the file of this program, to be run again as one that notes stalls;
// empty in its tests, whose file is another program.
var watcher string

// watch has stalls noted until it is told to stop, which gives them. Where a
// process may not come before all else it gives none.
func watch() (stop func() []stall) {
	if watcher == "" {
		return func() []stall { return nil }
	}
	var mu sync.Mutex
	var found []stall
	var watching []*exec.Cmd
	var reading sync.WaitGroup
	for cpu := range runtime.NumCPU() {
		c := exec.Command("taskset", "-c", strconv.Itoa(cpu), "chrt", "-f", "50", watcher, "stalls")
		out, err := c.StdoutPipe()
		if err != nil || c.Start() != nil {
			continue
		}
		watching = append(watching, c)
		reading.Go(func() {
			for scan := bufio.NewScanner(out); scan.Scan(); {
				var from, to int64
				if _, err := fmt.Sscan(scan.Text(), &from, &to); err == nil {
					mu.Lock()
					found = append(found, stall{time.Unix(0, from), time.Unix(0, to)})
					mu.Unlock()
				}
			}
		})
	}
	return func() []stall {
		for _, c := range watching {
			c.Process.Kill()
		}
		reading.Wait()
		for _, c := range watching {
			c.Wait()
		}
		return found
	}
}

// noteStalls prints, until it is killed, from when to when its processor ran
// nothing, in nanoseconds of the wall clock.
func noteStalls(out io.Writer) {
	for last := time.Now(); ; {
		time.Sleep(time.Millisecond)
		now := time.Now()
		if now.Sub(last) > stalledFor {
			fmt.Fprintln(out, last.UnixNano(), now.UnixNano())
		}
		last = now
	}
}
