package classroom_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/debrief"
	"kickover/procedure/powerplant"
)

func TestJoinCode(t *testing.T) {
	c, err := classroom.ParseJoinCode("482913 abandon ability able")
	if err != nil {
		t.Fatal(err)
	}
	if got := c.String(); got != "482 913 abandon ability able" {
		t.Errorf("shown as %q", got)
	}
	for _, text := range []string{c.String(), "482-913 ABANDON, Ability able", " aban abil able 482 913\n", "482913-abandon-ability-able"} {
		if got, err := classroom.ParseJoinCode(text); err != nil || got != c {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	// From the back of a room a digit is taken for a letter, or written as one.
	zeros := classroom.JoinCode{Digits: "100911", Words: [3]string{"oil", "ability", "oil"}}
	for _, text := range []string{"1OO 911 oil ability oil", "loo-9I1 OIL ABIL OIL", "oil abil oil ioo9ll", "|00 9!1 oil ability oil", "I 0 o 9 l 1 oil ability oil"} {
		if got, err := classroom.ParseJoinCode(text); err != nil || got != zeros {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "482913", "482913 abandon ability", "48291 abandon ability able", "4829134 abandon ability able",
		"482913 abandon ability able about", "482913 aba ability able", "482913 nosuchword ability able", "4829x3 abandon ability able", strings.Repeat("1", 1000)} {
		if got, err := classroom.ParseJoinCode(text); err == nil {
			t.Errorf("%q was taken for %v", text, got)
		}
	}
}

func TestAddressAsTyped(t *testing.T) {
	for text, want := range map[string]string{
		" 192.168.1.20:4477 ": "192.168.1.20:4477", "I92.l68.1.2O:4477": "192.168.1.20:4477", "lO.0.o.7": "10.0.0.7",
		"nats-1.school.example:4222/abcdef": "nats-1.school.example:4222/abcdef", "oil": "oil", "lo.io": "lo.io", "": "",
	} {
		if got := classroom.ReadAddress(text); got != want {
			t.Errorf("%q is read as %q, want %q", text, got, want)
		}
	}
}

// What a student types of a class's id has nothing that can be taken for another.
func TestAClassIDHasNoLookalikes(t *testing.T) {
	folder := t.TempDir()
	for range 20 {
		c, b, err := classroom.NewClass(folder, "Tuesday", nil, time.Now())
		if err != nil {
			t.Fatal(err)
		}
		if err := b.Close(); err != nil {
			t.Fatal(err)
		}
		if len(c.ID) != 12 || strings.ContainsAny(c.ID, "ILO018") {
			t.Errorf("a class has the id %q", c.ID)
		}
	}
}

func FuzzJoinCode(f *testing.F) {
	f.Add("482913 abandon ability able")
	f.Add("aban-abil-able-1-2-3-4-5-6")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := classroom.ParseJoinCode(text)
		if err != nil {
			return
		}
		if again, err := classroom.ParseJoinCode(c.String()); err != nil || again != c {
			t.Errorf("%q was read as %v, and that as %v (%v)", text, c, again, err)
		}
	})
}

// The words for a certificate are the same in every version of the program: an
// old station must find a new instructor's. The value was made by this program.
func TestCheckWordsDoNotChange(t *testing.T) {
	var f classroom.Fingerprint
	f[0] = 1
	if got := strings.Join(wordsOf(f), " "); got != goldenWords {
		t.Errorf("%q", got)
	}
	f[31] = 1
	if got := strings.Join(wordsOf(f), " "); got == goldenWords {
		t.Error("another certificate has the same words")
	}
}

const goldenWords = "genius husband turtle"

func wordsOf(f classroom.Fingerprint) []string { w := classroom.CheckWords(f); return w[:] }

const ms = time.Millisecond

// RFC 5905, section 8: offset = ((T2-T1)+(T3-T4))/2, delay = (T4-T1)-(T3-T2).
func TestComparison(t *testing.T) {
	// The class is an hour ahead; 10 ms there, 2 ms in the program, 10 ms back.
	c := classroom.Comparison{Asked: 5 * time.Second, Received: time.Hour + 5010*ms, Sent: time.Hour + 5012*ms, Answered: 5022 * ms}
	if c.Offset() != time.Hour || c.Delay() != 20*ms {
		t.Errorf("offset %v, delay %v", c.Offset(), c.Delay())
	}
	// A constant difference between the ways costs half of itself.
	c = classroom.Comparison{Asked: 0, Received: 30 * ms, Sent: 30 * ms, Answered: 40 * ms}
	if c.Offset() != 10*ms || c.Delay() != 40*ms {
		t.Errorf("offset %v, delay %v", c.Offset(), c.Delay())
	}
}

// Whatever the network does, the conversion is wrong by no more than it says,
// and by no more than half the best delay.
func TestClassClockKnowsItsError(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		offset := time.Duration(rapid.Int64Range(-int64(24*time.Hour), int64(24*time.Hour)).Draw(t, "offset"))
		var k classroom.ClassClock
		local := time.Duration(0)
		for range rapid.IntRange(1, 40).Draw(t, "comparisons") {
			there := time.Duration(rapid.Int64Range(0, int64(time.Second)).Draw(t, "there"))
			back := time.Duration(rapid.Int64Range(0, int64(time.Second)).Draw(t, "back"))
			c := classroom.Comparison{Asked: local, Received: local + there + offset, Sent: local + there + offset + ms, Answered: local + there + ms + back}
			k.Add(c)
			local = c.Answered + time.Second
		}
		at, known := k.Local(local + offset)
		if !known {
			t.Fatal("nothing is known")
		}
		if off := (at - local).Abs(); off > k.Error()+1 {
			t.Errorf("out by %v, and says %v", off, k.Error())
		}
	})
}

