package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
)

// cable joins two network namespaces, the instructor's and the stations', as a
// cable joins two machines.
type cable struct {
	teacher, students string // namespaces
}

// The addresses are documentation's (RFC 5737).
const (
	teacherAddr  = "192.0.2.1"
	studentsAddr = "192.0.2.2"
	plug         = "cable0" // each end's name in its namespace
)

// layCable makes both namespaces; why says why there cannot be any here.
func layCable() (c *cable, why error) {
	switch _, err := exec.LookPath("ip"); {
	case err != nil:
		return nil, errors.New("the program ip is not installed")
	case os.Geteuid() != 0:
		return nil, errors.New("network namespaces need root")
	}
	c = &cable{fmt.Sprintf("kickover-teacher-%d", os.Getpid()), fmt.Sprintf("kickover-students-%d", os.Getpid())}
	for _, args := range [][]string{
		{"netns", "add", c.teacher}, {"netns", "add", c.students},
		{"link", "add", plug, "netns", c.teacher, "type", "veth", "peer", "name", plug, "netns", c.students},
		{"-n", c.teacher, "addr", "add", teacherAddr + "/24", "dev", plug}, {"-n", c.students, "addr", "add", studentsAddr + "/24", "dev", plug},
		{"-n", c.teacher, "link", "set", plug, "up"}, {"-n", c.students, "link", "set", plug, "up"},
	} {
		if err := ip(args...); err != nil {
			c.Close()
			return nil, err
		}
	}
	return c, nil
}

func ip(args ...string) error {
	if out, err := exec.Command("ip", args...).CombinedOutput(); err != nil {
		return fmt.Errorf("ip %s: %w: %s", strings.Join(args, " "), err, strings.TrimSpace(string(out)))
	}
	return nil
}

// die pulls the cable, and mend plugs it in.
func (c *cable) die() error  { return ip("-n", c.teacher, "link", "set", plug, "down") }
func (c *cable) mend() error { return ip("-n", c.teacher, "link", "set", plug, "up") }

// Close takes both namespaces away, and the cable with them.
func (c *cable) Close() error {
	return errors.Join(ip("netns", "del", c.teacher), ip("netns", "del", c.students))
}

// pulled holds a class over a cable that is unplugged for 30 s.
func pulled() error {
	c, why := layCable()
	if why != nil {
		fmt.Printf("class, a cable between two network namespaces pulled: left out, since %v\n", why)
		return nil
	}
	t := rough(func(t *trial) {
		t.Flight, t.Host, t.TeacherNet, t.StationNet = deadFlight, teacherAddr, c.teacher, c.students
	})
	return errors.Join(eventful("the cable between two network namespaces pulled for 30 s", t, deadFor30), c.Close())
}
