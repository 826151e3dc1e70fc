package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"kickover/assets/voice"
	"kickover/audio/speech"
)

// The recogniser's own words lack these; the sounds are the CMU lexicon's.
var lexicon = map[string]string{
	"aeroplane": "EH R AH P L EY N", "aeroplane's": "EH R AH P L EY N Z", "carburettor": "K AA R B ER EY T ER",
	"magneto": "M AE G N IY T OW", "magnetos": "M AE G N IY T OW Z", "propeller's": "P R AH P EH L ER Z",
	"selector": "S AH L EH K T ER", "starter's": "S T AA R T ER Z", "upwind": "AH P W IH N D", "vapour": "V EY P ER",
	"whirred": "W ER D", "whirrs": "W ER Z",
}

const models = "/usr/share/pocketsphinx/model/en-us"

// noises are stretches of the made-up cold start, in seconds.
var noises = map[string][2]float64{"cranking": {9.3, 11.7}, "idle": {15.5, 17.9}, "2200 rpm": {19.2, 20.9}}

// trial is one clip, alone or in noise, and what the recogniser took it for.
type trial struct {
	entry speech.Entry
	name  string
	heard string
}

// misheard has the recogniser choose among all the lines given, for each, alone
// and snr decibels above each noise. It counts by voice and noise; an empty
// answer is wrong.
func misheard(out io.Writer, entries []speech.Entry, snr float64, places []string) (map[string]int, error) {
	dir, err := os.MkdirTemp("", "kickover-words-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	if err := writeChoices(dir, entries); err != nil {
		return nil, err
	}
	bed, err := noiseBeds()
	if err != nil {
		return nil, err
	}
	wrong := map[string]int{}
	for _, place := range places {
		var trials []trial
		for i, e := range entries {
			x, err := clipSamples(e)
			if err != nil {
				return nil, err
			}
			name := fmt.Sprintf("%05d", i)
			if err := speech.WriteWAV(filepath.Join(dir, name+".wav"), inNoise(x, bed[place], snr)); err != nil {
				return nil, err
			}
			trials = append(trials, trial{entry: e, name: name})
		}
		if err := recognise(dir, trials); err != nil {
			return nil, err
		}
		for _, t := range trials {
			where := t.entry.Voice + ", " + place
			if plain(t.heard) != plain(spokenWords(t.entry)) {
				wrong[where]++
				fmt.Fprintf(out, "  %s: %q was taken for %q\n", where, spokenWords(t.entry), t.heard)
			} else {
				wrong[where] += 0
			}
		}
	}
	return wrong, nil
}

// shippedEntries are the shipped lines of a voice that satisfy keep.
func shippedEntries(name string, keep func(speech.Entry) bool) ([]speech.Entry, error) {
	data, err := fs.ReadFile(voice.Files, "index.json")
	if err != nil {
		return nil, err
	}
	var index speech.Index
	if err := json.Unmarshal(data, &index); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(index.Clips, func(e speech.Entry) bool { return e.Voice != name || !keep(e) }), nil
}

func clipSamples(e speech.Entry) ([]float64, error) {
	f, err := voice.Files.Open(e.File)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return speech.DecodeVorbis(f)
}

func spokenWords(e speech.Entry) string { return plain(e.Text) }

// plain is a line as the grammar has it: words only.
func plain(text string) string { return strings.ReplaceAll(speech.Key(text), ".", " ") }

// writeChoices writes the grammar of all lines and the lexicon.
func writeChoices(dir string, entries []speech.Entry) error {
	var lines []string
	for _, e := range entries {
		lines = append(lines, spokenWords(e))
	}
	slices.Sort(lines)
	grammar := "#JSGF V1.0;\ngrammar lines;\npublic <line> = " + strings.Join(slices.Compact(lines), "\n | ") + ";\n"
	if err := os.WriteFile(filepath.Join(dir, "lines.gram"), []byte(grammar), 0o644); err != nil {
		return err
	}
	known, err := os.ReadFile(filepath.Join(models, "cmudict-en-us.dict"))
	if err != nil {
		return fmt.Errorf("the recogniser's model is missing (Debian packages pocketsphinx, pocketsphinx-en-us): %w", err)
	}
	for word, sounds := range lexicon {
		known = fmt.Appendf(known, "%s %s\n", word, sounds)
	}
	return os.WriteFile(filepath.Join(dir, "words.dict"), known, 0o644)
}

