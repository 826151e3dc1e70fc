// Command makevoice renders the shipped clips. Developers run it by make voice
// after a change of the lines; it needs flite, whose voices slt and rms are the
// ones that are shipped, and ffmpeg to store them.
//
// It reads lines.txt and pins.txt in the folder given by -out and further lines
// from the files named as arguments (- is standard input), writes the clips and
// index.json there, removes clips that nothing names any more, and prints how
// far the two estimates of every perceptual centre lie apart. The same input
// gives the same bytes.
package main

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"kickover/audio/speech"
)

// As flite's documentation describes them: a woman's and a man's, both American.
var voices = []speech.Voice{{ID: "slt", Name: "A woman's voice"}, {ID: "rms", Name: "A man's voice"}}

const licence = "CMU Flite (permissive, notice in COPYING.flite)"

func main() {
	out := flag.String("out", "assets/voice", "folder of lines.txt, pins.txt and the clips")
	flag.Parse()
	if err := run(*out, flag.Args()); err != nil {
		fmt.Fprintln(os.Stderr, "makevoice:", err)
		os.Exit(1)
	}
}

func run(out string, extra []string) error {
	lines, err := readLines(filepath.Join(out, "lines.txt"), extra)
	if err != nil {
		return err
	}
	pins, err := readPins(filepath.Join(out, "pins.txt"))
	if err != nil {
		return err
	}
	index := speech.Index{Version: 1, Voices: voices}
	for _, voice := range voices {
		entries, err := makeVoice(out, voice.ID, lines, pins)
		if err != nil {
			return err
		}
		index.Clips = append(index.Clips, entries...)
	}
	if err := removeOrphans(out, index); err != nil {
		return err
	}
	printed, err := json.MarshalIndent(index, "", " ")
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(out, "index.json"), append(printed, '\n'), 0o644); err != nil {
		return err
	}
	report(os.Stdout, index)
	return nil
}

// line is one text to render.
type line struct {
	caption string
	say     string            // as given to the synthesiser
	beat    string            // the word whose beat is wanted; empty is the first
	stretch string            // how long it takes, against the voice's own pace; empty is 1
	voices  map[string]string // the same for one voice, by its ID
}

func readLines(file string, extra []string) ([]line, error) {
	var lines []line
	seen := map[string]bool{}
	for _, name := range append([]string{file}, extra...) {
		f := os.Stdin
		if name != "-" {
			opened, err := os.Open(name)
			if err != nil {
				return nil, err
			}
			defer opened.Close()
			f = opened
		}
		scan := bufio.NewScanner(f)
		for scan.Scan() {
			l, ok := parseLine(scan.Text())
			if key := speech.Key(l.caption); ok && !seen[key] {
				seen[key] = true
				lines = append(lines, l)
			}
		}
		if err := scan.Err(); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	return lines, nil
}

func parseLine(text string) (line, bool) {
	text = strings.TrimSpace(text)
	if text == "" || text[0] == '#' {
		return line{}, false
	}
	caption, say, ok := strings.Cut(text, " => ")
	if !ok {
		say = caption
	}
	var l line
	if text, paces, ok := strings.Cut(say, " @"); ok {
		say, l.voices = text, map[string]string{}
		caption, _, _ = strings.Cut(caption, " @")
		for _, pace := range strings.Fields(paces) {
			if voice, stretch, ok := strings.Cut(pace, "="); ok {
				l.voices[voice] = stretch
			} else {
				l.stretch = pace
			}
		}
	}
	if _, after, marked := strings.Cut(say, "*"); marked {
		l.beat = strings.Trim(strings.Fields(after)[0], ".,:;!?")
		say = strings.Replace(say, "*", "", 1)
	}
	l.caption, l.say = strings.ReplaceAll(caption, "*", ""), strings.TrimSpace(say)
	return l, speech.Key(l.caption) != ""
}

// readPins reads centres set by hand, by voice and caption.
func readPins(file string) (map[string]float64, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	pins := map[string]float64{}
	for n, row := range strings.Split(string(text), "\n") {
		if row = strings.TrimSpace(row); row == "" || row[0] == '#' {
			continue
		}
		var ms float64
		fields := strings.Split(row, "|")
		if len(fields) != 4 {
			return nil, fmt.Errorf("%s:%d: want voice | caption | milliseconds | why", file, n+1)
		}
		if _, err := fmt.Sscan(fields[2], &ms); err != nil {
			return nil, fmt.Errorf("%s:%d: %q is no number of milliseconds", file, n+1, strings.TrimSpace(fields[2]))
		}
		pins[strings.TrimSpace(fields[0])+"/"+speech.Key(fields[1])] = ms
	}
	return pins, nil
}

func makeVoice(out, voice string, lines []line, pins map[string]float64) ([]speech.Entry, error) {
	if err := os.MkdirAll(filepath.Join(out, voice), 0o755); err != nil {
		return nil, err
	}
	entries, failures := make([]speech.Entry, len(lines)), make([]error, len(lines))
	var work sync.WaitGroup
	free := make(chan struct{}, runtime.NumCPU())
	for i, name := range fileNames(lines) {
		free <- struct{}{}
		work.Go(func() {
			defer func() { <-free }()
			entries[i], failures[i] = makeClip(out, voice, name, lines[i])
		})
	}
	work.Wait()
	for i, l := range lines {
		if failures[i] != nil {
			return nil, fmt.Errorf("%s %q: %w", voice, l.caption, failures[i])
		}
		if ms, ok := pins[voice+"/"+speech.Key(l.caption)]; ok {
			entries[i].Centre, entries[i].Pinned = ms, true
		}
	}
	return entries, nil
}

// fileNames gives each line a name of its own.
func fileNames(lines []line) []string {
	names := make([]string, len(lines))
	taken := map[string]bool{}
	for i, l := range lines {
		name := fileName(l.caption)
		for n := 2; taken[name]; n++ {
			name = fmt.Sprintf("%s-%d", fileName(l.caption), n)
		}
		taken[name] = true
		names[i] = name
	}
	return names
}

// fileName is short, so that a long explanation does not meet a file system's
// limit, and has only letters, figures and hyphens.
func fileName(caption string) string {
	name := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, speech.Key(caption))
	return strings.Trim(name[:min(len(name), 48)], "-")
}

