package classroom

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2/test"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
	"kickover/ui/theme"
)

// aeroplanes are two with three flows between them.
func aeroplanes() []*procedure.Library {
	one := &procedure.Library{Aircraft: &procedure.Aircraft{ID: "one", Name: "One"}, Flows: []*procedure.Flow{
		{ID: "cold", Title: "Cold start", Entry: true}, {ID: "hot", Title: "Hot start", Entry: true}, {ID: "again", Title: "Again"}}}
	two := &procedure.Library{Aircraft: &procedure.Aircraft{ID: "two", Name: "Two"}, Flows: []*procedure.Flow{{ID: "warm", Title: "Warm start", Entry: true}}}
	return []*procedure.Library{one, two}
}

func flowsOf(plan []classroom.Situation) string {
	var out []string
	for _, s := range plan {
		out = append(out, fmt.Sprintf("%s/%s/%g", s.Aircraft, s.Flow, s.Conditions.OATCelsius))
	}
	return strings.Join(out, " ")
}

// The sequence is put together item by item, and each change is kept at once.
func TestTheSequenceIsEdited(t *testing.T) {
	test.NewTempApp(t)
	var kept []classroom.Situation
	s := NewSequence(SequenceOptions{Theme: theme.Dusk, Libraries: aeroplanes(), Drilled: func(classroom.Situation) int { return 0 },
		Keep: func(plan []classroom.Situation) { kept = plan }})
	show(t, s.Content())
	if got := flowsOf(kept); got != "one/cold/10" {
		t.Fatalf("it begins with %q", got)
	}
	s.add()
	s.flows[1].Tapped(nil)
	s.edit(func(x *classroom.Situation) { x.Conditions.OATCelsius = -5 })
	s.add()
	if got := flowsOf(kept); got != "one/cold/10 one/hot/-5 one/hot/-5" {
		t.Errorf("after adding two: %q", got)
	}
	s.move(-1)
	s.move(-1)
	s.move(-1)
	if got := flowsOf(kept); got != "one/hot/-5 one/cold/10 one/hot/-5" || s.at != 0 {
		t.Errorf("after moving up: %q, at %d", got, s.at)
	}
	s.remove()
	s.remove()
	s.remove()
	if got := flowsOf(kept); got != "one/hot/-5" || s.at != 0 {
		t.Errorf("after removing: %q, at %d: one is always left", got, s.at)
	}
}

// What is wrong in one situation is not wrong in the one that was made from it.
func TestAnAddedSituationHasFaultsOfItsOwn(t *testing.T) {
	test.NewTempApp(t)
	var kept []classroom.Situation
	s := NewSequence(SequenceOptions{Theme: theme.Dusk, Libraries: aeroplanes(), Drilled: func(classroom.Situation) int { return 0 },
		Keep: func(plan []classroom.Situation) { kept = plan }})
	toggle := func(x *classroom.Situation) { x.Faults = toggled(x.Faults, "pump-dead") }
	s.edit(toggle)
	s.add()
	s.edit(toggle)
	s.edit(func(x *classroom.Situation) { x.Faults = toggled(x.Faults, "no-fuel") })
	if a, b := fmt.Sprint(kept[0].Faults), fmt.Sprint(kept[1].Faults); a != "[pump-dead]" || b != "[no-fuel]" {
		t.Errorf("the first has %s, the second %s", a, b)
	}
}

// What cannot be announced is said, and the choice stands.
func TestWhatCannotBeAnnouncedIsSaid(t *testing.T) {
	test.NewTempApp(t)
	s := NewSequence(SequenceOptions{Theme: theme.Dusk, Libraries: aeroplanes(), Next: 7, Drilled: func(classroom.Situation) int { return 0 },
		Announce: func(int, classroom.Situation, classroom.Mode) error { return errors.New("this cannot be flown") }})
	show(t, s.Content())
	s.announce()
	if s.problem.text != "This cannot be flown." {
		t.Errorf("it says %q", s.problem.text)
	}
}

