package natslink_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/simulated"
)

// told is what the instructor was told last.
func (r *room) told() string {
	n := r.i.Notices()
	if len(n) == 0 {
		return ""
	}
	return n[len(n)-1]
}

// Of a school's three servers the one that everybody is at is killed while
// stations fly: the others take them over, the class's program lets them in
// there, and every event arrives once. With a second one gone no run event is
// taken, the instructor is told so, and what was flown arrives when it is back.
func TestAServerOfThreeIsKilled(t *testing.T) {
	s := newSchoolOf(t, 3)
	r := s.class()
	const stations, events = 5, 400
	began := make(chan classroom.RunID, stations)
	var all []*classroom.Station
	for range stations {
		st, _ := r.sit(&simulated.Seat{Events: events, Every: 20 * time.Millisecond, Began: func(_ classroom.Assignment, run classroom.RunID) { began <- run }}, r.addr)
		all = append(all, st)
	}
	r.fly(stations)
	for range stations {
		<-began
	}
	first := s.servers[slices.IndexFunc(s.servers, func(v *served) bool { return strings.HasPrefix(r.addr, v.addr) })]
	first.kill()
	r.delivered(stations)
	whole(t, r.i.Book(), stations, events)
	r.bell.until(t, "all are here, by another server", func() bool { return r.i.Tally().Here == stations })
	if now := r.i.Addresses()[0]; strings.HasPrefix(now, first.addr) {
		t.Errorf("newcomers are sent to the server that is gone, %s", now)
	}

	left := slices.DeleteFunc(slices.Clone(s.servers), func(v *served) bool { return v == first })
	if _, err := r.i.Announce(drill, classroom.OwnPace); err != nil {
		t.Fatal(err)
	}
	if err := r.i.Go(0); err != nil {
		t.Fatal(err)
	}
	r.bell.until(t, "they may begin", func() bool {
		return !slices.ContainsFunc(all, func(st *classroom.Station) bool { return !st.Status().MayBegin })
	})
	left[1].kill()
	for _, st := range all {
		st.Begin()
		<-began
	}
	r.bell.until(t, "the instructor is told", func() bool { return strings.Contains(r.told(), "school's servers") })
	s.start(left[1])
	r.delivered(2 * stations)
	whole(t, r.i.Book(), 2*stations, events)
	r.bell.until(t, "the instructor is told that it is over", func() bool { return r.told() == "Everybody can be reached again." })
}
