package debrief

import (
	"fmt"
	"io"
	"strings"

	"kickover/procedure"
)

// marks stand beside verdicts, so that no meaning rests on colour.
var marks = map[procedure.Verdict]string{
	procedure.OnTime: "✓", procedure.Early: "△", procedure.Late: "△",
	procedure.Missed: "○", procedure.OutOfOrder: "⇅", procedure.Unsafe: "■",
}

// Mark is the sign that stands beside a verdict.
func Mark(v procedure.Verdict) string { return marks[v] }

// WriteText writes the report for a terminal.
func (r *Report) WriteText(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n%s\n\n", r.Title(), r.Why)
	for _, s := range r.Steps {
		if !s.Reached {
			continue
		}
		fmt.Fprintf(&b, "  %s %-34s %9s   %-16s %s\n", Mark(s.Verdict), s.Step.Title, elapsedText(s), s.WindowText(), s.VerdictText())
	}
	if len(r.Attempts) > 0 {
		b.WriteString("\n")
	}
	for i, a := range r.Attempts {
		fmt.Fprintf(&b, "  attempt %d: primed %s, cranked %s, %s\n", i+1, secs(a.Prime), secs(a.Crank()), a.outcomeText(r))
	}
	if len(r.Reasons) > 0 {
		b.WriteString("\n")
	}
	for i, x := range r.Reasons {
		fmt.Fprintf(&b, "  %d. %s\n     %s\n", i+1, x.Head, x.Body)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Title is how the run ended, in three words or so.
func (r *Report) Title() string {
	switch {
	case r.Outcome == procedure.Abandoned:
		return "It was broken off"
	case r.Outcome == procedure.Read:
		return "It was read"
	case r.Outcome == procedure.Stopped:
		return "It was stopped, rightly"
	case r.Started && r.Unsafe:
		return "It started, unsafely"
	case r.Unsafe:
		return "It was unsafe"
	case r.Started:
		return "It started"
	default:
		return "It did not start"
	}
}

// WindowText is the step's window as a person would write it.
func (s Step) WindowText() string {
	if s.Window.Zero() {
		return ""
	}
	return windowText(s.Window)
}

// VerdictText is the verdict with by how much.
func (s Step) VerdictText() string {
	if off := s.Off(); off != 0 && (s.Verdict == procedure.Late || s.Verdict == procedure.Early) {
		return fmt.Sprintf("%s %s", s.Verdict, secs(off.Abs()))
	}
	return string(s.Verdict)
}

func elapsedText(s Step) string {
	if s.Verdict == procedure.Missed {
		return "—"
	}
	return secs(s.Elapsed)
}

func (a Attempt) outcomeText(r *Report) string {
	switch {
	case a.Fired && a.Died:
		return fmt.Sprintf("fired after %s and died", secs(a.ToFire()))
	case a.Fired:
		return fmt.Sprintf("fired after %s on %s vapour", secs(a.ToFire()), percent(a.Vapour))
	default:
		return "did not fire: " + strings.TrimSuffix(r.whyNot(a), ".")
	}
}
