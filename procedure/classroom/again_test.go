package classroom_test

import (
	"context"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/simulated"
)

// slow is a link on which a station's position overtakes its hello, as it may on
// a machine that is busy.
type slow struct{ classroom.Link }

func (l slow) Ask(ctx context.Context, q []byte) ([]byte, error) {
	late := time.NewTimer(3 * time.Second)
	<-late.C
	return l.Link.Ask(ctx, q)
}

// What the class sends to a place before its new program has said hello is sealed
// to the program that sat there before: it must not keep the new one from flying.
func TestAPlaceTakenAgainWaitsForItsOwnEnvelopes(t *testing.T) {
	libs := shipped(t)
	synctest.Test(t, func(t *testing.T) {
		dir := t.TempDir()
		i := openClass(t, filepath.Join(dir, "class"), classroom.InstructorOptions{Libraries: libs})
		net := newNetwork()
		net.open(i)
		folder := filepath.Join(dir, "station")
		s := join(t, net, folder, i, classroom.StationOptions{Libraries: libs, Seat: &simulated.Seat{Stop: t.Context()}}, "Ada")
		settle(t, time.Minute, "it is here", func() bool { return i.Tally().Here == 1 })
		letBegin(t, i, s)
		s.Close()

		s, err := classroom.Join(classroom.Identities(folder)[0], classroom.StationOptions{Libraries: libs, Seat: &simulated.Seat{Stop: t.Context()}},
			func(id classroom.Identity, ear classroom.Ear) (classroom.Link, error) {
				l, err := net.dial(id, ear)
				return slow{l}, err
			})
		if err != nil {
			t.Fatal(err)
		}
		settle(t, time.Minute, "it may begin again", func() bool { return s.Status().MayBegin })
		if n := s.Status().Notice; n != "" {
			t.Errorf("it says %q", n)
		}
		s.Close()
		i.Close()
	})
}
