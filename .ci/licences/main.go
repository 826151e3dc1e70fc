// Licences says under which licence each module is that the packages named are
// built from, and fails where one is not known to be free to ship in one program
// with the others.
//
//	licences [-texts FILE] [-tags TAGS] PACKAGE…
//
// With -texts it writes every licence's text to one file, for a package that
// carries the program.
package main

import (
	"flag"
	"fmt"
	"io"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"text/tabwriter"
)

// kind is a licence and the words that only its text has, in lower case and with
// single spaces.
type kind struct {
	name    string
	words   []string
	without string // words of a stricter one
	allowed bool
}

// kinds that a program under Apache-2.0 may be linked from, and those it may not.
var kinds = []kind{
	{name: "Apache-2.0", words: []string{"apache license", "version 2.0"}, allowed: true},
	{name: "MIT", words: []string{"permission is hereby granted, free of charge, to any person obtaining a copy"}, allowed: true},
	{name: "BSD-3-Clause", words: []string{"redistribution and use in source and binary forms", "neither the name"}, allowed: true},
	{name: "BSD-2-Clause", words: []string{"redistribution and use in source and binary forms"}, without: "neither the name", allowed: true},
	{name: "ISC", words: []string{"permission to use, copy, modify, and", "distribute this software for any purpose with or without fee"}, allowed: true},
	{name: "MPL-2.0", words: []string{"mozilla public license version 2.0"}, allowed: true},
	{name: "OFL-1.1", words: []string{"sil open font license version 1.1"}, allowed: true},
	{name: "Unlicense", words: []string{"this is free and unencumbered software released into the public domain"}, allowed: true},
	{name: "CC-BY-4.0", words: []string{"creative commons attribution 4.0 international public license"}, allowed: true},
	{name: "CC0-1.0", words: []string{"cc0 1.0 universal"}, allowed: true},
	// One of the two may be chosen, and the first is.
	{name: "FTL or GPL-2.0", words: []string{"your choice of exactly one of the following two licenses: * the freetype license"}, allowed: true},
	{name: "GPL", words: []string{"gnu general public license version"}},
	{name: "LGPL", words: []string{"gnu lesser general public license version"}},
	{name: "AGPL", words: []string{"gnu affero general public license version"}},
}

// names of files that hold a licence or must go with it.
var names = regexp.MustCompile(`(?i)^(un)?licen[cs]e|^copying|^notice`)

type module struct{ path, version, folder string }

func main() {
	log.SetFlags(0)
	log.SetPrefix("licences: ")
	texts := flag.String("texts", "", "write all texts to this `file`")
	tags := flag.String("tags", "", "build tags")
	flag.Parse()
	modules, err := modulesOf(*tags, flag.Args())
	if err != nil {
		log.Fatal(err)
	}
	var all strings.Builder
	table := tabwriter.NewWriter(os.Stdout, 0, 4, 2, ' ', 0)
	refused := 0
	for _, m := range modules {
		found, why, err := m.licences(&all)
		if err != nil {
			log.Fatal(err)
		}
		if why != "" {
			refused++
			log.Printf("%s %s: %s", m.path, m.version, why)
		}
		fmt.Fprintf(table, "%s\t%s\t%s\n", m.path, m.version, strings.Join(found, ", "))
	}
	table.Flush()
	if *texts != "" {
		if err := os.WriteFile(*texts, []byte(all.String()), 0o644); err != nil {
			log.Fatal(err)
		}
	}
	if refused > 0 {
		log.Fatalf("%d modules have a licence that is not in the list of those allowed", refused)
	}
	fmt.Printf("%d modules, all under a licence that is allowed\n", len(modules))
}

// modulesOf lists the modules whose packages are built into those named, tests
// included.
func modulesOf(tags string, packages []string) ([]module, error) {
	const row = `{{with .Module}}{{if not .Main}}{{.Path}}	{{.Version}}	{{.Dir}}{{end}}{{end}}`
	list := exec.Command("go", append([]string{"list", "-deps", "-test", "-tags", tags, "-f", row}, packages...)...)
	list.Stderr = os.Stderr
	out, err := list.Output()
	if err != nil {
		return nil, fmt.Errorf("go list: %w", err)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	slices.Sort(lines)
	var modules []module
	for _, line := range slices.Compact(lines) {
		if cells := strings.Split(line, "\t"); len(cells) == 3 {
			modules = append(modules, module{cells[0], cells[1], cells[2]})
		}
	}
	return modules, nil
}

// licences are those of a module, and why it may not be used, if it may not. The
// texts are added to all.
func (m module) licences(all io.Writer) (found []string, why string, err error) {
	entries, err := os.ReadDir(m.folder)
	if err != nil {
		return nil, "", err
	}
	for _, e := range entries {
		if e.IsDir() || !names.MatchString(e.Name()) || strings.HasSuffix(e.Name(), ".go") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(m.folder, e.Name()))
		if err != nil {
			return nil, "", err
		}
		fmt.Fprintf(all, "%s %s, %s\n\n%s\n\n%s\n\n", m.path, m.version, e.Name(), strings.TrimSpace(string(text)), strings.Repeat("-", 72))
		for _, k := range kindsOf(string(text)) {
			if !k.allowed {
				why = "it is under " + k.name
			}
			if !slices.Contains(found, k.name) {
				found = append(found, k.name)
			}
		}
	}
	if len(found) == 0 {
		why = "no licence was recognised in " + m.folder
	}
	return found, why, nil
}

var spaces = regexp.MustCompile(`[\s/#]+`)

func kindsOf(text string) (found []kind) {
	text = strings.ToLower(spaces.ReplaceAllString(text, " "))
	for _, k := range kinds {
		if k.without != "" && strings.Contains(text, k.without) {
			continue
		}
		if !slices.ContainsFunc(k.words, func(w string) bool { return !strings.Contains(text, w) }) {
			found = append(found, k)
		}
	}
	return found
}
