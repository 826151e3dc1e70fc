package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/adrg/xdg"

	"kickover/procedure"
	"kickover/procedure/practice"
	"kickover/procedure/proficiency"
	"kickover/procedure/record"
	"kickover/ui"
	"kickover/ui/paper"
	"kickover/ui/people"
	"kickover/ui/progress"
	"kickover/ui/runs"
)

// This file gives the window what it asks about people and many runs.

func (d *desk) records() ui.Records {
	return ui.Records{
		People: d.people, Flying: d.flying, Fly: d.fly, Add: d.addPerson, Traces: d.traces, Erase: d.erase,
		Export: d.exportPerson, FileFor: documentFile,
		Flown: d.flown, Look: d.look,
		Runs: d.runsForPaper, Make: d.makePaper, Save: func(p paper.Document, file string) error { return saveDocument(p, expanded(file)) },
		Real: realRuns, About: d.about, Sign: d.sign,
	}
}

// kept is the store, or the reason why there is none.
func (d *desk) kept() (*record.Store, error) {
	if d.store == nil {
		return nil, fmt.Errorf("the store of runs is not open: %s", d.trouble)
	}
	return d.store, nil
}

func (d *desk) people() ([]people.Person, error) {
	s, err := d.kept()
	if err != nil {
		return nil, err
	}
	list, err := s.People()
	var out []people.Person
	for _, p := range list {
		out = append(out, people.Person{ID: p.ID, Name: p.Name, Role: string(p.Role)})
	}
	return out, err
}

// flyingFile holds the id of who is flying, which tells nothing of the person.
func flyingFile() string { return filepath.Join(userFolder(), "flying") }

// flying is who flies; nobody, where the records do not know them any more. It was
// looked up when the store was opened, and is from then on whom one said.
func (d *desk) flying() people.Person {
	if p := d.flier.Load(); p != nil {
		return *p
	}
	return people.Person{}
}

// lookUpFlier finds who was flying when the program ended.
func (d *desk) lookUpFlier() {
	id := flyingID()
	if id == "" || d.store == nil {
		return
	}
	if p, err := d.store.Person(id); err == nil {
		d.flier.Store(&people.Person{ID: p.ID, Name: p.Name, Role: string(p.Role)})
	}
}

// flyingID is what the file says, empty for nobody.
func flyingID() string {
	data, err := os.ReadFile(flyingFile())
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(data))
}

func (d *desk) fly(id string) error {
	d.flier.Store(nil)
	err := os.MkdirAll(userFolder(), 0o700)
	if err == nil {
		err = os.WriteFile(flyingFile(), []byte(id+"\n"), 0o600)
	}
	if err != nil {
		return fmt.Errorf("who is flying cannot be kept, and runs from now on are nobody's: %w", err)
	}
	d.lookUpFlier()
	return nil
}

func (d *desk) addPerson(name, role string) (string, error) {
	s, err := d.kept()
	if err != nil {
		return "", err
	}
	list, err := s.People()
	if err != nil {
		return "", err
	}
	for _, p := range list {
		if strings.EqualFold(p.Name, strings.TrimSpace(name)) {
			return "", fmt.Errorf("%s is there already: choose them in the list, or write the name so that you can tell the two apart", p.Name)
		}
	}
	p, err := s.AddPerson(record.Person{Name: name, Role: record.Role(role)})
	if errors.Is(err, record.ErrInvalid) {
		return "", errors.New("a name has one line of 1 to 200 letters: write it in the field first")
	}
	return p.ID, err
}

func (d *desk) traces(id string) (string, error) {
	s, err := d.kept()
	if err != nil {
		return "", err
	}
	t, err := s.Traces(id)
	return t.String(), err
}

func (d *desk) erase(id string) (string, error) {
	s, err := d.kept()
	if err != nil {
		return "", err
	}
	flying := d.flying().ID == id
	t, err := s.Erase(id)
	if err == nil && flying {
		err = d.fly("")
	}
	return t.String(), err
}

// exportPerson writes all that names a person: themselves, their runs, their real
// starts and what was signed for them or by them.
func (d *desk) exportPerson(id, file string) error {
	s, err := d.kept()
	if err != nil {
		return err
	}
	out, err := os.OpenFile(expanded(file), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%s is there already, and nothing was written: give another name", file)
	}
	if err != nil {
		return fmt.Errorf("nothing was written: %w", err)
	}
	if err := errors.Join(s.ExportPerson(out, id), out.Sync(), out.Close()); err != nil {
		_ = os.Remove(expanded(file))
		return fmt.Errorf("nothing was written: %w", err)
	}
	return nil
}

