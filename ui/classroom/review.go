package classroom

import (
	"errors"
	"fmt"
	"sync"
	"time"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
	"kickover/ui/rehearse"
	"kickover/ui/runs"
)

// This file is the desk after a drill: the debrief, its examples replayed, and
// runs signed off.

// debrief shows what the class made of a drill, by its index; -1 is the last.
func (d *Desk) debrief(at int) {
	drills := d.class.Drills()
	if at < 0 {
		at = len(drills) - 1
	}
	if at < 0 || at >= len(drills) {
		d.tell(errors.New("there is nothing to debrief yet: announce a drill first"))
		return
	}
	drill := drills[at]
	report, runs, left, err := d.class.Report(drill.ID)
	if err != nil {
		d.tell(err)
		return
	}
	d.still()
	again := func() { d.debrief(at) }
	o := DebriefOptions{Theme: d.o.Theme, Title: fmt.Sprintf("%s, drill %d of %d", d.flowTitle(drill.Situation), at+1, len(drills)), Report: report, Left: left,
		Back: d.showBoard, Replay: func(r classroom.RunID) { d.replay(drill, r, exampleOf(report, r), again) }, Paged: d.lendPage,
		SignOff: func() { d.signOffs(runs, again) }}
	if at > 0 {
		o.Earlier = func() { d.debrief(at - 1) }
	}
	if at < len(drills)-1 {
		o.Later = func() { d.debrief(at + 1) }
	}
	s := NewDebrief(o)
	d.o.Stage.Show("Debrief", s.Content(), s.Focus, d.showBoard)
	d.lendPage(s)
}

// lendPage shows the room the page that the instructor has before him.
func (d *Desk) lendPage(s *Debrief) {
	if d.wall.there() {
		d.wall.lend(s.Copy())
	}
}

// exampleOf says what a run that is shown again is an example of.
func exampleOf(r classroom.ClassReport, run classroom.RunID) string {
	switch {
	case r.Worst == "":
		return "the only run"
	case run == r.Best:
		return "the best run"
	}
	return "the worst run"
}

// replay flies a run of the class again, for everybody to see, as an example of
// something. It names nobody.
func (d *Desk) replay(drill classroom.Drill, run classroom.RunID, example string, back func()) {
	o, err := d.recorded(drill, run)
	if err != nil {
		d.tell(err)
		d.showBoard() // where it is read
		return
	}
	var screens []*rehearse.Screen
	show := func(n *rehearsal.Snapshot) {
		seen := *n
		seen.Phase = watched
		seen.FlowTitle += ": " + example
		for _, s := range screens {
			s.Show(&seen)
		}
	}
	shown := newLatest(show)
	live, stop, err := d.o.Play(o, shown.publish)
	if err != nil {
		d.tell(err)
		d.showBoard()
		return
	}
	end := sync.OnceFunc(func() {
		shown.close()
		stop()
	})
	leave := func() {
		end()
		back()
	}
	d.still()
	replay := rehearse.Watched{Title: "Replay", Says: "as it was flown"}
	mine := rehearse.New(rehearse.Options{Theme: d.o.Theme, Units: d.o.Units, Now: live.Now, Emit: nothing, Watched: replay, Leave: leave, Finish: leave,
		Pause: func() { live.Pause(!live.Latest().Paused) }})
	screens = append(screens, mine)
	d.o.Stage.Fly(mine)
	d.stop = end
	if d.wall.there() {
		rooms := rehearse.New(rehearse.Options{Theme: d.o.Theme, Units: d.o.Units, Now: live.Now, Emit: nothing, Watched: replay})
		screens = append(screens, rooms)
		d.wall.lend(rooms.Content())
	}
	show(live.Latest())
}

// nothing comes of what is pressed in a replay.
func nothing(procedure.Event) {}

// recorded is a run of the class as it is flown again.
func (d *Desk) recorded(drill classroom.Drill, run classroom.RunID) (rehearsal.Options, error) {
	lib, _ := d.find(drill.Situation)
	events, err := d.class.Book().Events(run)
	if err != nil || lib == nil || len(events) == 0 {
		return rehearsal.Options{}, errors.Join(errors.New("this run cannot be replayed: its events or its flow are not here"), err)
	}
	s := drill.Situation
	return rehearsal.Options{Library: lib, Flow: s.Flow, Phase: s.Phase, Panel: s.Panel, Conditions: s.Conditions,
		Faults: s.Faults, Seed: drill.Seed, Hands: rehearsal.Replayable(events), Replay: true}, nil
}

// signOffs lists the runs of a drill with names, each to be signed off.
func (d *Desk) signOffs(runs []classroom.Flown, back func()) {
	d.still()
	d.wall.giveBack()
	again := func() { d.signOffs(runs, back) }
	signed := map[string]string{}
	if d.o.Signer != nil {
		var err error
		if signed, err = d.o.Signer.Signed(); err != nil {
			d.tell(err)
		}
	}
	var list []Sign
	for _, f := range runs {
		list = append(list, d.signOf(f, signed[string(f.Run)]))
	}
	s := NewSignList(SignListOptions{Theme: d.o.Theme, Signs: list, Back: back, CanSign: d.o.Signer != nil,
		Open: func(x Sign) { d.signOff(x, again) }})
	d.o.Stage.Show("Sign off", s.Content(), s.Focus, back)
}

func (d *Desk) signOf(f classroom.Flown, by string) Sign {
	r, _ := d.class.Row(f.Station)
	s := Sign{Run: f.Run, Number: r.Number, Name: r.Name, State: runs.Words(f.Report.Outcome), SignedBy: by,
		Note: fmt.Sprintf("Prime %.1f s, %s, %.0f s in all. %s", f.Report.Prime.Seconds(), attempts(len(f.Report.Attempts)), f.Report.Length.Seconds(), f.Report.Why)}
	if f.Late > 0 {
		s.Note = fmt.Sprintf("Began %s after the others. %s", lateWords(f.Late), s.Note)
	}
	if f.Report.Unsafe {
		s.State = "■ unsafe"
	}
	return s
}

func lateWords(d time.Duration) string {
	if d < 2*time.Minute {
		return fmt.Sprintf("%.0f s", d.Seconds())
	}
	return fmt.Sprintf("%.0f min", d.Minutes())
}

// signOff is one person's run.
func (d *Desk) signOff(x Sign, back func()) {
	o := SignOffOptions{Theme: d.o.Theme, Sign: x, Instructor: d.signing, Back: back,
		Put: func(s SignOff) error {
			s.Run = string(x.Run)
			if err := d.o.Signer.SignOff(s); err != nil {
				return err
			}
			d.signing = s.Instructor
			back()
			return nil
		}}
	if d.o.Review != nil {
		o.Review = func() { d.o.Review(string(x.Run), func() { d.signOff(x, back) }) }
	}
	s := NewSignOff(o)
	d.o.Stage.Show("Sign off", s.Content(), s.Focus, back)
}
