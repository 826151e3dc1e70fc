package audio

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"
	"time"
)

// Part of what pactl 16.1 prints on Debian 12, with two outputs.
const printedSinks = `Sink #0
	State: SUSPENDED
	Name: alsa_output.pci-0000_00_1f.3.analog-stereo
	Description: Built-in Audio Analogue Stereo
	Driver: module-alsa-card.c
	Properties:
		device.description = "Built-in Audio Analogue Stereo"
		Name: not a sink's
	Ports:
		analog-output-speaker: Speakers (type: Speaker, priority: 10000, availability unknown)

Sink #1
	State: RUNNING
	Name: headset
	Description: Tower Headset: left ear
`

func TestSinksAreRead(t *testing.T) {
	want := []Device{
		{"alsa_output.pci-0000_00_1f.3.analog-stereo", "Built-in Audio Analogue Stereo"},
		{"headset", "Tower Headset: left ear"},
	}
	if got := parseSinks([]byte(printedSinks)); !slices.Equal(got, want) {
		t.Errorf("read %+v, want %+v", got, want)
	}
	if got := parseSinks([]byte("\tDescription: of nothing\nno sinks")); len(got) > 0 {
		t.Errorf("read %+v where there is no sink", got)
	}
}

func TestSystemDefaultIsWhatTheSystemHad(t *testing.T) {
	t.Setenv(sinkVariable, "")
	if err := chooseDevice("headset"); err != nil {
		t.Fatal(err)
	}
	if got := os.Getenv(sinkVariable); got != "headset" {
		t.Errorf("the next device opened is %q", got)
	}
	if err := chooseDevice(""); err != nil {
		t.Fatal(err)
	}
	before, had := sinkBefore()
	if got, has := os.LookupEnv(sinkVariable); got != before || has != had {
		t.Errorf("the system's default is %q, it was %q", got, before)
	}
}

func TestChoosesADevice(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(time.Second)
		p.UseDevice("headset")
		after(time.Second)
		if s := p.Status(); !s.Sound || s.Device != "headset" || s.Losses != 0 || p.Device() != "headset" {
			t.Errorf("status %+v", s)
		}
		if got := ds.latest().name; got != "headset" {
			t.Errorf("%q was opened", got)
		}
		p.UseDevice("")
		after(time.Second)
		if s := p.Status(); !s.Sound || s.Device != "" {
			t.Errorf("back on the system's default: status %+v", s)
		}
	})
}

// The headset that was chosen lies in the car today.
func TestChosenDeviceIsNotThere(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		ds.lack("headset")
		p.UseDevice("headset")
		after(3 * time.Second)
		if s := p.Status(); !s.Sound || s.Device != "" || p.Device() != "headset" {
			t.Errorf("status %+v, want the system's default in its place", s)
		}
		var told string
		for len(p.Notices()) > 0 {
			told += <-p.Notices()
		}
		if !strings.Contains(told, "the system's default plays") {
			t.Errorf("told %q", told)
		}
		ds.lack("")
		p.UseDevice("headset")
		after(time.Second)
		if s := p.Status(); s.Device != "headset" {
			t.Errorf("it was connected and chosen again: status %+v", s)
		}
	})
}

var errNotThere = errors.New("no such device")

func TestSoundChecks(t *testing.T) {
	inBubble(t, true, func(t *testing.T, p *Player, ds *devices) {
		after(time.Second)
		p.TestTone()
		p.SpeakTest()
		p.SpeakTest()
		after(4 * time.Second)
		if n := len(p.Captions()); n != 1 {
			t.Errorf("%d captions of the spoken test, asked for twice at once, want 1", n)
		}
		if c := <-p.Captions(); c.Text != TestLine || c.Tag != "sound test" {
			t.Errorf("caption %+v", c)
		}
	})
}
