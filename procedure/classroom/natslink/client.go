package natslink

import (
	"context"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/nats-io/nats.go"

	"kickover/procedure/classroom"
)

// DefaultPort is the port of a class, where nothing else is chosen.
const DefaultPort = "4477"

var (
	errFull       = errors.New("the instructor's machine cannot take more at the moment: everything is kept here and delivered later")
	errUnanswered = errors.New("the instructor's machine did not answer: everything is kept here and delivered later")
)

// Calling is how a station finds its class.
type Calling struct {
	Digits string // of the join code; empty for one that was in the class before
	// Wait is the pause before the connection is tried again; zero is half a second.
	Wait time.Duration
}

// line is a station's end.
type line struct {
	nc    atomic.Pointer[nats.Conn]
	id    classroom.Identity
	key   string                 // of a class at a school; empty for one in a room
	class atomic.Pointer[string] // in subjects; in a room the server's name tells it
	ear   classroom.Ear

	user, password string
	shown          atomic.Int32 // how often, without being let in

	mu      sync.Mutex // guards what follows
	trusted *classroom.Fingerprint
	hosts   []string // of the address, and of the others of a school's cluster
	doubted bool     // the certificate was another
	old     bool     // the code is no longer valid
	closed  bool
}

// Dial makes a station's end. It tries until it is closed, or until the class
// refuses it; the ear hears of both.
func Dial(id classroom.Identity, c Calling, ear classroom.Ear) (classroom.Link, error) {
	if c.Wait == 0 {
		c.Wait = 500 * time.Millisecond
	}
	address, key := place(id.Address)
	host, _, _ := net.SplitHostPort(address)
	l := &line{id: id, ear: ear, hosts: []string{host}, key: key}
	l.user, l.password = string(id.Station), join(id.Secret, c.Digits)
	where := inRoom(l)
	if key != "" {
		l.user, where = key+"."+l.user, atClusterToo(l)
	}
	nc, err := nats.Connect("tls://"+address, where,
		nats.Name("station"),
		nats.Secure(&tls.Config{MinVersion: tls.VersionTLS13, InsecureSkipVerify: true, VerifyConnection: l.verify}), // verified by its pin
		nats.TLSHandshakeFirst(), nats.Timeout(5*time.Second),
		nats.CustomInboxPrefix(inboxOf(id.Station)),
		nats.RetryOnFailedConnect(true), nats.MaxReconnects(-1), nats.ReconnectWait(c.Wait), nats.ReconnectJitter(c.Wait/2, c.Wait/2),
		nats.ReconnectBufSize(-1), // what is not sent is in the station's own log, not in memory
		nats.DontRandomize(), nats.PingInterval(2*time.Second), nats.MaxPingsOutstanding(2),
		nats.FlusherTimeout(2*time.Second),
		nats.ConnectHandler(l.up), nats.ReconnectHandler(l.up), nats.DisconnectErrHandler(l.down),
		nats.ReconnectErrHandler(func(nc *nats.Conn, err error) { l.expired(nc, err); l.failed(err) }), nats.ClosedHandler(l.over),
		nats.ErrorHandler(func(nc *nats.Conn, _ *nats.Subscription, err error) { l.expired(nc, err) }),
	)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be an address of a class: %w", id.Address, err)
	}
	l.nc.Store(nc)
	return l, nil
}

// inRoom has a station know one server only, which refuses for good.
func inRoom(l *line) nats.Option {
	return func(o *nats.Options) error {
		o.User, o.Password, o.IgnoreDiscoveredServers = l.user, l.password, true
		return nil
	}
}

// atClusterToo lets a station go to any server of a school's cluster: when one
// ends the others take its stations over. It is the class's program that lets them
// in, and it may have been at the same server: not to be let in for a while is no
// refusal.
func atClusterToo(l *line) nats.Option {
	return func(o *nats.Options) error {
		o.UserInfo, o.IgnoreAuthErrorAbort = l.credentials, true
		o.DiscoveredServersCB = l.learn
		return nil
	}
}

// learn notes the servers that the cluster told of.
func (l *line) learn(nc *nats.Conn) {
	var hosts []string
	for _, s := range nc.Servers() {
		if u, err := url.Parse(s); err == nil && !slices.Contains(hosts, u.Hostname()) {
			hosts = append(hosts, u.Hostname())
		}
	}
	l.mu.Lock()
	l.hosts = hosts
	l.mu.Unlock()
}

// verify is called in the handshake, before anything is sent.
func (l *line) verify(s tls.ConnectionState) error {
	if len(s.PeerCertificates) == 0 {
		return classroom.ErrUntrusted
	}
	f, err := l.standsFor(s.PeerCertificates)
	l.mu.Lock()
	known := l.trusted
	l.mu.Unlock()
	if err == nil && (known != nil && *known == f || known == nil && l.id.Trust(f)) {
		l.mu.Lock()
		first := l.trusted == nil
		l.trusted, l.doubted = &f, false
		l.mu.Unlock()
		if first {
			l.ear.Trusted(f)
		}
		return nil
	}
	l.mu.Lock()
	l.doubted = true
	l.mu.Unlock()
	return classroom.ErrUntrusted
}

