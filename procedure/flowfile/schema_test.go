package flowfile_test

import (
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"kickover/assets"
	"kickover/procedure/flowfile"
)

func compiled(t testing.TB, file string) *jsonschema.Schema {
	t.Helper()
	f, err := assets.Schemas().Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	doc, err := jsonschema.UnmarshalJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	if err := c.AddResource(file, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(file)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// asJSON is a YAML file as the validator takes it.
func asJSON(t testing.TB, data []byte) any {
	t.Helper()
	j, err := yaml.YAMLToJSON(data)
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(string(j)))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// schemaOf picks the schema of a file by its schema line.
func schemaOf(t testing.TB) func(data []byte) *jsonschema.Schema {
	flow, aircraft := compiled(t, "flow-1.schema.json"), compiled(t, "aircraft-1.schema.json")
	return func(data []byte) *jsonschema.Schema {
		if strings.Contains(string(data), "schema: "+flowfile.AircraftSchema) {
			return aircraft
		}
		return flow
	}
}

func TestSchemasAcceptEveryFileThatLoads(t *testing.T) {
	of := schemaOf(t)
	n := 0
	for name, tree := range map[string]fs.FS{"assets": assets.Library(), "testdata": os.DirFS(commonPractice)} {
		err := fs.WalkDir(tree, ".", func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || filepath.Ext(path) != ".yaml" {
				return err
			}
			data, err := fs.ReadFile(tree, path)
			if err != nil {
				return err
			}
			n++
			if err := of(data).Validate(asJSON(t, data)); err != nil {
				t.Errorf("%s/%s: %v", name, path, err)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if n < 10 {
		t.Errorf("only %d files were looked at", n)
	}
}

// An editor that underlines a mistake spares a trip to the program. Only what
// concerns several places at once is beyond a schema.
func TestSchemasCatchWhatAnEditorCan(t *testing.T) {
	of := schemaOf(t)
	refused := 0
	for _, w := range wrongFiles(t) {
		data, err := os.ReadFile(w)
		if err != nil {
			t.Fatal(err)
		}
		var v any
		if yaml.Unmarshal(data, &v) != nil {
			continue // not YAML, or refused before: no editor gets as far as the schema
		}
		j, err := json.Marshal(v)
		if err != nil {
			continue
		}
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(string(j)))
		if err != nil {
			t.Fatal(err)
		}
		if of(data).Validate(doc) != nil {
			refused++
		}
	}
	if refused < 20 {
		t.Errorf("the schemas catch only %d of the wrong files; keys, kinds and units should be caught", refused)
	}
}
