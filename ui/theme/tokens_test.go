package theme_test

import (
	"image/color"
	"math"
	"testing"

	"kickover/ui/theme"
)

// contrast is the contrast ratio of WCAG 2.2, with its relative luminance.
func contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

func luminance(c color.NRGBA) float64 {
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
}

// WCAG 2.2, success criterion 1.4.6: 7:1 for text, at night too.
func TestWhatMustBeReadInTimeIsLegible(t *testing.T) {
	const least = 7.0
	for _, d := range theme.All() {
		for name, on := range map[string]color.NRGBA{"ground": d.Ground, "panel": d.Panel, "raised": d.Raised, "well": d.Well} {
			if c := contrast(d.Ink, on); c < least {
				t.Errorf("%s: ink on %s is %.1f:1, want %.0f:1", d.Name, name, c, least)
			}
		}
		if c := contrast(d.OnAlarm, d.Alarm); c < 7 {
			t.Errorf("%s: text on a breach's banner is %.1f:1", d.Name, c)
		}
	}
}

func TestNightIsNeverBrighterThanItsWarning(t *testing.T) {
	n := theme.Night
	for _, c := range []color.NRGBA{n.Ground, n.Panel, n.Raised, n.Well, n.Line, n.Ink, n.Ink2, n.Ink3, n.Now, n.OK, n.Caution, n.Red, n.OnAlarm} {
		if luminance(c) > luminance(n.Warn) {
			t.Errorf("%v is brighter than the warning", c)
		}
	}
}

func TestUnknownDressIsDusk(t *testing.T) {
	if got := theme.Named("neon").Name; got != "dusk" {
		t.Errorf("got %q", got)
	}
}
