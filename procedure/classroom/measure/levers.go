package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/rehearsal"
)

// This file times a lever's movement by real rehearsals: a hand moves the throttle
// a notch at a time, which may come at any moment between two positions, and the
// rehearsal keeps its usual distance behind the clock.

// moved is a throttle that came to a notch, at a station or on the board.
type moved struct {
	Station classroom.StationID
	Notch   int
	At      int64 // nanoseconds of the wall clock
}

const notches = 400

// throttle is the lever that is moved.
func throttle() (at int, travel procedure.Position) {
	for _, l := range shipped() {
		if l.Aircraft.ID != drill.Aircraft {
			continue
		}
		at := slices.IndexFunc(l.Aircraft.Controls, func(c procedure.Control) bool { return c.ID == procedure.ControlThrottle })
		return at, l.Aircraft.Controls[at].Travel
	}
	panic("the aircraft of the drill is not shipped")
}

func levers() error {
	return fly(with(func(t *trial) { t.Processes, t.Hands, t.Flight = 30, true, 20*time.Second }), tellLevers)
}

func tellLevers(t trial, _ string, flights []heard, all flown) error {
	h := flights[0]
	ways, missed := match(all.Moved, h.Moved)
	fmt.Printf("class, 30 station processes, each flying a real rehearsal:\n")
	fmt.Printf("  a lever's movement to the board, ms: p50 %.1f, p99 %.1f, longest %.1f, of %d; %d not seen before the end\n",
		quantile(ways, 0.5), quantile(ways, 0.99), quantile(ways, 1), len(ways), missed)
	fmt.Printf("  the instructor's program: %.2f of a core, %.0f MB; all stations together, joining included: %.2f of a core\n",
		h.CPU.Seconds()/t.Flight.Seconds(), float64(h.Memory)/1e6, all.CPU.Seconds()/all.Alive.Seconds())
	if len(ways) == 0 || missed > 2*t.Processes {
		return errors.New("levers were moved that never came to the board")
	}
	return nil
}

// match gives how long each movement took to the board, in milliseconds. A notch is
// seen, too, when the board shows a later one.
func match(made, seen []moved) (ways []float64, missed int) {
	at := map[classroom.StationID][]moved{}
	for _, s := range seen {
		at[s.Station] = append(at[s.Station], s)
	}
	for _, m := range made {
		k := slices.IndexFunc(at[m.Station], func(s moved) bool { return s.Notch >= m.Notch })
		if k < 0 {
			missed++
			continue
		}
		ways = append(ways, float64(at[m.Station][k].At-m.At)/1e6)
	}
	return ways, missed
}

// sawLever notes when a station's throttle stands at another notch on the board.
func (h *listener) sawLever(s classroom.StationID, data []byte, now int64) {
	var l struct{ Levers []float64 }
	if json.Unmarshal(data, &l) != nil || h.lever0 >= len(l.Levers) {
		return
	}
	notch := int(math.Round(l.Levers[h.lever0] / float64(h.travel) * notches))
	if notch > h.notch[s] {
		h.notch[s] = notch
		h.moved = append(h.moved, moved{s, notch, now})
	}
}

// hands is a process of one student whose hand moves the throttle.
func hands(t trial) error {
	code, err := classroom.ParseJoinCode(t.Code)
	if err != nil {
		return err
	}
	id, err := classroom.IdentityFor(t.Folder, code, t.Addr, "", time.Now())
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	var mu sync.Mutex
	var made []moved
	_, travel := throttle()
	move := func(live *rehearsal.Live) {
		for n := 1; n <= notches; n++ {
			pause := time.NewTimer(100*time.Millisecond + rand.N(200*time.Millisecond))
			select {
			case <-pause.C:
			case <-live.Done():
				return
			case <-ctx.Done():
				return
			}
			m := moved{id.Station, n, time.Now().UnixNano()}
			live.Input(procedure.Event{At: live.Now(), Kind: procedure.EventMove, Subject: string(procedure.ControlThrottle), Value: float64(travel) * float64(n) / notches})
			mu.Lock()
			made = append(made, m)
			mu.Unlock()
		}
	}
	clock := rehearsal.NewSystem()
	pit := &classroom.Cockpit{Clock: clock, Begun: func(l *rehearsal.Live) { go move(l) }}
	s, err := classroom.Join(id, classroom.StationOptions{Libraries: shipped(), Clock: clock, Seat: pit}, func(id classroom.Identity, e classroom.Ear) (classroom.Link, error) {
		return natslink.Dial(id, natslink.Calling{Digits: code.Digits}, e)
	})
	if err != nil {
		return err
	}
	pit.Sit(s)
	untilTold()
	stop()
	settle([]*classroom.Station{s})
	s.Close()
	mu.Lock()
	defer mu.Unlock()
	cpu, _ := used()
	return say(flown{Moved: made, CPU: cpu, Alive: time.Since(programBegan)})
}
