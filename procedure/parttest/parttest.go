// Package parttest lets a test's own binary play another program, one that may be
// killed.
package parttest

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
)

// variable names the part that a test's binary is to play, and its argument.
const variable = "KICKOVER_TEST_PART"

// Main is for TestMain: it plays the part that [Play] asked for, or runs the tests.
func Main(m *testing.M, parts map[string]func(argument string) error) {
	if name, argument, ok := strings.Cut(os.Getenv(variable), ":"); ok {
		if err := parts[name](argument); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// Play is the test's binary in a part, not yet started; its standard error is ours.
func Play(name, argument string) *exec.Cmd {
	self, err := os.Executable()
	if err != nil {
		panic(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), variable+"="+name+":"+argument)
	c.Stderr = os.Stderr
	return c
}
