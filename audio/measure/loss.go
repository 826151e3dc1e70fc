package main

import (
	"fmt"
	"io"
	"time"

	"kickover/audio"
)

// loss takes the sound server away while counts are spoken, and gives it back.
// Every count must have its caption on time; sound must return.
func loss(out io.Writer, server *server) error {
	s, err := open(audio.Options{}, server)
	if err != nil {
		return err
	}
	t := &lossTrial{out: out, session: s, begin: time.Now(), beats: map[string]time.Time{}, waiting: map[time.Time]bool{}}
	over := make(chan struct{})
	go t.tellNotices(over)
	t.count(4 * time.Second)
	t.say("server killed")
	server.kill()
	s.rec.stop()
	t.count(10 * time.Second)
	t.say("status: %+v", s.player.Status())
	if err := server.start(); err != nil {
		return err
	}
	if s.rec, err = record(); err != nil {
		return err
	}
	t.say("server back")
	t.count(30 * time.Second)
	t.say("status: %+v", s.player.Status())
	back := s.player.Status().Sound
	close(over)
	s.close()
	return t.result(back && peak(s.rec.samples) > 0.05)
}

// lossTrial counts, and keeps account of what came of it.
type lossTrial struct {
	*session
	out   io.Writer
	begin time.Time

	asked, captioned, unspoken int
	worst, slowest             time.Duration
	beats                      map[string]time.Time // of the latest count of each text
	waiting                    map[time.Time]bool   // beats that have no caption yet
}

func (t *lossTrial) say(format string, values ...any) {
	fmt.Fprintf(t.out, "  %5.1f s  %s\n", time.Since(t.begin).Seconds(), fmt.Sprintf(format, values...))
}

func (t *lossTrial) tellNotices(over chan struct{}) {
	for {
		select {
		case n := <-t.player.Notices():
			t.say("notice: %s", n)
		case <-over:
			return
		}
	}
}

// count asks for a count every 0.6 s, each 0.3 s ahead of its beat.
func (t *lossTrial) count(until time.Duration) {
	for time.Since(t.begin) < until {
		beat := time.Now().Add(300 * time.Millisecond)
		text := []string{"one", "two", "three", "four"}[t.asked%4]
		t.beats[text], t.waiting[beat] = beat, true
		called := time.Now()
		t.player.Say(audio.Line{Text: text, Beat: beat, Priority: audio.Count})
		t.slowest = max(t.slowest, time.Since(called))
		t.asked++
		time.Sleep(600 * time.Millisecond)
		t.take()
	}
}

// take notes the captions that have come.
func (t *lossTrial) take() {
	for {
		select {
		case c := <-t.player.Captions():
			if c.Cut {
				continue
			}
			t.captioned++
			if !c.Spoken {
				t.unspoken++
			}
			delete(t.waiting, t.beats[c.Text])
			t.worst = max(t.worst, c.Beat.Sub(t.beats[c.Text]).Abs())
		default:
			return
		}
	}
}

func (t *lossTrial) result(back bool) error {
	fmt.Fprintf(t.out, "%d counts asked for, %d captions, %d of them of counts that the device lost; the worst beat %.1f ms off; the slowest call %.1f ms; sound again: %v\n",
		t.asked, t.captioned, t.unspoken, milliseconds(t.worst), milliseconds(t.slowest), back)
	for beat := range t.waiting {
		fmt.Fprintf(t.out, "  no caption for the count of %.1f s\n", beat.Sub(t.begin).Seconds())
	}
	if t.captioned != t.asked || !back {
		return fmt.Errorf("a count had no caption, or sound did not return")
	}
	return nil
}
