package speech_test

import (
	"context"
	"encoding/json"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"kickover/assets/voice"
	"kickover/audio/speech"
)

func shipped(t *testing.T, name string) *speech.Library {
	t.Helper()
	l, err := speech.Open(voice.Files, name, "")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func index(t *testing.T) speech.Index {
	t.Helper()
	data, err := fs.ReadFile(voice.Files, "index.json")
	if err != nil {
		t.Fatal(err)
	}
	var i speech.Index
	if err := json.Unmarshal(data, &i); err != nil {
		t.Fatal(err)
	}
	return i
}

// Every shipped clip as it is heard: decoded, within 0.5 LU of the target, under
// the ceiling, with its centre inside it, and described truly.
func TestShippedClips(t *testing.T) {
	for _, e := range index(t).Clips {
		f, err := voice.Files.Open(e.File)
		if err != nil {
			t.Errorf("%s: %v", e.Text, err)
			continue
		}
		x, err := speech.DecodeVorbis(f)
		f.Close()
		if err != nil {
			t.Errorf("%s: %v", e.File, err)
			continue
		}
		if got := speech.MaxMomentary(x, speech.ClipRate); math.Abs(got-speech.TargetLUFS) > 0.5 || math.Abs(got-e.LUFS) > 0.02 {
			t.Errorf("%s: %.2f LUFS, the index says %.2f, want %g within 0.5", e.File, got, e.LUFS, speech.TargetLUFS)
		}
		if got := speech.TruePeak(x); got > speech.CeilingDBTP || math.Abs(got-e.DBTP) > 0.02 {
			t.Errorf("%s: %.2f dBTP, the index says %.2f, want at most %g", e.File, got, e.DBTP, speech.CeilingDBTP)
		}
		if length := float64(len(x)) * 1000 / speech.ClipRate; math.Abs(length-e.Length) > 0.01 || e.Centre <= 0 || e.Centre >= length {
			t.Errorf("%s: centre at %g of %g ms, the index says %g long", e.File, e.Centre, length, e.Length)
		}
		if e.Licence == "" {
			t.Errorf("%s has no licence", e.File)
		}
	}
}

func TestVoicesSayTheSame(t *testing.T) {
	said := map[string][]string{}
	for _, e := range index(t).Clips {
		said[e.Voice] = append(said[e.Voice], e.Text)
	}
	if len(said) != 2 || !slices.Equal(said["slt"], said["rms"]) {
		t.Errorf("%d voices, with %d and %d lines", len(said), len(said["slt"]), len(said["rms"]))
	}
}

func TestNothingIsShippedUnused(t *testing.T) {
	named := map[string]bool{"index.json": true, "COPYING.flite": true}
	for _, e := range index(t).Clips {
		named[e.File] = true
	}
	err := fs.WalkDir(voice.Files, ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && !named[path] {
			t.Errorf("%s is shipped and nothing names it", path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	licence, err := fs.ReadFile(voice.Files, "COPYING.flite")
	if err != nil || !strings.Contains(string(licence), "Carnegie Mellon University") {
		t.Errorf("the voices' licence is not shipped: %v", err)
	}
}

// A count's two estimates of its centre, the envelope's and the synthesiser's
// vowel onset, agree to within what the method is good for; where they do not,
// the centre was reviewed and set by hand.
func TestCentresOfCounts(t *testing.T) {
	counts := strings.Fields("one two three four five six seven eight nine ten")
	for _, e := range index(t).Clips {
		if !slices.Contains(counts, e.Text) || e.Pinned {
			continue
		}
		if d := e.Centre - e.Vowel; math.Abs(d) > 85 {
			t.Errorf("%s %q: envelope %.0f ms, vowel %.0f ms: review it, and set it by hand in pins.txt", e.Voice, e.Text, e.Centre, e.Vowel)
		}
	}
}

func TestFindsALineHoweverItIsWritten(t *testing.T) {
	l := shipped(t, "")
	for _, text := range []string{"three", "Three", "mixture, back", "Mixture… back", "BRAKES: HELD"} {
		if c, ok := l.Clip(text); !ok || len(c.PCM) == 0 {
			t.Errorf("%q has no clip", text)
		}
	}
	if _, ok := l.Clip("a line that nobody wrote"); ok {
		t.Error("a clip was found for a line that has none")
	}
}

func TestUnknownVoice(t *testing.T) {
	_, err := speech.Open(voice.Files, "nobody", "")
	if err == nil || !strings.Contains(err.Error(), "slt, rms") {
		t.Errorf("error %v does not name the voices there are", err)
	}
}

// A missing or damaged index leaves a library that works and says what is wrong.
func TestDamagedIndex(t *testing.T) {
	for name, files := range map[string]fs.FS{
		"missing": fstest.MapFS{}, "damaged": fstest.MapFS{"index.json": {Data: []byte("{")}},
	} {
		l, err := speech.Open(files, "", "")
		if err == nil || !strings.Contains(err.Error(), "shown and not spoken") {
			t.Errorf("%s: error %v", name, err)
		}
		if _, ok := l.Clip("one"); ok {
			t.Errorf("%s: a clip was found", name)
		}
	}
}

func FuzzClip(f *testing.F) {
	for _, s := range []string{"24.6 volts", "1.", ".5", "--", "'", "٣", "1e9", "minus"} {
		f.Add(s)
	}
	l, err := speech.Open(voice.Files, "", "")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if c, ok := l.Clip(text); ok && len(c.PCM) == 0 {
			t.Errorf("%q: an empty clip", text)
		}
		if k := speech.Key(text); speech.Key(k) != k {
			t.Errorf("%q: the key of a key differs: %q", text, speech.Key(k))
		}
	})
}

// A machine with a speech program: the line is rendered once, and found in the
// cache by the next program.
func TestRendersWhatWasNotShipped(t *testing.T) {
	fake(t, "flite", `cp "$FAKE_WAV" "$6" && cat > "$FAKE_HEARD"`)
	cache := t.TempDir()
	l, err := speech.Open(voice.Files, "", cache)
	if err != nil {
		t.Fatal(err)
	}
	const line = "-o nasty; the pilot's own words"
	report := l.Prepare(context.Background(), []string{line, "three", ""})
	if len(report.Missing) > 0 {
		t.Fatalf("missing %q: %s", report.Missing, report.Reason)
	}
	heard, err := os.ReadFile(os.Getenv("FAKE_HEARD"))
	if err != nil || string(heard) != line+"\n" {
		t.Errorf("the program was given %q (%v)", heard, err)
	}
	c, ok := l.Clip(line)
	if !ok || c.Length() < 300*time.Millisecond || c.Centre <= 0 {
		t.Fatalf("clip of %v with its centre at %v, found %v", c.Length(), c.Centre, ok)
	}

	fake(t, "flite", "exit 1") // cannot speak any more: the cache must answer
	again, err := speech.Open(voice.Files, "", cache)
	if err != nil {
		t.Fatal(err)
	}
	if report := again.Prepare(context.Background(), []string{line}); len(report.Missing) > 0 {
		t.Fatalf("not found in the cache: %s", report.Reason)
	}
	if d, _ := again.Clip(line); d.Length() != c.Length() || (d.Centre-c.Centre).Abs() > 10*time.Microsecond {
		t.Errorf("from the cache: %v with its centre at %v, want %v and %v", d.Length(), d.Centre, c.Length(), c.Centre)
	}
}

func TestSaysPlainlyWhenItCannotSpeak(t *testing.T) {
	t.Run("no program", func(t *testing.T) {
		t.Setenv("PATH", t.TempDir())
		l, err := speech.Open(voice.Files, "", "")
		if err != nil {
			t.Fatal(err)
		}
		report := l.Prepare(context.Background(), []string{"my own line", "three"})
		if !slices.Equal(report.Missing, []string{"my own line"}) || !strings.Contains(report.Reason, "install flite or espeak-ng") {
			t.Errorf("%+v", report)
		}
	})
	t.Run("program fails", func(t *testing.T) {
		fake(t, "flite", "echo out of memory >&2; exit 3")
		l, err := speech.Open(voice.Files, "", t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		report := l.Prepare(context.Background(), []string{"my own line"})
		for _, part := range []string{"flite", "my own line", "out of memory"} {
			if !strings.Contains(report.Reason, part) {
				t.Errorf("%q does not say %q", report.Reason, part)
			}
		}
	})
}

// fake puts a shell script in place of a speech program.
func fake(t *testing.T, name, script string) {
	t.Helper()
	dir := t.TempDir()
	wav := filepath.Join(dir, "spoken.wav")
	pcm := make([]int16, speech.ClipRate)
	for i := 4000; i < 12000; i++ {
		pcm[i] = int16(9000 * math.Sin(2*math.Pi*700*float64(i)/speech.ClipRate))
	}
	if err := speech.WriteWAV(wav, pcm); err != nil {
		t.Fatal(err)
	}
	shell, err := exec.LookPath("sh")
	if err != nil {
		t.Fatal(err)
	}
	program := "#!" + shell + "\nPATH=" + os.Getenv("PATH") + "\n" + script + "\n"
	if err := os.WriteFile(filepath.Join(dir, name), []byte(program), 0o755); err != nil {
		t.Fatal(err)
	}
	t.Setenv("FAKE_WAV", wav)
	t.Setenv("FAKE_HEARD", filepath.Join(dir, "heard"))
	t.Setenv("PATH", dir+string(os.PathListSeparator)+os.Getenv("PATH"))
}