// standsFor is what must be trusted: in a room the certificate itself; at a
// school, its authority, which comes last and has signed for this server, with
// the class.
func (l *line) standsFor(chain []*x509.Certificate) (classroom.Fingerprint, error) {
	if l.key == "" {
		return sha256.Sum256(chain[0].Raw), nil
	}
	server, authority := chain[0], chain[len(chain)-1]
	roots, between := x509.NewCertPool(), x509.NewCertPool()
	roots.AddCert(authority)
	for _, c := range chain[1:] {
		between.AddCert(c)
	}
	now := time.Now()
	if early := server.NotBefore.Sub(now); early > 0 && early < clockSlack {
		now = server.NotBefore
	}
	l.mu.Lock()
	hosts := l.hosts
	l.mu.Unlock()
	err := classroom.ErrUntrusted
	for _, h := range hosts {
		if _, err = server.Verify(x509.VerifyOptions{DNSName: h, Roots: roots, Intermediates: between, CurrentTime: now}); err == nil {
			break
		}
	}
	return pinAtSchool(authority.Raw, l.key), err
}

// clockSlack is how far a laptop's clock may be behind a new certificate.
const clockSlack = 48 * time.Hour

// up subscribes anew for each connection: the class's id is in the server's name.
func (l *line) up(nc *nats.Conn) {
	class, ok := strings.CutPrefix(nc.ConnectedServerName(), "class-")
	if l.key != "" {
		class, ok = l.key, true
		l.learn(nc)
	}
	if !ok {
		return
	}
	if l.class.Load() == nil {
		heard := func(m *nats.Msg) { l.ear.Heard(m.Data) }
		_, e1 := nc.Subscribe(toOf(class, l.id.Station), heard)
		_, e2 := nc.Subscribe(allOf(class), heard)
		if errors.Join(e1, e2) != nil {
			return
		}
		l.class.Store(&class)
	}
	l.ear.Up()
}

func (l *line) down(_ *nats.Conn, err error) {
	l.mu.Lock()
	closed := l.closed
	l.mu.Unlock()
	if !closed {
		l.ear.Down(err)
	}
}

// expired gives up when the class says that the code is too old: no other try can
// be better.
func (l *line) expired(nc *nats.Conn, err error) {
	if !errors.Is(err, nats.ErrAuthExpired) {
		return
	}
	l.mu.Lock()
	first := !l.old
	l.old = true
	l.mu.Unlock()
	if first {
		go nc.Close() // this is one of its goroutines; over is told
	}
}

// failed is told of tries that failed; of the engine's client's doing, not of all.
func (l *line) failed(err error) {
	l.mu.Lock()
	doubted := l.doubted
	l.mu.Unlock()
	switch {
	case doubted:
		l.ear.Down(classroom.ErrUntrusted)
	case errors.Is(err, nats.ErrAuthorization) && l.key != "" && l.joined():
		l.ear.Down(classroom.ErrAway)
	case errors.Is(err, nats.ErrAuthorization):
		l.ear.Down(classroom.ErrRefused)
	default:
		l.ear.Down(err)
	}
}

// joined reports whether the class has let the station in before.
func (l *line) joined() bool { return l.id.Class != "" || l.class.Load() != nil }

// credentials are asked for at each try that reached a server of a school. The
// servers say the same whether the class's program refused or could not be asked:
// who was in the class tries on, a newcomer gives up at the second time.
func (l *line) credentials() (user, password string) {
	if !l.joined() && l.shown.Add(1) > refusals {
		if nc := l.nc.Load(); nc != nil {
			go nc.Close() // this is one of its goroutines; over is told
		}
	}
	return l.user, l.password
}

const refusals = 2

// over is called when the client gives up: it does so only when it was refused
// twice, when its code is too old, or when it is closed.
func (l *line) over(nc *nats.Conn) {
	l.mu.Lock()
	closed, old := l.closed, l.old
	l.mu.Unlock()
	switch {
	case closed:
	case old:
		l.ear.Refused(classroom.ErrOldCode)
	default:
		l.ear.Refused(classroom.ErrRefused)
	}
}

// Live implements classroom.Link.
func (l *line) Live(data []byte) error {
	class := l.class.Load()
	if class == nil || !l.nc.Load().IsConnected() {
		return classroom.ErrAway
	}
	return l.nc.Load().Publish(liveOf(*class, l.id.Station), data)
}

// Append implements classroom.Link.
func (l *line) Append(ctx context.Context, data []byte) error {
	reply, err := l.request(ctx, eventsOf, data)
	if err != nil {
		return err
	}
	var ack struct {
		Error *struct {
			Description string `json:"description"`
		} `json:"error"`
		Stream string `json:"stream"`
	}
	if json.Unmarshal(reply, &ack) != nil || ack.Error != nil || ack.Stream == "" {
		return errFull
	}
	return nil
}

// Ask implements classroom.Link.
func (l *line) Ask(ctx context.Context, question []byte) ([]byte, error) {
	return l.request(ctx, askOf, question)
}

func (l *line) request(ctx context.Context, subject func(string, classroom.StationID) string, data []byte) ([]byte, error) {
	class := l.class.Load()
	if class == nil || !l.nc.Load().IsConnected() {
		return nil, classroom.ErrAway
	}
	m, err := l.nc.Load().RequestWithContext(ctx, subject(*class, l.id.Station), data)
	switch {
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, nats.ErrNoResponders), errors.Is(err, nats.ErrTimeout):
		return nil, errUnanswered
	case err != nil:
		return nil, fmt.Errorf("%w (%w)", classroom.ErrAway, err)
	}
	return m.Data, nil
}

// Close implements classroom.Link.
func (l *line) Close() {
	l.mu.Lock()
	l.closed = true
	l.mu.Unlock()
	l.nc.Load().Close()
}