// noiseBeds are the engine's own sounds, at the recogniser's rate.
func noiseBeds() (map[string][]float64, error) {
	var all []float64
	err := render(24, false, func(b [][2]float64) {
		for i := 1; i < len(b); i += 3 {
			all = append(all, (b[i-1][0]+b[i][0]+b[i+1][0])/3)
		}
	})
	beds := map[string][]float64{"clean": nil}
	for name, part := range noises {
		beds[name] = all[int(part[0]*speech.ClipRate):int(part[1]*speech.ClipRate)]
	}
	return beds, err
}

// inNoise lays a clip over a bed so that its power is snr decibels above the
// bed's, as recognisers are tested, with a little bed, or silence, to either
// side.
func inNoise(x, bed []float64, snr float64) []int16 {
	const margin = speech.ClipRate * 3 / 10
	mixed := make([]float64, len(x)+2*margin)
	copy(mixed[margin:], x)
	if len(bed) > 0 {
		gain := math.Sqrt(power(x) / power(bed) / math.Pow(10, snr/10))
		for i := range mixed {
			mixed[i] += gain * bed[i%len(bed)]
		}
	}
	pcm := make([]int16, len(mixed))
	for i, v := range mixed {
		pcm[i] = int16(32767 * 0.5 * max(-1.99, min(1.99, v)))
	}
	return pcm
}

func power(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return sum / float64(len(x))
}

// recognise fills in what was heard. The default beams would prune every choice
// in noise.
func recognise(dir string, trials []trial) error {
	var list strings.Builder
	for _, t := range trials {
		fmt.Fprintln(&list, t.name)
	}
	control, result := filepath.Join(dir, "list"), filepath.Join(dir, "heard")
	if err := os.WriteFile(control, []byte(list.String()), 0o644); err != nil {
		return err
	}
	printed, err := exec.Command("pocketsphinx_batch", "-hmm", filepath.Join(models, "en-us"), "-dict", filepath.Join(dir, "words.dict"),
		"-jsgf", filepath.Join(dir, "lines.gram"), "-ctl", control, "-cepdir", dir, "-cepext", ".wav", "-adcin", "yes", "-adchdr", "44",
		"-hyp", result, "-beam", "1e-200", "-wbeam", "1e-150", "-pbeam", "1e-200", "-maxhmmpf", "-1").CombinedOutput()
	if err != nil {
		return fmt.Errorf("pocketsphinx_batch (Debian package pocketsphinx): %w: %s", err, printed[max(0, len(printed)-500):])
	}
	f, err := os.Open(result)
	if err != nil {
		return err
	}
	defer f.Close()
	i := 0
	for scan := bufio.NewScanner(f); scan.Scan() && i < len(trials); i++ {
		heard, _, _ := strings.Cut(scan.Text(), " (")
		trials[i].heard = strings.TrimSpace(heard)
		if strings.HasPrefix(trials[i].heard, "(") {
			trials[i].heard = ""
		}
	}
	if i != len(trials) {
		return fmt.Errorf("the recogniser answered %d of %d", i, len(trials))
	}
	return nil
}

// words prints how many lines of each voice are misheard: all that are shipped,
// in silence and over the idling engine, and among the call-outs, which are
// heard while it cranks and races too.
func words(out io.Writer) error {
	for _, name := range []string{"slt", "rms"} {
		for _, set := range []struct {
			name   string
			keep   func(speech.Entry) bool
			places []string
		}{
			{"call-outs", callOut, []string{"clean", "cranking", "idle", "2200 rpm"}},
			{"lines of every kind", func(speech.Entry) bool { return true }, []string{"clean", "idle"}},
		} {
			entries, err := shippedEntries(name, set.keep)
			if err != nil {
				return err
			}
			wrong, err := misheard(out, entries, 10, set.places)
			if err != nil {
				return err
			}
			fmt.Fprintf(out, "%s, %d %s, misheard: %v\n", name, len(entries), set.name, wrong)
		}
	}
	return nil
}

// callOut is a line that is heard in time: short. Number words that are only
// parts of a reading are never heard alone.
func callOut(e speech.Entry) bool {
	switch e.Text {
	case "point", "minus", "hundred", "thousand", "volts", "amperes", "degrees", "percent", "seconds", "minutes", "zero", "In":
		return false
	}
	teen := strings.HasSuffix(e.Text, "teen") || strings.HasSuffix(e.Text, "ty") || e.Text == "eleven" || e.Text == "twelve"
	return e.Length < 1600 && !teen
}
