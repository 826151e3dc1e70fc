package ui

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode"
)

// strays are words for which the program has another one, so that one thing is
// never called by two names, and words that blame or say nothing. The words that
// stand are the trade's, or this project's own where the trade has none.
var strays = map[string]string{
	`checklists?`:                 "flow (a checklist is the aeroplane's own)",
	`callouts?`:                   "call-out",
	`sessions?`:                   "run",
	`trainees?|pupils?|learners?`: "student",
	`teachers?|tutors?|trainers?`: "instructor",
	`malfunctions?`:               "fault",
	`cranking limit|crank timer`:  "starter limit",
	`weather`:                     "conditions, or day",
	`tries`:                       "attempts",
	`log ?in|log ?out|sign ?in`:   "nobody has an account here",
	`oops|whoops|sorry`:           "what happened, what still works, what to do",
	`invalid|illegal`:             "what was found, and what is expected",
	`fatal|aborted|panic`:         "what happened, what still works, what to do",
	`please wait`:                 "what is being done, and how far it is",
	`click here`:                  "what it does",
	`e\.g\.|i\.e\.|etc\.`:         "words",
	`simulator`:                   "trainer has no such word: say engine, rehearse or run",
}

// shown reports whether a piece of text may be seen by a person: a sentence or a
// label, and no id, key or path.
func shown(s string) bool {
	if strings.ContainsAny(s, "\t{}<>=") || strings.Contains(s, "://") || strings.HasPrefix(s, "kickover/") {
		return false
	}
	if strings.Contains(strings.TrimSpace(s), " ") {
		return true
	}
	first := []rune(s + " ")[0]
	return unicode.IsUpper(first)
}

func TestOneWordForOneThing(t *testing.T) {
	banned := map[*regexp.Regexp]string{}
	for s, instead := range strays {
		banned[regexp.MustCompile(`(?i)\b(`+s+`)\b`)] = instead
	}
	seen := 0
	look := func(where, text string) {
		seen++
		text = strings.ReplaceAll(text, "session bus", "") // the freedesktop standard's own name
		for r, instead := range banned {
			if found := r.FindString(text); found != "" {
				t.Errorf("%s: %q in %q: say %s", where, found, text, instead)
			}
		}
	}
	for _, dir := range []string{"..", "../cmd/kickover"} {
		goTexts(t, dir, look)
	}
	yamlTexts(t, "../assets", look)
	if seen < 1000 {
		t.Errorf("only %d texts were looked at", seen)
	}
}

// goTexts gives the strings of the screens and of what is said on them.
func goTexts(t *testing.T, root string, look func(where, text string)) {
	t.Helper()
	dirs := []string{"ui", "procedure/debrief", "procedure/rehearsal", "procedure/timer", "procedure/classroom", "procedure/paper"}
	if root != ".." {
		dirs = []string{"."}
	}
	for _, d := range dirs {
		err := filepath.WalkDir(filepath.Join(root, d), func(path string, e fs.DirEntry, err error) error {
			if err != nil || e.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if _, tag := n.(*ast.ImportSpec); tag {
					return false
				}
				if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					if s, err := strconv.Unquote(lit.Value); err == nil && shown(s) {
						look(path, s)
					}
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// yamlTexts gives what aircraft and flows say.
func yamlTexts(t *testing.T, root string, look func(where, text string)) {
	t.Helper()
	err := filepath.WalkDir(root, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || !strings.HasSuffix(path, ".yaml") {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, line := range strings.Split(string(data), "\n") {
			if text, _, _ := strings.Cut(line, " #"); !strings.HasPrefix(strings.TrimSpace(text), "#") {
				look(path, text)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
