package main

import (
	"time"

	"kickover/audio"
	"kickover/audio/speech"
)

// loudspeaker is a sound device without the device: it takes samples from the
// real mixer in periods of 10 ms, keeps 50 ms of them as the program's own
// devices do, plays them evenly, and knows when each leaves it. When it is not
// filled in time it runs dry, and what follows is later.
type loudspeaker struct {
	mixer *audio.Mixer
	onset chan time.Time
}

const (
	period = audio.Rate / 100
	buffer = 5 * period
	// A period is asked for when there is room for one: it is heard so much later.
	latency = 40 * time.Millisecond
)

// clicks has one clip, whose first sample is full on.
type clicks struct{}

// Clip implements audio.Clips.
func (clicks) Clip(string) (speech.Clip, bool) {
	pcm := make([]int16, speech.PlayRate/20)
	for i := range pcm {
		pcm[i] = 16000
	}
	return speech.Clip{PCM: pcm}, true
}

func newLoudspeaker() *loudspeaker {
	l := &loudspeaker{mixer: audio.NewMixer(clicks{}, latency), onset: make(chan time.Time, 1)}
	go l.play()
	return l
}

// schedule has "go" heard at a time.
func (l *loudspeaker) schedule(at time.Time) {
	l.mixer.Say(audio.Line{Text: "go", Beat: at, Priority: audio.Count})
}

// heard waits for "go" and says when its first sample was played; the zero time
// if it never was.
func (l *loudspeaker) heard() time.Time {
	select {
	case at := <-l.onset:
		return at
	case <-time.After(2 * time.Second):
		return time.Unix(0, 0)
	}
}

func (l *loudspeaker) play() {
	const level = 0.05
	begun, filled := time.Now(), 0
	block := make([][2]float64, period)
	sounding := false
	next := time.NewTicker(10 * time.Millisecond)
	defer next.Stop()
	for ; ; <-next.C {
		now := time.Now()
		played := int(now.Sub(begun).Seconds() * audio.Rate)
		if dry := played - filled; dry > 0 {
			begun = begun.Add(time.Duration(dry) * time.Second / audio.Rate)
			played = filled
		}
		for filled+period <= played+buffer {
			l.mixer.Pull(now, block)
			loud := false
			for k := range block {
				if x := max(block[k][0], -block[k][0]); x > level {
					if !sounding {
						sounding = true
						l.onset <- begun.Add(time.Duration(filled+k) * time.Second / audio.Rate)
					}
					loud = true
				}
			}
			sounding = sounding && loud
			filled += period
		}
	}
}
