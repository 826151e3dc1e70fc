package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure/record"
)

const namesLeave = "Names of people leave only with --what people or --what everything."

func exportRecords(path *string) *cobra.Command {
	var what, encoding, file string
	var filter filterFlags
	c := &cobra.Command{
		Use: "export [RUN...]", Short: "Write runs, people, real starts or sign-offs as JSON Lines or CSV",
		Long: "Write the named runs, or all there is of a kind, to standard output. 'kickover records\ncolumns' says what each column holds. " +
			namesLeave,
		Example: "  kickover records export --format csv >runs.csv\n" +
			"  kickover records export --what everything --file all.jsonl",
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				return writeTo(c, file, func(w io.Writer) error {
					if len(args) > 0 {
						return exportNamed(s, w, args, encoding, what)
					}
					f, err := filter.filter(s)
					if err != nil {
						return err
					}
					return exportKinds(s, w, what, record.Encoding(encoding), f)
				})
			})
		},
	}
	c.Flags().StringVar(&what, "what", string(record.KindRuns), "everything, or "+kindNames())
	c.Flags().StringVar(&encoding, "format", string(record.JSONLines), "jsonl or csv")
	c.Flags().StringVar(&file, "file", "", "a new file to write to, in place of standard output")
	filter.add(c)
	return c
}

func kindNames() string {
	var names []string
	for _, k := range record.Kinds() {
		names = append(names, string(k))
	}
	return strings.Join(names, ", ")
}

func exportNamed(s *record.Store, w io.Writer, ids []string, encoding, what string) error {
	if encoding != string(record.JSONLines) || what != string(record.KindRuns) {
		return usage(errors.New("single runs are written as JSON Lines; leave the runs out to write all as CSV, or all of another kind"))
	}
	for _, id := range ids {
		if err := recordError(s.Export(w, id), id); err != nil {
			return err
		}
	}
	return nil
}

func exportKinds(s *record.Store, w io.Writer, what string, encoding record.Encoding, f record.Filter) error {
	if encoding != record.JSONLines && encoding != record.CSV {
		return usage(fmt.Errorf("there is no format %q; it is jsonl or csv", encoding))
	}
	kinds := []record.Kind{record.Kind(what)}
	switch {
	case what == "everything" && encoding == record.CSV:
		return usage(errors.New("a CSV file holds one kind; choose one with --what, or write everything as jsonl"))
	case what == "everything":
		kinds = record.Kinds()
	case !slices.Contains(record.Kinds(), kinds[0]):
		return usage(fmt.Errorf("there is no kind %q; it is everything, or %s", what, kindNames()))
	}
	for _, kind := range kinds {
		if err := s.ExportKind(w, kind, encoding, f); err != nil {
			return broken(err)
		}
	}
	return nil
}

// writeTo gives standard output or a new file, which is on the disk at the end.
func writeTo(c *cobra.Command, name string, write func(io.Writer) error) error {
	if name == "" {
		return write(c.OutOrStdout())
	}
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return usage(fmt.Errorf("nothing was written: %w", err))
	}
	if err := errors.Join(write(file), file.Sync(), file.Close()); err != nil {
		_ = os.Remove(name)
		return err
	}
	return nil
}

func importRecords(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "import [FILE...]", Short: "Take in what export writes, and lists of people and starts; twice changes nothing",
		Long: "Take in files, or standard input, as export writes them, in JSON Lines or CSV. A row that\n" +
			"makes no sense is refused and named, with the run it belongs to; the rest is taken in. A\n" +
			"list of people needs the columns name and role; real starts are those of 'kickover timer\n" +
			"starts'. What cannot have been, as a date that is still to come, is refused too.",
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				if len(args) == 0 {
					return importFrom(c, s, "", c.InOrStdin())
				}
				var wrong error
				for _, name := range args {
					file, err := os.Open(name)
					if err != nil {
						return usage(fmt.Errorf("%s cannot be read: %w", name, err))
					}
					err = importFrom(c, s, name+": ", file)
					file.Close()
					var coded *exitError
					if err != nil && !(errors.As(err, &coded) && coded.code == exitUsage) {
						return err
					}
					wrong = errors.Join(wrong, err)
				}
				if wrong != nil {
					return &exitError{code: exitUsage}
				}
				return nil
			})
		},
	}
}

