package main

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/practice/learner"
	"kickover/procedure/record"
	"kickover/procedure/rehearsal"
)

// inventedBy begins the program's name in the header of a run that nobody flew.
const inventedBy = "invented runs, seed "

// invented reports whether nobody flew a run.
func invented(h record.Header) bool { return strings.HasPrefix(h.Program, inventedBy) }

func inventCommand(path *string) *cobra.Command {
	var person, aircraft, flowID string
	var count int
	var seed uint64
	c := &cobra.Command{
		Use: "invent", Short: "Let an invented student fly runs, to see what progress looks like", Args: cobra.NoArgs,
		Long: "Let an invented student fly runs on the simulated engine and keep them. The student gets\n" +
			"better, is away for three weeks before run 36, and has lost some of it then. The runs are\n" +
			"marked as invented wherever they are listed; 'kickover records people erase' takes them out\n" +
			"again. The same seed and person twice changes nothing.",
		Example: "  kickover records invent --runs 50 --seed 7 --person \"Student A\"",
		RunE: func(c *cobra.Command, _ []string) error {
			if count < 1 || count > 1000 {
				return usage(fmt.Errorf("--runs is %d; it must be 1 to 1000", count))
			}
			lib, err := library(aircraft)
			if err != nil {
				return err
			}
			f, err := flow(lib, flowID)
			if err != nil {
				return err
			}
			return withStore(c, *path, func(s *record.Store) error {
				i := inventor{store: s, library: lib, flow: f, seed: seed, last: time.Now().AddDate(0, 0, -1)}
				added, err := i.fly(person, count)
				if err != nil {
					return broken(err)
				}
				fmt.Fprintf(c.OutOrStdout(), "%d invented runs of %s, %s, were kept for %s; %d there already.\n",
					added, lib.Aircraft.Name, f.Title, person, count-added)
				return nil
			})
		},
	}
	c.Flags().IntVar(&count, "runs", 50, "how many")
	c.Flags().Uint64Var(&seed, "seed", 7, "of all chance in them")
	c.Flags().StringVar(&person, "person", "Student A", "the invented student's name")
	c.Flags().StringVar(&aircraft, "aircraft", demoAircraft, "aircraft")
	c.Flags().StringVar(&flowID, "flow", "cold", "flow")
	return c
}

// inventor keeps the runs of an invented student.
type inventor struct {
	store   *record.Store
	library *procedure.Library
	flow    *procedure.Flow
	seed    uint64
	last    time.Time
}

// prompted is how many runs an invented student flies with prompts at first.
const prompted = 4

func (i inventor) fly(name string, count int) (added int, err error) {
	person, err := i.student(name)
	if err != nil {
		return 0, err
	}
	for n := 1; n <= count; n++ {
		switch err := i.one(person, n, count); {
		case errors.Is(err, record.ErrExists):
		case err != nil:
			return added, err
		default:
			added++
		}
	}
	return added, nil
}

func (i inventor) student(name string) (string, error) {
	id, err := personNamed(i.store, name)
	if err == nil {
		return id, nil
	}
	p, err := i.store.AddPerson(record.Person{Name: name, Role: record.Student})
	return p.ID, err
}

// one flies and keeps the n-th run.
func (i inventor) one(person string, n, of int) error {
	rng := rand.New(rand.NewPCG(i.seed, uint64(n)^0xda7))
	o := rehearsal.Options{
		Library: i.library, Flow: i.flow.ID, Phase: procedure.Evaluate, Seed: i.seed + uint64(n),
		Conditions: rehearsal.Conditions{
			OATCelsius: 4 + float64(rng.IntN(13)), PressureAltM: 120, SinceShutdown: 12 * time.Hour, BatteryCharge: .8 + .15*rng.Float64(),
		},
	}
	if n <= prompted {
		o.Phase = procedure.Perform
	}
	h := headerOf(o)
	h.ID = fmt.Sprintf("INVENTED-%d-%.12s-%s-%s-%03d", i.seed, person, i.library.Aircraft.ID, i.flow.ID, n)
	h.Started, h.Program, h.Person = learner.When(n, of, i.last), fmt.Sprintf("%s%d", inventedBy, i.seed), person
	rec, err := i.store.Begin(h)
	if err != nil {
		return err
	}
	events, err := learner.Improving(i.seed, n).Fly(o)
	if err != nil {
		return err
	}
	report, err := debrief.Of(debrief.Subject{
		Library: i.library, Flow: i.flow.ID, Phase: o.Phase, OATCelsius: o.Conditions.OATCelsius, Events: events,
	})
	if err != nil {
		return err
	}
	if err := rec.Append(events...); err != nil {
		return err
	}
	return rec.Finish(summaryOf(rec.Header(), report, events))
}
