package audio

import (
	"math"
	"strings"
	"testing"
	"time"

	"kickover/audio/speech"
)

// fakeClips are constant sounds, so that a test can see them in the samples:
// "name/level/milliseconds/centre".
type fakeClips map[string]speech.Clip

func (f fakeClips) Clip(text string) (speech.Clip, bool) {
	c, ok := f[text]
	return c, ok
}

func constant(level int16, length, centre time.Duration) speech.Clip {
	pcm := make([]int16, samplesIn(length))
	for i := range pcm {
		pcm[i] = level
	}
	return speech.Clip{PCM: pcm, Centre: centre}
}

func samplesIn(d time.Duration) int { return int(d.Seconds() * Rate) }

const ms = time.Millisecond

var testClips = fakeClips{
	"prompt":  constant(3000, 1500*ms, 100*ms),
	"short":   constant(5000, 300*ms, 100*ms),
	"count":   constant(8000, 400*ms, 90*ms),
	"cue":     constant(12000, 700*ms, 400*ms),
	"warning": constant(16000, 1000*ms, 100*ms),
	"silence": constant(0, 1200*ms, 40*ms),
}

// rig is a mixer whose time is the test's: the sample at 0 is heard at start.
type rig struct {
	*Mixer
	start time.Time
	out   [][2]float64
}

func newRig() *rig {
	r := &rig{NewMixer(testClips, 0), time.Now(), nil}
	r.Pull(r.start, nil)
	return r
}

// run streams in blocks of uneven size, as devices ask for them.
func (r *rig) run(d time.Duration) {
	for left := samplesIn(d); left > 0; {
		n := min(left, 441+len(r.out)%100)
		block := make([][2]float64, n)
		r.engine.told = 0 // a run says all the while what the engine does
		r.Stream(block)
		r.out = append(r.out, block...)
		left -= n
	}
}

func (r *rig) heard() (captions []Caption) {
	for {
		select {
		case c := <-r.Captions():
			captions = append(captions, c)
		default:
			return captions
		}
	}
}

func (r *rig) texts() string {
	var texts []string
	for _, c := range r.heard() {
		if !c.Cut {
			texts = append(texts, c.Text)
		}
	}
	return strings.Join(texts, ", ")
}

// level is what sounds at a moment, in the units of a clip.
func (r *rig) level(at time.Duration) int {
	return int(math.Round(r.out[samplesIn(at)][0] * 32768))
}

func TestBeatFallsOnItsSample(t *testing.T) {
	r := newRig()
	r.Say(Line{Text: "count", Beat: r.start.Add(time.Second), Priority: Count})
	r.run(2 * time.Second)
	first := -1
	for i, s := range r.out {
		if s[0] != 0 {
			first = i
			break
		}
	}
	if want := samplesIn(910 * ms); first != want {
		t.Errorf("begins at sample %d, want %d: the beat less the clip's centre", first, want)
	}
	c := r.heard()[0]
	for name, got := range map[string]time.Duration{
		"begins": c.Begins.Sub(r.start) - 910*ms, "beat": c.Beat.Sub(r.start) - time.Second, "ends": c.Ends.Sub(r.start) - 1310*ms,
	} {
		if got.Abs() > 50*time.Microsecond {
			t.Errorf("the caption's %s is off by %v", name, got)
		}
	}
}

func TestWhatIsAskedForNowBeginsWithTheNextSample(t *testing.T) {
	r := newRig()
	r.run(500 * ms)
	r.Say(Line{Text: "warning", Priority: Warning})
	r.run(100 * ms)
	if r.out[samplesIn(500*ms)][0] == 0 || r.out[samplesIn(500*ms)-1][0] != 0 {
		t.Error("the line does not begin with the first sample streamed after it was asked for")
	}
}

