// Command shippedlines prints every line that the shipped flows, and the engine
// in any flow, may have spoken, one a line. Developers run it by make voice,
// which has each rendered.
package main

import (
	"fmt"
	"os"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
)

func main() {
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		fmt.Fprintln(os.Stderr, "shippedlines:", err)
		os.Exit(1)
	}
	printed := map[string]bool{}
	show := func(line string) {
		if !printed[line] {
			printed[line] = true
			fmt.Println(line)
		}
	}
	for _, l := range libraries {
		for _, line := range flowfile.Lines(l) {
			show(line)
		}
	}
	for _, l := range procedure.StandingLines() {
		show(l.Spoken())
	}
}
