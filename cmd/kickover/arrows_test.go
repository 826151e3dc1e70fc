package main

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// arrows says which packages of this module each may import, tests aside. A
// package in the tree and not here fails the test: add it with its reason.
// "..." at the end stands for everything below.
var arrows = map[string][]string{
	// The core: what an aeroplane and a flow are. Imports nothing of the project.
	"procedure": {},
	// The simulated engine stands alone, so that a plan can fly it a million times.
	"procedure/powerplant": {},
	"procedure/starter":    {"procedure"},

	// Around the core: files, stores and looks at runs. None knows another's edge.
	"procedure/flowfile": {"procedure"},
	"procedure/hands":    {"procedure"},
	// The aeroplanes that are brought along, for tests.
	"procedure/flowfile/shipped": {"procedure", "procedure/flowfile", "assets"},
	// A store keeps real starts beside runs.
	"procedure/record": {"procedure", "procedure/realstart"},
	// Tests' own binaries as programs that may be killed.
	"procedure/parttest": {},
	// A PostgreSQL for tests, of whichever package.
	"procedure/record/postgrestest": {},
	// Fills the disk under it, by hand.
	"procedure/record/postgrestest/fulldisk": {"procedure", "procedure/record", "procedure/record/postgrestest"},
	"procedure/debrief":                      {"procedure", "procedure/powerplant", "procedure/starter"},
	"procedure/chart":                        {"procedure", "procedure/debrief", "procedure/planner", "procedure/proficiency", "procedure/units", "assets/fonts"},

	// What a person reads, and has chosen.
	"procedure/units":                 {"procedure"},
	"procedure/settings":              {"procedure/units"},
	"procedure/settings/settingsfile": {"procedure/settings"},

	// Looks at many runs: how somebody gets better, what to practise, and paper.
	"procedure/proficiency": {"procedure", "procedure/debrief"},
	"procedure/practice":    {"procedure", "procedure/proficiency"},
	// An invented student flies what they look at.
	"procedure/practice/learner": {"procedure", "procedure/rehearsal"},
	"procedure/paper": {"procedure", "procedure/debrief", "procedure/chart", "procedure/practice",
		"procedure/proficiency", "procedure/units", "assets/fonts"},

	// How long to prime: many simulated starts, and real ones to learn from.
	"procedure/planner":     {"procedure", "procedure/powerplant", "procedure/proficiency", "procedure/realstart"},
	"procedure/planner/...": {"procedure", "procedure/powerplant", "procedure/planner", "procedure/planner/...", "procedure/realstart", "procedure/flowfile", "assets"},

	// A class: the model is pure; what carries it over a network stands apart.
	"procedure/classroom": {"procedure", "procedure/rehearsal", "procedure/powerplant", "procedure/debrief", "procedure/record", "procedure/starter"},
	"procedure/classroom/...": {"procedure", "procedure/rehearsal", "procedure/powerplant", "procedure/debrief",
		"procedure/record", "procedure/classroom", "procedure/classroom/...", "procedure/flowfile", "procedure/starter", "assets"},
	// When "go" is heard is measured on the sound's own clock.
	"procedure/classroom/measure": {"procedure", "procedure/rehearsal", "procedure/classroom", "procedure/classroom/...",
		"procedure/flowfile", "assets", "audio", "audio/speech"},
	"ui/classroom": {"procedure", "procedure/rehearsal", "procedure/powerplant", "procedure/debrief", "procedure/chart",
		"procedure/classroom", "procedure/units", "assets/fonts", "ui/..."},

	// The only loop.
	"procedure/rehearsal": {"procedure", "procedure/powerplant", "procedure/starter"},

	// The cockpit: a button, its ledger on disk, and real starts.
	"procedure/timer":              {"procedure", "procedure/starter"},
	"procedure/starter/ledgerfile": {"procedure", "procedure/starter"},
	"procedure/realstart":          {"procedure"},

	// Sound knows lines and times, and nothing of flows.
	"audio":        {"audio/...", "assets/voice"},
	"audio/...":    {"audio", "audio/...", "assets/voice"},
	"assets":       {},
	"assets/fonts": {},
	"assets/voice": {},

	// Screens are given what they show: no file, no store, no sound.
	"ui": {"procedure", "procedure/rehearsal", "procedure/realstart", "procedure/practice", "procedure/settings", "procedure/units", "assets/fonts", "ui/..."},
	// The timer's screen keeps real starts as its button makes them.
	"ui/timer": {"procedure", "procedure/units", "procedure/starter", "procedure/timer", "procedure/realstart", "assets/fonts", "ui/..."},
	// The plan's screen flies its own survey, and learns from real starts.
	"ui/plan": {"procedure", "procedure/units", "procedure/powerplant", "procedure/planner", "procedure/planner/...", "procedure/realstart",
		"procedure/chart", "assets/fonts", "ui/..."},
	// Many runs, and what to practise next.
	"ui/progress": {"procedure", "procedure/practice", "procedure/proficiency", "procedure/chart", "assets/fonts", "ui/..."},
	"ui/welcome":  {"procedure", "procedure/settings", "assets/fonts", "ui/..."},
	"ui/settings": {"procedure/settings", "procedure/units", "assets/fonts", "ui/..."},
	"ui/...": {"procedure", "procedure/rehearsal", "procedure/powerplant", "procedure/debrief", "procedure/chart", "procedure/units",
		"assets/fonts", "ui/..."},

	// Wiring.
	"cmd/kickover": {"..."},
	// What make voice has rendered: the lines of all shipped flows.
	"cmd/shippedlines": {"assets", "procedure", "procedure/flowfile"},
}

