// Command tally reads what go test -json prints, shows a line for each package
// and everything that a failed test said, and ends with a count:
//
//	412 passed, 0 failed, 1 skipped
//
// It exits with 1 when a test or a package failed, and when no test ran.
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"strings"
)

// event is a line of go test -json (go doc test2json).
type event struct {
	Action  string
	Package string
	Test    string
	Output  string
	Elapsed float64

	ImportPath string // of a build's output
}

// tally counts tests and keeps what they said until it is known to matter.
type tally struct {
	passed, failed, skipped int
	broken                  int // packages that failed without a failed test
	said                    map[string]*strings.Builder
	failedIn                map[string]bool
}

func main() {
	t := tally{said: map[string]*strings.Builder{}, failedIn: map[string]bool{}}
	lines := bufio.NewReader(os.Stdin)
	for {
		line, err := lines.ReadString('\n')
		if line != "" {
			t.take(line)
		}
		if err != nil {
			break
		}
	}
	fmt.Printf("%d passed, %d failed", t.passed, t.failed)
	if t.skipped > 0 {
		fmt.Printf(", %d skipped", t.skipped)
	}
	fmt.Println()
	if t.failed > 0 || t.broken > 0 || t.passed == 0 {
		os.Exit(1)
	}
}

func (t *tally) take(line string) {
	var e event
	if json.Unmarshal([]byte(line), &e) != nil {
		fmt.Print(line) // not of a test: a build's error, as a rule
		return
	}
	name := e.Package + " " + e.Test
	switch e.Action {
	case "output":
		if t.said[name] == nil {
			t.said[name] = &strings.Builder{}
		}
		t.said[name].WriteString(e.Output)
	case "build-output":
		fmt.Print(e.Output)
	case "pass", "fail", "skip":
		if e.Test == "" {
			t.endPackage(e)
		} else {
			t.endTest(e)
		}
		delete(t.said, name)
	}
}

func (t *tally) endTest(e event) {
	switch e.Action {
	case "pass":
		t.passed++
		return
	case "skip":
		t.skipped++
	case "fail":
		t.failed++
		t.failedIn[e.Package] = true
	}
	fmt.Printf("%s %s %s\n", e.Action, e.Package, e.Test)
	t.show(e.Package + " " + e.Test)
}

func (t *tally) endPackage(e event) {
	switch {
	case e.Action == "fail":
		if !t.failedIn[e.Package] {
			t.broken++
		}
		t.show(e.Package + " ")
		// A package that died took tests with it, whose last words are kept.
		for name := range t.said {
			if strings.HasPrefix(name, e.Package+" ") && name != e.Package+" " {
				t.show(name)
			}
		}
	case e.Action == "pass":
		fmt.Printf("ok\t%s\t%.2fs\n", e.Package, e.Elapsed)
	}
}

func (t *tally) show(name string) {
	if s := t.said[name]; s != nil {
		fmt.Print(s.String())
	}
}
