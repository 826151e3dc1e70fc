package starter_test

import (
	"reflect"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/starter"
)

// In whatever order it is told things, and whatever the limits: it never owes
// less than nothing, waiting never makes it owe more, at most the last attempt is
// open, and a copy that is told the same stays the same.
func FuzzLedger(f *testing.F) {
	f.Add([]byte{0, 0, 1, 5, 0, 60, 1, 5, 0, 60, 1, 5, 0, 255}, int64(10), int64(60), int64(1800), 3)
	f.Add([]byte{0, 0, 1, 2, 2, 0, 1, 3, 3, 0, 4, 1, 5, 200, 0, 9}, int64(0), int64(0), int64(0), 0)
	f.Fuzz(func(t *testing.T, acts []byte, crank, rest, longRest int64, set int) {
		second := func(n int64) time.Duration { return time.Duration(n%100_000) * time.Second }
		l := starter.New(procedure.StarterLimits{
			Crank: max(0, second(crank)), Rest: max(0, second(rest)), LongRest: max(0, second(longRest)), Attempts: max(0, set),
		})
		var at time.Duration
		for ; len(acts) >= 2; acts = acts[2:] {
			at += time.Duration(acts[1]) * time.Second
			twin := l.Clone()
			before := len(l.Attempts())
			for _, each := range []*starter.Ledger{l, twin} {
				tell(each, acts[0], at)
			}
			if !reflect.DeepEqual(l, twin) {
				t.Fatalf("told the same, the ledger is\n%+v\nand its copy\n%+v", l, twin)
			}
			if grown := len(l.Attempts()) - before; grown < -1 || grown > 1 {
				t.Fatalf("one act changed the attempts by %d", grown)
			}
			standsToReason(t, l, at)
		}
	})
}

func tell(l *starter.Ledger, act byte, at time.Duration) {
	switch act % 6 {
	case 0:
		l.Engage(at)
	case 1:
		l.Release(at)
	case 2:
		l.Resume()
	case 3:
		l.Strike()
	case 4:
		l.Rested(at)
	case 5:
		l.Owe(at + time.Minute)
	}
}

func standsToReason(t *testing.T, l *starter.Ledger, at time.Duration) {
	t.Helper()
	now, later := l.Owed(at), l.Owed(at+time.Hour)
	if now < 0 || later > now {
		t.Fatalf("%v owed, and %v an hour later", now, later)
	}
	since, engaged := l.Engaged()
	if engaged && (len(l.Attempts()) == 0 || l.Attempts()[len(l.Attempts())-1].Engaged != since || since > at) {
		t.Fatalf("engaged since %v at %v with the attempts %+v", since, at, l.Attempts())
	}
	if limit, limited := l.LimitAt(); limited && (!engaged || limit != since+l.Limits().Crank) {
		t.Fatalf("the limit is %v where it was engaged at %v", limit, since)
	}
	if l.Number(at) < 1 || l.Used() < 0 || l.LongRest() && engaged {
		t.Fatalf("number %d, %d used, a long rest %v while engaged %v", l.Number(at), l.Used(), l.LongRest(), engaged)
	}
	for _, a := range l.Attempts() {
		if a.Released < a.Engaged || a.Owed < 0 {
			t.Fatalf("attempt %+v", a)
		}
	}
}
