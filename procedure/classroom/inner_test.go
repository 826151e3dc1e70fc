package classroom

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"pgregory.net/rapid"

	"kickover/procedure"
	"kickover/procedure/record/postgrestest"
	"kickover/procedure/rehearsal"
)

func TestDoor(t *testing.T) {
	d := newDoor(0)
	right := d.digits
	wrong := "000000"
	if wrong == right {
		wrong = "111111"
	}
	if err := d.knock(0, "a", right); err != nil {
		t.Error(err)
	}
	for range wrongPerAddress {
		if err := d.knock(time.Second, "b", wrong); err != ErrWrongCode {
			t.Error(err)
		}
	}
	if err := d.knock(2*time.Second, "b", right); err != ErrTooMany {
		t.Error("an address that guesses is let in at last:", err)
	}
	if err := d.knock(2*time.Second, "c", right); err != nil {
		t.Error("another address suffers for it:", err)
	}
	if err := d.knock(2*time.Second+addressWait, "b", right); err != nil {
		t.Error("it has waited, and is not let in:", err)
	}
	d.shut = true
	if err := d.knock(2*time.Second, "d", right); err != ErrShut {
		t.Error(err)
	}
	d.shut = false
	if err := d.knock(codeLife, "d", right); err != ErrOldCode {
		t.Error("the code outlived its time:", err)
	}
	for n := range 2 * wrongPerAddress {
		if err := d.knock(codeLife, "d", right); err != ErrOldCode {
			t.Fatalf("an old code counts as a guess: the %d. time it is told %v", n+2, err)
		}
	}
	if err := d.knock(2*codeLife, "d", right); err != ErrOldCode {
		t.Error("two codes later it is not known for an old one:", err)
	}
	if err := d.knock(2*codeLife, "d", ""); err != ErrWrongCode {
		t.Error("no code is taken for an old one:", err)
	}
	for n := range 3 * codesKept {
		d.renew(time.Duration(n))
	}
	if len(d.old) != codesKept {
		t.Errorf("%d old codes are kept", len(d.old))
	}
}

// What the projector shows of the code: how long it is good, and which one is not
// any more.
func TestTheCodeOfTheMoment(t *testing.T) {
	d := newDoor(0)
	i := &Instructor{door: d, o: InstructorOptions{Clock: still(0), Changed: func() {}}}
	if s := i.Door(); s.Code.Digits != d.digits || s.Left != codeLife || s.Old != "" {
		t.Errorf("at first: %+v", s)
	}
	first := d.digits
	i.o.Clock = still(codeLife - time.Second)
	if s := i.Door(); s.Code.Digits != first || s.Left != time.Second {
		t.Errorf("in its last second: %+v", s)
	}
	i.o.Clock = still(codeLife + time.Second)
	i.Door()
	i.o.Clock = still(codeLife + 3*time.Second)
	if s := i.Door(); s.Code.Digits == first || s.Old != first || s.OldFor != 2*time.Second {
		t.Errorf("after its time: %+v", s)
	}
	second := i.JoinCode().Digits
	i.NewCode()
	if s := i.Door(); s.Code.Digits == second || s.Old != second || s.OldFor != 0 || s.Left != codeLife {
		t.Errorf("a new one: %+v", s)
	}
}

// still is a clock that stands.
type still time.Duration

func (s still) Now() time.Duration                                { return time.Duration(s) }
func (still) Tick(context.Context, time.Duration) <-chan struct{} { return nil }

// Many addresses that guess together change the code before they find it, and
// do not fill the memory.
func TestDoorAgainstManyAddresses(t *testing.T) {
	d := newDoor(0)
	first := d.digits
	for n := range 10 * addressesKept {
		d.knock(time.Second, fmt.Sprint(n), "no")
	}
	if d.digits == first {
		t.Error("the code is the same after thousands of wrong tries")
	}
	if len(d.peers) > addressesKept {
		t.Errorf("%d addresses are kept", len(d.peers))
	}
	if err := d.knock(time.Second+addressWait, "honest", d.digits); err != nil {
		t.Error("a minute later an honest one is still kept out:", err)
	}
}

func TestSeal(t *testing.T) {
	k, err := newSealKey()
	if err != nil {
		t.Fatal(err)
	}
	other, err := newSealKey()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SliceOfN(rapid.Byte(), 0, sealedRoom-2).Draw(t, "text")
		sealed, err := seal(k.public(), "use", text)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := k.open("use", sealed); err != nil || !bytes.Equal(got, text) {
			t.Fatalf("%q, %v", got, err)
		}
		if _, err := k.open("another use", sealed); err == nil {
			t.Error("it opened for another use")
		}
		if _, err := other.open("use", sealed); err == nil {
			t.Error("another station opened it")
		}
		sealed[rapid.IntRange(0, len(sealed)-1).Draw(t, "byte")] ^= 1
		if _, err := k.open("use", sealed); err == nil {
			t.Error("it opened after a bit was changed")
		}
	})
	if _, err := seal(k.public(), "", make([]byte, sealedRoom)); err == nil {
		t.Error("too much was sealed")
	}
	if _, err := seal([]byte("no key"), "", nil); err == nil {
		t.Error("it was sealed to no key")
	}
}

