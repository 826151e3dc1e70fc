package classroom_test

import (
	"context"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/flowfile"
)

// network is a messaging engine in memory: it can be cut, loses what it is told
// to lose, and keeps a copy of everything that stations receive.
type network struct {
	mu       sync.Mutex
	host     classroom.Host
	links    map[classroom.StationID]*end
	cut      bool
	away     map[classroom.StationID]bool // those that are cut off from it alone
	lose     float64                      // share of deliveries and of confirmations that are lost
	twice    float64                      // share of deliveries that come twice
	rng      *rand.Rand
	received []byte // all that stations were sent
	sent     []byte // and all they sent
	code     string // digits that stations call with
}

func newNetwork() *network {
	return &network{links: map[classroom.StationID]*end{}, away: map[classroom.StationID]bool{}, rng: rand.New(rand.NewPCG(7, 7))}
}

// end is a station's end of it.
type end struct {
	net   *network
	id    classroom.Identity
	ear   classroom.Ear
	queue chan []byte
	stop  chan struct{}
	once  sync.Once
}

func (n *network) dial(id classroom.Identity, ear classroom.Ear) (classroom.Link, error) {
	e := &end{net: n, id: id, ear: ear, queue: make(chan []byte, 4096), stop: make(chan struct{})}
	n.mu.Lock()
	n.links[id.Station] = e
	host, code, cut := n.host, n.code, n.cut
	n.mu.Unlock()
	go e.hear()
	if host == nil || cut {
		ear.Down(classroom.ErrAway)
		return e, nil
	}
	if err := host.Admit(classroom.Caller{Station: id.Station, Secret: id.Secret, Code: code, Address: "test"}); err != nil {
		ear.Refused(err)
		return e, nil
	}
	host.Here(id.Station)
	ear.Up()
	return e, nil
}

func (e *end) hear() {
	for {
		select {
		case data := <-e.queue:
			e.ear.Heard(data)
		case <-e.stop:
			return
		}
	}
}

func (e *end) way() (classroom.Host, bool) {
	n := e.net
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.host, n.host != nil && !n.cut && !n.away[e.id.Station]
}

func (n *network) chance(p float64) bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.rng.Float64() < p
}

func (n *network) note(data []byte) {
	n.mu.Lock()
	n.received = append(append(n.received, data...), '\n')
	n.mu.Unlock()
}

func (e *end) Live(data []byte) error {
	host, ok := e.way()
	if !ok {
		return classroom.ErrAway
	}
	host.Live(e.id.Station, data)
	return nil
}

func (e *end) Append(_ context.Context, data []byte) error {
	host, ok := e.way()
	if !ok {
		return classroom.ErrAway
	}
	e.net.mu.Lock()
	e.net.sent = append(append(e.net.sent, data...), '\n')
	e.net.mu.Unlock()
	parcels := []classroom.Parcel{{Station: e.id.Station, Data: data}}
	if e.net.chance(e.net.lose) {
		return nil // taken, and lost: the spool may do that when the power fails
	}
	if e.net.chance(e.net.twice) {
		parcels = append(parcels, parcels[0])
	}
	return host.Deliver(parcels)
}

func (e *end) Ask(_ context.Context, q []byte) ([]byte, error) {
	host, ok := e.way()
	if !ok {
		return nil, classroom.ErrAway
	}
	a := host.Ask(e.id.Station, q)
	e.net.note(a)
	return a, nil
}

func (e *end) Close() {
	e.once.Do(func() { close(e.stop) })
	if host, ok := e.way(); ok {
		host.Gone(e.id.Station)
	}
}

// room is the instructor's end.
type room struct{ *network }

func (r room) Broadcast(data []byte) error {
	r.mu.Lock()
	var to []classroom.StationID
	for s := range r.links {
		to = append(to, s)
	}
	r.mu.Unlock()
	for _, s := range to {
		r.Send(s, data)
	}
	return nil
}

func (r room) Send(s classroom.StationID, data []byte) error {
	r.mu.Lock()
	e := r.links[s]
	lost := r.cut || r.away[s] || e == nil || r.rng.Float64() < r.lose
	r.mu.Unlock()
	if !lost {
		r.note(data)
		e.queue <- data
	}
	return nil
}

func (r room) CutOff(s classroom.StationID) {
	r.mu.Lock()
	e := r.links[s]
	delete(r.links, s)
	r.mu.Unlock()
	if e != nil {
		e.ear.Refused(classroom.ErrCut)
	}
}

func (r room) Addresses() []string                { return []string{"memory"} }
func (r room) Fingerprint() classroom.Fingerprint { return classroom.Fingerprint{} }
func (r room) Close() error                       { return nil }

// open begins a network with a host, as when the instructor's program starts.
func (n *network) open(i *classroom.Instructor) {
	n.mu.Lock()
	n.host, n.code = i, i.JoinCode().Digits
	var ends []*end
	for _, e := range n.links {
		ends = append(ends, e)
	}
	n.mu.Unlock()
	i.Attach(room{n})
	for _, e := range ends {
		if i.Admit(classroom.Caller{Station: e.id.Station, Secret: e.id.Secret}) == nil {
			i.Here(e.id.Station)
			e.ear.Up()
		}
	}
}

// sever cuts the network, or mends it.
func (n *network) sever(cut bool) {
	n.mu.Lock()
	n.cut = cut
	var ends []*end
	for _, e := range n.links {
		ends = append(ends, e)
	}
	host := n.host
	n.mu.Unlock()
	for _, e := range ends {
		if cut {
			if host != nil {
				host.Gone(e.id.Station)
			}
			e.ear.Down(classroom.ErrAway)
		} else {
			host.Here(e.id.Station)
			e.ear.Up()
		}
	}
}

// severOne cuts one station off, or brings it back.
func (n *network) severOne(s classroom.StationID, cut bool) {
	n.mu.Lock()
	n.away[s] = cut
	e, host := n.links[s], n.host
	n.mu.Unlock()
	if cut {
		host.Gone(s)
		e.ear.Down(classroom.ErrAway)
		return
	}
	host.Here(s)
	e.ear.Up()
}

// gone is the instructor's program being killed.
func (n *network) gone() {
	n.mu.Lock()
	n.host = nil
	var ends []*end
	for _, e := range n.links {
		ends = append(ends, e)
	}
	n.mu.Unlock()
	for _, e := range ends {
		e.ear.Down(classroom.ErrAway)
	}
}

// shipped are the aeroplanes with their flows. A flow that is wrong is another
// package's to find.
func shipped(t testing.TB) []*procedure.Library {
	t.Helper()
	libs, _ := flowfile.Load(assets.Library())
	if len(libs) == 0 {
		t.Fatal("no aeroplane is shipped")
	}
	return libs
}

// join takes a place in the class by its code.
func join(t testing.TB, n *network, folder string, i *classroom.Instructor, o classroom.StationOptions, name string) *classroom.Station {
	t.Helper()
	id, err := classroom.IdentityFor(folder, i.JoinCode(), "memory", name, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	s, err := classroom.Join(id, o, n.dial)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