// Who is heard when two lines want the same time.
func TestPriorities(t *testing.T) {
	at := func(r *rig, d time.Duration) time.Time { return r.start.Add(d) }
	for _, c := range []struct {
		name string
		ask  func(r *rig)
		want string
		cuts int
	}{
		{"a warning cuts in over a count", func(r *rig) {
			r.Say(Line{Text: "count", Beat: at(r, 300*ms), Priority: Count})
			r.run(300 * ms)
			r.Say(Line{Text: "warning", Priority: Warning})
		}, "count, warning", 1},
		{"a count cuts in over a prompt that began before it was known", func(r *rig) {
			r.Say(Line{Text: "prompt"})
			r.run(200 * ms)
			r.Say(Line{Text: "count", Beat: at(r, 600*ms), Priority: Count})
		}, "prompt, count", 1},
		{"a prompt waits where a count would only cut it short", func(r *rig) {
			r.Say(Line{Text: "count", Beat: at(r, 600*ms), Priority: Count})
			r.Say(Line{Text: "prompt"})
		}, "count, prompt", 0},
		{"a prompt that fits before a count is said first", func(r *rig) {
			r.Say(Line{Text: "count", Beat: at(r, 600*ms), Priority: Count})
			r.Say(Line{Text: "short"})
		}, "short, count", 0},
		{"a count does not cut in over a count; late, it is pointless", func(r *rig) {
			r.Say(Line{Text: "count", Beat: at(r, 300*ms), Priority: Count})
			r.Say(Line{Text: "count", Beat: at(r, 500*ms), Priority: Count})
		}, "count", 0},
		{"a prompt does not interrupt a warning", func(r *rig) {
			r.Say(Line{Text: "warning", Priority: Warning})
			r.run(100 * ms)
			r.Say(Line{Text: "short"})
		}, "warning, short", 0},
		{"two prompts follow one another", func(r *rig) {
			r.Say(Line{Text: "short"})
			r.Say(Line{Text: "prompt"})
		}, "short, prompt", 0},
		{"what waited too long is dropped with its caption", func(r *rig) {
			r.Say(Line{Text: "warning", Priority: Warning})
			r.Say(Line{Text: "short", Expires: 500 * ms})
		}, "warning", 0},
		{"a count whose time has passed is dropped", func(r *rig) {
			r.run(time.Second)
			r.Say(Line{Text: "count", Beat: at(r, 900*ms), Priority: Count})
		}, "", 0},
		{"hushed by its tag", func(r *rig) {
			r.Say(Line{Text: "count", Beat: at(r, 300*ms), Priority: Count, Tag: "hold"})
			r.Say(Line{Text: "cue", Beat: at(r, 2*time.Second), Priority: Cue, Tag: "other"})
			r.Hush("hold")
		}, "cue", 0},
		{"hushed altogether, even the one being said", func(r *rig) {
			r.Say(Line{Text: "prompt"})
			r.Say(Line{Text: "cue", Beat: at(r, 2*time.Second), Priority: Cue})
			r.run(100 * ms)
			r.HushAll()
		}, "prompt", 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := newRig()
			c.ask(r)
			r.run(4 * time.Second)
			var said []string
			cuts := 0
			for _, c := range r.heard() {
				if c.Cut {
					cuts++
					continue
				}
				said = append(said, c.Text)
			}
			if got := strings.Join(said, ", "); got != c.want || cuts != c.cuts {
				t.Errorf("said %q with %d cut short, want %q with %d", got, cuts, c.want, c.cuts)
			}
		})
	}
}

// The prime's last seconds: "three" must still be heard before "mixture, back",
// whose first word begins 0.4 s ahead of its beat.
func TestCountThenCue(t *testing.T) {
	r := newRig()
	r.Say(Line{Text: "count", Beat: r.start.Add(3000 * ms), Priority: Count})
	r.Say(Line{Text: "cue", Beat: r.start.Add(3700 * ms), Priority: Cue})
	r.Say(Line{Text: "count", Beat: r.start.Add(4000 * ms), Priority: Count})
	r.run(5 * time.Second)
	if got := r.texts(); got != "count, cue" {
		t.Errorf("said %q", got)
	}
}

