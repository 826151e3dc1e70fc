package classroom

import (
	"strings"
	"time"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// said is what the instructor said last, as a student reads it: a page at a time,
// each as large as a caption.
type said struct {
	pages []string
	at    time.Time
}

const (
	instructor  = "Instructor"
	pageLetters = 60 // of what is read at a caption's full size in the narrowest window
	pageFor     = 5 * time.Second
	saidAtLeast = 15 * time.Second
	saidTimes   = 2 // that a long line comes round
)

func newSaid(line string, at time.Time) said {
	s := said{at: at}
	page := ""
	for _, w := range strings.Fields(line) {
		if page != "" && len([]rune(page))+1+len([]rune(w)) > pageLetters {
			s.pages = append(s.pages, page+" …")
			page = "… " + w
			continue
		}
		page = strings.TrimSpace(page + " " + w)
	}
	if page != "" {
		s.pages = append(s.pages, page)
	}
	return s
}

// stands is for how long the line stands.
func (s said) stands() time.Duration {
	return max(saidAtLeast, saidTimes*time.Duration(len(s.pages))*pageFor)
}

// page is what there is to read at a moment, empty when it is over.
func (s said) page(now time.Time) string {
	since := now.Sub(s.at)
	if len(s.pages) == 0 || since >= s.stands() {
		return ""
	}
	return s.pages[int(since/pageFor)%len(s.pages)]
}

// whole is the line while it stands, where there is room for all of it.
func (s said) whole(now time.Time) string {
	if s.page(now) == "" {
		return ""
	}
	return strings.ReplaceAll(strings.Join(s.pages, " "), " … … ", " ")
}

// over puts the line where the student reads what is spoken. Only what is worth
// nothing a moment later takes its place: a count, a call-out, a warning.
func (s said) over(c rehearsal.Caption, now time.Time) rehearsal.Caption {
	page := s.page(now)
	passing := c.Text != "" && c.Priority != procedure.PriorityPrompt && c.Text != s.whole(now)
	if page == "" || passing {
		return c
	}
	return rehearsal.Caption{Text: page, By: instructor, Priority: procedure.PriorityCue, At: c.At}
}
