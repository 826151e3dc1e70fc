package speech

import (
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
)

// PlayRate is the sample rate clips are handed out at.
const PlayRate = 48000

// Clip is speech ready to be mixed. It is shared: do not change PCM.
type Clip struct {
	PCM    []int16       // mono, PlayRate
	Centre time.Duration // from the first sample to the perceptual centre
}

// Length is how long the clip sounds.
func (c Clip) Length() time.Duration {
	return time.Duration(len(c.PCM)) * time.Second / PlayRate
}

// Entry describes one shipped or cached clip.
type Entry struct {
	Text    string  `json:"text"`          // the caption it belongs to
	Say     string  `json:"say,omitempty"` // what was spoken, where it differs
	Voice   string  `json:"voice"`
	File    string  `json:"file"`
	Licence string  `json:"licence"`
	Length  float64 `json:"length_ms"`
	Centre  float64 `json:"centre_ms"`          // from the file's start
	Vowel   float64 `json:"vowel_ms,omitempty"` // the synthesiser's own vowel onset, from the file's start
	Pinned  bool    `json:"pinned,omitempty"`   // the centre was set by hand
	LUFS    float64 `json:"lufs"`               // greatest momentary loudness
	DBTP    float64 `json:"dbtp"`               // true peak
}

// Voice is one that can be chosen.
type Voice struct {
	ID   string `json:"id"`   // as clips and settings have it
	Name string `json:"name"` // as a person is shown it
}

// Index lists the shipped voices and clips.
type Index struct {
	Version int     `json:"version"`
	Voices  []Voice `json:"voices"`
	Clips   []Entry `json:"clips"`
}

// Library finds clips by their text. Make one with Open.
type Library struct {
	files    fs.FS
	voices   []Voice
	entries  map[string]map[string]Entry // by voice and key
	renderer renderer

	mu     sync.Mutex // guards what follows
	voice  string
	loaded map[string]Clip // short ones, by voice, a slash, and key
	own    map[string]Clip // rendered on this machine, by key: whatever voice is chosen
}

// Open reads the index of the shipped clips from files. voice picks one of
// Voices; empty is the first, and so is, with an error, one that there is not.
// cacheDir is where speech rendered on this machine is kept; empty keeps none.
func Open(files fs.FS, voice, cacheDir string) (*Library, error) {
	l := &Library{files: files, entries: map[string]map[string]Entry{}, loaded: map[string]Clip{}, own: map[string]Clip{}}
	l.renderer = findRenderer(cacheDir)
	printed, err := fs.ReadFile(files, "index.json")
	if err != nil {
		return l, fmt.Errorf("the shipped voice cannot be read, so lines are shown and not spoken: %w", err)
	}
	var index Index
	if err := json.Unmarshal(printed, &index); err != nil {
		return l, fmt.Errorf("the shipped voice's index is damaged, so lines are shown and not spoken: %w", err)
	}
	for _, e := range index.Clips {
		if l.entries[e.Voice] == nil {
			l.entries[e.Voice] = map[string]Entry{}
		}
		l.entries[e.Voice][Key(e.Text)] = e
		if e.Say != "" {
			l.entries[e.Voice][Key(e.Say)] = e
		}
	}
	for _, v := range index.Voices {
		if l.entries[v.ID] != nil {
			l.voices = append(l.voices, v)
		}
	}
	err = l.SetVoice(voice)
	if err != nil && len(l.voices) > 0 {
		l.voice = l.voices[0].ID
	}
	return l, err
}

// Voices are the voices that can be chosen.
func (l *Library) Voices() []Voice { return l.voices }

// Voice is the ID of the one that was chosen.
func (l *Library) Voice() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.voice
}