func importFrom(c *cobra.Command, s *record.Store, name string, r io.Reader) error {
	in, err := s.ImportAt(r, time.Now())
	for _, p := range in.Problems {
		fmt.Fprintf(c.ErrOrStderr(), "kickover: %s%s\n", name, p)
	}
	if in.More > 0 {
		fmt.Fprintf(c.ErrOrStderr(), "kickover: %s%d more rows make no sense\n", name, in.More)
	}
	out := c.OutOrStdout()
	others := []struct {
		one, many string
		taken     record.Taken
	}{{"person", "people", in.People}, {"aeroplane", "aeroplanes", in.Registrations}, {"real start", "real starts", in.Starts}, {"sign-off", "sign-offs", in.SignOffs}}
	some := false
	for _, o := range others {
		if o.taken != (record.Taken{}) {
			some = true
			what := o.many
			if o.taken.Added == 1 {
				what = o.one
			}
			fmt.Fprintf(out, "%s%d %s taken in, %d changed, %d there already\n", name, o.taken.Added, what, o.taken.Changed, o.taken.Known)
		}
	}
	if !some || in.Added+in.Known > 0 {
		fmt.Fprintf(out, "%s%s taken in, %d there already\n", name, counted(in.Added, "run"), in.Known)
	}
	if err == nil && len(in.Problems) > 0 {
		return &exitError{code: exitUsage}
	}
	return broken(err)
}

func columnsCommand() *cobra.Command {
	return &cobra.Command{
		Use: "columns", Short: "Say what each column of an exported file holds", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			fmt.Fprint(c.OutOrStdout(), "Files are UTF-8. CSV is by RFC 4180, its first line naming the columns; they may stand in any\n"+
				"order, and others are passed over. JSON Lines has an object a line, its keys the same names,\n"+
				"and a first key that says what it is. Times of day are UTC by RFC 3339. A text that begins\n"+
				"with a quotation mark or has a carriage return is written as JSON in its cell.\n")
			t := tabwriter.NewWriter(c.OutOrStdout(), 0, 4, 2, ' ', 0)
			for _, kind := range record.Kinds() {
				fmt.Fprintf(t, "\n%s\n", kind)
				for _, column := range record.Columns(kind) {
					fmt.Fprintf(t, "  %s\t%s\n", column.Name, column.Meaning)
				}
			}
			return t.Flush()
		},
	}
}

func backupRecords(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "backup FILE", Short: "Write all records to a new file, while runs go on", Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				err := s.Backup(args[0])
				switch {
				case errors.Is(err, record.ErrThere):
					return usage(err)
				case errors.Is(err, os.ErrNotExist), errors.Is(err, os.ErrPermission):
					return usage(fmt.Errorf("nothing was written: %w", err))
				}
				if err == nil {
					fmt.Fprintf(c.OutOrStdout(), "All records are in %s. It holds names; keep it as you keep them.\n", args[0])
				}
				return broken(err)
			})
		},
	}
}

func restoreRecords(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "restore FILE", Short: "Put a backup in place of the records, which are set aside and not lost", Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			aside, err := record.Restore(*path, args[0])
			if errors.Is(err, record.ErrNotEmpty) || errors.Is(err, record.ErrForeign) || errors.Is(err, record.ErrDamaged) || errors.Is(err, os.ErrNotExist) {
				return usage(err)
			}
			if err != nil {
				return broken(err)
			}
			fmt.Fprintf(c.OutOrStdout(), "The records are those of %s.\n", args[0])
			if aside != "" {
				fmt.Fprintf(c.OutOrStdout(), "What was there before is kept as %s.\n", aside)
			}
			return nil
		},
	}
}

func checkRecords(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "check", Short: "Read all of the records and recover what is damaged", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				before := len(s.Notices())
				if err := s.Check(c.Context()); err != nil {
					return broken(err)
				}
				for _, n := range s.Notices()[before:] {
					fmt.Fprintln(c.ErrOrStderr(), "kickover:", n)
				}
				fmt.Fprintf(c.OutOrStdout(), "%s is sound.\n", s.Path())
				return nil
			})
		},
	}
}
