package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/simulated"
)

// rough is a class in which something fails: half of a run's events come at
// "go", the others one a second.
func rough(change func(*trial)) trial {
	return with(func(t *trial) {
		t.Processes, t.Burst, t.Every, t.Flight = 30, 20, time.Second, 22*time.Second
		change(t)
	})
}

// cut holds a class whose network is dead for 30 s, from a second after "go".
func cut() error {
	return eventful("the network dead for 30 s", rough(func(t *trial) { t.Flight = deadFlight }), deadFor30)
}

const deadFlight = 45 * time.Second

func deadFor30(c *class) error {
	dead := time.NewTimer(time.Second)
	<-dead.C
	err := c.network.die()
	dead.Reset(30 * time.Second)
	<-dead.C
	return errors.Join(err, c.network.mend())
}

// network is what can be cut: a proxy, or a cable.
type network interface {
	die() error
	mend() error
	Close() error
}

// killed holds one class whose instructor's program is killed, and one whose
// stations are.
func killed() error {
	err := eventful("the instructor's program killed five times", rough(func(t *trial) { t.Flight = 30 * time.Second }), func(c *class) error {
		for range 5 {
			pause := time.NewTimer(3 * time.Second)
			<-pause.C
			c.in.kill()
			c.trial.Class, c.trial.Resume = c.opened.Class, true
			var err error
			if c.in, err = start("instructor", c.trial); err != nil {
				return err
			}
			begun := time.Now()
			if err := c.in.read(&c.opened); err != nil {
				return err
			}
			fmt.Printf("  killed, and open again after %.0f ms\n", milliseconds(time.Since(begun)))
		}
		return nil
	})
	if err != nil {
		return err
	}
	return stationsKilled()
}

// class is one that goes on while something fails.
type class struct {
	trial   trial
	opened  opened
	in      *process
	groups  []*process
	network network
	addr    string // where stations find it
}

// hold opens a class, seats stations behind a network, and waits for "go".
func hold(t trial) (*class, error) {
	c := &class{trial: t}
	var err error
	if c.in, c.opened, err = openClass(&c.trial); err != nil {
		return nil, err
	}
	if t.StationNet != "" {
		c.network, c.addr = &cable{t.TeacherNet, t.StationNet}, c.opened.Addr
	} else if p, err := newProxy(c.opened.Addr); err != nil {
		return c, err
	} else {
		c.network, c.addr = p, p.Addr().String()
	}
	if c.groups, err = seat(c.behind()); err != nil {
		return c, err
	}
	return c, c.waitForGo()
}

// behind is the class as stations are to find it: over the network.
func (c *class) behind() trial {
	t := c.trial
	t.Addr = c.addr
	return t
}

// waitForGo looks at the stations' disks, which is where a run is first.
func (c *class) waitForGo() error {
	late := time.After(60 * time.Second)
	look := time.NewTicker(10 * time.Millisecond)
	defer look.Stop()
	for {
		if logs, _ := filepath.Glob(c.logs("*")); len(logs) == c.trial.stations() {
			return nil
		}
		select {
		case <-look.C:
		case <-late:
			return errors.New("the stations did not begin")
		}
	}
}

// logs is a pattern for the runs on the disks of stations' processes.
func (c *class) logs(process string) string {
	return filepath.Join(c.trial.Folder, "process"+process, "0", "*", "runs", "*.run")
}

func (c *class) end() {
	for _, p := range append(c.groups, c.in) {
		if p != nil {
			p.kill()
		}
	}
	if p, ok := c.network.(*proxy); ok {
		_ = errors.Join(p.Close(), p.mend()) // it is this process's own
	}
}

// eventful holds a class through what happens in it, and accounts for it.
func eventful(title string, t trial, happens func(*class) error) error {
	folder, err := os.MkdirTemp("", "kickover-measure-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	t.Folder = folder
	fmt.Printf("class, %d station processes, %s:\n", t.Processes, title)
	c, err := hold(t)
	if c != nil {
		defer c.end()
	}
	if err != nil {
		return err
	}
	if err := happens(c); err != nil {
		return err
	}
	all, err := finish(c.groups)
	if err != nil {
		return err
	}
	fmt.Printf("  run events, ms until stored: p50 %.0f, p99 %.0f\n", quantile(all.Stored, 0.5), quantile(all.Stored, 0.99))
	c.in.kill()
	return account(c.trial, c.opened.Class, all)
}

// stationsKilled kills every station in the middle of its run. What was on its
// disk at that moment must arrive once it is started again, and nothing else.
func stationsKilled() error {
	folder, err := os.MkdirTemp("", "kickover-measure-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	t := rough(func(*trial) {})
	t.Folder = folder
	c, err := hold(t)
	if c != nil {
		defer c.end()
	}
	if err != nil {
		return err
	}
	if err := c.network.die(); err != nil { // so that nothing is confirmed before
		return err
	}
	pause := time.NewTimer(4 * time.Second)
	<-pause.C
	kept := map[classroom.RunID]int{}
	for _, p := range c.groups {
		p.kill()
	}
	logs, _ := filepath.Glob(c.logs("*"))
	for _, name := range logs {
		text, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		run := classroom.RunID(strings.TrimSuffix(filepath.Base(name), ".run"))
		kept[run] = bytes.Count(text, []byte("\n")) - 1 // the first line is the header
	}
	if err := c.network.mend(); err != nil {
		return err
	}
	if c.groups, err = seat(c.behind()); err != nil {
		return err
	}
	if err := c.waitForNoLogs(); err != nil {
		return err
	}
	for _, p := range append(c.groups, c.in) {
		p.kill()
	}
	fmt.Printf("class, 30 station processes, each killed in its run and started again:\n")
	return c.compare(kept)
}

// waitForNoLogs waits until every run is confirmed, and so off the disks.
func (c *class) waitForNoLogs() error {
	late := time.After(60 * time.Second)
	look := time.NewTicker(50 * time.Millisecond)
	defer look.Stop()
	for {
		logs, _ := filepath.Glob(c.logs("*"))
		if len(logs) == 0 {
			return nil
		}
		select {
		case <-look.C:
		case <-late:
			return fmt.Errorf("%d runs are still on the stations' disks", len(logs))
		}
	}
}

// compare holds the runs that were on disks against what is stored.
func (c *class) compare(kept map[classroom.RunID]int) error {
	_, book, err := classroom.Reopen(c.trial.Folder, c.opened.Class)
	if err != nil {
		return err
	}
	defer book.Close()
	lost, wrong, had := 0, 0, 0
	for run, n := range kept {
		events, err := book.Events(run)
		if err != nil {
			return err
		}
		had += n
		lost += max(0, n-len(events))
		if len(events) > c.trial.Events || !simulated.Same(events, simulated.Events(run, c.trial.Events)[:len(events)]) {
			wrong++
		}
	}
	fmt.Printf("  %d runs with %d events on the disks at that moment: %d lost, %d runs with an event doubled, altered or out of order\n", len(kept), had, lost, wrong)
	if lost > 0 || wrong > 0 || len(kept) != c.trial.Processes {
		return errors.New("not everything was delivered")
	}
	return nil
}
