package main

import (
	"fmt"
	"io"
	"math/rand/v2"
	"time"

	"kickover/audio"
)

// session is a player that is recorded.
type session struct {
	player  *audio.Player
	rec     *recording
	witness *witness      // nil where none watches
	silence chan struct{} // closed, the pump hums no more
	over    chan struct{}
	watched chan struct{}
	dried   []time.Time // when the player noticed that the device had run dry; to be read after close
}

// open starts a player on the measured server, with the pump humming, and waits
// until it plays and its clock has settled. A witness watches beside it, unless on
// is nil: where it is measured what the player costs, for a witness costs more.
func open(o audio.Options, on *server) (*session, error) {
	rec, err := record()
	if err != nil {
		return nil, err
	}
	s := &session{rec: rec, silence: make(chan struct{}), over: make(chan struct{}), watched: make(chan struct{})}
	if on != nil {
		if s.witness, err = watch(map[string]int{"server": on.daemon.Process.Pid, "recorder": rec.parec.Process.Pid}); err != nil {
			rec.stop()
			return nil, err
		}
	}
	s.player = audio.Open(o)
	if s.witness != nil {
		go s.watchDry()
	} else {
		close(s.watched)
	}
	for range 100 {
		if s.player.Status().Sound {
			go s.hum(s.silence)
			time.Sleep(3 * time.Second)
			return s, nil
		}
		time.Sleep(50 * time.Millisecond)
	}
	s.close()
	return nil, fmt.Errorf("the player has no sound: %s", s.player.Status().Text)
}

// hum says as a run does, all the while, that the boost pump is on.
func (s *session) hum(until chan struct{}) {
	for {
		s.player.SetEngine(audio.EngineState{BoostPump: true, BusVolts: 24, Battery: true})
		select {
		case <-until:
			s.player.SetEngine(audio.EngineState{})
			return
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// watchDry notes when the player noticed that the device had run dry.
func (s *session) watchDry() {
	defer close(s.watched)
	for known := 0; ; {
		select {
		case <-s.over:
			return
		case <-time.After(10 * time.Millisecond):
		}
		if dry := s.player.Status().Dry; dry != known {
			known = dry
			s.dried = append(s.dried, time.Now())
		}
	}
}

func (s *session) hush() { close(s.silence); s.silence = nil }

func (s *session) close() {
	if s.silence != nil {
		s.hush()
	}
	close(s.over)
	<-s.watched
	s.player.Close()
	time.Sleep(200 * time.Millisecond)
	s.rec.stop()
	if s.witness != nil {
		s.witness.close()
	}
}

// outcome is what came of call-outs: how many were asked for, how many of them were
// not heard, and how often the sound was interrupted meanwhile, in being made or in
// being recorded.
type outcome struct{ asked, missed, gaps int }

// timing measures where call-outs fall: n scheduled ones, and a third as many
// reactive ones, apart by a little more than spacing.
func timing(out io.Writer, on *server, n int, spacing, buffer time.Duration, busy bool) (outcome, error) {
	clips, err := blips()
	if err != nil {
		return outcome{}, err
	}
	s, err := open(audio.Options{Clips: clips, Buffer: buffer}, on)
	if err != nil {
		return outcome{}, err
	}
	machine := "idle"
	if busy {
		machine = "all cores busy, a window drawn"
		defer load()()
		time.Sleep(time.Second)
	}
	begin := time.Now()
	scheduled := s.schedule(n, spacing)
	reactive := s.react(max(1, n/3), spacing)
	end := time.Now()
	time.Sleep(time.Second)
	s.close()

	found := onsets(s.rec.samples)
	errors, lost := offsets(s.rec, found, scheduled, 0, spacing/2)
	latencies, unheard := offsets(s.rec, found, reactive, buffer*21/10, spacing/2)
	h := outcome{asked: len(scheduled) + len(reactive), missed: lost + unheard}
	fmt.Fprintf(out, "buffer %v, %s: %d call-outs asked for, %d not found\n", buffer, machine, h.asked, h.missed)
	fmt.Fprintf(out, "  scheduled, against each other, ms: %v\n", spreadOf(deviations(errors)))
	fmt.Fprintf(out, "  scheduled, against the clock, ms: p50 %.1f (server's and recorder's own delay included)\n", spreadOf(errors).P50)
	fmt.Fprintf(out, "  reactive, from the call to the first sample, ms: %v\n", spreadOf(latencies))
	h.gaps = tellGaps(out, s, begin, end)
	return h, nil
}

// tellGaps says how often the stream ran dry meanwhile, and how often a part of it
// did not reach the recording, and of each what the machine did in that moment. It
// returns how often either happened.
func tellGaps(out io.Writer, s *session, begin, end time.Time) int {
	const near = audio.Rate / 5
	to := max(0, min(s.rec.sampleAt(end), len(s.rec.samples)))
	from := min(max(0, s.rec.sampleAt(begin)), to)
	dry, jumped := dryRuns(s.rec.samples[from:to]), jumps(s.rec.samples[from:to])
	lost := far(jumped, dry, near)
	fmt.Fprintf(out, "  the stream ran dry %d times; the recorder lost some %d times; the clock began anew %d times\n",
		len(dry), len(lost), len(s.dried))
	tell := func(what string, sample int) {
		at := s.rec.at(from + sample)
		fmt.Fprintf(out, "  %s at %.3f s\n", what, at.Sub(begin).Seconds())
		s.witness.tellNear(out, at)
	}
	for _, d := range dry {
		tell(fmt.Sprintf("dry for %.1f ms", 1000*float64(d.length)/audio.Rate), d.at)
	}
	for _, sample := range lost {
		tell("lost in the recording", sample)
	}
	s.witness.tellWorst(out)
	return len(dry) + len(lost)
}

// offsets finds, for each time, the onset nearest to it and the usual delay,
// within reach, and says how much later than the time it came, in milliseconds.
func offsets(rec *recording, found []int, times []time.Time, usual, reach time.Duration) (late []float64, lost int) {
	heard := make([]time.Time, len(found))
	for i, sample := range found {
		heard[i] = rec.at(sample)
	}
	for _, t := range times {
		best, nearest := reach, -1
		for i, h := range heard {
			if d := h.Sub(t.Add(usual)).Abs(); d < best {
				best, nearest = d, i
			}
		}
		if nearest < 0 {
			lost++
			continue
		}
		late = append(late, milliseconds(heard[nearest].Sub(t)))
	}
	return late, lost
}

func milliseconds(d time.Duration) float64 { return d.Seconds() * 1000 }

// schedule asks for n blips, each a quarter of a second ahead, at times that
// fall anywhere within a period of the device.
func (s *session) schedule(n int, spacing time.Duration) []time.Time {
	random := rand.New(rand.NewPCG(1, 2))
	var times []time.Time
	next := time.Now().Add(300 * time.Millisecond)
	for range n {
		times = append(times, next)
		time.Sleep(time.Until(next.Add(-250 * time.Millisecond)))
		s.player.Say(audio.Line{Text: "blip", Beat: next, Priority: audio.Count})
		next = next.Add(spacing + time.Duration(random.IntN(40_000))*time.Microsecond)
	}
	time.Sleep(time.Until(next.Add(200 * time.Millisecond)))
	return times
}

func (s *session) react(n int, spacing time.Duration) []time.Time {
	random := rand.New(rand.NewPCG(3, 4))
	var times []time.Time
	for range n {
		time.Sleep(spacing + time.Duration(random.IntN(40_000))*time.Microsecond)
		times = append(times, time.Now())
		s.player.Say(audio.Line{Text: "blip", Priority: audio.Warning})
	}
	return times
}
