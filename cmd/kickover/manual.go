package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// manualCommand writes what a package ships beside the program. It is hidden:
// only who builds a package needs it.
func manualCommand() *cobra.Command {
	return &cobra.Command{
		Use: "manual FOLDER", Short: "Write manual pages and shell completions", Hidden: true, Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return broken(writeManual(c.Root(), args[0])) },
	}
}

// writeManual writes a page of section 1 for each command to man, and a
// completion for each shell to completions. The date of the pages is that of
// SOURCE_DATE_EPOCH, where it is set, so that a package can be made twice alike.
func writeManual(root *cobra.Command, folder string) error {
	pages := filepath.Join(folder, "man")
	if err := os.MkdirAll(pages, 0o755); err != nil {
		return fmt.Errorf("the manual pages cannot be written: %w", err)
	}
	root.DisableAutoGenTag = true
	header := &doc.GenManHeader{Section: "1", Source: "Kickover " + version(), Manual: "Kickover"}
	if err := doc.GenManTree(root, header, pages); err != nil {
		return fmt.Errorf("the manual pages cannot be written: %w", err)
	}
	if err := strangersHome(pages); err != nil {
		return err
	}
	shells := filepath.Join(folder, "completions")
	if err := os.MkdirAll(shells, 0o755); err != nil {
		return fmt.Errorf("the completions cannot be written: %w", err)
	}
	for name, write := range map[string]func(io.Writer) error{
		"kickover":      func(w io.Writer) error { return root.GenBashCompletionV2(w, true) },
		"_kickover":     root.GenZshCompletion,
		"kickover.fish": func(w io.Writer) error { return root.GenFishCompletion(w, true) },
	} {
		var text bytes.Buffer
		if err := write(&text); err != nil {
			return fmt.Errorf("the completion %s cannot be made: %w", name, err)
		}
		if err := os.WriteFile(filepath.Join(shells, name), text.Bytes(), 0o644); err != nil {
			return fmt.Errorf("the completions cannot be written: %w", err)
		}
	}
	return nil
}

// strangersHome takes the folder of whoever built the package out of the pages.
func strangersHome(pages string) error {
	names, err := filepath.Glob(filepath.Join(pages, "*.1"))
	if err != nil {
		return err
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		if err := os.WriteFile(name, []byte(homeless(string(text))), 0o644); err != nil {
			return err
		}
	}
	return nil
}
