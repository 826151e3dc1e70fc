package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kickover/procedure/settings/settingsfile"
)

// A school's file that is chosen in the window holds there whatever network the
// program was begun with, and what is said of a bad one names no flag.
func TestASchoolChosenInTheWindow(t *testing.T) {
	own(t)
	preferences = settingsfile.Open(settingsPath())
	folder := t.TempDir()
	school := map[string]any{"servers": []string{"tls://nats.school.example:4222"}, "account": "CLASSROOM", "user": "instructor"}
	for _, key := range []string{"ca", "password_file", "issuer_file"} {
		school[key] = key
		if err := os.WriteFile(filepath.Join(folder, key), []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	text, err := json.Marshal(school)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(folder, "school.json")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	f := classFlags{network: "127.0.0.1"}
	if err := f.check(); err != nil || len(f.networks()) != 1 {
		t.Fatalf("on one network: %v, %v", f.networks(), err)
	}
	if _, err := f.useSchool(filepath.Join(folder, "none.json")); err == nil || strings.Contains(err.Error(), "--") || f.servers != nil {
		t.Errorf("a file that is not there: %v, and it is used: %v", err, f.servers)
	}
	if _, err := f.useSchool(file); err != nil || f.networks()[0].Host != "tls://nats.school.example:4222" {
		t.Errorf("with a network chosen before: %v (%v)", f.networks(), err)
	}
	if _, err := f.useSchool(""); err != nil || f.networks()[0].Host != "127.0.0.1" {
		t.Errorf("without it again: %v (%v)", f.networks(), err)
	}
	both := classFlags{network: "127.0.0.1", school: file}
	if err := both.check(); err == nil || !strings.Contains(err.Error(), "leave --interface out") {
		t.Errorf("both as flags: %v", err)
	}
}
