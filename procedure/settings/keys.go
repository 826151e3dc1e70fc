package settings

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// key is one value of the file: where it stands, and how it is read and written.
type key struct {
	group, name string // group is empty at the top
	write       func(Settings) any
	read        func(*Settings, any) (expected string, ok bool)
}

// keys are the file's, in the order in which a new one is written.
var keys = []key{
	{"", "version", func(Settings) any { return Version }, readVersion},
	oneOf("", "who", []string{"", string(Student), string(Instructor), string(Pilot)}, func(s *Settings) *string { return (*string)(&s.Who) }),
	oneOf("units", "lever", []string{"mm", "in"}, func(s *Settings) *string { return &s.Units.Lever }),
	oneOf("units", "temperature", []string{"degC", "degF"}, func(s *Settings) *string { return &s.Units.Temperature }),
	oneOf("units", "altitude", []string{"m", "ft"}, func(s *Settings) *string { return &s.Units.Altitude }),
	oneOf("units", "pressure", []string{"kPa", "psi"}, func(s *Settings) *string { return &s.Units.Pressure }),
	oneOf("units", "fuel_flow", []string{"L/h", "gal/h"}, func(s *Settings) *string { return &s.Units.FuelFlow }),
	text("sound", "voice", func(s *Settings) *string { return &s.Sound.Voice }),
	percent("sound", "volume", func(s *Settings) *int { return &s.Sound.Volume }),
	percent("sound", "voice_level", func(s *Settings) *int { return &s.Sound.VoiceLevel }),
	percent("sound", "engine_level", func(s *Settings) *int { return &s.Sound.EngineLevel }),
	truth("sound", "muted", func(s *Settings) *bool { return &s.Sound.Muted }),
	text("sound", "device", func(s *Settings) *string { return &s.Sound.Device }),
	oneOf("window", "theme", Themes, func(s *Settings) *string { return &s.Window.Theme }),
	oneOf("window", "text", Texts, func(s *Settings) *string { return &s.Window.Text }),
	whole("window", "width", 0, 20000, func(s *Settings) *int { return &s.Window.Width }),
	whole("window", "height", 0, 20000, func(s *Settings) *int { return &s.Window.Height }),
	whole("window", "left", -20000, 20000, func(s *Settings) *int { return &s.Window.X }),
	whole("window", "top", -20000, 20000, func(s *Settings) *int { return &s.Window.Y }),
	truth("window", "placed", func(s *Settings) *bool { return &s.Window.Placed }),
	text("data", "folder", func(s *Settings) *string { return &s.Data }),
	text("data", "moved_from", func(s *Settings) *string { return &s.Moved }),
	text("data", "store", func(s *Settings) *string { return &s.Store }),
	text("class", "school", func(s *Settings) *string { return &s.School }),
}

func readVersion(_ *Settings, v any) (string, bool) {
	n, ok := integer(v)
	return "the whole number 1", ok && n >= 1
}

func oneOf(group, name string, allowed []string, field func(*Settings) *string) key {
	return key{group, name,
		func(s Settings) any { return *field(&s) },
		func(s *Settings, v any) (string, bool) {
			w, ok := v.(string)
			if ok = ok && slices.Contains(allowed, w); ok {
				*field(s) = w
			}
			return "one of " + strings.TrimPrefix(strings.Join(allowed, ", "), ", "), ok
		}}
}

func text(group, name string, field func(*Settings) *string) key {
	return key{group, name,
		func(s Settings) any { return *field(&s) },
		func(s *Settings, v any) (string, bool) {
			w, ok := v.(string)
			if ok = ok && !strings.ContainsAny(w, "\x00\r\n"); ok {
				*field(s) = w
			}
			return "one line of text", ok
		}}
}

// percent is written with its unit: "70 %".
func percent(group, name string, field func(*Settings) *int) key {
	return key{group, name,
		func(s Settings) any { return fmt.Sprintf("%d %%", *field(&s)) },
		func(s *Settings, v any) (string, bool) {
			n, ok := integer(v)
			if w, written := v.(string); written {
				digits, found := strings.CutSuffix(w, "%")
				p, err := strconv.Atoi(strings.TrimSpace(digits))
				n, ok = p, found && err == nil
			}
			if ok = ok && n >= 0 && n <= 100; ok {
				*field(s) = n
			}
			return `per cent from "0 %" to "100 %"`, ok
		}}
}

func whole(group, name string, least, most int, field func(*Settings) *int) key {
	return key{group, name,
		func(s Settings) any { return *field(&s) },
		func(s *Settings, v any) (string, bool) {
			n, ok := integer(v)
			if ok = ok && n >= least && n <= most; ok {
				*field(s) = n
			}
			return fmt.Sprintf("a whole number from %d to %d", least, most), ok
		}}
}

func truth(group, name string, field func(*Settings) *bool) key {
	return key{group, name,
		func(s Settings) any { return *field(&s) },
		func(s *Settings, v any) (string, bool) {
			b, ok := v.(bool)
			if ok {
				*field(s) = b
			}
			return "true or false", ok
		}}
}

// integer takes what the reader makes of a whole number.
func integer(v any) (int, bool) {
	switch n := v.(type) {
	case uint64:
		return int(min(n, 1<<31)), true
	case int64:
		return int(max(min(n, 1<<31), -1<<31)), true
	case int:
		return n, true
	}
	return 0, false
}
