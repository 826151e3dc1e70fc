package record

import "kickover/procedure"

// Recorder writes one run as it happens and waits for the disk each time.
type Recorder struct {
	store  *Store
	header Header
	next   int // sequence number that is due
}

// Begin stores a header and gives the recorder of its run. It fills in the id
// and the format when they are empty; ErrExists means the id is taken.
func (s *Store) Begin(h Header) (*Recorder, error) {
	h = h.prepared()
	err := s.inTransaction(func(tx *transaction) error {
		_, err := insertHeader(tx, h)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &Recorder{store: s, header: h, next: 1}, nil
}

// Header is the run's header as it was stored.
func (r *Recorder) Header() Header { return r.header }

// Append stores events, numbered on from the last ones; when it returns nil they
// are on the disk, all of them. After an error none is, and it may be called
// again with the same events.
func (r *Recorder) Append(events ...procedure.Event) error {
	if err := checkSequence(r.next, events); err != nil {
		return err
	}
	err := r.store.inTransaction(func(tx *transaction) error {
		key, err := keyOf(tx, r.header.ID)
		if err != nil {
			return err
		}
		return insertEvents(tx, place(key, events))
	})
	if err == nil {
		r.next += len(events)
	}
	return err
}

// Finish stores what the run came to. It may be called again.
func (r *Recorder) Finish(sum Summary) error { return r.store.Summarise(r.header.ID, sum) }

// Summarise stores what a run came to, in place of what was stored before.
func (s *Store) Summarise(id string, sum Summary) error {
	return s.inTransaction(func(tx *transaction) error {
		key, err := keyOf(tx, id)
		if err != nil {
			return err
		}
		return updateSummary(tx, key, sum)
	})
}
