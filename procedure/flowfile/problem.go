package flowfile

import (
	"fmt"
	"sort"
	"strings"
)

// Problem is one mistake in a file.
type Problem struct {
	File    string
	Line    int    // from 1; 0 when the file as a whole is meant
	Column  int    // from 1, in characters
	Excerpt string // the line, and under it a caret; empty when Line is 0
	What    string // what is wrong
	Mend    string // what to do about it
}

// String is the problem as a person reads it, over several lines.
func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
	}
	fmt.Fprintf(&b, ": %s\n", p.What)
	if p.Excerpt != "" {
		b.WriteString(p.Excerpt)
		b.WriteByte('\n')
	}
	fmt.Fprintf(&b, "  mend: %s", p.Mend)
	return b.String()
}

// Errors is everything wrong with the files that were read, in their order.
// It is the only error type this package returns for the contents of a file.
type Errors struct {
	Problems []Problem
}

// Error lists every problem.
func (e *Errors) Error() string {
	texts := make([]string, len(e.Problems))
	for i, p := range e.Problems {
		texts[i] = p.String()
	}
	return strings.Join(texts, "\n")
}

// maxProblems bounds what one file can report: beyond it the file is of
// another kind and more lines help nobody.
const maxProblems = 100

// report gathers the problems of one file.
type report struct {
	file     string
	lines    []string
	problems []Problem
}

func newReport(file string, data []byte) *report {
	return &report{file: file, lines: strings.Split(string(data), "\n")}
}

// complain adds a problem at a node.
func (r *report) complain(n *node, what, mend string) {
	r.complainAt(n.line, n.column, n.width, what, mend)
}

func (r *report) complainAt(line, column, width int, what, mend string) {
	if len(r.problems) >= maxProblems {
		return
	}
	p := Problem{File: r.file, Line: line, Column: column, What: what, Mend: mend}
	p.Excerpt = r.excerpt(line, column, width)
	r.problems = append(r.problems, p)
}

// excerpt is the line with a caret under its column.
func (r *report) excerpt(line, column, width int) string {
	if line < 1 || line > len(r.lines) {
		return ""
	}
	// A tab would move the caret away from what it points at.
	text := strings.NewReplacer("\t", " ", "\r", "").Replace(r.lines[line-1])
	text = strings.ToValidUTF8(text, "?")
	column = max(column, 1)
	width = min(width, len([]rune(text))-column+1)
	caret := strings.Repeat(" ", column-1) + "^" + strings.Repeat("~", max(width-1, 0))
	number := fmt.Sprintf("%5d", line)
	return fmt.Sprintf("%s | %s\n%s | %s", number, text, strings.Repeat(" ", len(number)), caret)
}

// err is the report as an error, or nil when there is nothing to report.
func (r *report) err() error {
	if len(r.problems) == 0 {
		return nil
	}
	sort.SliceStable(r.problems, func(i, j int) bool {
		a, b := r.problems[i], r.problems[j]
		if a.Line != b.Line {
			return a.Line < b.Line
		}
		return a.Column < b.Column
	})
	return &Errors{Problems: r.problems}
}

// wholeFile is an error about a file that could not be looked into.
func wholeFile(file, what, mend string) error {
	return &Errors{Problems: []Problem{{File: file, What: what, Mend: mend}}}
}