// SetVoice chooses a voice for what is asked for from now on; empty is the
// first of Voices.
func (l *Library) SetVoice(voice string) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if voice == "" && len(l.voices) > 0 {
		voice = l.voices[0].ID
	}
	if !slices.ContainsFunc(l.voices, func(v Voice) bool { return v.ID == voice }) {
		var ids []string
		for _, v := range l.voices {
			ids = append(ids, v.ID)
		}
		return fmt.Errorf("there is no voice %q, so the one before stays; choose one of: %s", voice, strings.Join(ids, ", "))
	}
	l.voice = voice
	return nil
}

// Clip finds the clip of a line: one that was shipped, or one that Prepare
// rendered. It never runs a program; the first time a clip is asked for it is
// decoded, which takes a few milliseconds.
func (l *Library) Clip(text string) (Clip, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.find(Key(text))
}

func (l *Library) find(key string) (Clip, bool) {
	at := l.voice + "/" + key
	if c, ok := l.loaded[at]; ok {
		return c, true
	}
	if c, ok := l.shipped(key); ok {
		// A long one is heard once in a while, and all of them would fill memory.
		if c.Length() <= longLine {
			l.loaded[at] = c
		}
		return c, true
	}
	c, ok := l.own[key]
	return c, ok
}

func (l *Library) shipped(key string) (Clip, bool) {
	e, ok := l.entries[l.voice][key]
	if !ok {
		return Clip{}, false
	}
	f, err := l.files.Open(e.File)
	if err != nil {
		return Clip{}, false
	}
	defer f.Close()
	x, err := decode(e.File, f)
	if err != nil {
		return Clip{}, false
	}
	return playable(x, milliseconds(e.Centre)), true
}

func milliseconds(ms float64) time.Duration {
	return time.Duration(ms * float64(time.Millisecond))
}

// playable brings a stored clip to PlayRate.
func playable(x []float64, centre time.Duration) Clip {
	return Clip{quantise(oversample(x, PlayRate/ClipRate)), centre}
}

// Report says what became of the lines given to Prepare.
type Report struct {
	Missing []string // lines that will be shown and sounded as a tone, not spoken
	Reason  string   // why, in a sentence; empty when nothing is missing
}

// longLine is explanation, which nothing waits for: it is decoded when it is
// said, so that a flow loads at once and no memory is spent on what may never
// be heard.
const longLine = 2500 * time.Millisecond

// Prepare makes every text ready to be spoken: decodes it, or has it rendered
// and measured by the machine's speech program and keeps the result. It takes
// some milliseconds a line, and more where a program starts slowly; call it when
// a flow is loaded, away from anything timed.
func (l *Library) Prepare(ctx context.Context, texts []string) Report {
	var report Report
	for _, text := range texts {
		if Key(text) == "" {
			continue
		}
		if l.known(text) {
			continue
		}
		clip, err := l.renderer.clip(ctx, text)
		if err != nil {
			report.Missing = append(report.Missing, text)
			report.Reason = err.Error()
			continue
		}
		l.mu.Lock()
		l.own[Key(text)] = clip
		l.mu.Unlock()
	}
	return report
}

// known has a short line decoded and only looks for a long one.
func (l *Library) known(text string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if e, ok := l.entries[l.voice][Key(text)]; ok && milliseconds(e.Length) > longLine {
		return true
	}
	_, ok := l.find(Key(text))
	return ok
}

// Ready reports whether Clip would answer at once.
func (l *Library) Ready(text string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	_, loaded := l.loaded[l.voice+"/"+Key(text)]
	_, shipped := l.entries[l.voice][Key(text)]
	return loaded || !shipped
}

// Key is what two texts have in common when they are spoken alike: the words,
// without capitals and punctuation.
func Key(text string) string {
	var words []string
	for _, w := range strings.FieldsFunc(strings.ToLower(text), betweenWords) {
		if w = strings.Trim(w, "'."); w != "" {
			words = append(words, w)
		}
	}
	return strings.Join(words, " ")
}

// betweenWords keeps letters, digits, the apostrophe of "didn't" and the point
// of "24.6".
func betweenWords(r rune) bool {
	return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '\'' && r != '.'
}
