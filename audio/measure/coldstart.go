package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"time"

	"github.com/faiface/beep"
	"github.com/faiface/beep/wav"

	"kickover/assets/voice"
	"kickover/audio"
	"kickover/audio/speech"
)

// act is an engine made up for listening to: it turns, coughs, catches, idles,
// races and dies at set times, its speed dipping at each compression as a real
// one's does.
type act struct {
	state audio.EngineState
	at    float64 // seconds
	phase float64
}

// The set times, in seconds.
const (
	actBattery  = 0.5
	actPump     = 1.5
	actPumpOff  = 8.0
	actCrank    = 9.0
	actCough    = 11.0 // one charge in three fires
	actCatch    = 12.2
	actRelease  = 13.0
	actIdle     = 15.0
	actThrottle = 18.0
	actCutOff   = 21.0
	actEnd      = 26.0
)

// step moves the act on by dt seconds. volts is the battery's, which decides how
// fast the starter turns.
func (a *act) step(dt, volts float64) audio.EngineState {
	s := &a.state
	a.at += dt
	t := a.at
	cranking := t >= actCrank && t < actRelease
	s.Battery, s.Alternator = t >= actBattery, t >= actIdle && t < actCutOff
	s.BoostPump = t >= actPump && t < actPumpOff
	s.Solenoid, s.BusVolts, s.StarterAmps = cranking, volts, 0
	target, pull, firing := 0.0, 0.6, 0.0
	switch {
	case cranking && t < actCatch:
		target, pull = 130*(volts/24), 0.12
		s.BusVolts, s.StarterAmps = volts*0.72, 230
		if t >= actCough {
			firing = 0.34
		}
	case t >= actCatch && t < actThrottle:
		target, pull, firing = 1000, 0.5, 1
	case t >= actThrottle && t < actCutOff:
		target, pull, firing = 2200, 0.5, 1
	case t >= actCutOff:
		target, pull = 0, 0.9
	}
	s.Load, s.Firing = 0.35+0.4*s.RPM/2400, firing
	squeeze := 1 - 0.45*math.Exp(-4*math.Min(a.phase, 1-a.phase))*math.Max(0, 1-s.RPM/500)
	s.RPM += (target*squeeze - s.RPM) * dt / pull
	if cranking && t < actCatch {
		s.RPM += (target*squeeze - s.RPM) * dt / 0.03
	}
	if target == 0 && s.RPM < 25 {
		s.RPM = math.Max(0, s.RPM-60*dt)
	}
	a.phase += s.RPM / 60 * 2 * dt
	if a.phase >= 1 {
		a.phase -= 1
		if firing == 1 || firing > 0 && int(t*1000)%3 == 0 {
			s.Firings++
			if firing < 1 {
				s.RPM += 90
			}
		}
	}
	s.CrankPhase, s.HasPhase, s.Counted = a.phase, true, true
	return *s
}

// spokenStart are the lines of the act, by seconds.
var spokenStart = []struct {
	at       float64
	text     string
	priority audio.Priority
}{
	{0.9, "Battery on", audio.Prompt}, {2.4, "Boost pump on", audio.Prompt},
	{4, "one", audio.Count}, {5, "two", audio.Count}, {6, "three", audio.Count}, {6.7, "mixture, back", audio.Cue},
	{11, "two", audio.Count}, {12.3, "It fires: mixture", audio.Cue}, {14.2, "Oil pressure", audio.Prompt},
	{19.5, "Throttle back. The engine is racing.", audio.Warning},
}

// render plays the act through a mixer, without a device, at 200 states a
// second. keep gets each block.
func render(volts float64, withVoice bool, keep func([][2]float64)) error {
	library, err := speech.Open(voice.Files, "", "")
	if err != nil {
		return err
	}
	m := audio.NewMixer(library, 0)
	start := time.Now()
	m.Pull(start, nil)
	if withVoice {
		for _, l := range spokenStart {
			m.Say(audio.Line{Text: l.text, Priority: l.priority, Beat: start.Add(time.Duration(l.at * float64(time.Second)))})
		}
	}
	var a act
	block := make([][2]float64, audio.Rate/200)
	for a.at < actEnd {
		m.SetEngine(a.step(1.0/200, volts))
		m.Stream(block)
		keep(block)
	}
	return nil
}

// coldStart writes the act to WAV files and prints how loud its parts are.
func coldStart(out io.Writer, folder string) error {
	for _, take := range []struct {
		name  string
		volts float64
		voice bool
	}{{"cold-start", 24, true}, {"engine", 24, false}, {"engine-weak-battery", 13, false}} {
		var all [][2]float64
		if err := render(take.volts, take.voice, func(b [][2]float64) { all = append(all, b...) }); err != nil {
			return err
		}
		name := fmt.Sprintf("%s/%s.wav", folder, take.name)
		if err := writeWAV(name, all); err != nil {
			return err
		}
		if take.voice {
			continue
		}
		fmt.Fprintf(out, "%s: greatest momentary loudness, LUFS:", name)
		for _, part := range []struct {
			name     string
			from, to float64
		}{{"pump", 3, 7}, {"cranking", 9.5, 11}, {"coughing", 11, 12.1}, {"idle", 15.5, 17.5}, {"2200 rpm", 19.5, 20.8}, {"run-down", 21.5, 24}} {
			x := mono(all[int(part.from*audio.Rate):int(part.to*audio.Rate)])
			fmt.Fprintf(out, " %s %.1f,", part.name, speech.MaxMomentary(x, audio.Rate))
		}
		fmt.Fprintln(out)
	}
	return nil
}

func mono(samples [][2]float64) []float64 {
	x := make([]float64, len(samples))
	for i, s := range samples {
		x[i] = s[0]
	}
	return x
}

func writeWAV(name string, samples [][2]float64) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	defer f.Close()
	at := 0
	stream := beep.StreamerFunc(func(out [][2]float64) (int, bool) {
		n := copy(out, samples[at:])
		at += n
		return n, n > 0
	})
	return wav.Encode(f, stream, beep.Format{SampleRate: audio.Rate, NumChannels: 1, Precision: 2})
}
