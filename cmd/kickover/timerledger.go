package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure/starter/ledgerfile"
	"kickover/procedure/timer"
	uitimer "kickover/ui/timer"
)

// ledgerCommand says how a starter's ledger stands.
func ledgerCommand() *cobra.Command {
	var aircraft, registration string
	var asJSON bool
	c := &cobra.Command{
		Use: "ledger", Short: "Say how an aeroplane's starter ledger stands: the next attempt, and the rest still owed",
		Long: "Say how an aeroplane's starter ledger stands, without a window: which attempt comes next, how long\n" +
			"the starter must still rest, and how long ago the engine was shut down. While the timer is open it\n" +
			"alone knows, and this says so.\n\n" + caution,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			libs, err := libraries()
			if err != nil {
				return err
			}
			if registration, err = uitimer.Registration(registration); err != nil {
				return usage(fmt.Errorf("--registration: %w", err))
			}
			a, err := chooseAeroplane(aeroplanes(libs), aircraft, registration)
			if err != nil {
				_, err := library(aircraft) // says which there are
				return err
			}
			s, err := standing(a)
			if err != nil {
				return err
			}
			if asJSON {
				return broken(json.NewEncoder(c.OutOrStdout()).Encode(s))
			}
			return broken(s.tell(c.OutOrStdout()))
		},
	}
	c.Flags().StringVar(&aircraft, "aircraft", "", "aircraft file whose limits are kept (default the last one's)")
	c.Flags().StringVar(&registration, "registration", "", "of the aeroplane (default the one timed last)")
	c.Flags().BoolVar(&asJSON, "json", false, "write one object")
	return c
}

// ledgerStanding is how a ledger stands, as it is written in JSON.
type ledgerStanding struct {
	Registration  string   `json:"registration"`
	Aircraft      string   `json:"aircraft"`
	Attempt       int      `json:"attempt"` // that comes next, of the set
	Of            int      `json:"of"`
	Rest          float64  `json:"rest_owed_seconds"`
	Long          bool     `json:"long_rest"` // the rest owed is that after a full set
	SinceShutdown *float64 `json:"since_shutdown_seconds"`
	Ran           bool     `json:"engine_ran"` // when the timer was last closed
	Notices       []string `json:"notices,omitempty"`
}

func standing(a uitimer.Aeroplane) (ledgerStanding, error) {
	limits := a.Library.Aircraft.Starter
	s := ledgerStanding{Registration: a.Registration, Aircraft: string(a.Library.Aircraft.ID), Attempt: 1, Of: limits.Attempts}
	at, err := ledgerfile.Look(ledgerfile.Options{Dir: timerFolder(), Registration: a.Registration, Limits: limits})
	switch {
	case errors.Is(err, os.ErrNotExist):
		return s, usage(fmt.Errorf("there is no starter's ledger of %s; 'kickover timer --registration %s' begins one", a.Registration, a.Registration))
	case errors.Is(err, ledgerfile.ErrInUse):
		return s, usage(err)
	case err != nil:
		return s, broken(err)
	}
	rest := at.Ledger.Owed(0)
	s.Rest, s.Long = rest.Seconds(), rest > 0 && at.Ledger.LongRest()
	if !at.Ledger.LongRest() {
		s.Attempt = at.Ledger.Number(0)
	}
	if at.ShutdownKnown {
		ago := (-at.Shutdown).Seconds()
		s.SinceShutdown = &ago
	}
	s.Ran, s.Notices = at.Ran, at.Notices
	return s, nil
}

// tell says it to a person.
func (s ledgerStanding) tell(w io.Writer) error {
	rest := "none owed"
	if s.Rest > 0 {
		rest = (time.Duration(s.Rest * float64(time.Second))).Round(time.Second).String() + " more"
	}
	if s.Long {
		rest += ", the long rest"
	}
	shutdown := "not known"
	switch {
	case s.SinceShutdown != nil:
		shutdown = timer.Spoken(time.Duration(*s.SinceShutdown*float64(time.Second))) + " ago"
	case s.Ran:
		shutdown = "not known: the engine ran when the timer was closed"
	}
	next := fmt.Sprintf("attempt %d", s.Attempt)
	if s.Of > 0 {
		next += fmt.Sprintf(" of %d", s.Of)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "aeroplane\t%s, %s\nnext\t%s\nrest\t%s\nlast shutdown\t%s\n", s.Registration, s.Aircraft, next, rest, shutdown)
	if err := t.Flush(); err != nil {
		return err
	}
	for _, n := range s.Notices {
		fmt.Fprintln(w, n)
	}
	_, err := fmt.Fprintln(w, "Your handbook rules; this only keeps time.")
	return err
}
