package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// named is a command as a text tells somebody to give it.
var named = regexp.MustCompile(`['` + "`" + `]kickover ([a-z][a-z -]*)`)

// Whatever command a text of the program or of the README names, there is one.
func TestEveryCommandThatIsNamedIsThere(t *testing.T) {
	seen := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		switch name := d.Name(); {
		case err != nil:
			return err
		case d.IsDir() && path != "../.." && strings.HasPrefix(name, "."):
			return fs.SkipDir
		case name != "README.md" && (filepath.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go")):
			return nil
		}
		text, err := os.ReadFile(path)
		for _, m := range named.FindAllSubmatch(text, -1) {
			seen++
			if word := unknownIn(rootCommand(), strings.Fields(string(m[1]))); word != "" {
				t.Errorf("%s names 'kickover %s', and there is no %q", path, m[1], word)
			}
		}
		return err
	})
	if err != nil || seen < 20 {
		t.Errorf("%d commands were found named, %v", seen, err)
	}
}

// unknownIn is the first of some words that should be a command and is none.
func unknownIn(c *cobra.Command, words []string) string {
	for _, w := range words {
		if !c.HasSubCommands() || strings.HasPrefix(w, "-") || c == c.Root() && w == "completion" {
			return "" // what follows are its arguments
		}
		next, _, err := c.Find([]string{w})
		if err != nil || next == c {
			return w
		}
		c = next
	}
	return ""
}
