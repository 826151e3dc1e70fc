package settings

import (
	"slices"

	"kickover/procedure/settings"
	"kickover/ui/control"
)

func (s *Screen) sound() section {
	now, o := s.o.Settings.Sound, s.o.Sound
	sec := section{title: "SOUND"}
	add := func(l line) { sec.lines = append(sec.lines, l) }
	onOff := 0
	if now.Muted {
		onOff = 1
	}
	add(s.choice("Sound", []string{"On", "Muted"}, onOff, func(c *settings.Settings, i int) { c.Sound.Muted = i == 1 },
		"Captions stand in for the voice, muted or not."))
	for _, f := range []struct {
		name  string
		field func(*settings.Settings) *int
	}{
		{"Volume", func(c *settings.Settings) *int { return &c.Sound.Volume }},
		{"Voice level", func(c *settings.Settings) *int { return &c.Sound.VoiceLevel }},
		{"Engine level", func(c *settings.Settings) *int { return &c.Sound.EngineLevel }},
	} {
		level := *f.field(&s.o.Settings)
		add(line{f.name, control.NewStepper(s.o.Theme, "", percents(), max(0, min(level, 100))/10, func(i int) {
			s.change(func(c *settings.Settings) { *f.field(c) = 10 * i })
		}), ""})
	}
	if len(o.Voices) > 1 {
		names, at := named(o.Voices, now.Voice)
		add(s.choice("Voice", names, at, func(c *settings.Settings, i int) { c.Sound.Voice = o.Voices[i].ID }, ""))
	}
	if o.Devices != nil {
		s.output = control.NewPicker(s.o.Theme, "", []string{"looking for outputs…"}, 0, nil)
		add(line{"Output", s.output, ""})
	}
	if o.Tone != nil {
		add(line{"Test tone", control.NewButton(s.o.Theme, "Play one second of tone", "", control.Plain, func() { o.Tone(); s.heard() }), ""})
	}
	if o.Speak != nil {
		add(line{"Spoken test", control.NewButton(s.o.Theme, "Say a line", "", control.Plain, func() { o.Speak(); s.heard() }), ""})
	}
	return sec
}

// heard says so where nothing can be heard.
func (s *Screen) heard() {
	switch {
	case s.o.Settings.Sound.Muted:
		s.Say("The sound is muted: nothing is heard until it is on.")
	case s.o.Sound.Trouble != nil:
		s.Say(s.o.Sound.Trouble())
	}
}

// outputs shows where sound can go, once that is known.
func (s *Screen) outputs(list []Named) {
	if len(list) == 0 {
		return
	}
	names, at := named(list, s.o.Settings.Sound.Device)
	if at < 0 {
		// The one that was chosen is not there now; it is kept, for when it is.
		list = append(slices.Clone(list), Named{s.o.Settings.Sound.Device, s.o.Settings.Sound.Device + ", not there now"})
		names, at = named(list, s.o.Settings.Sound.Device)
	}
	s.output.SetValues(names, at, func(i int) {
		s.change(func(c *settings.Settings) { c.Sound.Device = list[i].ID })
	})
}

// named is a list's names and where an id stands in it, -1 for nowhere; the empty
// id is the first.
func named(list []Named, id string) ([]string, int) {
	names, at := make([]string, len(list)), -1
	for i, n := range list {
		names[i] = n.Name
		if n.ID == id || id == "" && at < 0 {
			at = i
		}
	}
	return names, at
}
