package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

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

// The engine's own sounds over which lines are heard, as stretches of the
// made-up cold start, in seconds.
var noises = map[string][2]float64{"cranking": {9.3, 11}, "idle": {15.5, 17.9}, "2200 rpm": {19.2, 20.9}}

const clean = "clean"

// hearing is one voice before a recogniser: for each condition, how many lines
// were heard and which of them were taken for others.
type hearing struct {
	heard map[string]int
	wrong map[string][]string
}

// trial is one clip in one condition, and what the recogniser took it for.
type trial struct {
	entry speech.Entry
	in    string // a noise, or clean
	name  string
	heard string
}

// toldInTime is how long a line may be, in milliseconds, that is told in time and
// so over everything that the engine does.
const toldInTime = 1600

// listen has the recogniser choose, for each line of a voice in each of its
// conditions, among all lines, the noise snr decibels below it. conditions is
// called from several goroutines, with a line's number in the index.
func listen(voice string, snr float64, conditions func(number int, e speech.Entry) []string) (hearing, error) {
	h := hearing{map[string]int{}, map[string][]string{}}
	entries, err := shippedEntries(voice)
	if err != nil {
		return h, err
	}
	beds, err := noiseBeds()
	if err != nil {
		return h, err
	}
	answers := make([][]trial, runtime.NumCPU())
	var work errgroup.Group
	for i := range answers {
		work.Go(func() error {
			var trials []trial
			for k := i; k < len(entries); k += len(answers) {
				for _, in := range conditions(k, entries[k]) {
					trials = append(trials, trial{entry: entries[k], in: in})
				}
			}
			answers[i] = trials
			return choose(trials, entries, func(t trial, x []float64) []int16 { return inNoise(x, beds[t.in], snr) })
		})
	}
	if err := work.Wait(); err != nil {
		return h, err
	}
	for _, t := range slices.Concat(answers...) {
		h.heard[t.in]++
		// No answer is a wrong one.
		if t.heard != plain(t.entry.Text) {
			h.wrong[t.in] = append(h.wrong[t.in], fmt.Sprintf("%q was taken for %q", plain(t.entry.Text), t.heard))
		}
	}
	return h, nil
}

// choose has the recogniser choose, for each trial, among all lines. mix makes a
// trial's sound of its clip.
func choose(trials []trial, all []speech.Entry, mix func(trial, []float64) []int16) error {
	dir, err := os.MkdirTemp("", "kickover-words-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if err := writeChoices(dir, all); err != nil {
		return err
	}
	for i := range trials {
		t := &trials[i]
		x, err := clipSamples(t.entry)
		if err != nil {
			return err
		}
		t.name = fmt.Sprintf("%05d", i)
		if err := speech.WriteWAV(filepath.Join(dir, t.name+".wav"), mix(*t, x)); err != nil {
			return err
		}
	}
	return recognise(dir, trials)
}

// shippedEntries are the shipped lines of a voice.
func shippedEntries(name string) ([]speech.Entry, error) {
	data, err := fs.ReadFile(voice.Files, "index.json")
	if err != nil {
		return nil, err
	}
	var index speech.Index
	if err := json.Unmarshal(data, &index); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(index.Clips, func(e speech.Entry) bool { return e.Voice != name }), nil
}

func clipSamples(e speech.Entry) ([]float64, error) {
	f, err := voice.Files.Open(e.File)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return speech.DecodeVorbis(f)
}

// plain is a line as the grammar has it: words only.
func plain(text string) string { return strings.ReplaceAll(speech.Key(text), ".", " ") }

// writeChoices writes the grammar of all lines and the sounds of their words.
func writeChoices(dir string, entries []speech.Entry) error {
	var lines []string
	used := map[string]bool{}
	for _, e := range entries {
		lines = append(lines, plain(e.Text))
		for word := range strings.FieldsSeq(plain(e.Text)) {
			used[word] = true
		}
	}
	slices.Sort(lines)
	var words [][]string
	for _, l := range slices.Compact(lines) {
		words = append(words, strings.Fields(l))
	}
	slices.SortFunc(words, slices.Compare) // by words, and not by letters
	grammar := "#JSGF V1.0;\ngrammar lines;\npublic <line> = " + alternatives(words) + ";\n"
	if err := os.WriteFile(filepath.Join(dir, "lines.gram"), []byte(grammar), 0o644); err != nil {
		return err
	}
	all, err := os.ReadFile(filepath.Join(models, "cmudict-en-us.dict"))
	if err != nil {
		return fmt.Errorf("the recogniser's model is missing (Debian packages pocketsphinx, pocketsphinx-en-us): %w", err)
	}
	var known []byte
	for row := range strings.Lines(string(all)) {
		word, _, _ := strings.Cut(row, " ")
		word, _, _ = strings.Cut(word, "(") // a second way to say it
		if used[word] {
			known = append(known, row...)
		}
	}
	for word, sounds := range lexicon {
		known = fmt.Appendf(known, "%s %s\n", word, sounds)
	}
	return os.WriteFile(filepath.Join(dir, "words.dict"), known, 0o644)
}

// alternatives is the grammar of lines that begin alike, in their order: what they
// have in common is looked for once. The weights make every line as likely as any
// other.
func alternatives(lines [][]string) string {
	var out []string
	for rest := lines; len(rest) > 0; {
		first, n := rest[0][0], 0
		var after [][]string
		for ; n < len(rest) && rest[n][0] == first; n++ {
			if more := rest[n][1:]; len(more) > 0 {
				after = append(after, more)
			}
		}
		branch := fmt.Sprintf("/%d/ %s", n, first)
		switch {
		case len(after) == n:
			branch += " (" + alternatives(after) + ")"
		case len(after) > 0: // one of them ends here
			branch += " (/1/ <NULL> | " + alternatives(after) + ")"
		}
		out, rest = append(out, branch), rest[n:]
	}
	return strings.Join(out, " | ")
}

// noiseBeds are the engine's own sounds, at the recogniser's rate.
func noiseBeds() (map[string][]float64, error) {
	var all []float64
	err := render(24, false, func(b [][2]float64) {
		for i := 1; i < len(b); i += 3 {
			all = append(all, (b[i-1][0]+b[i][0]+b[i+1][0])/3)
		}
	})
	beds := map[string][]float64{clean: nil}
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

// recognise fills in what was heard. The default beams, 1e-48 and narrower, would
// prune every choice in noise.
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
		"-hyp", result, "-beam", "1e-80", "-wbeam", "1e-60", "-pbeam", "1e-80", "-maxhmmpf", "-1").CombinedOutput()
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

// words prints which lines of each voice are misheard.
func words(out io.Writer) error {
	for _, name := range []string{"slt", "rms"} {
		h, err := listen(name, 10, everywhere)
		if err != nil {
			return err
		}
		h.print(out, name)
	}
	return nil
}

func (h hearing) print(out io.Writer, name string) {
	for _, in := range slices.Sorted(maps.Keys(h.heard)) {
		fmt.Fprintf(out, "%s, %s: %d of %d misheard\n", name, in, len(h.wrong[in]), h.heard[in])
		for _, w := range h.wrong[in] {
			fmt.Fprintf(out, "  %s\n", w)
		}
	}
}

// everywhere is where a line is heard: all of them in silence and over an engine
// that idles, and the short ones, which are told in time, while it cranks and
// races too.
func everywhere(_ int, e speech.Entry) []string {
	if e.Length < toldInTime {
		return []string{clean, "idle", "cranking", "2200 rpm"}
	}
	return []string{clean, "idle"}
}