func TestClassClockDropsWhatIsOfNoUse(t *testing.T) {
	var k classroom.ClassClock
	k.Add(classroom.Comparison{Asked: 10, Received: 5, Sent: 4, Answered: 20})             // sent before received
	k.Add(classroom.Comparison{Asked: 10, Received: 0, Sent: time.Second, Answered: 20})   // longer there than away
	k.Add(classroom.Comparison{Asked: 0, Received: 0, Sent: 0, Answered: 3 * time.Second}) // too long on the way
	if _, known := k.Local(0); known {
		t.Error("it believed nonsense")
	}
}

func TestDrill(t *testing.T) {
	d := classroom.Announce("d", cold, classroom.Together, 1)
	if _, err := d.Pause(true); err == nil {
		t.Error("what does not go was paused")
	}
	if _, err := d.GoAt(10*time.Second, 10*time.Second+999*ms); err == nil {
		t.Error("go was given less than a second ahead")
	}
	d, err := d.GoAt(10*time.Second, 11*time.Second)
	if err != nil || d.State != classroom.Going || d.Go != 11*time.Second {
		t.Fatal(d, err)
	}
	if _, err := d.GoAt(12*time.Second, 14*time.Second); err == nil {
		t.Error("go was given twice")
	}
	if d, err = d.Pause(true); err != nil || !d.Paused {
		t.Error(d, err)
	}
	if d = d.End(); d.State != classroom.Over || d.Paused {
		t.Error(d)
	}
	own := classroom.Announce("o", cold, classroom.OwnPace, 1)
	if _, err := own.GoAt(time.Second, time.Second); err != nil {
		t.Error("a drill at one's own pace had to wait:", err)
	}
}

func TestOrdersAreChecked(t *testing.T) {
	for _, o := range []classroom.Order{
		{}, {Kind: "dance"}, {Kind: classroom.OrderFault}, {Kind: classroom.OrderFault, Fault: "gremlins"}, {Kind: classroom.OrderWalk, Sector: "behind"},
		{Kind: classroom.OrderSay}, {Kind: classroom.OrderSay, Text: strings.Repeat("x", 401)}, {Kind: classroom.OrderSay, Text: "\xff"},
	} {
		if o.Check() == nil {
			t.Errorf("%+v was taken", o)
		}
	}
	for _, f := range powerplant.Faults() {
		if err := (classroom.Order{Kind: classroom.OrderFault, Fault: f.Fault}).Check(); err != nil {
			t.Error(err)
		}
	}
}

