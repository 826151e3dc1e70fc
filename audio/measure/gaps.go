package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"time"

	"kickover/audio"
)

// trouble is made on purpose, to learn what it does to the sound and how soon
// call-outs are on time again.
type trouble struct {
	name string
	make func()
}

// gaps makes trouble in each way while call-outs are due seven times a second, and
// prints what it did to the stream and to them.
func gaps(out io.Writer, on *server) error {
	clips, err := blips()
	if err != nil {
		return err
	}
	s, err := open(audio.Options{Clips: clips}, on)
	if err != nil {
		return err
	}
	var troubles []trouble
	for _, lasts := range []time.Duration{30, 60, 120, 240} {
		lasts *= time.Millisecond
		for name, pid := range map[string]int{"program": os.Getpid(), "server": on.daemon.Process.Pid, "recorder": s.rec.parec.Process.Pid} {
			troubles = append(troubles, trouble{fmt.Sprintf("the %s stopped for %v", name, lasts), func() { halt(pid, lasts) }})
		}
	}
	troubles = append(troubles, trouble{"all memory collected again and again for 300 ms", litter})
	begin := time.Now()
	var ordeals []ordeal
	for _, t := range troubles {
		ordeals = append(ordeals, s.suffer(t))
	}
	s.close()
	found := onsets(s.rec.samples)
	before, _ := offsets(s.rec, found, ordeals[0].asked[:blipsBefore], 0, blipEvery/2)
	usual := spreadOf(before).P50
	for _, t := range ordeals {
		t.tell(out, s, found, usual)
	}
	tellGaps(out, s, begin, time.Now())
	return nil
}

// ordeal is a trouble and the call-outs around it.
type ordeal struct {
	trouble
	at    time.Time
	asked []time.Time
}

const (
	blipEvery   = 140 * time.Millisecond
	blipsBefore = 10
	blipsAfter  = 14
)

func (s *session) suffer(t trouble) ordeal {
	r := ordeal{trouble: t}
	next := time.Now().Add(300 * time.Millisecond)
	over := make(chan struct{})
	for i := range blipsBefore + blipsAfter {
		if i == blipsBefore {
			r.at = time.Now()
			go func() { t.make(); close(over) }()
		}
		time.Sleep(time.Until(next.Add(-250 * time.Millisecond)))
		s.player.Say(audio.Line{Text: "blip", Beat: next, Priority: audio.Count})
		r.asked = append(r.asked, next)
		next = next.Add(blipEvery)
	}
	<-over
	time.Sleep(time.Until(next))
	return r
}

func (r ordeal) tell(out io.Writer, s *session, found []int, usual float64) {
	from, to := s.rec.sampleAt(r.at), s.rec.sampleAt(r.asked[len(r.asked)-1].Add(100*time.Millisecond))
	heard := s.rec.samples[max(0, from):min(to, len(s.rec.samples))]
	dry := 0
	for _, d := range dryRuns(heard) {
		dry += d.length
	}
	late, lost := offsets(s.rec, found, r.asked, time.Duration(usual*float64(time.Millisecond)), blipEvery/2)
	off, worst := 0, 0.0
	for _, l := range late {
		d := math.Abs(l - usual)
		worst = max(worst, d)
		if d > 3 {
			off++
		}
	}
	fmt.Fprintf(out, "%s: dry for %.1f ms; of %d call-outs %d were not heard and %d more than 3 ms off, at most %.1f ms\n",
		r.name, 1000*float64(dry)/audio.Rate, len(r.asked), lost, off, worst)
}

// halt stops a process, which may be this one, for a while.
func halt(pid int, lasts time.Duration) {
	id := strconv.Itoa(pid)
	exec.Command("sh", "-c", "kill -STOP "+id+"; sleep "+strconv.FormatFloat(lasts.Seconds(), 'f', 3, 64)+"; kill -CONT "+id).Run()
}

// litter leaves work to the collector of garbage.
func litter() {
	for began := time.Now(); time.Since(began) < 300*time.Millisecond; {
		var kept [][]*int
		for range 200 {
			row := make([]*int, 1000)
			for i := range row {
				row[i] = new(int)
			}
			kept = append(kept, row)
		}
		runtime.KeepAlive(kept)
	}
}
