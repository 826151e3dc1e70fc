package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"time"
)

// variable tells this program that it is one of the measured processes, which,
// and with what.
const variable = "KICKOVER_MEASURE_ROLE"

func roleOfProcess() (func(trial) error, trial, bool) {
	name, argument, ok := strings.Cut(os.Getenv(variable), ":")
	if !ok {
		return nil, trial{}, false
	}
	var t trial
	role := map[string]func(trial) error{"instructor": instructor, "stations": stations}[name]
	if err := json.Unmarshal([]byte(argument), &t); err != nil || role == nil {
		return nil, trial{}, false
	}
	return role, t, true
}

// process speaks JSON lines and ends when its input does, or when it is killed.
type process struct {
	cmd *exec.Cmd
	in  io.Closer
	out *json.Decoder
}

// slowFsync runs a program with each flush to the disk made 5 ms longer.
var slowFsync = []string{"strace", "-f", "--seccomp-bpf", "-qq", "-e", "trace=fsync,fdatasync", "-e", "inject=fsync,fdatasync:delay_exit=5000", "-o", "/dev/null"}

// namespace is the network that a process is in.
func (t trial) namespace(role string) string {
	if role == "instructor" {
		return t.TeacherNet
	}
	return t.StationNet
}

func start(role string, t trial) (*process, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	argument, err := json.Marshal(t)
	if err != nil {
		return nil, err
	}
	command := []string{self}
	if t.Slow {
		command = append(append([]string{}, slowFsync...), self)
	}
	if inside := t.namespace(role); inside != "" {
		command = append([]string{"ip", "netns", "exec", inside}, command...)
	}
	c := exec.Command(command[0], command[1:]...)
	c.Env = append(os.Environ(), variable+"="+role+":"+string(argument))
	c.Stderr = os.Stderr
	in, e1 := c.StdinPipe()
	out, e2 := c.StdoutPipe()
	if err := errors.Join(e1, e2); err != nil {
		return nil, err
	}
	if err := c.Start(); err != nil {
		return nil, err
	}
	return &process{c, in, json.NewDecoder(bufio.NewReader(out))}, nil
}

func (p *process) read(v any) error {
	if err := p.out.Decode(v); err != nil {
		return fmt.Errorf("a measured process said nothing: %w", err)
	}
	return nil
}

// finish closes the process's input, reads its last words and waits for it.
func (p *process) finish(v any) error {
	p.in.Close()
	var err error
	if v != nil {
		err = p.read(v)
	}
	return errors.Join(err, p.cmd.Wait())
}

// kill ends the process as a power cut would.
func (p *process) kill() {
	p.cmd.Process.Kill()
	p.cmd.Wait()
}

// untilTold waits until this process's input is closed.
func untilTold() { io.Copy(io.Discard, os.Stdin) }

func say(v any) error { return json.NewEncoder(os.Stdout).Encode(v) }

// used is the processor time and the most memory that this process has used.
func used() (cpu time.Duration, bytes int64) {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0, 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano()), u.Maxrss * 1024
}
