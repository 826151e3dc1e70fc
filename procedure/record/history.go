package record

import (
	"context"
	"time"

	"kickover/procedure"
)

// History gives a person's finished runs with what became of their steps, oldest
// first: all that a look at many runs needs, without a replay. An empty person
// means the runs that are nobody's: those of somebody who practises alone. The
// filter's own Person is not looked at.
//
// A run whose steps were not stored, as those of schema 1 were not, comes without;
// they can be had by a replay of [Store.Run] and stored with [Store.Summarise].
func (s *Store) History(person string, filter Filter) ([]Listing, error) {
	return s.HistoryAsRead(person, filter, func(int) error { return nil })
}

// HistoryAsRead is History for somebody who waits: read is told after every run
// how many there are yet, and ends it with an error of its own.
func (s *Store) HistoryAsRead(person string, filter Filter, read func(runs int) error) ([]Listing, error) {
	filter.Person = orNobody(person)
	var list []Listing
	err := s.read(func(f *file) error {
		list = nil
		where := filter.where()
		where.add("outcome IS NOT NULL")
		// Without being called off, a query that is left waits for all that the server
		// still sends, and the store cannot be closed meanwhile.
		ctx, callOff := context.WithCancel(context.Background())
		defer callOff()
		rows, err := f.db.QueryContext(ctx, "SELECT "+headerColumns+", "+summaryColumns+", steps FROM runs"+where.where()+" ORDER BY started, key", where.args...)
		if err != nil {
			return err
		}
		defer rows.Close()
		var steps unpacker
		for rows.Next() {
			var packed []byte
			l, err := scanListing(rows.Scan, &packed)
			if err != nil {
				return err
			}
			l.Summary.Steps = steps.unpack(packed)
			list = append(list, l)
			if err := read(len(list)); err != nil {
				callOff()
				return err
			}
		}
		return rows.Err()
	})
	return list, err
}

func orNobody(person string) string {
	if person == "" {
		return Nobody
	}
	return person
}

// Flown is a flow of which somebody has finished runs.
type Flown struct {
	Aircraft procedure.AircraftID
	Flow     procedure.FlowID
	Phase    procedure.Phase
	Runs     int
	Last     time.Time // when the last of them began
}

// Flown counts a person's finished runs of each flow and phase, the latest flown
// first; an empty person's are those that are nobody's. No run is read for it.
func (s *Store) Flown(person string) (list []Flown, err error) {
	where := Filter{Person: orNobody(person)}.where()
	where.add("outcome IS NOT NULL")
	err = s.read(func(f *file) error {
		list, err = rowsOf(f.db, func(scan func(...any) error) (v Flown, err error) {
			var last int64
			err = scan(&v.Aircraft, &v.Flow, &v.Phase, &v.Runs, &last)
			v.Last = time.Unix(0, last).UTC()
			return v, unreadable(err)
		}, "SELECT aircraft, flow, phase, count(*), max(started) FROM runs"+where.where()+
			" GROUP BY aircraft, flow, phase ORDER BY max(started) DESC, aircraft, flow, phase", where.args...)
		return err
	})
	return list, err
}