func TestNothingOverlaps(t *testing.T) {
	r := newRig()
	r.Say(Line{Text: "prompt"})
	r.run(500 * ms)
	r.Say(Line{Text: "warning", Priority: Warning})
	r.run(2 * time.Second)
	if got := r.level(500*ms + 9*ms); got != 16000 {
		t.Errorf("9 ms after the warning cut in the level is %d, want the warning's 16000 alone", got)
	}
	if got := r.level(500*ms + 1*ms); got <= 16000 || got > 19000 {
		t.Errorf("1 ms after the cut the level is %d: the prompt should be fading under the warning", got)
	}
}

// A tone and a line asked for together are heard one after the other.
func TestWarningLineFollowsItsTone(t *testing.T) {
	r := newRig()
	r.Tone(ToneWarning)
	r.Say(Line{Text: "warning", Priority: Warning})
	r.run(2 * time.Second)
	c := r.heard()
	if len(c) != 1 {
		t.Fatalf("%d captions", len(c))
	}
	if d := c[0].Begins.Sub(r.start); d < 350*ms || d > 356*ms {
		t.Errorf("the line begins after %v, want the tone's 350 ms", d)
	}
}

func TestLineWithoutAClipIsATone(t *testing.T) {
	r := newRig()
	r.Say(Line{Text: "never rendered"})
	r.run(2 * time.Second)
	c := r.heard()
	if len(c) != 1 || c[0].Spoken || c[0].Text != "never rendered" {
		t.Fatalf("captions %+v, want one that is not spoken", c)
	}
	if c[0].Ends.Sub(c[0].Begins) < time.Second {
		t.Error("the caption is gone before it can be read")
	}
	peak := 0.0
	for _, s := range r.out {
		peak = max(peak, math.Abs(s[0]))
	}
	if peak < 0.1 {
		t.Error("nothing is heard in the voice's place")
	}
}

func TestUnreadCaptionsNeverBlock(t *testing.T) {
	r := newRig()
	for range 200 {
		r.Say(Line{Text: "short", Priority: Warning})
		r.run(400 * ms)
	}
	captions := r.heard()
	if last := captions[len(captions)-1]; last.ID != 200 {
		t.Errorf("the newest caption kept is %d of 200: the oldest should go first", last.ID)
	}
}

// The bed is turned down 9 to 12 dB by the time a scheduled line begins, and
// is back 300 ms after it ended.
func TestDuck(t *testing.T) {
	r := newRig()
	r.SetEngine(EngineState{BoostPump: true, BusVolts: 24})
	r.run(2 * time.Second)
	r.Say(Line{Text: "silence", Beat: r.start.Add(3 * time.Second), Priority: Count})
	r.run(4 * time.Second)
	bed := rms(r.out[samplesIn(2200*ms):samplesIn(2700*ms)])
	under := rms(r.out[samplesIn(3400*ms):samplesIn(3900*ms)])
	if duck := 20 * math.Log10(under/bed); duck > -9 || duck < -12 {
		t.Errorf("ducked by %.1f dB, want 9 to 12", -duck)
	}
	ahead := rms(r.out[samplesIn(2930*ms):samplesIn(2955*ms)])
	if duck := 20 * math.Log10(ahead/bed); duck > -7 {
		t.Errorf("just before the line the bed is down by %.1f dB only", -duck)
	}
	after := rms(r.out[samplesIn(4600*ms):samplesIn(5000*ms)])
	if back := 20 * math.Log10(after/bed); math.Abs(back) > 0.5 {
		t.Errorf("long after the line the bed is off by %.1f dB", back)
	}
}

func rms(samples [][2]float64) float64 {
	sum := 0.0
	for _, s := range samples {
		sum += s[0] * s[0]
	}
	return math.Sqrt(sum / float64(len(samples)))
}