func makeClip(out, voice, name string, l line) (speech.Entry, error) {
	stretch := cmp.Or(l.voices[voice], l.stretch, "1")
	raw, phones, err := flite(voice, speech.Pronounceable(l.say), stretch)
	if err != nil {
		return speech.Entry{}, err
	}
	beat := phones
	var from, to time.Duration
	if l.beat != "" {
		_, word, err := flite(voice, l.beat, stretch)
		if err != nil {
			return speech.Entry{}, err
		}
		if beat = speech.LastRun(phones, word); beat == nil {
			return speech.Entry{}, fmt.Errorf("cannot find the word %q in what was spoken", l.beat)
		}
		from, to = beat[0].Start, beat[len(beat)-1].End
	}
	done, encoded, err := store(raw, from, to)
	if err != nil {
		return speech.Entry{}, err
	}
	file := voice + "/" + name + ".ogg"
	say := ""
	if l.say != l.caption {
		say = l.say
	}
	e := speech.NewEntry(l.caption, say, voice, file, licence, done)
	if vowel, ok := speech.FirstVowel(beat); ok {
		e.Vowel = math.Round((vowel.Start-done.Trimmed).Seconds()*1e5) / 100
	}
	return e, os.WriteFile(filepath.Join(out, file), encoded, 0o644)
}

// store finishes and encodes a clip so that it keeps to the loudness and the
// ceiling after decoding: an encoder that loses something moves peaks a little.
func store(raw []float64, from, to time.Duration) (speech.Finished, []byte, error) {
	aim := speech.Standard
	var done speech.Finished
	for range 12 {
		var err error
		if done, err = speech.Finish(raw, from, to, aim); err != nil {
			return done, nil, err
		}
		encoded, err := encode(done.PCM, quality(done.PCM))
		if err != nil {
			return done, nil, err
		}
		heard, err := speech.DecodeVorbis(bytes.NewReader(encoded))
		if err != nil {
			return done, nil, err
		}
		if len(heard) != len(done.PCM) {
			return done, nil, fmt.Errorf("%d samples went into the encoder and %d came out", len(done.PCM), len(heard))
		}
		done.Loudness, done.Peak = speech.MaxMomentary(heard, speech.ClipRate), speech.TruePeak(heard)
		louder, over := done.Loudness-speech.TargetLUFS, done.Peak-speech.CeilingDBTP
		if over <= 0 && math.Abs(louder) <= 0.4 {
			// A codec that loses something can move the foot of a rise.
			at, ok := speech.CentreOfClip(heard, max(0, from-done.Trimmed), max(0, to-done.Trimmed))
			if !ok {
				return done, nil, speech.ErrSilent
			}
			done.Centre = at
			return done, encoded, nil
		}
		aim.LUFS -= louder
		aim.DBTP -= max(0, over+0.05)
	}
	return done, nil, fmt.Errorf("cannot be brought to %.0f LUFS under %.0f dBTP: at last %.2f and %.2f",
		speech.TargetLUFS, speech.CeilingDBTP, done.Loudness, done.Peak)
}

