package main

import (
	"fmt"
	"io"
	"syscall"
	"time"

	"kickover/audio"
)

// idle measures what silence costs while the device plays it and while it rests,
// and how late and how exact lines are that wake it.
func idle(out io.Writer, wakes int) error {
	clips, err := blips()
	if err != nil {
		return err
	}
	const rest = time.Second
	s, err := open(audio.Options{Clips: clips, RestAfter: rest}, nil)
	if err != nil {
		return err
	}
	s.hush()
	// Asked for something all the while, it stays awake, in silence.
	awake := share(10*time.Second, func() { s.player.SetEngine(audio.EngineState{}) })
	time.Sleep(5 * time.Second) // the pump's hum has died away, and the device rests
	if !s.player.Status().Resting {
		return fmt.Errorf("the device does not rest: %+v", s.player.Status())
	}
	asleep := share(10*time.Second, func() {})
	var reactive, scheduled []time.Time
	for range wakes {
		reactive = append(reactive, time.Now())
		s.player.Say(audio.Line{Text: "blip", Priority: audio.Warning})
		time.Sleep(2*rest + 200*time.Millisecond)
		beat := time.Now().Add(300 * time.Millisecond)
		scheduled = append(scheduled, beat)
		s.player.Say(audio.Line{Text: "blip", Beat: beat, Priority: audio.Count})
		time.Sleep(2*rest + 500*time.Millisecond)
	}
	losses := s.player.Status().Losses
	s.close()
	found := onsets(s.rec.samples)
	late, unheard := offsets(s.rec, found, reactive, 100*time.Millisecond, 400*time.Millisecond)
	off, lost := offsets(s.rec, found, scheduled, 0, 400*time.Millisecond)
	fmt.Fprintf(out, "silence: %.2f %% of a core while the device plays it, %.2f %% while it rests\n", awake, asleep)
	fmt.Fprintf(out, "  woken by a line that reacts, from the call to the first sample, ms: %v; %d not heard\n", spreadOf(late), unheard)
	fmt.Fprintf(out, "  woken by a line 300 ms ahead, against its time, ms: %v; %d not heard; %d losses\n", spreadOf(off), lost, losses)
	return nil
}

// share is how much of a core this process takes over a while, in percent.
func share(over time.Duration, ten func()) float64 {
	before, begun := spent(), time.Now()
	for time.Since(begun) < over {
		ten()
		time.Sleep(100 * time.Millisecond)
	}
	return 100 * (spent() - before).Seconds() / time.Since(begun).Seconds()
}

func spent() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
