package main

import (
	"os"
	"strings"
	"testing"
)

// testdata/hung.json is what go test -json of Go 1.26 printed of two tests side by
// side, one of which waited for a process until the time was up; the goroutines'
// lines are cut to the first.
func TestATestThatHangsIsNamedAndItsGoroutinesShown(t *testing.T) {
	hung, err := os.Open("testdata/hung.json")
	if err != nil {
		t.Fatal(err)
	}
	defer hung.Close()
	var out strings.Builder
	if read(hung, &out) {
		t.Error("a test that never ended is well")
	}
	for _, want := range []string{"never ended: hang TestA", "panic: test timed out after 3s", "[running]:", "1 passed, 1 failed"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("it does not say %q:\n%s", want, out.String())
		}
	}
}

func TestTally(t *testing.T) {
	for _, c := range []struct {
		name, in, want string
		well           bool
	}{
		{"nothing ran", ``, "0 passed, 0 failed\n", false},
		{"one passes and is silent", `{"Action":"run","Package":"p","Test":"T"}
{"Action":"output","Package":"p","Test":"T","Output":"words\n"}
{"Action":"output","Package":"p","Test":"T","Output":"--- PASS: T (0.00s)\n"}
{"Action":"pass","Package":"p","Test":"T"}
{"Action":"output","Package":"p","Output":"PASS\n"}
{"Action":"pass","Package":"p","Elapsed":0.5}
`, "ok\tp\t0.50s\n1 passed, 0 failed\n", true},
		{"one fails and is heard", `{"Action":"run","Package":"p","Test":"T"}
{"Action":"output","Package":"p","Test":"T","Output":"words\n"}
{"Action":"fail","Package":"p","Test":"T"}
{"Action":"output","Package":"p","Output":"FAIL\n"}
{"Action":"fail","Package":"p","Elapsed":0.5}
`, "fail p T\nwords\nFAIL\n0 passed, 1 failed\n", false},
		{"one is skipped", `{"Action":"run","Package":"p","Test":"T"}
{"Action":"skip","Package":"p","Test":"T"}
{"Action":"run","Package":"p","Test":"U"}
{"Action":"pass","Package":"p","Test":"U"}
{"Action":"pass","Package":"p","Elapsed":0.5}
`, "skip p T\nok\tp\t0.50s\n1 passed, 0 failed, 1 skipped\n", true},
		{"one does not build", `{"Action":"build-output","ImportPath":"p","Output":"a.go:1: no\n"}
{"Action":"output","Package":"p","Output":"FAIL p [build failed]\n"}
{"Action":"fail","Package":"p"}
{"Action":"run","Package":"q","Test":"T"}
{"Action":"pass","Package":"q","Test":"T"}
{"Action":"pass","Package":"q","Elapsed":0.5}
`, "a.go:1: no\nFAIL p [build failed]\nok\tq\t0.50s\n1 passed, 0 failed\n", false},
	} {
		var out strings.Builder
		if well := read(strings.NewReader(c.in), &out); well != c.well || out.String() != c.want {
			t.Errorf("%s: well %v, %q; want %v, %q", c.name, well, out.String(), c.well, c.want)
		}
	}
}
