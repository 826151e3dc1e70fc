// Kickover trains the engine start of a small piston aeroplane. Without a
// subcommand it opens its window.
//
// This package reads flags and wires the others together; it decides nothing.
package main

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
)

// What the program's exit says.
const (
	exitDone       = 0 // done; a rehearsal ended started and safe
	exitNotStarted = 1 // the run ended unsafe or not started
	exitUsage      = 2 // wrong arguments or files
	exitBroken     = 3 // something broke
)

// caution stands on everything that shows a flow.
const caution = "Training aid. The aircraft's own handbook, local rules and your instructor come first."

func main() {
	closeLog := openLog()
	code := guarded(os.Stderr, func() int { return run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr) })
	slog.Info("ends", "code", code)
	closeLog()
	os.Exit(code)
}

// run is the program with its edges passed in.
func run(args []string, in io.Reader, out, errOut io.Writer) int {
	preferences = settle(errOut)
	root := rootCommand()
	sayWhatIsTaken(root)
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errOut)
	err := root.Execute()
	var coded *exitError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &coded):
		if coded.err != nil {
			fmt.Fprintln(errOut, "kickover:", coded.err)
		}
		return coded.code
	default: // what cobra refuses is a matter of arguments
		fmt.Fprintln(errOut, "kickover:", err)
		fmt.Fprintln(errOut, "Run 'kickover --help', or the subcommand with --help, for what it takes.")
		return exitUsage
	}
}

// sayWhatIsTaken has each command answer arguments that it does not take with those
// that it does: the library counts them only.
func sayWhatIsTaken(c *cobra.Command) {
	for _, sub := range c.Commands() {
		sayWhatIsTaken(sub)
	}
	check := c.Args
	if check == nil {
		return
	}
	c.Args = func(c *cobra.Command, args []string) error {
		switch {
		case check(c, args) == nil:
			return nil
		case c.HasSubCommands() && len(args) > 0:
			return unknownCommand(c, args[0])
		}
		return fmt.Errorf("these arguments do not fit; it takes: %s", c.UseLine())
	}
}

// unknownCommand says so of a name, and which commands it is near to.
func unknownCommand(c *cobra.Command, name string) error {
	c.SuggestionsMinimumDistance = 2 // letters that may be wrong
	if near := c.SuggestionsFor(name); len(near) > 0 {
		return fmt.Errorf("unknown command %q: is %s meant?", name, strings.Join(near, " or "))
	}
	return fmt.Errorf("unknown command %q", name)
}

// exitError is an error with the code that the program exits with. Without an
// err the code alone is the message.
type exitError struct {
	code int
	err  error
}

func (e *exitError) Error() string {
	if e.err == nil {
		return fmt.Sprintf("exit %d", e.code)
	}
	return e.err.Error()
}

func (e *exitError) Unwrap() error { return e.err }

// usage marks an error as one of arguments or files.
func usage(err error) error {
	if err == nil {
		return nil
	}
	return &exitError{exitUsage, err}
}

// broken marks an error as something that broke.
func broken(err error) error {
	if err == nil {
		return nil
	}
	return &exitError{exitBroken, err}
}

func rootCommand() *cobra.Command {
	w := &windowCommand{}
	root := &cobra.Command{
		Use:   "kickover",
		Short: "Practise starting the engine of a small piston aeroplane",
		Long: "Kickover trains the engine start of a small piston aeroplane: the prime, the crank,\n" +
			"the catch, and what to do when it does not fire. Without a subcommand it opens its window.\n" +
			"What it tells is in the units chosen in Settings; files and JSON keep their own.\n\n" + caution +
			"\n\nWhere something does not work, 'kickover doctor' says what. The log, which holds no names, is\n  " + homeless(logFile()),
		Example: "  kickover\n" +
			"  kickover demo\n" +
			"  kickover rehearse --flow cold --oat \"-5 degC\"\n" +
			"  kickover rehearse --phase evaluate --hands hands.jsonl --fast --json",
		Version:       version(),
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.NoArgs,
		RunE:          w.open,
		PersistentPreRun: func(c *cobra.Command, _ []string) {
			logBegin(c.CommandPath())
			if report := lastFault(); report != "" {
				fmt.Fprintf(c.ErrOrStderr(), "kickover: a fault ended the program the last time. What was shown as recorded is kept. The report is %s.\n", report)
			}
		},
	}
	w.add(root)
	root.AddCommand(demoCommand(), rehearseCommand(), flowsCommand(), aircraftCommand(), recordsCommand(), timerCommand(),
		planCommand(), explainCommand(), printCommand(), classCommand(), joinCommand(), doctorCommand(), manualCommand())
	return root
}

// release is the version of a package. The linker sets it where one is made.
var release string

// version is the package's, with the commit's where it was built from a checkout;
// without a package the commit's alone, or the module's.
func version() string {
	if release != "" {
		return release + " " + revision()
	}
	return revision()
}

func revision() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			return s.Value[:12]
		}
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	return "development"
}