// documentFile suggests a place for a file: the user's documents, with a number
// where the name is taken.
func documentFile(name string) string {
	folder := xdg.UserDirs.Documents
	if info, err := os.Stat(folder); err != nil || !info.IsDir() {
		folder = xdg.Home
	}
	ext := filepath.Ext(name)
	if ext == "" {
		name, ext = strings.ReplaceAll(strings.ToLower(strings.TrimSpace(name)), " ", "-")+".jsonl", ".jsonl"
	}
	base := strings.TrimSuffix(strings.ReplaceAll(name, string(filepath.Separator), "-"), ext)
	for n := 1; ; n++ {
		file := filepath.Join(folder, base+ext)
		if n > 1 {
			file = filepath.Join(folder, fmt.Sprintf("%s-%d%s", base, n, ext))
		}
		if _, err := os.Stat(file); errors.Is(err, os.ErrNotExist) || n == 1000 {
			return file
		}
	}
}

// expanded is a path as typed, with ~ for the user's own folder.
func expanded(file string) string {
	if rest, ok := strings.CutPrefix(file, "~/"); ok {
		return filepath.Join(xdg.Home, rest)
	}
	return file
}

// flown lists a person's flows, the one flown last first.
func (d *desk) flown(person string) ([]progress.Flow, error) {
	s, err := d.kept()
	if err != nil {
		return nil, err
	}
	list, err := s.Flown(person)
	if err != nil {
		return nil, err
	}
	at := map[flowKey]int{}
	var out []progress.Flow
	for _, f := range list {
		if !flownOneself(f.Phase) {
			continue
		}
		k := flowKey{f.Aircraft, f.Flow}
		i, ok := at[k]
		if !ok {
			i = len(out)
			at[k] = i
			h := record.Header{Aircraft: f.Aircraft, Flow: f.Flow}
			out = append(out, progress.Flow{Aircraft: k.aircraft, Flow: k.flow, Title: flowTitle(d.libraries, h)})
		}
		out[i].Runs += f.Runs
	}
	return out, nil
}

// newsEvery is after how many runs it is said how many were read: a second or two
// over a slow link.
const newsEvery = 100

func (d *desk) look(ctx context.Context, person string, f progress.Flow, news func(string)) (progress.Look, error) {
	s, err := d.kept()
	if err != nil {
		return progress.Look{}, err
	}
	list, err := flownOf(s, person, record.Filter{}, func(runs int) error {
		if runs%newsEvery == 0 {
			news(fmt.Sprintf("Reading the runs… %d", runs))
		}
		return ctx.Err()
	})
	if err != nil {
		return progress.Look{}, err
	}
	titles, err := flowTitles()
	if err != nil {
		return progress.Look{}, err
	}
	news(fmt.Sprintf("Looking at %d runs…", len(list)))
	var look progress.Look
	var all, runs []proficiency.Run
	for _, l := range list {
		r := observed(l, titles[flowKey{l.Header.Aircraft, l.Header.Flow}])
		all = append(all, r)
		if r.Aircraft != f.Aircraft || r.Flow != f.Flow {
			continue
		}
		runs = append(runs, r)
		if invented(l.Header) {
			look.Invented++
		}
	}
	look.Report = proficiency.Of(runs)
	look.Next = practice.Next(all, time.Now(), practice.Options{Flows: d.entryFlows(f.Aircraft)})
	return look, nil
}

// entryFlows are those that one could begin with, of an aircraft or the first one.
func (d *desk) entryFlows(a procedure.AircraftID) []*procedure.Flow {
	for _, l := range d.libraries {
		if l.Aircraft.ID == a || a == "" {
			return l.Flows
		}
	}
	return nil
}

// mostOffered is how many runs a record can be chosen from.
const mostOffered = 40

