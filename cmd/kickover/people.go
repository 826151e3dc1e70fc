package main

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/realstart"
	"kickover/procedure/record"
)

func peopleCommand(path *string) *cobra.Command {
	c := &cobra.Command{
		Use: "people", Short: "List, add, rename and erase the people whom records name", Args: cobra.NoArgs,
		Long: "Names are kept in the records and nowhere else. They leave only when you export people, and\n'erase' deletes somebody and all that names them for good.",
		RunE: func(c *cobra.Command, _ []string) error {
			return withStore(c, *path, func(s *record.Store) error { return listPeople(c, s) })
		},
	}
	c.AddCommand(addPerson(path), renamePerson(path), erasePerson(path))
	return c
}

func listPeople(c *cobra.Command, s *record.Store) error {
	people, err := s.People()
	if err != nil {
		return broken(err)
	}
	t := tabwriter.NewWriter(c.OutOrStdout(), 0, 4, 2, ' ', 0)
	for _, p := range people {
		fmt.Fprintf(t, "%s\t%s\t%s\n", p.ID, p.Role, p.Name)
	}
	return t.Flush()
}

func addPerson(path *string) *cobra.Command {
	var role string
	c := &cobra.Command{
		Use: "add NAME", Short: "Add somebody; prints their id", Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				p, err := s.AddPerson(record.Person{Name: args[0], Role: record.Role(role)})
				if err != nil {
					return peopleError(err)
				}
				fmt.Fprintln(c.OutOrStdout(), p.ID)
				return nil
			})
		},
	}
	c.Flags().StringVar(&role, "role", string(record.Student), "student or instructor")
	return c
}

func renamePerson(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "rename PERSON NAME", Short: "Call somebody otherwise", Args: cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				id, err := personNamed(s, args[0])
				if err != nil {
					return err
				}
				p, err := s.Person(id)
				if err == nil {
					p.Name = args[1]
					_, err = s.AddPerson(p)
				}
				return peopleError(err)
			})
		},
	}
}

func erasePerson(path *string) *cobra.Command {
	var yes bool
	c := &cobra.Command{
		Use: "erase PERSON", Short: "Delete somebody and all that names them, for good", Args: cobra.ExactArgs(1),
		Long: "Delete somebody for good with their runs, their real starts in the records, and what was signed\n" +
			"for them or by them. Files you exported or backed up before still hold what they hold, and\n" +
			"the cockpit's own file of starts, which names aeroplanes and not people, stays. In PostgreSQL\n" +
			"the server's own log and backups are its keeper's to delete.",
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				id, err := personNamed(s, args[0])
				if err != nil {
					return err
				}
				if !yes {
					traces, err := s.Traces(id)
					if err != nil {
						return peopleError(err)
					}
					return usage(fmt.Errorf("this deletes %s with %s for good; say so with --yes", args[0], traces))
				}
				traces, err := s.Erase(id)
				if err != nil {
					return peopleError(err)
				}
				fmt.Fprintf(c.OutOrStdout(), "Erased, with %s.\n", traces)
				return nil
			})
		},
	}
	c.Flags().BoolVar(&yes, "yes", false, "do it")
	return c
}

func assignRun(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "assign RUN PERSON", Short: "Say whose a run is; - makes it nobody's", Args: cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				id := ""
				if args[1] != record.Nobody {
					var err error
					if id, err = personNamed(s, args[1]); err != nil {
						return err
					}
				}
				return recordError(s.Assign(args[0], id), args[0])
			})
		},
	}
}

// personNamed finds somebody by id, or by a name that one person only has; an
// empty name is nobody.
func personNamed(s *record.Store, name string) (id string, err error) {
	if name == "" {
		return "", nil
	}
	people, err := s.People()
	if err != nil {
		return "", broken(err)
	}
	var found []string
	for _, p := range people {
		if p.ID == name {
			return p.ID, nil
		}
		if strings.EqualFold(p.Name, name) {
			found = append(found, p.ID)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return "", usage(fmt.Errorf("there is nobody called %q; 'kickover records people' lists them", name))
	}
	return "", usage(fmt.Errorf("%d people are called %q; name one by id: %s", len(found), name, strings.Join(found, ", ")))
}

// peopleError tells what somebody typed wrongly from a store that broke.
func peopleError(err error) error {
	for _, typed := range []error{record.ErrInvalid, record.ErrNoPerson, record.ErrNoSignOff, record.ErrExists} {
		if errors.Is(err, typed) {
			return usage(err)
		}
	}
	return broken(err)
}

func signCommand(path *string) *cobra.Command {
	var o record.SignOff
	var student, instructor, aircraft, flow string
	c := &cobra.Command{
		Use: "sign [RUN]", Short: "Sign that a student has flown a flow as it should be; prints the sign-off's id", Args: cobra.MaximumNArgs(1),
		Example: "  kickover records sign RUN --student Imke --instructor Otto --remarks \"steady hand\"",
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) (err error) {
				if o.Student, err = personNamed(s, student); err != nil {
					return err
				}
				if o.Instructor, err = personNamed(s, instructor); err != nil {
					return err
				}
				if len(args) > 0 {
					o.Run = args[0]
				}
				o.Aircraft, o.Flow = procedure.AircraftID(aircraft), procedure.FlowID(flow)
				signed, err := s.Sign(o)
				if errors.Is(err, record.ErrNoRun) {
					return recordError(err, o.Run)
				}
				if err != nil {
					return peopleError(err)
				}
				fmt.Fprintln(c.OutOrStdout(), signed.ID)
				return nil
			})
		},
	}
	c.Flags().StringVar(&student, "student", "", "the student's name or id")
	c.Flags().StringVar(&instructor, "instructor", "", "the instructor's name or id")
	c.Flags().StringVar(&aircraft, "aircraft", "", "aircraft, where no run is named")
	c.Flags().StringVar(&flow, "flow", "", "flow, where no run is named")
	c.Flags().StringVar(&o.Remarks, "remarks", "", "in your own words")
	return c
}

