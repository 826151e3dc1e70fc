package record_test

import (
	"errors"
	"reflect"
	"testing"

	"kickover/procedure/record"
)

// The counts are those of the runs themselves.
func TestFlownCountsWhatHistoryGives(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := store(t, fresh(), 10, 3)
		r, err := s.Begin(inventedHeader(10)) // goes on, and is not counted
		if err != nil || r == nil {
			t.Fatal(err)
		}
		list, err := s.History("", record.Filter{})
		if err != nil {
			t.Fatal(err)
		}
		var want []record.Flown
		for i := len(list) - 1; i >= 0; i-- {
			h := list[i].Header
			at := -1
			for n, f := range want {
				if f.Flow == h.Flow {
					at = n
				}
			}
			if at < 0 {
				at = len(want)
				want = append(want, record.Flown{Aircraft: h.Aircraft, Flow: h.Flow, Phase: h.Phase, Last: h.Started})
			}
			want[at].Runs++
		}
		got, err := s.Flown("")
		if err != nil || !reflect.DeepEqual(got, want) || len(got) != 3 {
			t.Errorf("got %+v, %v\nwant %+v", got, err, want)
		}
		if got, err := s.Flown("SOMEBODYELSE"); err != nil || len(got) != 0 {
			t.Errorf("somebody else's: %+v, %v", got, err)
		}
	})
}

func TestAReadingOfManyRunsCanBeCalledOff(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := store(t, fresh(), 10, 3)
		off := errors.New("called off")
		list, err := s.HistoryAsRead("", record.Filter{}, func(runs int) error {
			if runs == 4 {
				return off
			}
			return nil
		})
		if !errors.Is(err, off) || len(list) != 4 {
			t.Errorf("%d runs, %v; want 4 and the reader's own error", len(list), err)
		}
	})
}