// A class calls a flow aloud: a wrong call keeps the step due, time is kept from
// one call to the next, a slip of the finger is undone.
func TestAloud(t *testing.T) {
	f := &procedure.Flow{Steps: []procedure.Step{
		{ID: "brakes", Window: procedure.Window{Min: 0, Ideal: 2 * time.Second, Max: 4 * time.Second}},
		{ID: "battery", Window: procedure.Window{Min: 0, Ideal: 2 * time.Second, Max: 4 * time.Second}},
		{ID: "prime", Kind: procedure.StepHold, Window: procedure.Window{Min: 3 * time.Second, Ideal: 4 * time.Second, Max: 5 * time.Second}},
		{ID: "look"},
	}}
	a := classroom.NewAloud(f, 100*time.Second)
	tap := func(tap classroom.Tap, at int) {
		t.Helper()
		if err := a.Tap(tap, time.Duration(100+at)*time.Second); err != nil {
			t.Fatal(err)
		}
	}
	tap(classroom.Called, 3)
	tap(classroom.Wrong, 5)
	if s, ok := a.Due(); !ok || s.ID != "battery" {
		t.Errorf("%+v is due after a wrong call", s)
	}
	tap(classroom.Called, 6)
	tap(classroom.Hesitated, 13)
	tap(classroom.Called, 14)
	a.Undo()
	tap(classroom.Hesitated, 20)
	if _, ok := a.Due(); ok {
		t.Error("something is due after the end")
	}
	if a.Tap(classroom.Called, 200*time.Second) == nil {
		t.Error("a tap after the end was taken")
	}
	type row struct {
		wrong   int
		elapsed time.Duration
		verdict procedure.Verdict
	}
	want := []row{{0, 3 * time.Second, procedure.OnTime}, {1, 3 * time.Second, procedure.OutOfOrder}, {0, 7 * time.Second, procedure.Late}, {0, 7 * time.Second, procedure.Late}}
	for i, s := range a.Steps() {
		if got := (row{s.Wrong, s.Elapsed, s.Verdict}); got != want[i] || !s.Done {
			t.Errorf("%s: %+v, want %+v", s.Step.ID, got, want[i])
		}
	}
}

// The board puts those on top who need help: danger, then somebody who is away,
// then who is stuck, then who is slow; by number between equals.
func TestBoardSortsByNeed(t *testing.T) {
	b := classroom.NewBoard()
	now := 100 * time.Second
	is := func(s classroom.StationID, number int, l classroom.Live) {
		b.Join(s, number, "")
		b.Connected(s, true, now)
		b.Position(s, l, now)
	}
	flying := classroom.Live{Run: "r", Drill: "d", Steps: 10, Step: 3}
	with := func(f func(*classroom.Live)) classroom.Live { l := flying; f(&l); return l }
	is("fine", 1, flying)
	is("slow", 2, with(func(l *classroom.Live) { l.Overdue = 2 * time.Second }))
	is("away", 3, flying)
	is("stuck", 4, with(func(l *classroom.Live) { l.Overdue = 12 * time.Second }))
	is("danger", 5, with(func(l *classroom.Live) { l.Unsafe, l.Breach = 1, procedure.BreachBrakesOff }))
	is("ended", 6, with(func(l *classroom.Live) { l.Done, l.Outcome = true, procedure.Started }))
	is("also fine", 7, flying)
	b.Connected("away", false, now)
	order := func(rows []classroom.Row) (out []string) {
		for _, r := range rows {
			out = append(out, string(r.Station))
		}
		return out
	}
	if got, want := strings.Join(order(b.Rows(now, true)), ", "), "danger, away, stuck, slow, ended, fine, also fine"; got != want {
		t.Errorf("%s; want %s", got, want)
	}
	if got, want := strings.Join(order(b.Rows(now, false)), ", "), "fine, slow, away, stuck, danger, ended, also fine"; got != want {
		t.Errorf("%s; want %s", got, want)
	}
	if got := b.Tally(now); got.Here != 6 || got.Away != 1 || got.Finished != 1 || got.Unsafe != 1 {
		t.Errorf("%+v", got)
	}
	// Silent counts as away.
	if r, _ := b.Row("fine", now+4*time.Second); r.Need != classroom.NeedAway {
		t.Errorf("a silent station is %v", r.Need)
	}
	// The next drill begins without what was done in the last.
	b.Position("danger", classroom.Live{Drill: "e", Steps: 10}, now)
	if r, _ := b.Row("danger", now); r.Need != classroom.NeedNothing || r.UnsafeAt != 0 {
		t.Errorf("%+v", r)
	}
	// A second attempt at one's own pace does not hide the first one's danger.
	is("again", 8, with(func(l *classroom.Live) { l.Unsafe = 1 }))
	b.Position("again", with(func(l *classroom.Live) { l.Run = "s" }), now)
	if r, _ := b.Row("again", now); r.Need != classroom.NeedUnsafe {
		t.Errorf("%+v", r)
	}
}

