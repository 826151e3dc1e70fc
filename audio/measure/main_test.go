package main

import (
	"flag"
	"fmt"
	"os"
	"testing"
)

// The witness of a measurement is the program's own file started again, which here
// is that of the tests.
func TestMain(m *testing.M) {
	if flag.Parse(); flag.Arg(0) == witnessing {
		if err := bearWitness(os.Stdout, flag.Args()[1:]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}
