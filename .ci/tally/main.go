// Command tally reads what go test -json prints, shows a line for each package
// and everything that a failed test said, and ends with a count:
//
//	412 passed, 0 failed, 1 skipped
//
// A test that began and never ended, as one that hung until the time was up, is
// counted as failed, and what its package said last is shown. It exits with 1 when
// a test or a package failed, and when no test ran.
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
)

// event is a line of go test -json (go doc test2json).
type event struct {
	Action  string
	Package string
	Test    string
	Output  string
	Elapsed float64
}

// tally counts tests and keeps what they said until it is known to matter.
type tally struct {
	out                     io.Writer
	passed, failed, skipped int
	broken                  int // packages that failed without a failed test
	said                    map[test]*strings.Builder
	open                    map[test]bool // begun, and not ended
	failedIn                map[string]bool
}

// test is a test of a package; without a name, the package itself.
type test struct{ pkg, name string }

func main() {
	if !read(os.Stdin, os.Stdout) {
		os.Exit(1)
	}
}

// read shows what was tested and says whether all of it is well.
func read(in io.Reader, out io.Writer) bool {
	t := tally{out: out, said: map[test]*strings.Builder{}, open: map[test]bool{}, failedIn: map[string]bool{}}
	lines := bufio.NewReader(in)
	for {
		line, err := lines.ReadString('\n')
		if line != "" {
			t.take(line)
		}
		if err != nil {
			break
		}
	}
	fmt.Fprintf(out, "%d passed, %d failed", t.passed, t.failed)
	if t.skipped > 0 {
		fmt.Fprintf(out, ", %d skipped", t.skipped)
	}
	fmt.Fprintln(out)
	return t.failed == 0 && t.broken == 0 && t.passed > 0
}

func (t *tally) take(line string) {
	var e event
	if json.Unmarshal([]byte(line), &e) != nil {
		fmt.Fprint(t.out, line) // not of a test: a build's error, as a rule
		return
	}
	of := test{e.Package, e.Test}
	switch e.Action {
	case "run":
		t.open[of] = true
	case "output":
		t.hear(of, e.Output)
	case "build-output":
		fmt.Fprint(t.out, e.Output)
	case "pass", "fail", "skip":
		if e.Test == "" {
			t.endPackage(e)
		} else {
			t.endTest(of, e.Action)
		}
	}
}

func (t *tally) hear(of test, words string) {
	if t.said[of] == nil {
		t.said[of] = &strings.Builder{}
	}
	t.said[of].WriteString(words)
}

func (t *tally) endTest(of test, verdict string) {
	delete(t.open, of)
	switch verdict {
	case "pass":
		t.passed++
		t.keepAfterwards(of)
		return
	case "skip":
		t.skipped++
	case "fail":
		t.failed++
		t.failedIn[of.pkg] = true
	}
	fmt.Fprintf(t.out, "%s %s %s\n", verdict, of.pkg, of.name)
	t.show(of)
}

// keepAfterwards gives the package what came after a test had passed: the words of
// a program that died are put down to the test that ended last.
func (t *tally) keepAfterwards(of test) {
	if s := t.said[of]; s != nil {
		if _, verdict, ended := strings.Cut(s.String(), "--- PASS: "); ended {
			if _, after, more := strings.Cut(verdict, "\n"); more && strings.TrimSpace(after) != "" {
				t.hear(test{pkg: of.pkg}, after)
			}
		}
	}
	delete(t.said, of)
}

func (t *tally) endPackage(e event) {
	if e.Action == "pass" {
		fmt.Fprintf(t.out, "ok\t%s\t%.2fs\n", e.Package, e.Elapsed)
		delete(t.said, test{pkg: e.Package})
		return
	}
	if e.Action != "fail" {
		return // it has no tests
	}
	// A package that died took tests with it, whose last words are kept.
	for _, of := range slices.SortedFunc(maps.Keys(t.open), byName) {
		if of.pkg == e.Package {
			fmt.Fprintf(t.out, "never ended: %s %s\n", of.pkg, of.name)
			t.failed++
			t.failedIn[of.pkg] = true
			delete(t.open, of)
			t.show(of)
		}
	}
	if !t.failedIn[e.Package] {
		t.broken++
	}
	t.show(test{pkg: e.Package})
}

func byName(a, b test) int { return strings.Compare(a.pkg+" "+a.name, b.pkg+" "+b.name) }

// show prints what was said, and forgets it.
func (t *tally) show(of test) {
	if s := t.said[of]; s != nil {
		fmt.Fprint(t.out, s.String())
	}
	delete(t.said, of)
}