// An order and a drill as large as they come fit their envelope.
func TestLargestSealedMessages(t *testing.T) {
	o := Order{Kind: OrderSay, Drill: "AAAAAAAAAAAA", Text: string(bytes.Repeat([]byte("\u00e4"), textLimit/2))}
	if err := o.Check(); err != nil {
		t.Fatal(err)
	}
	if n := len(encode(o)); n > sealedRoom-2 {
		t.Errorf("an order takes %d bytes", n)
	}
	h := hidden{Seed: math.MaxUint64}
	for range 8 {
		h.Faults = append(h.Faults, hiddenFault{"starter_does_not_engage", token([]byte("x"), "AAAAAAAAAAAA", "BBBBBBBBBBBBBBBBBBBBBBBBBB", "y")})
	}
	if n := len(encode(h)); n > sealedRoom-2 {
		t.Errorf("a drill with eight faults takes %d bytes", n)
	}
}

func TestTokensTellNothing(t *testing.T) {
	secret := []byte("secret")
	a := token(secret, "d", "s", "flooded")
	for _, b := range []string{token(secret, "e", "s", "flooded"), token(secret, "d", "t", "flooded"), token(secret, "d", "s", "no_fuel"), token([]byte("other"), "d", "s", "flooded")} {
		if a == b {
			t.Error("two tokens are one")
		}
		if len(a) != len(b) {
			t.Error("their lengths differ")
		}
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(`{"run":"AAAAAAAAAAAAAAAAAAAA","header":{"drill":"x"},"from":1,"events":[{"n":1,"t":0,"k":"move","v":18446744073709551615}],"ended":true}`))
	f.Add([]byte(`{"step":3,"steps":10,"levers":[1,null,2.5],"gauges":[null]}`))
	f.Add([]byte(`{"kind":"hello","key":"AAAA","runs":["x"]}`))
	f.Add([]byte(`{"kind":"drill","rev":1,"open":{"mode":"together"},"seal":"AAAA"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		if b, err := decodeBatch(data); err == nil {
			again, err := decodeBatch(encode(b))
			if err != nil {
				t.Fatalf("written again it is refused: %v", err)
			}
			if !bytes.Equal(encode(again), encode(b)) {
				t.Error("written again it is another")
			}
			for i, e := range b.Events {
				if packEvent(e.unpack()) != e || e.Seq != b.From+i {
					t.Errorf("%+v", e)
				}
			}
		}
		if l, err := decodeLive(data); err == nil {
			if _, err := decodeLive(encode(l)); err != nil {
				t.Errorf("written again it is refused: %v", err)
			}
		}
		var q question
		var n notice
		_ = decode(data, &q)
		_ = decode(data, &n)
	})
}

// Deliveries that come twice, too early, in pieces that overlap, or for a run of
// another's leave the book as if each event had come once.
func TestBookIsIdempotent(t *testing.T) {
	for name, folder := range map[string]string{"SQLite": t.TempDir(), "PostgreSQL": postgrestest.DSN(t)} {
		t.Run(name, func(t *testing.T) {
			b, err := openBook(folder, "CLASSCLASS23")
			if err != nil {
				t.Fatal(err)
			}
			defer b.Close()
			bookIsIdempotent(t, b)
		})
	}
}

func bookIsIdempotent(t *testing.T, b *Book) {
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		run := RunID(fmt.Sprintf("RUN%020d", n))
		total := rapid.IntRange(1, 60).Draw(t, "events")
		events := make([]event, total)
		for i := range events {
			events[i] = packEvent(procedure.Event{Seq: i + 1, At: time.Duration(i), Kind: procedure.EventMove, Subject: "m\x00", Value: -float64(i), Text: "ä\x00"})
		}
		upto, ended := 0, false
		for tries := 0; !ended && tries < 500; tries++ {
			from := rapid.IntRange(1, total).Draw(t, "from")
			to := rapid.IntRange(from, total).Draw(t, "to")
			m := batch{Run: run, From: from, Events: events[from-1 : to], Ended: to == total && rapid.Bool().Draw(t, "end")}
			if from == 1 {
				m.Header = &RunHeader{Drill: "d"}
			}
			who := StationID("honest")
			if upto > 0 && rapid.IntRange(0, 9).Draw(t, "who") == 0 {
				who = "liar"
			}
			rs, err := b.Deliver([]delivery{{who, m}, {who, m}})
			if err != nil {
				t.Fatal(err)
			}
			if who == "liar" {
				if rs[0].Refused != refusedForeign {
					t.Fatalf("%+v", rs[0])
				}
				continue
			}
			if from <= upto+1 {
				upto = max(upto, to)
				ended = ended || m.Ended
			}
			for _, r := range rs {
				if r.Refused != "" || r.Upto != upto || r.Ended != ended {
					t.Fatalf("%+v, want up to %d, ended %v", r, upto, ended)
				}
			}
		}
		got, err := b.Events(run)
		if err != nil || len(got) != upto {
			t.Fatalf("%d events, want %d, %v", len(got), upto, err)
		}
		for i, e := range got {
			if packEvent(e) != events[i] {
				t.Fatalf("event %d is %+v", i+1, e)
			}
		}
	})
}

// A disk that takes nothing does not stop the run: it is kept in memory, the
// student is told, it can be delivered, and is written when the disk is back.
func TestLogbookWithoutADisk(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		dir := filepath.Join(t.TempDir(), "runs")
		b, err := OpenLogbook(dir)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Remove(dir); err != nil {
			t.Fatal(err)
		}
		l := b.Begin("RUNRUNRUNRUNRUNRUN", RunHeader{Drill: "d"})
		for n := range 5 {
			l.Append(procedure.Event{Seq: n + 1, At: time.Duration(n), Kind: procedure.EventMove})
		}
		synctest.Wait()
		if b.Problem() == "" {
			t.Error("nobody is told")
		}
		if _, m, ok := b.next(); !ok || len(m.Events) != 5 {
			t.Errorf("%d events can be delivered", len(m.Events))
		}
		if err := os.Mkdir(dir, 0o700); err != nil {
			t.Fatal(err)
		}
		retry := time.NewTimer(2 * diskRetry)
		<-retry.C
		synctest.Wait()
		if p := b.Problem(); p != "" {
			t.Error(p)
		}
		l.End()
		synctest.Wait()
		b.Close()
		read, whole, err := readLog(filepath.Join(dir, "RUNRUNRUNRUNRUNRUN"+logSuffix))
		if err != nil || !whole || len(read.events) != 5 || !read.endSaved {
			t.Errorf("%+v, %v, %v", read, whole, err)
		}
	})
}

// A bit that flips anywhere in a run's file is noticed: what is before it is
// delivered, and the file is kept.
func TestLogbookNoticesDamage(t *testing.T) {
	dir := t.TempDir()
	var text bytes.Buffer
	line(&text, logLine{Run: "RUNRUNRUNRUNRUNRUN", Header: &RunHeader{Drill: "d"}})
	for n := range 20 {
		e := packEvent(procedure.Event{Seq: n + 1, At: time.Duration(n), Kind: procedure.EventMove, Value: float64(n)})
		line(&text, logLine{Event: &e})
	}
	line(&text, logLine{Ended: true})
	rapid.Check(t, func(t *rapid.T) {
		damaged := bytes.Clone(text.Bytes())
		damaged[rapid.IntRange(0, len(damaged)-1).Draw(t, "byte")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		name := filepath.Join(dir, "RUNRUNRUNRUNRUNRUN"+logSuffix)
		if err := os.WriteFile(name, damaged, 0o600); err != nil {
			t.Fatal(err)
		}
		l, whole, err := readLog(name)
		if err == nil && whole && bytes.Count(damaged, []byte("\n")) == 22 {
			// Only the newline at the very end may change unnoticed.
			t.Fatal("the damage was not noticed")
		}
		if err != nil {
			return
		}
		for i, e := range l.events {
			if e.Seq != i+1 || e.Value != float64(i) {
				t.Fatalf("event %d was read as %+v", i+1, e)
			}
		}
	})
}

func TestNumbers(t *testing.T) {
	l := Live{Steps: 1, Levers: []number{1.5, number(math.NaN()), number(math.Inf(1))}}
	got, err := decodeLive(encode(l))
	if err != nil || got.Levers[0] != 1.5 || !math.IsNaN(float64(got.Levers[1])) || !math.IsNaN(float64(got.Levers[2])) {
		t.Errorf("%+v, %v", got, err)
	}
	var e event
	want := packEvent(procedure.Event{Seq: 1, Value: math.Float64frombits(0x7ff8000000000bad)})
	if err := json.Unmarshal(encode(want), &e); err != nil || e != want {
		t.Errorf("%+v, %v", e, err)
	}
}

// What a student has looked at comes to the board, and who is there as the
// instructor may see him: also where nobody has looked.
func TestTheAreaInAPosition(t *testing.T) {
	for _, sector := range []int{0, 1, 2} {
		was := rehearsal.AreaView{Called: sector == 1, Valid: sector == 2}
		was.Sectors[sector].Looked = true
		was.Sectors[2-sector].Occupied = true
		l, err := decodeLive(encode(Live{Area: packArea(was)}))
		want := was
		want.Sectors[2-sector].Seen = true
		if got := l.Area.View(); err != nil || got != want {
			t.Errorf("of %+v the board has %+v, %v", was, got, err)
		}
	}
}