// A sign-off names two people, or says so.
func TestASignOffNamesBoth(t *testing.T) {
	test.NewTempApp(t)
	var put []SignOff
	s := NewSignOff(SignOffOptions{Theme: theme.Dusk, Sign: Sign{Run: "r", Number: 4, Name: "Imke", State: "started", Note: "Prime 4.2 s."},
		Put: func(o SignOff) error { put = append(put, o); return nil }})
	show(t, s.Content())
	s.sign()
	if s.problem.text != sentence(errWho.Error()) || len(put) != 0 {
		t.Errorf("%q, %d signed", s.problem.text, len(put))
	}
	s.instructor.SetText(" Otto ")
	s.remarks.SetText("steady hand")
	s.sign()
	if len(put) != 1 || put[0] != (SignOff{Student: "Imke", Instructor: "Otto", Remarks: "steady hand"}) {
		t.Errorf("%+v", put)
	}
}

// Between runs the student reads where he is, and after a run what came of it;
// nothing there names what was wrong and untold.
func TestWhatAStudentReads(t *testing.T) {
	test.NewTempApp(t)
	st := classroom.Status{}
	var last *rehearsal.Snapshot
	w := NewWait(WaitOptions{Theme: theme.Dusk, Address: "192.0.2.7", Said: func() string { return "" }, Status: func() classroom.Status { return st }, Title: func() string { return "" },
		Last: func() *rehearsal.Snapshot { return last }})
	show(t, w.Content())
	read := func(where string, parts ...string) {
		t.Helper()
		text := w.place.Text + "|" + w.drill.Text + "|" + w.state.text + "|" + w.notice.text
		for _, p := range parts {
			if !strings.Contains(text, p) {
				t.Errorf("%s it says %q, which lacks %q", where, text, p)
			}
		}
	}
	read("before anything answers", "Joining …", "Nothing has answered at 192.0.2.7", "same network")
	st.Notice = classroom.ErrUntrusted.Error()
	w.Refresh()
	read("when another machine answers", "Not this machine", "check words are others")
	if w.state.text != "" {
		t.Errorf("it says too that nothing answers: %q", w.state.text)
	}
	st = classroom.Status{Class: "Tuesday", Number: 3, Name: "Imke", Connected: true}
	w.Refresh()
	read("in the class", "Place 3", "Wait for the instructor")
	st.Connected, st.Waiting, st.Notice = false, 12, classroom.ErrAway.Error()
	w.Refresh()
	read("while the network is away", "not reached at the moment", "12 events")
	if w.notice.text != "" {
		t.Errorf("it says so twice: %q", w.notice.text)
	}
	st = classroom.Status{Class: "Tuesday", Number: 3, Connected: true, State: classroom.Going, Begins: true}
	w.Refresh()
	read("between the order and “go”", "it begins on “go”")
	st = classroom.Status{Class: "Tuesday", Number: 3, Connected: true, State: classroom.Going}
	w.Refresh()
	read("in a drill", "under way")
	prime := &procedure.Step{Title: "Prime"}
	last = &rehearsal.Snapshot{FlowTitle: "Cold start", At: 47 * time.Second, Done: true, Outcome: procedure.Started, Starter: rehearsal.StarterView{Used: 1},
		Steps: []rehearsal.StepView{{Step: prime, Verdict: procedure.Late, Detail: "6.1 s"}, {Step: prime, Verdict: procedure.OnTime}, {Step: prime}}}
	w.Refresh()
	if n := len(w.result.Objects); n != 3 || !w.head.Visible() {
		t.Errorf("%d lines of the run, want its end, one late step and how many were well", n)
	}
	for outcome, want := range map[procedure.Outcome]string{procedure.Started: "✓", procedure.EndUnsafe: "■ Something was done that could hurt", procedure.NotStarted: "▲"} {
		if words := outcomeWords(&rehearsal.Snapshot{Outcome: outcome}); !strings.HasPrefix(words, want) {
			t.Errorf("a run that ended %q is told as %q", outcome, words)
		}
	}
}

func TestASentence(t *testing.T) {
	for in, want := range map[string]string{"the code is wrong": "The code is wrong.", "Is it?": "Is it?", "Ähem.": "Ähem.", "ähem": "Ähem."} {
		if got := sentence(in); got != want {
			t.Errorf("%q becomes %q", in, got)
		}
	}
}
