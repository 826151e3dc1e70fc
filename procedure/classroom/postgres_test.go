package classroom

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"kickover/procedure/record/postgrestest"
)

// A class in a school's database is taken up as it was left, and neither knows
// of another class there nor of what is in another room's.
func TestAClassInPostgreSQL(t *testing.T) {
	dsn := postgrestest.DSN(t)
	now := time.Now()
	c, b, err := NewClass(dsn, "Tuesday", []Situation{{Title: "flooded"}}, now)
	if err != nil {
		t.Fatal(err)
	}
	other, ob, err := NewClass(dsn, "Wednesday", nil, now.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	defer ob.Close()
	station := bookedStation{ID: "STATIONSTATIONSTATION", Number: 3, Name: "Ida", Secret: []byte{1, 0, 2}}
	if err := errors.Join(
		b.putStation(station),
		b.putStation(station), // as when it comes again
		b.putState(classState{Rev: 7, Drills: []Drill{{ID: "D"}}}),
		b.putOrders(map[StationID]numbered{station.ID: {1, Order{Kind: OrderSay, Text: "Throttle."}}}),
		b.note(now, station.ID, "first"), b.note(now.Add(time.Second), station.ID, "second"),
	); err != nil {
		t.Fatal(err)
	}
	rs, err := b.Deliver([]delivery{{station.ID, batch{Run: "RUNRUNRUNRUNRUNRUN", From: 1, Header: &RunHeader{Drill: "D"}, Events: []event{{Seq: 1, Kind: "move"}}, Ended: true}}})
	if err != nil || !rs[0].Closed {
		t.Fatalf("%+v, %v", rs, err)
	}
	if err := errors.Join(b.filed("RUNRUNRUNRUNRUNRUN"), b.Close()); err != nil {
		t.Fatal(err)
	}

	again, b, err := Reopen(dsn, c.ID)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	state, e1 := b.state()
	stations, e2 := b.stations()
	orders, e3 := b.orders()
	runs, e4 := b.Runs("D")
	log, e5 := b.Log()
	if err := errors.Join(e1, e2, e3, e4, e5); err != nil {
		t.Fatal(err)
	}
	if again.Fingerprint() != c.Fingerprint() || again.Name != "Tuesday" || again.Plan[0].Title != "flooded" || state.Rev != 7 ||
		len(stations) != 1 || stations[0].Name != "Ida" || string(stations[0].Secret) != "\x01\x00\x02" || orders[station.ID][0].Text != "Throttle." ||
		len(runs) != 1 || !runs[0].Ended || !runs[0].Filed || len(log) != 2 || log[1].What != "second" {
		t.Errorf("%+v %+v %+v %+v %+v", again, stations, orders, runs, log)
	}
	if got := Classes(dsn); len(got) != 2 || got[0].ID != other.ID || got[1].ID != c.ID {
		t.Errorf("the classes are %+v", got)
	}
	if got := Classes(postgrestest.DSN(t)); len(got) != 0 {
		t.Errorf("another room's list has %+v", got)
	}
	if _, _, err := Reopen(dsn, "NOSUCHCLASS2"); !errors.Is(err, ErrNoClass) {
		t.Errorf("%v, want ErrNoClass", err)
	}
}

func TestADatabaseThatIsNotThere(t *testing.T) {
	_, _, err := NewClass("postgres://somebody:secret@/school?host="+t.TempDir(), "Tuesday", nil, time.Now())
	if err == nil || !strings.Contains(err.Error(), "keep classes in a folder") {
		t.Errorf("%v, want what to do", err)
	}
	if strings.Contains(fmt.Sprint(err), "secret") {
		t.Errorf("the password is told: %v", err)
	}
}
