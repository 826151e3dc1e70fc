package classroom

import (
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// What the instructor says takes the place of a prompt, which stands elsewhere too,
// and of nothing that is worth nothing a moment later.
func TestTheInstructorsLineIsACaption(t *testing.T) {
	s := newSaid("Look outside before you crank.", testMoment)
	at := testMoment.Add(time.Second)
	for _, c := range []struct {
		was  rehearsal.Caption
		want string // by whom, and what
	}{
		{rehearsal.Caption{}, "Instructor: Look outside before you crank."},
		{rehearsal.Caption{Text: "Battery on", Priority: procedure.PriorityPrompt}, "Instructor: Look outside before you crank."},
		{rehearsal.Caption{Text: "Look outside before you crank.", Priority: procedure.PriorityCue}, "Instructor: Look outside before you crank."},
		{rehearsal.Caption{Text: "three", Priority: procedure.PriorityCount}, ": three"},
		{rehearsal.Caption{Text: "Mixture back", Priority: procedure.PriorityCue}, ": Mixture back"},
		{rehearsal.Caption{Text: "Stop. Somebody is there.", Priority: procedure.PriorityWarning}, ": Stop. Somebody is there."},
	} {
		if got := s.over(c.was, at); got.By+": "+got.Text != c.want {
			t.Errorf("over %q stands %q by %q, want %q", c.was.Text, got.Text, got.By, c.want)
		}
	}
	if got := s.over(rehearsal.Caption{}, testMoment.Add(s.stands())); got.Text != "" {
		t.Errorf("it stands for ever: %q", got.Text)
	}
	if got := (said{}).over(rehearsal.Caption{}, at); got.Text != "" {
		t.Errorf("nothing was said, and there stands %q", got.Text)
	}
}

// While the run's time stands still the student reads who stopped it, and what the
// instructor says meanwhile; a warning stays.
func TestAPausedRunSaysByWhom(t *testing.T) {
	prompt := rehearsal.Caption{Text: "Battery on", Priority: procedure.PriorityPrompt}
	warning := rehearsal.Caption{Text: "Stop. Somebody is there.", Priority: procedure.PriorityWarning}
	for _, c := range []struct {
		n    rehearsal.Snapshot
		want string
	}{
		{rehearsal.Snapshot{Caption: prompt}, "Battery on"},
		{rehearsal.Snapshot{Caption: prompt, Paused: true}, pausedByInstructor},
		{rehearsal.Snapshot{Caption: warning, Paused: true}, "Stop. Somebody is there."},
		{rehearsal.Snapshot{Caption: prompt, Paused: true, Done: true}, "Battery on"},
	} {
		if got := stopped(&c.n); got.Text != c.want {
			t.Errorf("%+v is told as %q, want %q", c.n, got.Text, c.want)
		}
	}
	s := newSaid("Look at station 3.", testMoment)
	if got := s.over(stopped(&rehearsal.Snapshot{Paused: true}), testMoment); got.By != "Instructor" || got.Text != "Look at station 3." {
		t.Errorf("what is said meanwhile is %q", got.Text)
	}
}

// A long line is read page by page, all of it twice, none longer than a caption.
func TestALongLineFromTheInstructor(t *testing.T) {
	line := strings.TrimSpace(strings.Repeat("one two three four five six seven eight ", 7))
	s := newSaid(line, testMoment)
	var read []string
	for at := time.Duration(0); at < s.stands(); at += pageFor {
		p := s.page(testMoment.Add(at))
		if n := len([]rune(p)); n > pageLetters+4 {
			t.Errorf("%d letters at once: %q", n, p)
		}
		read = append(read, strings.Trim(p, "… "))
	}
	if got := strings.Join(read, " "); got != line+" "+line {
		t.Errorf("read is %q", got)
	}
	if got := s.whole(testMoment); got != line {
		t.Errorf("the whole is %q", got)
	}
}