// Fifty seconds of everything at once. The long run is the measure program's.
func TestStreamAllocatesNothing(t *testing.T) {
	m := NewMixer(testClips, 0)
	now := time.Now()
	m.Pull(now, nil)
	block := make([][2]float64, 480)
	lines := []Line{
		{Text: "prompt"}, {Text: "count", Priority: Count}, {Text: "warning", Priority: Warning},
	}
	n := 0
	allocs := testing.AllocsPerRun(5000, func() {
		n++
		now = now.Add(10 * ms)
		if n%30 == 0 {
			l := lines[n/30%3]
			if l.Priority == Count {
				l.Beat = now.Add(300 * ms)
			}
			m.Say(l)
		}
		m.SetEngine(EngineState{RPM: float64(n % 2400), Firing: 1, BoostPump: n%500 < 200, StarterAmps: float64(n % 250), BusVolts: 24})
		if n%777 == 0 {
			m.Tone(ToneWarning)
		}
		m.Pull(now, block)
	})
	if allocs != 0 {
		t.Errorf("%v allocations a block", allocs)
	}
}

// The device ran dry for 150 ms, and the clock learns it only when a count was
// all but due: it is not said late, and has its caption.
func TestCountIsNotSaidLate(t *testing.T) {
	m := NewMixer(testClips, 0)
	start := time.Now()
	block := make([][2]float64, 480)
	now := start
	play := func(n int) {
		for range n {
			m.Pull(now, block)
			now = now.Add(10 * ms)
		}
	}
	play(100)
	// Asked when all is well; its sample moves by 150 ms just before it is reached.
	m.Say(Line{Text: "count", Beat: start.Add(1220 * ms), Priority: Count})
	play(5)
	now = now.Add(150 * ms)
	play(50)
	if n := len(m.captions); n != 1 {
		t.Fatalf("%d captions of one count", n)
	}
	c := <-m.captions
	if off := c.Beat.Sub(start.Add(1220 * ms)).Abs(); c.Spoken || off > ms {
		t.Errorf("spoken %v, its beat %v off", c.Spoken, off)
	}
}

// dryRig has played a second through a device that then gave nothing for so long.
func dryRig(lines []Line, dry time.Duration) (m *Mixer, start time.Time) {
	m = NewMixer(testClips, 0)
	start = time.Now()
	now := start
	block := make([][2]float64, 480)
	play := func(n int) {
		for range n {
			m.Pull(now, block)
			now = now.Add(10 * ms)
		}
	}
	play(100)
	for _, l := range lines {
		l.Beat = start.Add(l.Beat.Sub(time.Time{}))
		m.Say(l)
	}
	now = now.Add(dry)
	play(300)
	return m, start
}

func spokenBeats(m *Mixer, start time.Time) (beats []time.Duration, spoken []bool) {
	for len(m.captions) > 0 {
		if c := <-m.captions; !c.Cut {
			beats, spoken = append(beats, c.Beat.Sub(start)), append(spoken, c.Spoken)
		}
	}
	return beats, spoken
}

// The device ran dry when a count was due: it does not make the next one, which
// comes before it would be over, late as well.
func TestCountThatCameLateMakesWayForTheNext(t *testing.T) {
	at := func(d time.Duration) time.Time { return time.Time{}.Add(d) }
	m, start := dryRig([]Line{
		{Text: "count", Beat: at(1200 * ms), Priority: Count}, {Text: "count", Beat: at(1670 * ms), Priority: Count},
	}, 250*ms)
	beats, _ := spokenBeats(m, start)
	if len(beats) != 2 {
		t.Fatalf("%d counts of two have their captions", len(beats))
	}
	if off := (beats[1] - 1670*ms).Abs(); off > ms {
		t.Errorf("the second count is heard %v off its time", off)
	}
}

// The device gave nothing for longer than a count may be late: it is not spoken,
// and its caption is shown all the same.
func TestCountThatTheDeviceLostKeepsItsCaption(t *testing.T) {
	m, start := dryRig([]Line{{Text: "count", Beat: time.Time{}.Add(1200 * ms), Priority: Count}}, 700*ms)
	beats, spoken := spokenBeats(m, start)
	if len(beats) != 1 || spoken[0] {
		t.Fatalf("captions at %v, spoken %v: want one that was not spoken", beats, spoken)
	}
	if off := (beats[0] - 1200*ms).Abs(); off > ms {
		t.Errorf("its caption is for a beat %v off", off)
	}
}