func signOffsCommand(path *string) *cobra.Command {
	var person string
	c := &cobra.Command{
		Use: "sign-offs", Short: "List what was signed, newest first", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return withStore(c, *path, func(s *record.Store) error { return listSignOffs(c, s, person) })
		},
	}
	c.Flags().StringVar(&person, "person", "", "of or by this person only, by name or id")
	c.AddCommand(&cobra.Command{
		Use: "withdraw ID", Short: "Delete a sign-off for good", Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error { return peopleError(s.Withdraw(args[0])) })
		},
	})
	return c
}

func listSignOffs(c *cobra.Command, s *record.Store, person string) error {
	id, err := personNamed(s, person)
	if err != nil {
		return err
	}
	signed, err := s.SignOffs(id)
	if err != nil {
		return broken(err)
	}
	names, err := peopleNames(s)
	if err != nil {
		return broken(err)
	}
	t := tabwriter.NewWriter(c.OutOrStdout(), 0, 4, 2, ' ', 0)
	for _, o := range signed {
		fmt.Fprintf(t, "%s\t%s\t%s\tsigned by %s\t%s, %s\t%s\n", o.ID, o.Signed.Local().Format("2006-01-02"),
			names(o.Student), names(o.Instructor), o.Aircraft, o.Flow, strings.ReplaceAll(o.Remarks, "\n", " "))
	}
	return t.Flush()
}

// peopleNames gives names by ids, and the id of somebody who is not known here.
func peopleNames(s *record.Store) (func(string) string, error) {
	people, err := s.People()
	names := map[string]string{}
	for _, p := range people {
		names[p.ID] = p.Name
	}
	return func(id string) string {
		if name, ok := names[id]; ok {
			return name
		}
		return id
	}, err
}

// realStarts brings the cockpit's file into the records, which changes nothing
// where they are there, and lists them.
func realStarts(path *string) *cobra.Command {
	var person string
	c := &cobra.Command{
		Use: "starts", Short: "List real starts, oldest first, with those that the cockpit has kept since", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				id, err := personNamed(s, person)
				if err != nil {
					return err
				}
				if err := takeCockpitStarts(c, s, id); err != nil {
					return err
				}
				list, err := s.RealStarts(record.StartFilter{Person: id})
				if err != nil {
					return broken(err)
				}
				t := tabwriter.NewWriter(c.OutOrStdout(), 0, 4, 2, ' ', 0)
				for _, r := range list {
					fmt.Fprintf(t, "%s\t%s\t%s\t%s\tprime %.1f s\t%d attempts\n", r.At.Local().Format("2006-01-02 15:04"),
						r.Registration, r.Situation, r.Outcome, r.Prime.Seconds(), r.Attempts)
				}
				return t.Flush()
			})
		},
	}
	c.Flags().StringVar(&person, "person", "", "whose the cockpit's starts are, by name or id; lists theirs only")
	return c
}

func takeCockpitStarts(c *cobra.Command, s *record.Store, person string) error {
	if _, err := os.Stat(startsFile()); errors.Is(err, os.ErrNotExist) {
		return nil
	}
	kept, err := realstart.Open(startsFile())
	if err != nil {
		return broken(err)
	}
	for _, n := range kept.Notices() {
		fmt.Fprintln(c.ErrOrStderr(), "kickover:", n)
	}
	var starts []record.RealStart
	for _, start := range kept.Starts() {
		starts = append(starts, record.RealStart{Start: start, Person: person})
	}
	_, err = s.KeepStarts(starts...)
	return broken(err)
}
