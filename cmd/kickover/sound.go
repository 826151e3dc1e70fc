package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"sync"
	"time"

	"github.com/adrg/xdg"

	"kickover/audio"
	"kickover/procedure"
	"kickover/procedure/flowfile"
	"kickover/procedure/rehearsal"
)

// sound joins a rehearsal, which speaks in offsets of the run, to the audio
// player, which speaks in moments of the machine's clock.
type sound struct {
	player *audio.Player
	stop   chan struct{}

	mu     sync.Mutex
	live   *rehearsal.Live // the run that is heard; nil between runs
	unseen *audio.Caption  // of a line begun before the run was attached
}

// newSound joins a player; captions are forwarded until it is closed.
func newSound(p *audio.Player) *sound {
	s := &sound{player: p, stop: make(chan struct{})}
	go s.forward()
	go logSound(p, s.stop)
	return s
}

// openPlayer opens the sound as it was chosen.
func openPlayer() *audio.Player {
	s := preferences.Settings().Sound
	p := audio.Open(audio.Options{CacheDir: speechCache(), Voice: s.Voice, Device: s.Device})
	p.SetLevels(levels(s))
	return p
}

// openSound starts a player; sentences about the sound go to notices.
func openSound(notices io.Writer) *sound {
	p := openPlayer()
	go func() {
		for n := range p.Notices() {
			fmt.Fprintln(notices, "kickover:", n)
		}
	}()
	return newSound(p)
}

// speechCache is where lines without a clip are kept once they are rendered.
func speechCache() string { return filepath.Join(xdg.CacheHome, "kickover", "speech") }

// forward shows each line while it is heard.
func (s *sound) forward() {
	for {
		select {
		case <-s.stop:
			return
		case c := <-s.player.Captions():
			s.mu.Lock()
			live := s.live
			if live == nil {
				s.unseen = &c
			}
			s.mu.Unlock()
			if live != nil {
				show(live, c)
			}
		}
	}
}

func show(live *rehearsal.Live, c audio.Caption) {
	live.Spoken(c.Text, procedure.Priority(c.Priority), time.Until(c.Begins), c.Ends.Sub(c.Begins))
}

// attach lets beats be told from the run that is being driven; nil is between
// runs.
func (s *sound) attach(l *rehearsal.Live) {
	s.mu.Lock()
	unseen := s.unseen
	s.live, s.unseen = l, nil
	s.mu.Unlock()
	if l != nil && unseen != nil {
		show(l, *unseen)
	}
}

func (s *sound) attached() *rehearsal.Live {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.live
}

// prepare makes the lines of a flow ready, so that none is rendered at the tick.
func (s *sound) prepare(lib *procedure.Library) {
	s.player.Prepare(context.Background(), spokenLines(lib))
}

// spokenLines are all that may be said in a run: the flows' own and the engine's.
func spokenLines(lib *procedure.Library) []string {
	lines := flowfile.Lines(lib)
	for _, l := range procedure.StandingLines() {
		lines = append(lines, l.Spoken())
	}
	return lines
}

// soon is when a line is near enough to be reactive: the next sample possible is
// sooner than any schedule.
const soon = 150 * time.Millisecond

// Say asks the player for a line.
func (s *sound) Say(u rehearsal.Utterance) {
	line := audio.Line{Text: u.Line.Caption, Say: u.Line.Say, Priority: audio.Priority(u.Priority), Tag: u.Tag}
	if l := s.attached(); l != nil {
		if left := l.Until(u.Beat); left > soon {
			line.Beat = time.Now().Add(left)
		}
	}
	s.player.Say(line)
}

// Hush drops what has not begun.
func (s *sound) Hush(tag string) {
	if tag == "" {
		s.player.HushAll()
		return
	}
	s.player.Hush(tag)
}

// SetEngine makes the aeroplane heard.
func (s *sound) SetEngine(n rehearsal.Noise) {
	s.player.SetEngine(audio.EngineState{
		RPM: n.RPM, CrankPhase: n.CrankPhase, HasPhase: true,
		Firings: uint64(max(0, n.Firings)), Counted: true, Load: n.Load,
		StarterAmps: n.StarterAmps, BusVolts: n.BusVolts, BoostPump: n.BoostPump,
		Battery: n.Battery, Solenoid: n.Solenoid, Alternator: n.Alternator,
	})
}

// amiss is what is the matter with the sound now, for the screen; empty is nothing.
func (s *sound) amiss() string {
	now := s.player.Status()
	if now.Text == "" && now.Sound && now.Device != s.player.Device() {
		return "The chosen sound device cannot be opened, so the system's default plays. Connect it, or choose another in Settings."
	}
	return now.Text
}

// hushEngine lets the engine's sound run down and drops what was to be said.
func (s *sound) hushEngine() {
	s.player.HushAll()
	s.player.SetEngine(audio.EngineState{})
}

func (s *sound) close() {
	s.hushEngine()
	close(s.stop)
	s.player.Close()
}
