package record

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// No filter may sort the whole table or look at runs one by one: a first page
// must cost the same however many runs there are, or read an index at worst.
func TestEveryListReadsAnIndex(t *testing.T) {
	f, err := openFile(InMemory)
	if err != nil {
		t.Fatal(err)
	}
	defer f.db.Close()
	set := []func(*Filter){
		func(f *Filter) { f.Person = "p" }, func(f *Filter) { f.Aircraft = "a" }, func(f *Filter) { f.Flow = "f" },
		func(f *Filter) { f.Phase = "p" }, func(f *Filter) { f.Outcome = "o" }, func(f *Filter) { f.From = time.Now() },
	}
	for combination := range 1 << len(set) {
		var filter Filter
		for i, apply := range set {
			if combination&(1<<i) != 0 {
				apply(&filter)
			}
		}
		where := filter.where()
		where.add("(started, key) < (?, ?)", 1, 1)
		plan := planOf(t, f, where.list(50), where.args...)
		if !strings.Contains(plan, "USING INDEX") && !strings.Contains(plan, "USING COVERING INDEX") || strings.Contains(plan, "TEMP B-TREE") {
			t.Errorf("%+v: %s", filter, plan)
		}
		if filter.Person != "" && !strings.Contains(plan, "runs_by_person") {
			t.Errorf("%+v does not begin with the person: %s", filter, plan)
		}
	}
}

func planOf(t *testing.T, f *file, query string, args ...any) string {
	t.Helper()
	rows, err := f.db.Query("EXPLAIN QUERY PLAN "+query, args...)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var plan []string
	for rows.Next() {
		var id, parent, unused int
		var detail string
		if err := rows.Scan(&id, &parent, &unused, &detail); err != nil {
			t.Fatal(err)
		}
		plan = append(plan, detail)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return fmt.Sprint(plan)
}
