package theme_test

import (
	"image/color"
	"testing"

	"kickover/ui/theme"
	"kickover/ui/theme/wcag"
)

// WCAG 2.2, success criterion 1.4.6: 7:1 for text, at night too.
func TestWhatMustBeReadInTimeIsLegible(t *testing.T) {
	const least = 7.0
	for _, d := range theme.All() {
		for name, on := range map[string]color.NRGBA{"ground": d.Ground, "panel": d.Panel, "raised": d.Raised, "well": d.Well} {
			if c := wcag.Contrast(d.Ink, on); c < least {
				t.Errorf("%s: ink on %s is %.1f:1, want %.0f:1", d.Name, name, c, least)
			}
		}
		for _, grey := range []color.NRGBA{d.Ink2, d.Ink3} {
			for name, on := range map[string]color.NRGBA{"ground": d.Ground, "panel": d.Panel, "raised": d.Raised, "well": d.Well} {
				if c := wcag.Contrast(grey, on); c < 4.5 { // 1.4.3
					t.Errorf("%s: a label in %v on %s is %.1f:1, want 4.5:1", d.Name, grey, name, c)
				}
			}
		}
		if c := wcag.Contrast(d.OnAlarm, d.Alarm); c < 7 {
			t.Errorf("%s: text on a breach's banner is %.1f:1", d.Name, c)
		}
	}
}

func TestNightIsNeverBrighterThanItsWarning(t *testing.T) {
	n := theme.Night
	for _, c := range []color.NRGBA{n.Ground, n.Panel, n.Raised, n.Well, n.Line, n.Ink, n.Ink2, n.Ink3, n.Now, n.OK, n.Caution, n.Red, n.OnAlarm} {
		if wcag.Luminance(c) > wcag.Luminance(n.Warn) {
			t.Errorf("%v is brighter than the warning", c)
		}
	}
}

func TestUnknownDressIsDusk(t *testing.T) {
	if got := theme.Named("neon").Name; got != "dusk" {
		t.Errorf("got %q", got)
	}
}
