package starter_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/starter"

	"pgregory.net/rapid"
)

var _ procedure.Ledger = (*starter.Ledger)(nil)

// Ten seconds on, a minute off, three tries and then half an hour is a common
// form of the placard; common practice, no source.
var limits = procedure.StarterLimits{Crank: 10 * time.Second, Rest: time.Minute, Attempts: 3, LongRest: 30 * time.Minute}

// play drives a ledger with a line of "time act" and tells what came of it.
func play(t *testing.T, l *starter.Ledger, script string) string {
	t.Helper()
	var out []string
	for _, line := range strings.Split(strings.TrimSpace(script), "\n") {
		var at, act string
		if _, err := fmt.Sscan(line, &at, &act); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		d, err := time.ParseDuration(at)
		if err != nil {
			t.Fatal(err)
		}
		switch act {
		case "engage":
			out = append(out, fmt.Sprintf("owed %v", l.Engage(d)))
		case "release":
			l.Release(d)
			out = append(out, fmt.Sprintf("ready %v", l.Ready()))
		case "resume":
			l.Resume()
		case "strike":
			l.Strike()
			out = append(out, fmt.Sprintf("used %d", l.Used()))
		case "rested":
			l.Rested(d)
		case "owe":
			l.Owe(d)
		case "number":
			out = append(out, fmt.Sprintf("number %d", l.Number(d)))
		default:
			t.Fatalf("unknown act %q", act)
		}
	}
	return strings.Join(out, ", ")
}

