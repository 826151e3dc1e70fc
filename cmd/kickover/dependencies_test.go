package main

import (
	"os"
	"regexp"
	"strings"
	"testing"
)

// Every module that this one requires itself is argued for in the contributors'
// guide, and none is argued for that is not required.
func TestEveryDependencyIsArgued(t *testing.T) {
	read := func(name string) string {
		text, err := os.ReadFile("../../" + name)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	_, guide, _ := strings.Cut(read("DEVELOPERS.md"), "## Dependencies, and why each")
	guide, _, _ = strings.Cut(guide, "\n## ")
	argued := map[string]bool{}
	for _, name := range regexp.MustCompile("`([^`]+\\.[^`]+/[^`]+)`").FindAllStringSubmatch(guide, -1) {
		argued[name[1]] = true
	}
	required := map[string]bool{}
	for _, line := range strings.Split(read("go.mod"), "\n") {
		if f := strings.Fields(line); len(f) == 2 && strings.HasPrefix(line, "\t") {
			required[f[0]] = true
		}
	}
	if len(required) < 10 {
		t.Fatalf("go.mod requires %v", required)
	}
	for name := range required {
		if !argued[name] {
			t.Errorf("go.mod requires %s, and DEVELOPERS.md does not say why", name)
		}
	}
	for name := range argued {
		if !required[name] {
			t.Errorf("DEVELOPERS.md argues for %s, which go.mod does not require", name)
		}
	}
}