// A breach comes to the board with the position that tells of it, not later.
func TestUnsafeAtOnce(t *testing.T) {
	b := classroom.NewBoard()
	b.Join("s", 1, "")
	b.Position("s", classroom.Live{Run: "r", Drill: "d", Steps: 3}, 5*time.Second)
	b.Position("s", classroom.Live{Run: "r", Drill: "d", Steps: 3, Unsafe: 1, Breach: procedure.BreachNoPropClear}, 5050*ms)
	r, _ := b.Row("s", 5050*ms)
	if r.UnsafeAt != 5050*ms || r.Need != classroom.NeedUnsafe || r.Live.Breach != procedure.BreachNoPropClear {
		t.Errorf("%+v", r)
	}
}

func flown(run string, report debrief.Report) classroom.Flown {
	return classroom.Flown{Run: classroom.RunID(run), Report: &report}
}

func step(key string, critical int, v procedure.Verdict, seconds float64) debrief.Step {
	return debrief.Step{Key: key, Step: &procedure.Step{Title: key, Criticality: critical}, Verdict: v, Reached: true,
		Elapsed: time.Duration(math.Round(seconds * float64(time.Second)))}
}

// Quantiles of the empirical distribution: definition 1 of R. J. Hyndman and
// Y. Fan, "Sample Quantiles in Statistical Packages", The American Statistician
// 50 (1996); from memory. Of 1, 2, 3 and 4 they are 1, 2 and 3.
func TestSpread(t *testing.T) {
	var runs []classroom.Flown
	for i, seconds := range []float64{4, 2, 1, 3} {
		r := debrief.Report{Started: i != 0, Length: time.Duration(60+i) * time.Second}
		r.Steps = []debrief.Step{step("brakes", 3, procedure.OnTime, 1), step("prime", 2, procedure.OnTime, seconds)}
		switch i {
		case 0:
			r.Steps[1].Verdict = procedure.Late
			r.Unsafe, r.Breaches = true, []procedure.BreachAt{{Breach: procedure.BreachBrakesOff}}
			r.Steps[0].Verdict = procedure.Unsafe
		case 3:
			r.Steps[1].Verdict = procedure.Late
			r.Steps = append(r.Steps, step("rest", 1, procedure.Missed, 0))
		}
		runs = append(runs, flown(string(rune('a'+i)), r))
	}
	all := classroom.Spread(runs)
	if all.Runs != 4 || all.Started != 3 || all.Unsafe != 1 || all.Best != "b" || all.Worst != "a" {
		t.Errorf("%+v", all)
	}
	if len(all.Steps) != 3 {
		t.Fatalf("%d steps", len(all.Steps))
	}
	p := all.Steps[1]
	if p.Key != "prime" || p.Least != time.Second || p.Lower != time.Second || p.Median != 2*time.Second || p.Upper != 3*time.Second || p.Most != 4*time.Second {
		t.Errorf("%+v", p)
	}
	if p.Trouble() != 0.5 || p.Verdicts[procedure.Late] != 2 {
		t.Errorf("%+v", p)
	}
	// What to drill: what one did unsafely; what two had trouble with, of weight
	// 2; last what the only one who came to it missed. Common practice, no source.
	var next []string
	for _, s := range all.DrillNext {
		next = append(next, s.Key)
	}
	if got := strings.Join(next, ", "); got != "brakes, prime, rest" {
		t.Errorf("drill next: %s", got)
	}
	if empty := classroom.Spread(nil); empty.Best != "" || len(empty.Steps) != 0 {
		t.Errorf("%+v", empty)
	}
}