func TestLedger(t *testing.T) {
	const first = "0s engage\n5s release\n"
	const full = "0s engage\n5s release\n65s engage\n70s release\n130s engage\n135s release\n"
	for _, c := range []struct{ name, script, want string }{
		{"a rest counts from the release", first, "owed 0s, ready 1m5s"},
		{"the moment it is rested it may be used", first + "65s engage", "owed 0s, ready 1m5s, owed 0s"},
		{"one nanosecond before it may not", first + "64.999999999s engage", "owed 0s, ready 1m5s, owed 1ns"},
		{"a second engagement while engaged is none", "0s engage\n1s engage\n5s release", "owed 0s, owed 0s, ready 1m5s"},
		{"a release without an engagement is none", "5s release", "ready 0s"},
		{"after a full set the long rest", full, "owed 0s, ready 1m5s, owed 0s, ready 2m10s, owed 0s, ready 32m15s"},
		{"counting begins anew after it", full + "32m15s number", "owed 0s, ready 1m5s, owed 0s, ready 2m10s, owed 0s, ready 32m15s, number 1"},
		{"and not before it", full + "32m14s number", "owed 0s, ready 1m5s, owed 0s, ready 2m10s, owed 0s, ready 32m15s, number 4"},
		{"half a set and a rest as long as the long one", first + "30m5s number", "owed 0s, ready 1m5s, number 1"},
		{"half a set and a shorter one", first + "30m4s number", "owed 0s, ready 1m5s, number 2"},
		{"a rest cut short is still owed", first + "10s engage\n11s release", "owed 0s, ready 1m5s, owed 55s, ready 1m11s"},
		{"a long rest cut short is owed in full", full + "3m engage\n3m1s release", "owed 0s, ready 1m5s, owed 0s, ready 2m10s, owed 0s, ready 32m15s, owed 29m15s, ready 33m1s"},
		{"a struck attempt leaves nothing behind", first + "65s engage\n66s strike\n66s number\n66s engage", "owed 0s, ready 1m5s, owed 0s, used 1, number 2, owed 0s"},
		{"it can be struck once", "0s engage\n1s strike\n1s strike", "owed 0s, used 0, used 0"},
		{"striking the second time spares the attempt before", first + "65s engage\n65s strike\n65s strike", "owed 0s, ready 1m5s, owed 0s, used 1, used 1"},
		{"a slip of the finger", "0s engage\n2s release\n2.2s resume\n5s release", "owed 0s, ready 1m2s, ready 1m5s"},
		{"a slip of an attempt that was not allowed", first + "10s engage\n11s release\n11.1s resume\n12s release", "owed 0s, ready 1m5s, owed 55s, ready 1m11s, ready 1m12s"},
		{"somebody knows that it has rested", first + "10s rested\n10s number\n10s engage", "owed 0s, ready 1m5s, number 2, owed 0s"},
		{"somebody knows that it has rested after a full set", full + "3m rested\n3m number", "owed 0s, ready 1m5s, owed 0s, ready 2m10s, owed 0s, ready 32m15s, number 1"},
		{"a deadline that was written down", first + "70s owe\n65s engage", "owed 0s, ready 1m5s, owed 5s"},
		{"a deadline shorter than the rest", first + "60s owe\n60s engage", "owed 0s, ready 1m5s, owed 5s"},
		{"times before the origin", "-70s engage\n-65s release\n-6s engage", "owed 0s, ready -5s, owed 1s"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := play(t, starter.New(limits), c.script); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

func TestLimitAt(t *testing.T) {
	l := starter.New(limits)
	if _, ok := l.LimitAt(); ok {
		t.Error("a limit while nothing turns")
	}
	l.Engage(3 * time.Second)
	if at, ok := l.LimitAt(); !ok || at != 13*time.Second {
		t.Errorf("limit at %v, %v", at, ok)
	}
	if since, ok := l.Engaged(); !ok || since != 3*time.Second {
		t.Errorf("engaged since %v, %v", since, ok)
	}
	l.Release(5 * time.Second)
	if _, ok := l.LimitAt(); ok {
		t.Error("a limit after the release")
	}
	if l.LongRest() {
		t.Error("a long rest after one attempt")
	}
}

func TestCloneIsItsOwn(t *testing.T) {
	l := starter.New(limits)
	l.Engage(0)
	c := l.Clone()
	c.Release(5 * time.Second)
	if _, engaged := l.Engaged(); !engaged || l.Attempts()[0].Released != 0 {
		t.Error("releasing the clone released the ledger")
	}
}

func TestLedgerWithoutLimits(t *testing.T) {
	l := starter.New(procedure.StarterLimits{})
	for at := range 20 {
		if owed := l.Engage(time.Duration(at)); owed != 0 {
			t.Fatalf("owed %v without limits", owed)
		}
		l.Release(time.Duration(at))
	}
	if l.Used() != 20 {
		t.Errorf("used %d, want 20", l.Used())
	}
}

// Whatever is done to it: what is owed never grows by waiting, an attempt that
// owed nothing comes at least a rest after the one before, and no set that owed
// nothing is longer than it may be.
func TestRestsAreKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := starter.New(limits)
		at := time.Duration(0)
		for range rapid.IntRange(1, 60).Draw(t, "acts") {
			wait := time.Duration(rapid.Int64Range(0, int64(40*time.Minute)).Draw(t, "wait"))
			if before, after := l.Owed(at), l.Owed(at+wait); after > before {
				t.Fatalf("owed %v, and %v later %v", before, wait, after)
			}
			at += wait
			switch rapid.SampledFrom([]string{"engage", "release", "resume", "strike"}).Draw(t, "act") {
			case "engage":
				l.Engage(at)
			case "release":
				l.Release(at)
			case "resume":
				l.Resume()
			case "strike":
				l.Strike()
			}
			check(t, l)
		}
	})
}

func check(t *rapid.T, l *starter.Ledger) {
	run := 0
	for i, a := range l.Attempts() {
		if a.Released < a.Engaged {
			t.Fatalf("released %v before it was engaged %v", a.Released, a.Engaged)
		}
		if a.Owed > 0 {
			run = -1 << 30 // the set was broken by hand; nothing is promised of it
			continue
		}
		run++
		if i > 0 {
			rest := a.Engaged - l.Attempts()[i-1].Released
			if rest < limits.Rest {
				t.Fatalf("attempt %d owed nothing after a rest of %v", i+1, rest)
			}
			if rest >= limits.LongRest {
				run = 1
			}
		}
		if run > limits.Attempts {
			t.Fatalf("attempt %d is number %d of a set of %d", i+1, run, limits.Attempts)
		}
	}
}
