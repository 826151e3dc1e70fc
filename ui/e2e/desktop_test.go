package e2e

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// programs is the folder of the program that all tests run.
var programs string

func TestMain(m *testing.M) {
	var err error
	if programs, err = os.MkdirTemp("", "kickover-program"); err != nil {
		fmt.Fprintln(os.Stderr, "there is nowhere to build the program:", err)
		os.Exit(1)
	}
	code := m.Run()
	os.RemoveAll(programs)
	os.Exit(code)
}

var built = sync.OnceValues(func() ([]byte, error) {
	c := exec.Command("go", "build", "-tags", "migrated_fynedo,x11", "-o", programs, "./cmd/kickover")
	c.Dir = filepath.Join("..", "..")
	return c.CombinedOutput()
})

// build builds the program, once for all tests.
func build(t *testing.T) string {
	t.Helper()
	if said, err := built(); err != nil {
		t.Fatalf("the program does not build: %v\n%s", err, said)
	}
	return filepath.Join(programs, "kickover")
}

func root(t *testing.T) string {
	t.Helper()
	dir, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

const (
	// patience is how long anything may take on a machine that is busy.
	patience = 60 * time.Second
	// longest is what a whole test may take there: less than go test allows all of
	// them, so that what hangs is named and says where it stands.
	longest = 8 * time.Minute
)

// desktop is a command on a desktop of its own, with more in its environment. What
// has not ended in the longest time is made to say where it stands, as a Go program
// does that is told to quit, and is killed with all that it started.
func desktop(t *testing.T, size string, more []string, command ...string) *exec.Cmd {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), longest)
	c := exec.CommandContext(ctx, filepath.Join(root(t), ".ci", "desktop"), command...)
	c.Env = slices.Concat(os.Environ(), []string{"DISPLAY_SIZE=" + size, "SHOTS=" + os.Getenv("KICKOVER_SHOTS")}, more)
	c.Cancel = func() error { return quit(c.Process.Pid) }
	c.WaitDelay = patience / 2 // the stacks are written meanwhile
	t.Cleanup(cancel)
	return c
}

// quit ends a process and all that it started: asked for their stacks first.
func quit(pid int) error {
	var all []*os.Process // which stay what they are when a number is given again
	for _, id := range family(pid) {
		if p, err := os.FindProcess(id); err == nil {
			all = append(all, p)
		}
	}
	for _, p := range all {
		_ = p.Signal(syscall.SIGQUIT) // it may have ended
	}
	time.AfterFunc(patience/6, func() {
		for _, p := range all {
			_ = p.Kill()
		}
	})
	return nil
}

// family is a process and all that descend from it.
func family(pid int) []int {
	children := map[int][]int{}
	stats, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, file := range stats {
		stat, err := os.ReadFile(file)
		if err != nil {
			continue // it ended
		}
		var id, parent int
		var state string
		name := strings.LastIndexByte(string(stat), ')') // which may hold anything, see proc(5)
		fmt.Sscan(string(stat), &id)
		fmt.Sscan(string(stat[name+1:]), &state, &parent)
		children[parent] = append(children[parent], id)
	}
	all := []int{pid}
	for i := 0; i < len(all); i++ {
		all = append(all, children[all[i]]...)
	}
	return all
}

// act runs a script on a desktop of its own, with the program as $KICKOVER and the
// folder of its data as $DATA, where it leaves what the program says in out.
func act(t *testing.T, script, size, data string, more ...string) (program string) {
	t.Helper()
	program = build(t)
	c := desktop(t, size, append(more, "KICKOVER="+program, "DATA="+data), "bash", "-c", script)
	if out, err := c.CombinedOutput(); err != nil {
		said, _ := os.ReadFile(filepath.Join(data, "out"))
		t.Fatalf("the window could not be driven: %v\n%s\n%s", err, out, said)
	}
	return program
}

// records asks the program for what is recorded.
func records(t *testing.T, program, data string, args ...string) string {
	t.Helper()
	out, err := command(t, data, program, append([]string{"records"}, args...)...).Output()
	if err != nil {
		t.Fatalf("records %v: %v", args, err)
	}
	return string(out)
}

// command is the program without a window, on the data of a folder.
func command(t *testing.T, data, program string, args ...string) *exec.Cmd {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	t.Cleanup(cancel)
	c := exec.CommandContext(ctx, program, args...)
	c.Env = append(os.Environ(), "XDG_DATA_HOME="+data)
	return c
}

// invent fills a folder with the runs of an invented student.
func invent(t *testing.T, data string, args ...string) {
	t.Helper()
	if out, err := command(t, data, build(t), append([]string{"records", "invent", "--runs", "12"}, args...)...).CombinedOutput(); err != nil {
		t.Fatalf("no invented runs: %v\n%s", err, out)
	}
}
