package flowfile

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/agnivade/levenshtein"
)

// fields reads the keys of a group, remembering where each stood.
type fields struct {
	r    *report
	at   *node
	what string // "a step", for messages
	vals map[string]*node
	keys map[string]*node
}

// group reads n as keys and values. Keys that are not among known are
// complained about, with the nearest known one; so is a key that comes twice.
// A node that is no group is complained about and gives an empty one.
func group(r *report, n *node, what string, known ...string) fields {
	f := fields{r: r, at: n, what: what, vals: map[string]*node{}, keys: map[string]*node{}}
	if n.kind != mappingNode {
		if n.kind != refusedNode {
			r.complain(n, fmt.Sprintf("%s is due here, not %s", what, n.kind), "write keys and values: "+strings.Join(known, ", "))
		}
		f.at = nil
		return f
	}
	for _, e := range n.entries {
		key := e.key.text
		if !slices.Contains(known, key) {
			r.complain(e.key, fmt.Sprintf("%s has no key %q", what, key), nearest("write", key, known))
			continue
		}
		if first, twice := f.keys[key]; twice {
			r.complain(e.key, fmt.Sprintf("the key %q comes a second time; the first is in line %d", key, first.line), "keep one of the two")
			continue
		}
		f.vals[key], f.keys[key] = e.value, e.key
	}
	return f
}

// get gives a key's value, or nil when it is absent. A key without a value is
// complained about.
func (f *fields) get(key string) *node {
	v := f.vals[key]
	if v == nil || v.kind == refusedNode {
		return nil
	}
	if v.kind == emptyNode {
		f.r.complain(v, fmt.Sprintf("%q has no value", key), "give it a value or remove the key")
		delete(f.vals, key)
		f.vals[key] = &node{kind: refusedNode, line: v.line, column: v.column, width: v.width}
		return nil
	}
	return v
}

// need is get for a key that must be there.
func (f *fields) need(key, example string) *node {
	if f.at == nil {
		return nil
	}
	if _, there := f.vals[key]; !there {
		f.r.complain(f.at, fmt.Sprintf("%s needs the key %q", f.what, key), "add it, for example `"+key+": "+example+"`")
		return nil
	}
	return f.get(key)
}

// has reports whether the key was written, with or without a value.
func (f *fields) has(key string) bool { _, ok := f.vals[key]; return ok }

// nearest is the mend for a word that is none of the known ones.
func nearest(verb, word string, known []string) string {
	if len(known) == 0 {
		return "remove it"
	}
	best, distance := "", 1+max(2, utf8.RuneCountInString(word)/3)
	lower := strings.ToLower(strings.ReplaceAll(word, "-", "_"))
	for _, k := range known {
		d := levenshtein.ComputeDistance(lower, strings.ReplaceAll(k, "-", "_"))
		if d < distance {
			best, distance = k, d
		}
	}
	if best != "" {
		return fmt.Sprintf("did you mean %q?", best)
	}
	return verb + " one of: " + strings.Join(known, ", ")
}

// scalar reads a single value, or complains and gives false.
func scalar(r *report, n *node, what string) (string, bool) {
	if n == nil {
		return "", false
	}
	if n.kind != scalarNode {
		r.complain(n, fmt.Sprintf("%s is due here, not %s", what, n.kind), "write a single value")
		return "", false
	}
	return n.text, true
}

// text reads words for people: one line, not empty, of bounded length.
func text(r *report, n *node, longest int) string {
	s, ok := scalar(r, n, "a text")
	if !ok {
		return ""
	}
	s = strings.TrimSpace(s)
	switch {
	case s == "":
		r.complain(n, "the text is empty", "write it, or remove the key")
	case strings.ContainsAny(s, "\n\t\r\x00"):
		r.complain(n, "the text has line breaks or tabs in it", "write it on one line, or fold it with \">-\"")
	case utf8.RuneCountInString(s) > longest:
		r.complain(n, fmt.Sprintf("the text has %d characters; at most %d can be shown", utf8.RuneCountInString(s), longest), "say it shorter")
	}
	return s
}

var idPattern = regexp.MustCompile(`^[a-z][a-z0-9]*([_-][a-z0-9]+)*$`)

// ident reads an identifier.
func ident(r *report, n *node) string {
	s, ok := scalar(r, n, "an identifier")
	if !ok {
		return ""
	}
	if !idPattern.MatchString(s) || len(s) > 40 {
		r.complain(n, fmt.Sprintf("%q is not an identifier", s), "use up to 40 lower-case letters, digits, hyphens and underscores, beginning with a letter")
		return ""
	}
	return s
}

// word reads one of the known words.
func word(r *report, n *node, what string, known ...string) string {
	s, ok := scalar(r, n, what)
	if !ok {
		return ""
	}
	if !slices.Contains(known, s) {
		r.complain(n, fmt.Sprintf("%q is not %s", s, what), nearest("write", s, known))
		return ""
	}
	return s
}

// truth reads true or false.
func truth(r *report, n *node) bool {
	return n != nil && word(r, n, "true or false", "true", "false") == "true"
}

// whole reads a whole number between two bounds.
func whole(r *report, n *node, low, high int) int {
	s, ok := scalar(r, n, "a whole number")
	if !ok {
		return low
	}
	i, err := strconv.Atoi(s)
	if err != nil || i < low || i > high {
		r.complain(n, fmt.Sprintf("%q is not a whole number from %d to %d", s, low, high), "write such a number, without a unit")
		return low
	}
	return i
}

// list reads a list; a node that is none is complained about.
func list(r *report, n *node, what string) []*node {
	if n == nil {
		return nil
	}
	if n.kind != sequenceNode {
		r.complain(n, fmt.Sprintf("a list of %s is due here, not %s", what, n.kind), "begin each with \"- \" on a line of its own")
		return nil
	}
	if len(n.items) == 0 {
		r.complain(n, "the list of "+what+" is empty", "write at least one")
	}
	return n.items
}

// unique complains about an identifier that was used before.
func unique(r *report, n *node, id, what string, seen map[string]int) {
	if id == "" || n == nil {
		return
	}
	if line, twice := seen[id]; twice {
		r.complain(n, fmt.Sprintf("the %s %q comes a second time; the first is in line %d", what, id, line), "give each its own identifier")
		return
	}
	seen[id] = n.line
}
