package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"kickover/audio"
	"kickover/audio/speech"
)

// recordedStart has the program itself fly a cold start twice, demonstrated and
// then by the same acts without a word, records what is heard, and writes both to
// the folder as WAV files and as pictures of their waveforms and spectra. It
// prints when what happened was heard, and how loud the engine is and how loud
// speech over it.
func recordedStart(out io.Writer, program, folder string) error {
	dir, err := os.MkdirTemp("", "kickover-measure-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	spoken, err := fly(program, dir)
	if err != nil {
		return err
	}
	acts, err := exec.Command(program, "records", "hands", spoken.id, "--store", spoken.store).Output()
	if err != nil {
		return fmt.Errorf("the acts of the run cannot be read back: %w", err)
	}
	hands := filepath.Join(dir, "hands.jsonl")
	if err := os.WriteFile(hands, acts, 0o644); err != nil {
		return err
	}
	silent, err := fly(program, dir, "--phase", "evaluate", "--hands", hands)
	if err != nil {
		return err
	}
	for name, f := range map[string]*flight{"start-spoken": spoken, "start-silent": silent} {
		if err := f.keep(filepath.Join(folder, name+".wav")); err != nil {
			return err
		}
	}
	// When a run began is told by what is heard of it: the battery's contactor where
	// nobody speaks, and the starter's clunk, looked for by its sound, in the other.
	first, ok := strike(silent.rec.samples, 0, len(silent.rec.samples))
	if !ok {
		return fmt.Errorf("nothing was heard of the start")
	}
	silent.zero = first - int(silent.when["battery on"].Seconds()*audio.Rate)
	clunk := silent.sampleAt(silent.when["starter engaged"])
	clunkThere := find(spoken.rec.samples, silent.rec.samples[clunk:min(clunk+audio.Rate/10, len(silent.rec.samples))])
	spoken.zero = clunkThere - int(spoken.when["starter engaged"].Seconds()*audio.Rate)
	silent.tellStrikes(out)
	for _, part := range []struct{ name, from, to string }{
		{"pump", "boost pump on", "starter engaged"}, {"cranking", "starter engaged", "it fires"}, {"running", "it runs", "end"},
	} {
		fmt.Fprintf(out, "  %s: greatest momentary loudness %.1f LUFS, %.1f LUFS with speech\n",
			part.name, silent.loudness(part.from, part.to), spoken.loudness(part.from, part.to))
	}
	return nil
}

// flight is a run of the program that was recorded.
type flight struct {
	rec   *recording
	store string
	id    string
	zero  int                      // the sample at which it began
	when  map[string]time.Duration // what happened, since it began
}

// audible is what happens of itself in a run and is heard at once, by what the
// record of the run says of it.
var audible = map[string]string{
	"move battery 1": "battery on", "move boost_pump 1": "boost pump on", "move ignition 4": "starter engaged",
	"signal fires 0": "it fires", "signal runs 0": "it runs", "move ignition 3": "starter released",
}

func fly(program, dir string, how ...string) (*flight, error) {
	rec, err := record()
	if err != nil {
		return nil, err
	}
	f := &flight{rec: rec, store: filepath.Join(dir, fmt.Sprintf("%d.db", len(how))), when: map[string]time.Duration{}}
	flown, err := exec.Command(program, append([]string{"rehearse", "--seed", "1", "--store", f.store}, how...)...).CombinedOutput()
	time.Sleep(500 * time.Millisecond)
	rec.stop()
	if err != nil {
		return nil, fmt.Errorf("the program did not fly the start: %w: %s", err, flown)
	}
	exported, err := exec.Command(program, "records", "export", "--store", f.store).Output()
	if err != nil {
		return nil, fmt.Errorf("the run cannot be read back: %w", err)
	}
	return f, f.read(exported)
}

// read takes from a run's export its id and when what is audible happened.
func (f *flight) read(exported []byte) error {
	for scan := bufio.NewScanner(bytes.NewReader(exported)); scan.Scan(); {
		var row struct {
			ID      string
			AtNS    int64 `json:"at_ns"`
			Kind    string
			Subject string
			Value   json.RawMessage
		}
		if err := json.Unmarshal(scan.Bytes(), &row); err != nil {
			return fmt.Errorf("the run cannot be read back: %w", err)
		}
		if row.ID != "" {
			f.id = row.ID
			continue
		}
		name := audible[fmt.Sprintf("%s %s %s", row.Kind, row.Subject, row.Value)]
		if _, before := f.when[name]; name != "" && !before {
			f.when[name] = time.Duration(row.AtNS)
		}
		f.when["end"] = time.Duration(row.AtNS)
	}
	return nil
}

// keep writes the recording and pictures of it.
func (f *flight) keep(file string) error {
	both := make([][2]float64, len(f.rec.samples))
	for i, v := range f.rec.samples {
		both[i] = [2]float64{v, v}
	}
	if err := writeWAV(file, both); err != nil {
		return err
	}
	name := strings.TrimSuffix(file, ".wav")
	for _, c := range []*exec.Cmd{
		exec.Command("ffmpeg", "-loglevel", "error", "-y", "-i", file, "-lavfi", "showwavespic=s=1600x400:scale=sqrt", "-frames:v", "1", name+"-waveform.png"),
		exec.Command("sox", file, "-n", "rate", "10k", "spectrogram", "-x", "1600", "-y", "513", "-z", "80", "-o", name+"-spectrogram.png"),
	} {
		if printed, err := c.CombinedOutput(); err != nil {
			return fmt.Errorf("%s cannot draw the sound (it is a Debian package): %w: %s", filepath.Base(c.Path), err, printed)
		}
	}
	return nil
}

func (f *flight) sampleAt(at time.Duration) int { return f.zero + int(at.Seconds()*audio.Rate) }

// tellStrikes prints how much later than the battery's contactor each thing was
// heard, against how much later it happened.
func (f *flight) tellStrikes(out io.Writer) {
	const near = audio.Rate * 50 / 1000
	for _, name := range []string{"boost pump on", "starter engaged", "starter released"} {
		happened := f.sampleAt(f.when[name])
		if heard, ok := strike(f.rec.samples, happened-near, happened+near); ok {
			fmt.Fprintf(out, "  %s at %.2f s, heard %+.0f ms from that, by the battery's contactor at %.2f s\n",
				name, f.when[name].Seconds(), 1000*float64(heard-happened)/audio.Rate, f.when["battery on"].Seconds())
		} else {
			fmt.Fprintf(out, "  %s at %.2f s, not told from what sounds before it\n", name, f.when[name].Seconds())
		}
	}
}

// strike finds, between two samples, where it is suddenly louder than in the
// 30 ms before.
func strike(x []float64, from, to int) (at int, ok bool) {
	const before, block = audio.Rate * 30 / 1000, audio.Rate / 1000
	for at := max(from, before); at+block <= min(to, len(x)); at += block {
		if peak(x[at:at+block]) > 1.4*peak(x[at-before:at])+0.002 {
			return at, true
		}
	}
	return 0, false
}

// find is where in x it first sounds about as much like y as it ever does: the
// solenoid's clunk comes again as it lets go.
func find(x, y []float64) int {
	const by = audio.Rate / speech.ClipRate
	x, y = narrow(x), narrow(y)
	alike := make([]float64, max(1, len(x)-len(y)))
	for i := range len(x) - len(y) {
		dot, energy := 0.0, 1e-9
		for k, v := range y {
			dot += v * x[i+k]
			energy += x[i+k] * x[i+k]
		}
		alike[i] = dot / math.Sqrt(energy)
	}
	enough := 0.95 * slices.Max(alike)
	return by * slices.IndexFunc(alike, func(v float64) bool { return v >= enough })
}

func peak(x []float64) float64 {
	most := 0.0
	for _, v := range x {
		most = max(most, math.Abs(v))
	}
	return most
}

// loudness is the greatest momentary loudness from 300 ms after one thing
// to another, and of half a second where that is less.
func (f *flight) loudness(from, to string) float64 {
	begin := f.when[from] + 300*time.Millisecond
	end := max(f.when[to], begin+500*time.Millisecond)
	lo, hi := f.sampleAt(begin), f.sampleAt(end)
	return speech.MaxMomentary(f.rec.samples[max(0, lo):min(hi, len(f.rec.samples))], audio.Rate)
}