func (d *desk) runsForPaper(person string, f progress.Flow) ([]paper.Run, error) {
	s, err := d.kept()
	if err != nil {
		return nil, err
	}
	if person == "" {
		person = record.Nobody
	}
	list, err := s.Runs(record.Filter{Person: person, Aircraft: f.Aircraft, Flow: f.Flow}, record.Page{Limit: mostOffered})
	var out []paper.Run
	for _, l := range list {
		if l.Finished && l.Header.Phase != procedure.Explain {
			out = append(out, paper.Run{ID: l.Header.ID, Words: fmt.Sprintf("%s, %s", l.Header.Started.Local().Format("2 Jan 2006, 15:04"), l.Header.Phase)})
		}
	}
	return out, err
}

func (d *desk) makePaper(o paper.Order) (paper.Document, error) {
	switch o.What {
	case paper.Card:
		return cardOf(string(o.Aircraft), string(o.Flow), o.Sheet, math.NaN(), d.settings.Settings().Units)
	case paper.Marks:
		return marksOf(string(o.Aircraft), o.Sheet, o.Edge, o.Unit)
	}
	s, err := d.kept()
	if err != nil {
		return nil, err
	}
	doc, _, err := recordOf(s, recordOrder{
		run: o.Run, person: o.Person, aircraft: string(o.Aircraft), flow: string(o.Flow),
		school: o.School, instructor: o.Instructor, sheet: o.Sheet, units: d.settings.Settings().Units,
	})
	return doc, err
}

func (d *desk) sign(run, instructor, remarks string) error {
	s, err := d.kept()
	if err != nil {
		return err
	}
	l, err := s.Listing(run)
	if err != nil {
		return err
	}
	if l.Header.Person == "" {
		return errors.New("nobody is named as the student of this run: say who is flying before a run, or give it to somebody with 'kickover records assign'")
	}
	by, err := instructorNamed(s, instructor)
	if err != nil {
		return err
	}
	_, err = s.Sign(record.SignOff{Student: l.Header.Person, Instructor: by, Run: run, Remarks: strings.TrimSpace(remarks)})
	return err
}

// instructorNamed finds an instructor by name, and adds one who is new.
func instructorNamed(s *record.Store, name string) (string, error) {
	name = strings.TrimSpace(name)
	list, err := s.People()
	if err != nil {
		return "", err
	}
	for _, p := range list {
		if strings.EqualFold(p.Name, name) {
			if p.Role != record.Instructor {
				return "", fmt.Errorf("%s is in the records as a student: an instructor signs", p.Name)
			}
			return p.ID, nil
		}
	}
	p, err := s.AddPerson(record.Person{Name: name, Role: record.Instructor})
	if errors.Is(err, record.ErrInvalid) {
		return "", errors.New("write the instructor's name first")
	}
	return p.ID, err
}

// about says whose a stored run is, and what was last signed of it.
func (d *desk) about(run string) (ui.About, error) {
	s, err := d.kept()
	if err != nil {
		return ui.About{}, err
	}
	l, err := s.Listing(run)
	if err != nil {
		return ui.About{}, err
	}
	h := l.Header
	a := ui.About{Person: h.Person, Finished: l.Finished, Flow: progress.Flow{Aircraft: h.Aircraft, Flow: h.Flow, Title: flowTitle(d.libraries, h)}}
	if h.Person == "" {
		return a, nil
	}
	list, err := s.SignOffs(h.Person)
	if err != nil {
		return a, err
	}
	names, err := peopleNames(s)
	a.Student = names(h.Person)
	for _, o := range list {
		if o.Run == run {
			a.Signed = fmt.Sprintf("Signed by %s on %s. %s", names(o.Instructor), o.Signed.Local().Format("2 January 2006"), o.Remarks)
			break
		}
	}
	return a, err
}

// realRuns are the starts of a real engine as the window lists them, newest first.
func realRuns() ([]runs.Real, error) {
	all, err := observedStarts()
	if err != nil {
		return nil, err
	}
	var out []runs.Real
	for _, o := range slices.Backward(all) {
		s := o.Start
		r := runs.Real{At: s.At, Title: s.Registration + ", " + s.Situation, Prime: o.Detail, Verdict: o.Verdict, Outcome: s.Outcome,
			Note: strings.ReplaceAll(s.Note, "\n", " ")}
		if !math.IsNaN(s.OATCelsius) {
			r.Prime += fmt.Sprintf("  ·  %.0f °C", s.OATCelsius)
		}
		out = append(out, r)
	}
	return out, nil
}
