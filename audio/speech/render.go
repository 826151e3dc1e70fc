package speech

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// ErrNoProgram is a machine without a speech program that is known here.
var ErrNoProgram = errors.New("this machine has no speech program, so lines without a shipped clip are shown with a tone; " +
	"everything else works; to hear them, install flite or espeak-ng and load the flow again")

// renderTimeout is far longer than any line takes: only a program that hangs
// meets it.
const renderTimeout = 20 * time.Second

// program is a way to have text spoken into a WAV file. The text goes in by
// standard input, so that no line can be taken for an option.
type program struct {
	name string
	args func(wav string) []string
	env  func(wav string) []string
}

// programs in the order in which they are preferred: those that can be told
// apart from the shipped voices least come first.
var programs = []program{
	{name: "flite", args: func(wav string) []string { return []string{"-voice", "slt", "-f", "/dev/stdin", "-o", wav} }},
	{name: "espeak-ng", args: func(wav string) []string { return []string{"-v", "en", "-s", "160", "--stdin", "-w", wav} }},
	{name: "say", args: func(wav string) []string {
		return []string{"-f", "-", "--file-format=WAVE", "--data-format=LEI16@22050", "-o", wav}
	}},
	{name: "powershell",
		args: func(string) []string {
			return []string{"-NoProfile", "-NonInteractive", "-Command", "Add-Type -AssemblyName System.Speech; " +
				"$s = New-Object System.Speech.Synthesis.SpeechSynthesizer; $s.SetOutputToWaveFile($env:KICKOVER_WAV); " +
				"$s.Speak([Console]::In.ReadToEnd()); $s.Dispose()"}
		},
		env: func(wav string) []string { return []string{"KICKOVER_WAV=" + wav} },
	},
}

// renderer speaks lines with the machine's own program and keeps what it made.
// The zero renderer has no program.
type renderer struct {
	path  string
	with  program
	cache string
}

func findRenderer(cacheDir string) renderer {
	for _, p := range programs {
		if path, err := exec.LookPath(p.name); err == nil {
			return renderer{path, p, cacheDir}
		}
	}
	return renderer{cache: cacheDir}
}

// Program names the machine's speech program; empty is none that is known here.
func Program() string { return findRenderer("").with.name }

// clip renders and finishes a line, or finds it in the cache.
func (r renderer) clip(ctx context.Context, text string) (Clip, error) {
	if c, ok := r.cached(text); ok {
		return c, nil
	}
	if r.path == "" {
		return Clip{}, ErrNoProgram
	}
	raw, err := r.speak(ctx, text)
	if err != nil {
		return Clip{}, fmt.Errorf("the speech program %s could not speak %q, so it is shown with a tone: %w", r.with.name, text, err)
	}
	done, err := Finish(raw, 0, 0, Standard)
	if err != nil {
		return Clip{}, fmt.Errorf("the speech program %s said nothing for %q, so it is shown with a tone: %w", r.with.name, text, err)
	}
	r.keep(text, done)
	return playable(widen(done.PCM), done.Centre), nil
}

// speak runs the program and reads what it wrote, at ClipRate.
func (r renderer) speak(ctx context.Context, text string) ([]float64, error) {
	ctx, cancel := context.WithTimeout(ctx, renderTimeout)
	defer cancel()
	dir, err := os.MkdirTemp("", "kickover-voice-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, "line.wav")
	cmd := exec.CommandContext(ctx, r.path, r.with.args(file)...)
	cmd.Stdin = strings.NewReader(Pronounceable(text) + "\n")
	if r.with.env != nil {
		cmd.Env = append(os.Environ(), r.with.env(file)...)
	}
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("%w: %s", err, strings.TrimSpace(complaint.String()))
	}
	return ReadWAV(file)
}

// cacheName changes with anything that changes the sound, so that an old
// rendering is never taken for a new one.
func (r renderer) cacheName(text string) string {
	const recipe = 2
	sum := sha256.Sum256(fmt.Appendf(nil, "%d\n%s\n%s", recipe, r.with.name, text))
	return filepath.Join(r.cache, hex.EncodeToString(sum[:12]))
}

func (r renderer) cached(text string) (Clip, bool) {
	if r.cache == "" {
		return Clip{}, false
	}
	name := r.cacheName(text)
	var e Entry
	printed, err := os.ReadFile(name + ".json")
	if err != nil || json.Unmarshal(printed, &e) != nil || e.Text != text {
		return Clip{}, false
	}
	x, err := ReadWAV(name + ".wav")
	if err != nil {
		return Clip{}, false
	}
	return playable(x, milliseconds(e.Centre)), true
}

// keep stores a rendering. It is only a cache: a full or read-only disk costs
// the next load some time and nothing else, so failing is not reported.
func (r renderer) keep(text string, done Finished) {
	if r.cache == "" || os.MkdirAll(r.cache, 0o755) != nil {
		return
	}
	name := r.cacheName(text)
	printed, err := json.Marshal(NewEntry(text, "", r.with.name, filepath.Base(name)+".wav", "", done))
	if err != nil || WriteWAV(name+".wav", done.PCM) != nil {
		return
	}
	// The description comes last: without it the sound is not looked at.
	_ = os.WriteFile(name+".json", printed, 0o644)
}

// NewEntry describes a finished clip.
func NewEntry(text, say, voice, file, licence string, done Finished) Entry {
	return Entry{
		Text: text, Say: say, Voice: voice, File: file, Licence: licence,
		Length: round(float64(len(done.PCM)) * 1000 / ClipRate), Centre: round(inMilliseconds(done.Centre)),
		LUFS: round(done.Loudness), DBTP: round(done.Peak),
	}
}

func inMilliseconds(d time.Duration) float64 { return d.Seconds() * 1000 }

// round keeps two decimals, which is finer than anything here is known.
func round(x float64) float64 {
	if x < 0 {
		return -round(-x)
	}
	return float64(int(x*100+0.5)) / 100
}