// pure packages may not tell the time, touch a file, start a goroutine or lock.
var pure = []string{"procedure", "procedure/powerplant", "procedure/starter", "procedure/debrief", "procedure/planner"}

type listed struct {
	ImportPath string
	Dir        string
	GoFiles    []string
	Imports    []string
}

const module = "kickover"

func TestArrows(t *testing.T) {
	for _, p := range packages(t) {
		name := strings.TrimPrefix(p.ImportPath, module+"/")
		allowed, ok := allowedFor(name)
		if !ok {
			t.Errorf("%s is not in the list of arrows: say what it may import, and why", name)
			continue
		}
		for _, imported := range p.Imports {
			rest, ours := strings.CutPrefix(imported, module+"/")
			if ours && !covered(rest, allowed) {
				t.Errorf("%s imports %s: allowed are %v", name, rest, allowed)
			}
		}
	}
}

// The core stays a function of its events only while it cannot look at anything
// else.
func TestTheCoreIsPure(t *testing.T) {
	banned := map[string]string{
		"os": "touches files", "net": "touches the network", "sync": "locks", "sync/atomic": "shares memory",
		"database/sql": "touches a store", "io/fs": "touches files", "context": "waits", "log": "writes",
	}
	for _, p := range packages(t) {
		name := strings.TrimPrefix(p.ImportPath, module+"/")
		if !contains(pure, name) {
			continue
		}
		for _, imported := range p.Imports {
			if why, bad := banned[imported]; bad {
				t.Errorf("%s imports %s, which %s", name, imported, why)
			}
		}
		for _, file := range p.GoFiles {
			looksOutside(t, name, filepath.Join(p.Dir, file))
		}
	}
}

// looksOutside finds clocks and goroutines in a file.
func looksOutside(t *testing.T, name, path string) {
	t.Helper()
	clocks := map[string]bool{"Now": true, "Since": true, "Until": true, "Sleep": true, "After": true, "Tick": true, "NewTimer": true, "NewTicker": true, "AfterFunc": true}
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt:
			t.Errorf("%s: %s starts a goroutine", name, filepath.Base(path))
		case *ast.SelectorExpr:
			if id, ok := n.X.(*ast.Ident); ok && id.Name == "time" && clocks[n.Sel.Name] {
				t.Errorf("%s: %s calls time.%s: time is passed in", name, filepath.Base(path), n.Sel.Name)
			}
		}
		return true
	})
}

func packages(t *testing.T) []listed {
	t.Helper()
	list := exec.Command("go", "list", "-tags", "migrated_fynedo,x11", "-json=ImportPath,Dir,GoFiles,Imports", module+"/...")
	out, err := list.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); d.More(); {
		var p listed
		if err := d.Decode(&p); err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	if len(all) < 10 {
		t.Fatalf("go list found %d packages only", len(all))
	}
	return all
}

// allowedFor finds a package's own entry, or that of the tree it is in.
func allowedFor(name string) ([]string, bool) {
	if a, ok := arrows[name]; ok {
		return a, true
	}
	for dir := filepath.Dir(name); dir != "."; dir = filepath.Dir(dir) {
		if a, ok := arrows[dir+"/..."]; ok {
			return a, true
		}
	}
	return nil, false
}

func covered(name string, allowed []string) bool {
	for _, a := range allowed {
		if tree, ok := strings.CutSuffix(a, "..."); a == name || ok && strings.HasPrefix(name, tree) {
			return true
		}
	}
	return false
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}
