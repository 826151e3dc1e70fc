package main

import (
	"fmt"
	"io"
	"time"

	"kickover/audio"
)

// loss takes the sound server away while lines are spoken every half second, and
// gives it back. Every line must have its caption on time; sound must return.
func loss(out io.Writer, server *server) error {
	s, err := open(audio.Options{})
	if err != nil {
		return err
	}
	begin := time.Now()
	say := func(what string) { fmt.Fprintf(out, "  %5.1f s  %s\n", time.Since(begin).Seconds(), what) }
	stop := make(chan struct{})
	defer close(stop)
	go func() {
		for {
			select {
			case n := <-s.player.Notices():
				say("notice: " + n)
			case <-stop:
				return
			}
		}
	}()
	var asked, captioned int
	var worst time.Duration
	slowest := time.Duration(0)
	beats := map[string]time.Time{}
	waiting := map[time.Time]bool{} // beats that have no caption yet
	tick := func(until time.Duration) {
		for time.Since(begin) < until {
			beat := time.Now().Add(300 * time.Millisecond)
			text := []string{"one", "two", "three", "four"}[asked%4]
			beats[text], waiting[beat] = beat, true
			called := time.Now()
			s.player.Say(audio.Line{Text: text, Beat: beat, Priority: audio.Count})
			slowest = max(slowest, time.Since(called))
			asked++
			time.Sleep(600 * time.Millisecond)
			for more := true; more; {
				select {
				case c := <-s.player.Captions():
					if !c.Cut {
						captioned++
						delete(waiting, beats[c.Text])
						worst = max(worst, c.Beat.Sub(beats[c.Text]).Abs())
					}
				default:
					more = false
				}
			}
		}
	}
	tick(4 * time.Second)
	say("server killed")
	server.kill()
	s.rec.stop()
	tick(10 * time.Second)
	say(fmt.Sprintf("status: %+v", s.player.Status()))
	if err := server.start(); err != nil {
		return err
	}
	if s.rec, err = record(); err != nil {
		return err
	}
	say("server back")
	tick(30 * time.Second)
	say(fmt.Sprintf("status: %+v", s.player.Status()))
	back := s.player.Status().Sound
	s.close()
	peak := 0.0
	for _, v := range s.rec.samples {
		peak = max(peak, v)
	}
	fmt.Fprintf(out, "%d lines asked for, %d captions, the worst beat %.1f ms off; the slowest call %.1f ms; sound again: %v, recorded peak %.2f\n",
		asked, captioned, milliseconds(worst), milliseconds(slowest), back, peak)
	for beat := range waiting {
		fmt.Fprintf(out, "  no caption for the line of %.1f s\n", beat.Sub(begin).Seconds())
	}
	if captioned != asked || !back || peak < 0.05 {
		return fmt.Errorf("a line had no caption, or sound did not return")
	}
	return nil
}
