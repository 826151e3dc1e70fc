// Package assets holds the files that are built into the program: aircraft and
// flows, their JSON Schemas, the spoken clips, the fonts and the icon.
//
// Each is a tree to be read with [io/fs]. Aircraft and flows are for package
// flowfile; where each clip and font comes from, and under which licence,
// stands beside it.
package assets

import (
	"embed"
	"io/fs"
)

//go:embed aircraft flows
var library embed.FS

//go:embed schema
var schemas embed.FS

// Icon is the program's own picture, a PNG 64 pixels wide.
//
//go:embed desktop/kickover-64.png
var Icon []byte

// Library is the tree of aircraft/*.yaml and flows/AIRCRAFT/*.yaml.
func Library() fs.FS { return library }

// Schemas is the tree of the JSON Schemas for editors of those files.
func Schemas() fs.FS { return sub(schemas, "schema") }

// sub is a folder of an embedded tree. It exists, or the program would not
// have been built.
func sub(tree embed.FS, dir string) fs.FS {
	f, err := fs.Sub(tree, dir)
	if err != nil {
		panic("assets: " + err.Error())
	}
	return f
}
