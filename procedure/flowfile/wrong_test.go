package flowfile_test

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kickover/assets"
	"kickover/procedure/flowfile"
)

const (
	wrongFolder    = "../../testdata/flows/wrong"
	commonPractice = "../../testdata/common-practice"
)

var update = flag.Bool("update", false, "rewrite the expected errors of the wrong files")

func wrongFiles(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob(wrongFolder + "/*.yaml")
	if err != nil || len(files) < 36 {
		t.Fatalf("%d wrong files, %v", len(files), err)
	}
	return files
}

// Each wrong file begins with a comment that says what is wrong with it, and
// stands beside the exact error it must give. Read the difference before
// rewriting with -update: the text is what a person gets.
func TestWrongFiles(t *testing.T) {
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range wrongFiles(t) {
		name := filepath.Base(file)
		t.Run(strings.TrimSuffix(name, ".yaml"), func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			err = flowfile.Check(name, data, libraries)
			var wrong *flowfile.Errors
			if !errors.As(err, &wrong) || len(wrong.Problems) == 0 {
				t.Fatalf("taken for right: %v", err)
			}
			for _, p := range wrong.Problems {
				if p.File != name || p.What == "" || p.Mend == "" || p.Line > 0 && p.Column == 0 {
					t.Errorf("incomplete: %+v", p)
				}
			}
			golden := strings.TrimSuffix(file, ".yaml") + ".golden"
			got := wrong.Error() + "\n"
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}
