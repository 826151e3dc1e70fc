package flowfile

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Limits on what is read. The largest shipped file has a tenth of any of them.
const (
	maxBytes = 256 << 10
	maxLine  = 500 // characters; it bounds the depth of indentation too
	maxDepth = 12
)

type nodeKind int

const (
	scalarNode nodeKind = iota
	mappingNode
	sequenceNode
	emptyNode   // a key without a value
	refusedNode // complained about already
)

// node is a piece of a file with its place: what is left of YAML once anchors,
// aliases, tags and merge keys have been refused.
type node struct {
	kind                nodeKind
	line, column, width int
	text                string // of a scalar
	entries             []entry
	items               []*node
}

type entry struct {
	key   *node
	value *node
}

func (k nodeKind) String() string {
	return [...]string{"a single value", "a group of keys", "a list", "nothing", "something that is not read"}[k]
}

// document reads a file into nodes. It returns nil when it cannot be read at
// all, having said why.
func document(r *report, data []byte) *node {
	if !bounded(r, data) {
		return nil
	}
	file := parse(r, data)
	if file == nil {
		return nil
	}
	var bodies []ast.Node
	for _, d := range file.Docs {
		if d.Body != nil {
			bodies = append(bodies, d.Body)
		}
	}
	switch len(bodies) {
	case 0:
		r.complainAt(1, 1, 1, "the file is empty", "begin it with a schema line, for example \"schema: "+FlowSchema+"\"")
		return nil
	case 1:
		root := convert(r, bodies[0], 0)
		if root != nil && root.kind != mappingNode {
			r.complain(root, "the file is "+root.kind.String()+" where keys and values are due",
				"begin it with a schema line, for example \"schema: "+FlowSchema+"\"")
			return nil
		}
		return root
	default:
		second := convert(newReport(r.file, nil), bodies[1], 0) // only for its place
		if second == nil {
			second = place(bodies[1].GetToken())
		}
		r.complain(second, "a second document begins here", "keep one aircraft or one flow in a file: move this to a file of its own")
		return nil
	}
}

// bounded refuses what could make the parser slow or deep.
func bounded(r *report, data []byte) bool {
	if len(data) > maxBytes {
		r.complainAt(0, 0, 0, fmt.Sprintf("the file has %d bytes; at most %d are read", len(data), maxBytes), "split it: one aircraft or one flow in a file")
		return false
	}
	if !utf8.Valid(data) {
		for i, line := range r.lines {
			if !utf8.ValidString(line) {
				r.complainAt(i+1, 1, 1, "this line is not UTF-8 text", "save the file as UTF-8")
				return false
			}
		}
	}
	for i, line := range r.lines {
		if utf8.RuneCountInString(line) > maxLine {
			r.problems = append(r.problems, Problem{File: r.file, Line: i + 1, Column: maxLine + 1,
				What: fmt.Sprintf("the line is longer than %d characters", maxLine), Mend: "fold the text with \">-\" over several lines"})
			return false
		}
	}
	return true
}

// parse runs the YAML library. Its lexer and parser are not ours to prove free
// of panics, so a panic there becomes a complaint about the file.
func parse(r *report, data []byte) (file *ast.File) {
	defer func() {
		if recover() != nil {
			r.complainAt(1, 1, 1, "the file cannot be understood as YAML", "compare it with a shipped file; look for an unclosed quote or bracket")
			file = nil
		}
	}()
	tokens := lexer.Tokenize(string(data))
	if !shallow(r, tokens) {
		return nil
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err == nil {
		return file
	}
	at := &node{line: 1, column: 1, width: 1}
	what := "the file cannot be understood as YAML"
	var syntax yaml.Error
	if errors.As(err, &syntax) {
		what = "this is not YAML: " + syntax.GetMessage()
		if t := syntax.GetToken(); t != nil {
			at = place(t)
		}
	}
	r.complain(at, what, "look here and at the line above for a missing colon, an unclosed quote or bracket, a tab, or the wrong indentation")
	return nil
}

// shallow refuses brackets within brackets, and lists within lists on a line,
// before the parser recurses into them.
func shallow(r *report, tokens token.Tokens) bool {
	depth, line, dashes := 0, 0, 0
	for _, t := range tokens {
		switch t.Type {
		case token.SequenceStartType, token.MappingStartType:
			depth++
		case token.SequenceEndType, token.MappingEndType:
			depth--
		case token.SequenceEntryType, token.MappingKeyType:
			if t.Position.Line != line {
				line, dashes = t.Position.Line, 0
			}
			dashes++
		}
		if depth > maxDepth || dashes > maxDepth {
			r.complain(place(t), "the brackets or lists are nested too deep", "no key of these files needs more than four levels")
			return false
		}
	}
	return true
}

func place(t *token.Token) *node {
	n := &node{line: 1, column: 1, width: 1}
	if t == nil || t.Position == nil {
		return n
	}
	n.line, n.column = max(t.Position.Line, 1), max(t.Position.Column, 1)
	first, _, _ := strings.Cut(strings.TrimSpace(t.Origin), "\n")
	n.width = max(utf8.RuneCountInString(first), 1)
	return n
}

// convert turns the library's tree into ours.
func convert(r *report, n ast.Node, depth int) *node {
	at := place(n.GetToken())
	if depth > maxDepth {
		r.complain(at, "the file is nested too deep", "no key of these files needs more than four levels")
		return nil
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		return mapping(r, n.Values, depth)
	case *ast.MappingValueNode:
		return mapping(r, []*ast.MappingValueNode{n}, depth)
	case *ast.SequenceNode:
		at.kind, at.width = sequenceNode, 1
		for _, v := range n.Values {
			if item := convert(r, v, depth+1); item != nil {
				at.items = append(at.items, item)
			}
		}
		return at
	case *ast.NullNode:
		at.kind, at.width = emptyNode, 1
		return at
	case *ast.LiteralNode:
		at.text = n.Value.Value
		return at
	case *ast.StringNode:
		at.text = n.Value
		return at
	case *ast.AnchorNode, *ast.AliasNode, *ast.MergeKeyNode:
		r.complain(at, "anchors, aliases and merge keys are not read", "write the values out where they are needed")
		return nil
	case *ast.TagNode, *ast.DirectiveNode:
		r.complain(at, "tags and directives are not read", "remove it")
		return nil
	case ast.ScalarNode: // numbers, truth values: kept as they were written
		at.text = n.GetToken().Value
		return at
	default:
		r.complain(at, "this is not a value", "write a value, a list or keys here")
		return nil
	}
}

func mapping(r *report, values []*ast.MappingValueNode, depth int) *node {
	m := &node{kind: mappingNode, line: 1, column: 1, width: 1}
	for _, v := range values {
		key := place(v.Key.GetToken())
		if m.entries == nil && key.line > 0 {
			m.line, m.column, m.width = key.line, key.column, key.width
		}
		switch k := v.Key.(type) {
		case *ast.StringNode:
			key.text = k.Value
		case *ast.MergeKeyNode, *ast.AliasNode, *ast.AnchorNode, *ast.MappingKeyNode, *ast.TagNode:
			r.complain(key, "this kind of key is not read", "write a plain word as the key")
			continue
		default:
			key.text = v.Key.GetToken().Value
		}
		value := convert(r, v.Value, depth+1)
		if value == nil {
			// Refused above: keep the key, so that it is not called missing as well.
			value = &node{kind: refusedNode, line: key.line, column: key.column, width: key.width}
		}
		if value.kind == emptyNode {
			value.line, value.column, value.width = key.line, key.column, key.width
		}
		m.entries = append(m.entries, entry{key, value})
	}
	return m
}
