package flowfile

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
	"sync"

	"kickover/procedure"
)

// Load reads a tree of files: aircraft/*.yaml, and flows/AIRCRAFT/*.yaml for
// each aircraft. It returns what could be read together with an [*Errors] about
// what could not: a wrong flow does not take the others with it.
//
// Libraries come in the order of their aircraft's ids; flows with those that a
// run can begin with first, from cold to flooded.
func Load(fsys fs.FS) ([]*procedure.Library, error) {
	return load(fsys, nil)
}

// LoadUser reads a person's own folder, laid out as [Load] has it, on top of
// the shipped libraries. Its flows may be for shipped aircraft, and its own
// aircraft may not take a shipped one's id. The shipped libraries are not
// changed; the result holds everything. A folder that does not exist is no
// error: there is nothing in it.
func LoadUser(dir string, shipped []*procedure.Library) ([]*procedure.Library, error) {
	if _, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) {
		return shipped, nil
	}
	return load(os.DirFS(dir), shipped)
}

func load(fsys fs.FS, shipped []*procedure.Library) ([]*procedure.Library, error) {
	l := loader{fsys: fsys}
	for _, s := range shipped {
		l.libraries = append(l.libraries, &procedure.Library{Aircraft: s.Aircraft, Flows: slices.Clone(s.Flows)})
	}
	for _, name := range l.list("aircraft") {
		l.aircraft(name)
	}
	for _, dir := range l.folders("flows") {
		l.flows(dir)
	}
	l.choices()
	slices.SortStableFunc(l.libraries, func(a, b *procedure.Library) int { return cmp.Compare(a.Aircraft.ID, b.Aircraft.ID) })
	for _, lib := range l.libraries {
		slices.SortStableFunc(lib.Flows, byUse)
	}
	if len(l.problems) > 0 {
		return l.libraries, &Errors{Problems: l.problems}
	}
	return l.libraries, nil
}

// situations in the order in which they are offered; any other comes after.
var situations = []string{"cold", "warm", "hot", "flooded"}

func byUse(a, b *procedure.Flow) int {
	rank := func(f *procedure.Flow) int {
		i := slices.Index(situations, f.Situation)
		if i < 0 {
			i = len(situations)
		}
		if !f.Entry {
			i += len(situations) + 1
		}
		return i
	}
	return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.ID, b.ID))
}

type loader struct {
	fsys      fs.FS
	libraries []*procedure.Library
	read      []*readFlow
	problems  []Problem
}

func (l *loader) note(err error) {
	var e *Errors
	if errors.As(err, &e) {
		l.problems = append(l.problems, e.Problems...)
	}
}

func (l *loader) list(dir string) []string {
	names, err := fs.Glob(l.fsys, dir+"/*.yaml")
	if err != nil { // only a malformed pattern; ours is not, but a folder's name may be
		l.note(wholeFile(dir, "the folder's name cannot be searched", "use letters, digits and hyphens in it"))
	}
	return names
}

func (l *loader) folders(dir string) []string {
	entries, err := fs.ReadDir(l.fsys, dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		l.note(wholeFile(dir, "the folder cannot be read: "+plain(err), "look at its permissions"))
	}
	var names []string
	for _, e := range entries {
		if e.IsDir() {
			names = append(names, path.Join(dir, e.Name()))
		}
	}
	return names
}

// file reads a file no further than what will be accepted.
func (l *loader) file(name string) ([]byte, bool) {
	info, err := fs.Stat(l.fsys, name)
	if err == nil && info.Size() > maxBytes {
		l.note(wholeFile(name, fmt.Sprintf("the file has %d bytes; at most %d are read", info.Size(), maxBytes), "split it: one aircraft or one flow in a file"))
		return nil, false
	}
	data, err := fs.ReadFile(l.fsys, name)
	if err != nil {
		l.note(wholeFile(name, "the file cannot be read: "+plain(err), "look at its permissions"))
		return nil, false
	}
	return data, true
}

