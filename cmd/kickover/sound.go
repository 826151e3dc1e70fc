package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"sync/atomic"
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
	live   atomic.Pointer[rehearsal.Live]
}

// openSound starts the player; sentences about the sound go to notices.
func openSound(notices io.Writer) *sound {
	s := &sound{player: audio.Open(audio.Options{CacheDir: filepath.Join(xdg.CacheHome, "kickover", "speech")})}
	go func() {
		for n := range s.player.Notices() {
			fmt.Fprintln(notices, "kickover:", n)
		}
	}()
	return s
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

// attach lets beats be told from the run that is being driven.
func (s *sound) attach(l *rehearsal.Live) { s.live.Store(l) }

// soon is when a line is near enough to be reactive: the next sample possible is
// sooner than any schedule.
const soon = 150 * time.Millisecond

// Say asks the player for a line.
func (s *sound) Say(u rehearsal.Utterance) {
	line := audio.Line{Text: u.Line.Caption, Say: u.Line.Say, Priority: audio.Priority(u.Priority), Tag: u.Tag}
	if l := s.live.Load(); l != nil {
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

// hushEngine lets the engine's sound run down and drops what was to be said.
func (s *sound) hushEngine() {
	s.player.HushAll()
	s.player.SetEngine(audio.EngineState{})
}

func (s *sound) close() {
	s.hushEngine()
	s.player.Close()
}
