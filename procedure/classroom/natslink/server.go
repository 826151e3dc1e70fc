package natslink

import (
	"cmp"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"math"
	"net"
	"os"
	"strconv"
	"sync"
	"syscall"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"

	"kickover/procedure/classroom"
)

// Options are where and how a class listens.
type Options struct {
	Class       string // id
	Certificate tls.Certificate
	Fingerprint classroom.Fingerprint
	// Host is the address of the interface that was chosen; Port is 0 for any.
	Host string
	Port int
	// Spool is the folder of JetStream's files.
	Spool string
	// SyncAlways flushes every message of the spool to the disk before it is
	// acknowledged. It is not needed for safety: a station keeps a run until the
	// instructor's store has confirmed it, and that store flushes.
	SyncAlways bool
	// School, if any, is where the class is carried instead: then nothing is
	// started or listens here, and Host, Port, Certificate, Fingerprint, Spool and
	// SyncAlways are of no account.
	School *School
	// Flood is how many messages a second one station may send, over a second or
	// two; zero is 400, twenty times what it does.
	Flood int
}

// What the server puts up with.
const (
	maxPayload = 64 << 10
	// A station's connection has four subscriptions; the program's own has a few.
	maxSubs = 16
	// The program's own connection is one of these: at 4 MiB a stall of a third of a
	// second ended it in a class of 1,000.
	maxPending    = 32 << 20
	spoolLimit    = 256 << 20
	spoolAge      = 24 * time.Hour
	readyWait     = 10 * time.Second
	defaultFlood  = 400
	floodBytes    = 4 << 20 // a second
	watchEvery    = 500 * time.Millisecond
	deliverAtOnce = 512
	redeliver     = 10 * time.Second
)

// served is the instructor's end with a server of its own.
type served struct {
	hub
	o      Options
	server *server.Server
	secret string // of the program's own connection

	mu      sync.Mutex // guards what follows
	callers map[uint64]classroom.StationID
	failed  error // what the server logged as fatal
}

// Open starts the server, or goes to the school's, and lets stations in.
func Open(o Options, host classroom.Host) (classroom.Room, error) {
	if o.Flood == 0 {
		o.Flood = defaultFlood
	}
	if o.School != nil {
		return openAtSchool(o, host)
	}
	if o.Host == "" {
		return nil, errors.New("choose the network that the class is to be on: nothing listens on all of them")
	}
	if err := os.MkdirAll(o.Spool, 0o700); err != nil {
		return nil, fmt.Errorf("the class's folder cannot be written: %w", err)
	}
	h := &served{hub: newHub(o.Class, o.Class, host), o: o, secret: rand.Text() + rand.Text(), callers: map[uint64]classroom.StationID{}}
	if err := h.start(); err != nil {
		h.shut()
		return nil, err
	}
	return h, nil
}

func (h *served) start() error {
	port := h.o.Port
	if port == 0 {
		port = server.RANDOM_PORT
	}
	opts := &server.Options{
		ServerName: "class-" + h.o.Class, Host: h.o.Host, Port: port, DontListen: true,
		NoSigs: true, NoSystemAccount: true, DisableShortFirstPing: true,
		JetStream: true, StoreDir: h.o.Spool, JetStreamMaxMemory: 1 << 20, JetStreamMaxStore: spoolLimit + 64<<20, SyncAlways: h.o.SyncAlways,
		CustomClientAuthentication: (*doorman)(h), AuthTimeout: 3,
		TLSConfig:         &tls.Config{MinVersion: tls.VersionTLS13, Certificates: []tls.Certificate{h.o.Certificate}},
		TLSHandshakeFirst: true, TLSTimeout: 3,
		MaxPayload: maxPayload, MaxConn: 2100, MaxSubs: maxSubs, MaxPending: maxPending, MaxControlLine: 1024,
		WriteDeadline: 5 * time.Second, PingInterval: 5 * time.Second, MaxPingsOut: 2, MaxClosedClients: 64,
		DisableJetStreamBanner: true,
	}
	srv, err := server.NewServer(opts)
	if err != nil {
		return fmt.Errorf("the class cannot be opened: %w", err)
	}
	h.server = srv
	srv.SetLoggerV2((*ears)(h), false, false, false)
	srv.Start()
	if !srv.ReadyForConnections(readyWait) {
		return errors.Join(errors.New("the class cannot be opened: its messaging engine did not start"), h.failure())
	}
	if err := h.connect(); err != nil {
		return err
	}
	return h.listen()
}

// listen opens the port, last of all.
func (h *served) listen() error {
	ready := make(chan struct{})
	go h.server.AcceptLoop(ready)
	<-ready
	if h.server.Addr() == nil {
		return h.unheard()
	}
	h.done.Go(h.watch)
	return nil
}

// unheard says why nothing listens: the engine has only a line of its log for it.
func (h *served) unheard() error {
	err := try(h.o.Host, h.o.Port)
	e := &classroom.PortError{Host: h.o.Host, Port: strconv.Itoa(h.o.Port), Taken: errors.Is(err, syscall.EADDRINUSE),
		Err: cmp.Or(err, h.failure(), errors.New("not listening"))}
	const tries = 20
	for port := h.o.Port + 1; e.Taken && port <= min(h.o.Port+tries, math.MaxUint16); port++ {
		if try(h.o.Host, port) == nil {
			e.Free = port
			break
		}
	}
	return e
}

// try reports why nothing can listen at a port, nil where something can.
func try(host string, port int) error {
	l, err := net.Listen("tcp", net.JoinHostPort(host, strconv.Itoa(port)))
	if err != nil {
		return err
	}
	return l.Close()
}

// connect makes the program's own connection, which does not leave the process.
func (h *served) connect() error {
	nc, err := nats.Connect("", nats.InProcessServer(h.server), nats.UserInfo(ownUser, h.secret), nats.Timeout(readyWait),
		nats.MaxReconnects(-1), nats.ReconnectWait(50*time.Millisecond))
	if err != nil {
		return fmt.Errorf("the class cannot be opened: %w", err)
	}
	return h.attach(nc, 1)
}

// CutOff implements classroom.Room.
func (h *served) CutOff(s classroom.StationID) {
	h.mu.Lock()
	var ids []uint64
	for id, who := range h.callers {
		if who == s {
			ids = append(ids, id)
		}
	}
	h.mu.Unlock()
	for _, id := range ids {
		_ = h.server.DisconnectClientByID(id) // it may have gone by itself
	}
}

// Addresses implements classroom.Room.
func (h *served) Addresses() []string {
	a := h.server.Addr()
	if a == nil {
		return nil
	}
	return []string{a.String()}
}

// Fingerprint implements classroom.Room.
func (h *served) Fingerprint() classroom.Fingerprint { return h.o.Fingerprint }

// Close implements classroom.Room.
func (h *served) Close() error {
	h.shut()
	return nil
}

func (h *served) shut() {
	h.leave()
	if h.server != nil {
		h.server.Shutdown()
		h.server.WaitForShutdown()
	}
}

func (h *served) failure() error {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.failed
}
