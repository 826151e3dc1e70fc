package record

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"kickover/procedure"
)

// lineWriter writes lines of one kind in one encoding.
type lineWriter interface {
	write(row string, line any) error
	flush() error
}

type jsonWriter struct {
	buffered *bufio.Writer
	out      *json.Encoder
}

func newJSONWriter(w io.Writer) jsonWriter {
	buffered := bufio.NewWriter(w)
	out := json.NewEncoder(buffered)
	out.SetEscapeHTML(false)
	return jsonWriter{buffered, out}
}

func (j jsonWriter) write(_ string, line any) error { return j.out.Encode(line) }
func (j jsonWriter) flush() error                   { return j.buffered.Flush() }

// Export writes a run as JSON Lines; ErrNoRun if there is none.
func (s *Store) Export(w io.Writer, id string) error {
	l, events, err := s.load(id)
	if err != nil {
		return err
	}
	return WriteRun(w, l, events)
}

// WriteRun writes a run as JSON Lines: what [Journal.Run] gives, for a run that
// could not be stored.
func WriteRun(w io.Writer, l Listing, events []procedure.Event) error {
	out := newJSONWriter(w)
	if err := errors.Join(writeRun(out, l, events), out.flush()); err != nil {
		return fmt.Errorf("export run %s: %w", l.Header.ID, err)
	}
	return nil
}

// ExportKind writes all there is of a kind, of runs those of the filter, newest
// first. People's names leave the store with KindPeople and with nothing else.
func (s *Store) ExportKind(w io.Writer, kind Kind, encoding Encoding, filter Filter) error {
	var out lineWriter
	switch encoding {
	case JSONLines:
		out = newJSONWriter(w)
	case CSV:
		table, err := newCSVWriter(w, kind)
		if err != nil {
			return fmt.Errorf("export %s: %w", kind, err)
		}
		out = table
	default:
		return fmt.Errorf("export %s: there is no encoding %q; it is %s or %s", kind, encoding, JSONLines, CSV)
	}
	if err := errors.Join(s.exportKind(out, kind, filter), out.flush()); err != nil {
		return fmt.Errorf("export %s: %w", kind, err)
	}
	return nil
}

func (s *Store) exportKind(out lineWriter, kind Kind, filter Filter) error {
	switch kind {
	case KindPeople:
		list, err := s.People()
		return writeEach(out, list, err, personJSON)
	case KindRegistrations:
		list, err := s.Registrations()
		return writeEach(out, list, err, func(r Registration) (any, error) {
			return registrationLine{1, r.Registration, string(r.Aircraft), r.Note}, nil
		})
	case KindSignOffs:
		list, err := s.SignOffs("")
		return writeEach(out, list, err, signOffJSON)
	case KindStarts:
		list, err := s.RealStarts(StartFilter{})
		return writeEach(out, list, err, realStartJSON)
	case KindRuns:
		return s.eachRun(filter, func(l Listing, events []procedure.Event) error { return writeRun(out, l, events) })
	}
	return fmt.Errorf("there is no kind %q; they are %v", kind, Kinds())
}

func writeEach[T any](out lineWriter, list []T, err error, line func(T) (any, error)) error {
	if err != nil {
		return err
	}
	for _, v := range list {
		l, err := line(v)
		if err != nil {
			return err
		}
		if err := out.write("", l); err != nil {
			return err
		}
	}
	return nil
}

func writeRun(out lineWriter, l Listing, events []procedure.Event) error {
	h, c := l.Header, l.Header.Conditions
	err := out.write(rowRun, headerLine{
		Run: h.Format, ID: h.ID, Started: h.Started.UTC(), Events: len(events), Program: h.Program,
		Aircraft: string(h.Aircraft), Flow: string(h.Flow), FlowHash: h.FlowHash, Phase: string(h.Phase), Panel: h.Panel,
		OATCelsius: exactFloat(c.OATCelsius), PressureAltM: exactFloat(c.PressureAltM),
		SinceShutdown: int64(c.SinceShutdown), BatteryCharge: exactFloat(c.BatteryCharge), Hidden: c.Hidden,
		Faults: append([]string{}, h.Faults...), Seed: h.Seed, Step: int64(h.Step), Person: h.Person,
	})
	for _, e := range events {
		if err != nil {
			return err
		}
		err = out.write(rowEvent, eventLine{e.Seq, int64(e.At), string(e.Kind), e.Subject, exactFloat(e.Value), e.Text})
	}
	if err == nil && l.Finished {
		err = out.write(rowSummary, summaryLineOf(l.Summary))
	}
	return err
}

// eachRun loads run after run, newest first. One that is deleted meanwhile is
// passed over.
func (s *Store) eachRun(filter Filter, do func(Listing, []procedure.Event) error) error {
	page := Page{Limit: 200}
	for {
		list, err := s.Runs(filter, page)
		if err != nil || len(list) == 0 {
			return err
		}
		for _, l := range list {
			whole, events, err := s.load(l.Header.ID)
			if errors.Is(err, ErrNoRun) {
				continue
			}
			if err != nil {
				return err
			}
			if err := do(whole, events); err != nil {
				return err
			}
		}
		page.After = list[len(list)-1].Header.ID
	}
}
