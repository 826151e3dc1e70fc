package flowfile

import (
	"math"
	"strings"
	"testing"
)

// Whatever stands where a quantity is due: a finite number in the dimension's
// first unit, or a complaint with its mend; never both and never neither.
func FuzzQuantity(f *testing.F) {
	for _, text := range []string{"28 mm", "3.5 s", "-5 degF", "24V", "1,5 s", "1e3 s", "999999999.999999999 h", "+0 %", "", "٣ mm", "1 furlong", "0x1 s"} {
		for _, u := range units {
			f.Add(text, u.name)
		}
	}
	f.Fuzz(func(t *testing.T, text, name string) {
		own, known := unitNamed(name)
		if !known {
			return
		}
		for what, read := range map[string]func(*report, *node) (float64, bool){
			"a quantity": func(r *report, n *node) (float64, bool) { return quantity(r, n, own.dimension, "1 "+own.name) },
			"a reading":  func(r *report, n *node) (float64, bool) { return measured(r, n, own) },
			"a spread":   func(r *report, n *node) (float64, bool) { return spread(r, n, own) },
			"a time": func(r *report, n *node) (float64, bool) {
				d, ok := duration(r, n)
				if d < 0 || d > longestTime {
					t.Fatalf("%q is a time of %v", text, d)
				}
				return d.Seconds(), ok
			},
		} {
			r := newReport("fuzz.yaml", []byte(text))
			v, ok := read(r, &node{kind: scalarNode, line: 1, column: 1, width: 1, text: text})
			if math.IsNaN(v) || math.IsInf(v, 0) || ok != (len(r.problems) == 0) {
				t.Fatalf("%q as %s in %s is %v, %v with %d complaints", text, what, name, v, ok, len(r.problems))
			}
			for _, p := range r.problems {
				if strings.TrimSpace(p.What) == "" || strings.TrimSpace(p.Mend) == "" {
					t.Fatalf("%q: %+v", text, p)
				}
			}
		}
	})
}
