package record

// History gives a person's finished runs with what became of their steps, oldest
// first: all that a look at many runs needs, without a replay. An empty person
// means the runs that are nobody's: those of somebody who practises alone. The
// filter's own Person is not looked at.
//
// A run whose steps were not stored, as those of schema 1 were not, comes without;
// they can be had by a replay of [Store.Run] and stored with [Store.Summarise].
func (s *Store) History(person string, filter Filter) ([]Listing, error) {
	filter.Person = person
	if person == "" {
		filter.Person = Nobody
	}
	var list []Listing
	err := s.read(func(f *file) error {
		list = nil
		where := filter.where()
		where.add("outcome IS NOT NULL")
		rows, err := f.db.Query("SELECT "+headerColumns+", "+summaryColumns+", steps FROM runs"+where.where()+" ORDER BY started, key", where.args...)
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
		}
		return rows.Err()
	})
	return list, err
}