// plain is an error without the path, which the message has already.
func plain(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

func (l *loader) aircraft(name string) {
	data, ok := l.file(name)
	if !ok {
		return
	}
	a, err := ParseAircraft(name, data)
	if err != nil {
		l.note(err)
		return
	}
	if l.library(a.ID) != nil {
		l.note(wholeFile(name, fmt.Sprintf("there is an aircraft %q already", a.ID), "give this one another id"))
		return
	}
	l.libraries = append(l.libraries, &procedure.Library{Aircraft: a})
}

func (l *loader) library(id procedure.AircraftID) *procedure.Library {
	for _, lib := range l.libraries {
		if lib.Aircraft.ID == id {
			return lib
		}
	}
	return nil
}

// parsed is what came of a flow's file.
type parsed struct {
	read   *readFlow
	err    error
	unread bool // which has been said
}

// parsed reads flows side by side: the window waits for them before its first
// frame.
func (l *loader) parsed(names []string, a *procedure.Aircraft) []parsed {
	out := make([]parsed, len(names))
	var all sync.WaitGroup
	for i, name := range names {
		data, ok := l.file(name)
		if !ok {
			out[i].unread = true
			continue
		}
		all.Go(func() { out[i].read, out[i].err = parseFlow(name, data, a) })
	}
	all.Wait()
	return out
}

func (l *loader) flows(dir string) {
	lib := l.library(procedure.AircraftID(path.Base(dir)))
	names := l.list(dir)
	if lib == nil {
		if len(names) > 0 {
			l.note(wholeFile(dir, fmt.Sprintf("the aircraft %q of these flows is not known", path.Base(dir)), "name the folder after an aircraft's id, or mend that aircraft's file first"))
		}
		return
	}
	for i, p := range l.parsed(names, lib.Aircraft) {
		name, read, err := names[i], p.read, p.err
		if p.unread {
			continue
		}
		if err != nil {
			l.note(err)
			continue
		}
		if _, taken := lib.Flow(read.flow.ID); taken {
			l.note(wholeFile(name, fmt.Sprintf("the %s has a flow %q already", lib.Aircraft.Name, read.flow.ID), "give this one another id"))
			continue
		}
		lib.Flows = append(lib.Flows, read.flow)
		l.read = append(l.read, read)
	}
}

// choices checks, now that all flows are known, where choices lead. A flow
// with a choice that leads nowhere is withdrawn, and so are those that lead to
// it, until what is left holds together.
func (l *loader) choices() {
	for again := true; again; {
		again = false
		for _, read := range l.read {
			lib := l.library(read.flow.Aircraft)
			if lib == nil || !slices.Contains(lib.Flows, read.flow) {
				continue
			}
			read.checkChoices(lib.Flows)
			if err := read.report.err(); err != nil {
				l.note(err)
				lib.Flows = slices.DeleteFunc(lib.Flows, func(f *procedure.Flow) bool { return f == read.flow })
				again = true
			}
		}
	}
}

// Check reads one file, an aircraft or a flow, and returns what is wrong with
// it, nil when nothing is. A flow's aircraft, and the flows that its choices
// lead to, are looked for in the libraries.
func Check(name string, data []byte, libraries []*procedure.Library) error {
	kind, of := glance(name, data)
	switch kind {
	case AircraftSchema:
		_, err := ParseAircraft(name, data)
		return err
	case FlowSchema:
		for _, lib := range libraries {
			if string(lib.Aircraft.ID) != of {
				continue
			}
			read, err := parseFlow(name, data, lib.Aircraft)
			if err != nil {
				return err
			}
			flows := slices.Clone(lib.Flows)
			if _, known := lib.Flow(read.flow.ID); !known {
				flows = append(flows, read.flow)
			}
			read.checkChoices(flows)
			return read.report.err()
		}
	}
	return undecided(name, data, kind, of, libraries)
}

// glance reads a file's schema and aircraft, whatever else is wrong with it.
func glance(name string, data []byte) (kind, of string) {
	root := document(newReport(name, data), data)
	if root == nil {
		return "", ""
	}
	for _, e := range root.entries {
		switch e.key.text {
		case "schema":
			kind = e.value.text
		case "aircraft":
			of = e.value.text
		}
	}
	return kind, of
}

// undecided says why a file could be taken neither for an aircraft nor for a
// flow of a known one.
func undecided(name string, data []byte, kind, of string, libraries []*procedure.Library) error {
	r := newReport(name, data)
	root := document(r, data)
	if root == nil {
		return r.err()
	}
	at := root
	for _, e := range root.entries {
		if kind != FlowSchema && e.key.text == "schema" || kind == FlowSchema && e.key.text == "aircraft" {
			at = e.value
		}
	}
	if kind == FlowSchema {
		var known []string
		for _, lib := range libraries {
			known = append(known, string(lib.Aircraft.ID))
		}
		r.complain(at, fmt.Sprintf("the aircraft %q of this flow is not known", of), nearest("write", of, known))
	} else {
		r.complain(at, fmt.Sprintf("%q is not a schema that this version reads", kind), fmt.Sprintf("write \"schema: %s\" or \"schema: %s\"", FlowSchema, AircraftSchema))
	}
	return r.err()
}

// Lines lists every text that a library may have spoken, once each, sorted:
// prompts, call-outs, what a step is for and what goes wrong, the titles and
// questions of choices, and the cautions.
func Lines(lib *procedure.Library) []string {
	var lines []string
	add := func(s string) {
		if s = strings.TrimSpace(s); s != "" {
			lines = append(lines, s)
		}
	}
	steps := func(steps []procedure.Step) {
		for _, s := range steps {
			add(s.Prompt.Spoken())
			add(s.Why)
			add(s.Wrong)
			for _, c := range s.CallOuts {
				add(c.Line.Spoken())
			}
		}
	}
	choices := func(choices []procedure.Choice) {
		for _, c := range choices {
			add(c.Title)
			add(c.Ask)
		}
	}
	for _, f := range lib.Flows {
		add(f.Caution)
		steps(f.Steps)
		choices(f.Choices)
		if f.NoStart != nil {
			steps(f.NoStart.Steps)
			choices(f.NoStart.Choices)
		}
	}
	slices.Sort(lines)
	return slices.Compact(lines)
}
