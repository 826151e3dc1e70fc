package ledgerfile

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
)

// A real process, killed without warning after each state was noted.
func TestKilledAtEveryState(t *testing.T) {
	if dir := os.Getenv("LEDGERFILE_CHILD"); dir != "" {
		child(dir)
		return
	}
	for n, c := range childStates {
		t.Run(fmt.Sprint(n, " ", c.after), func(t *testing.T) {
			dir := t.TempDir()
			cmd := exec.Command(os.Args[0], "-test.run=^TestKilledAtEveryState$")
			cmd.Env = append(os.Environ(), "LEDGERFILE_CHILD="+dir)
			in, err := cmd.StdinPipe()
			if err != nil {
				t.Fatal(err)
			}
			out, err := cmd.StdoutPipe()
			if err != nil {
				t.Fatal(err)
			}
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			lines := bufio.NewScanner(out)
			for i := range n + 1 {
				if !lines.Scan() {
					t.Fatal("the child ended early")
				}
				if i < n {
					fmt.Fprintln(in)
				}
			}
			if err := cmd.Process.Kill(); err != nil {
				t.Fatal(err)
			}
			cmd.Wait()
			f := open(t, dir, nil)
			defer f.Close()
			if l := f.Ledger(); l.Number(0) != c.number || (l.Owed(0) > 0) != c.owes {
				t.Errorf("number %d, %v owed; want %d, owed %v", l.Number(0), l.Owed(0), c.number, c.owes)
			}
			for _, s := range f.Notices() {
				if strings.Contains(s, "damaged") {
					t.Error(s)
				}
			}
		})
	}
}

// What the child notes, one after the other, and what a ledger that ends there
// must say.
var childStates = []struct {
	after  string
	number int
	owes   bool
}{
	{"open", 1, false}, {"engage", 2, true}, {"release", 2, true}, {"resume", 2, true},
	{"release", 2, true}, {"rested", 2, false}, {"engage", 3, true}, {"strike", 2, false},
	{"engage", 3, true}, {"release", 3, true}, {"runs", 3, true}, {"stopped", 3, true},
}

// child notes one state after another, each when it is told to go on, and says
// when it is on the disk.
func child(dir string) {
	f, err := Open(Options{Dir: dir, Registration: "BR-180", Limits: limits})
	if err != nil {
		panic(err)
	}
	in := bufio.NewScanner(os.Stdin)
	for _, s := range childStates {
		at := f.Now()
		switch s.after {
		case "engage":
			f.Engaged(at)
		case "release":
			f.Released(at, limits.Rest)
		case "resume":
			f.Resumed(at)
		case "rested":
			f.Rested(at)
		case "strike":
			f.Struck(at)
		case "runs":
			f.Runs(at)
		case "stopped":
			f.Stopped(at)
		}
		if err := f.Sync(); err != nil {
			panic(err)
		}
		fmt.Println(s.after)
		in.Scan()
	}
}
