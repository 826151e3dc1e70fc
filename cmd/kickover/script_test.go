package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"kickover/procedure/record/postgrestest"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"kickover": main,
	})
}

// The whole program through its front door: what a person types, what comes
// back, and how it exits.
func TestScripts(t *testing.T) {
	hands, err := filepath.Abs("../../testdata/hands")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "../../testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("HANDS", hands)
			e.Setenv("HOME", e.WorkDir)
			e.Setenv("XDG_DATA_HOME", filepath.Join(e.WorkDir, "data"))
			e.Setenv("XDG_STATE_HOME", filepath.Join(e.WorkDir, "state"))
			e.Setenv("XDG_CONFIG_HOME", filepath.Join(e.WorkDir, "config"))
			e.Setenv("XDG_CACHE_HOME", filepath.Join(e.WorkDir, "cache"))
			e.Setenv("DISPLAY", "")
			for _, name := range []string{"DSN", "DSN2", "DSN3"} { // places of their own on one server
				e.Setenv(name, postgrestest.DSN(t))
			}
			return os.MkdirAll(filepath.Join(e.WorkDir, "data"), 0o755)
		},
		UpdateScripts: os.Getenv("KICKOVER_UPDATE_SCRIPTS") != "",
	})
}