// quality spends most on what is heard in time and over the engine; explanations
// are nine tenths of the speech, and are heard in quiet.
func quality(pcm []int16) string {
	if len(pcm) > speech.ClipRate*5/2 {
		return "2"
	}
	return "8"
}

// encode has ffmpeg write Ogg Vorbis without anything that differs from one
// time to the next.
func encode(pcm []int16, quality string) ([]byte, error) {
	dir, err := os.MkdirTemp("", "makevoice-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	in, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, "out.ogg")
	if err := speech.WriteWAV(in, pcm); err != nil {
		return nil, err
	}
	printed, err := exec.Command("ffmpeg", "-loglevel", "error", "-i", in, "-map_metadata", "-1", "-c:a", "libvorbis", "-q:a", quality,
		"-fflags", "+bitexact", "-flags:a", "+bitexact", out).CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("ffmpeg (Debian package ffmpeg): %w: %s", err, printed)
	}
	return os.ReadFile(out)
}

// flite renders a text and says when each of its sounds falls.
func flite(voice, text, stretch string) ([]float64, []speech.Phone, error) {
	f, err := os.CreateTemp("", "makevoice-*.wav")
	if err != nil {
		return nil, nil, err
	}
	f.Close()
	defer os.Remove(f.Name())
	printed, err := exec.Command("flite", "-voice", voice, "--setf", "duration_stretch="+stretch, "-psdur", "-t", text, "-o", f.Name()).Output()
	if err != nil {
		return nil, nil, fmt.Errorf("flite (Debian package flite): %w", err)
	}
	raw, err := speech.ReadWAV(f.Name())
	return raw, speech.ParsePhones(string(printed)), err
}

func removeOrphans(out string, index speech.Index) error {
	named := map[string]bool{}
	for _, e := range index.Clips {
		named[filepath.Join(out, filepath.FromSlash(e.File))] = true
	}
	for _, voice := range voices {
		files, err := filepath.Glob(filepath.Join(out, voice.ID, "*.*"))
		if err != nil {
			return err
		}
		for _, file := range files {
			if !named[file] {
				if err := os.Remove(file); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// report prints what the two estimates of the centre say, widest apart first
// among the short lines, where it matters: those are the ones to review.
func report(w io.Writer, index speech.Index) {
	for _, voice := range voices {
		var n int
		var sum, squares, length float64
		var rows []speech.Entry
		for _, e := range index.Clips {
			if e.Voice != voice.ID {
				continue
			}
			length += e.Length / 1000
			if d := e.Centre - e.Vowel; e.Length < 1500 && e.Vowel > 0 {
				n, sum, squares = n+1, sum+d, squares+d*d
				rows = append(rows, e)
			}
		}
		mean := sum / float64(n)
		fmt.Fprintf(w, "%s: %.0f s in all; envelope minus vowel onset over %d short lines: %.0f ± %.0f ms; furthest apart:\n",
			voice.ID, length, n, mean, math.Sqrt(squares/float64(n)-mean*mean))
		slices.SortStableFunc(rows, func(a, b speech.Entry) int {
			return int(math.Abs(b.Centre-b.Vowel-mean)*100) - int(math.Abs(a.Centre-a.Vowel-mean)*100)
		})
		for _, e := range rows[:min(12, len(rows))] {
			pinned := ""
			if e.Pinned {
				pinned = " (set by hand)"
			}
			fmt.Fprintf(w, "  %-40s envelope %4.0f  vowel %4.0f%s\n", e.Text, e.Centre, e.Vowel, pinned)
		}
	}
}
