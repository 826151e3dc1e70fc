package awake

import (
	"fmt"
	"os"
	"os/exec"
	"strconv"
)

func system() inhibitor { return &caffeinate{} }

// caffeinate runs the system's own program of that name, which ends with this one.
type caffeinate struct{ cmd *exec.Cmd }

func (c *caffeinate) hold(_, _ string) error {
	cmd := exec.Command("/usr/bin/caffeinate", "-d", "-i", "-w", strconv.Itoa(os.Getpid()))
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("caffeinate does not run: %w", err)
	}
	c.cmd = cmd
	return nil
}

func (c *caffeinate) release() error {
	if c.cmd == nil {
		return nil
	}
	cmd := c.cmd
	c.cmd = nil
	if err := cmd.Process.Kill(); err != nil {
		return err
	}
	_ = cmd.Wait() // it was killed, and says so
	return nil
}
