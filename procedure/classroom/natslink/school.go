package natslink

import (
	"context"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nkeys"

	"kickover/procedure/classroom"
	"kickover/procedure/record"
)

// School is a school's own NATS cluster, and its PostgreSQL, for classes in many
// rooms. The cluster asks the class's program who may connect ("auth callout",
// docs.nats.io), so that a class lets stations in by its own code and gives each
// its own rights, whoever runs the servers. Files are named relative to the
// configuration's own.
type School struct {
	// Servers are URLs, tls://HOST:PORT. The projector shows the first, or the one
	// that this program is at when the first is down.
	Servers []string `json:"servers"`
	// CA is the file of the one certificate (PEM) that signed all servers'. They
	// must send it along after their own, since stations recognise it by the
	// check words; begin with TLS (handshake_first); and speak TLS 1.3.
	CA string `json:"ca"`
	// Account is the NATS account of all classes, with JetStream; User is in it
	// and among the callout's auth_users.
	Account      string `json:"account"`
	User         string `json:"user"`
	PasswordFile string `json:"password_file"`
	// IssuerFile holds the seed of the account key that the callout names as its
	// issuer.
	IssuerFile string `json:"issuer_file"`
	// SystemUser is in the system account: with it the program ends the
	// connections of a station that it cut off. Without, it only stops listening
	// to that station.
	SystemUser         string `json:"system_user,omitempty"`
	SystemPasswordFile string `json:"system_password_file,omitempty"`
	// Replicas is how many servers keep a class's spool; zero is one.
	Replicas int `json:"replicas,omitempty"`
	// Classes is the DSN of the PostgreSQL that keeps the classes: give it where
	// package classroom asks for a folder. Empty keeps them in a folder.
	Classes string `json:"classes,omitempty"`
}

// ReadSchool reads a school's configuration (JSON) and says all that is wrong
// with it.
func ReadSchool(path string) (*School, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("the school's configuration cannot be read: %w", err)
	}
	var s School
	d := json.NewDecoder(strings.NewReader(string(text)))
	d.DisallowUnknownFields()
	if err := d.Decode(&s); err != nil {
		return nil, fmt.Errorf("%s is no configuration of a school: %w", path, err)
	}
	for _, f := range []*string{&s.CA, &s.PasswordFile, &s.IssuerFile, &s.SystemPasswordFile} {
		if *f != "" && !filepath.IsAbs(*f) {
			*f = filepath.Join(filepath.Dir(path), *f)
		}
	}
	if err := s.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return &s, nil
}

func (s *School) check() error {
	var errs []error
	if len(s.Servers) == 0 {
		errs = append(errs, errors.New(`"servers" names none: write at least one as tls://HOST:PORT`))
	}
	for _, u := range s.Servers {
		if p, err := url.Parse(u); err != nil || p.Scheme != "tls" || p.Port() == "" || p.User != nil {
			errs = append(errs, fmt.Errorf(`"servers": %q is none: write tls://HOST:PORT`, u))
		}
	}
	for name, value := range map[string]string{"ca": s.CA, "account": s.Account, "user": s.User, "password_file": s.PasswordFile, "issuer_file": s.IssuerFile} {
		if value == "" {
			errs = append(errs, fmt.Errorf("%q is missing", name))
		}
	}
	for _, f := range []string{s.CA, s.PasswordFile, s.IssuerFile, s.SystemPasswordFile} {
		if f == "" {
			continue
		}
		if _, err := os.ReadFile(f); err != nil {
			errs = append(errs, fmt.Errorf("a file that it names cannot be read: %w", err))
		}
	}
	if (s.SystemUser == "") != (s.SystemPasswordFile == "") {
		errs = append(errs, errors.New(`"system_user" and "system_password_file" belong together`))
	}
	if s.Classes != "" && !record.IsDSN(s.Classes) {
		errs = append(errs, errors.New(`"classes" is no postgres:// address`))
	}
	return errors.Join(errs...)
}

// keyLength is how much of a class's id stands in its address and subjects at a
// school: what a student can type. Two open classes with the same are told apart
// by their streams.
const keyLength = 6

// leaveWait is how long closing waits for a school's servers.
const leaveWait = 2 * time.Second

// pinAtSchool is what a class's check words and pins stand for: the school's
// authority and the class, so that neither can be another.
func pinAtSchool(authority []byte, key string) classroom.Fingerprint {
	return sha256.Sum256(append([]byte("kickover class "+key+"\n"), authority...))
}

// atSchool is the instructor's end with a school's cluster.
type atSchool struct {
	hub
	o         Options
	authority *x509.Certificate
	issuer    nkeys.KeyPair
	system    *nats.Conn
	census    *census
}

func openAtSchool(o Options, host classroom.Host) (classroom.Room, error) {
	if len(o.Class) < keyLength {
		return nil, errors.New("the class has no id")
	}
	a := &atSchool{hub: newHub(o.Class, o.Class[:keyLength], host), o: o}
	a.census = newCensus(a)
	a.heard = a.census.heard
	if err := a.start(); err != nil {
		a.shut()
		return nil, err
	}
	return a, nil
}

func (a *atSchool) start() error {
	s := a.o.School
	var err error
	if a.authority, err = readAuthority(s.CA); err != nil {
		return err
	}
	seed, err := os.ReadFile(s.IssuerFile)
	if err != nil {
		return fmt.Errorf("the key that lets stations in cannot be read: %w", err)
	}
	if a.issuer, err = nkeys.FromSeed([]byte(strings.TrimSpace(string(seed)))); err != nil {
		return fmt.Errorf("%s holds no seed of a key: %w", s.IssuerFile, err)
	}
	if s.SystemUser != "" {
		if a.system, err = a.dial(s.SystemUser, s.SystemPasswordFile); err != nil {
			return err
		}
	}
	nc, err := a.dial(s.User, s.PasswordFile)
	if err != nil {
		return err
	}
	a.nc = nc
	if err := a.claim(nc); err != nil {
		return err
	}
	if err := a.attach(nc, max(1, s.Replicas)); err != nil {
		return err
	}
	if _, err := nc.Subscribe(calloutSubject, a.admit); err != nil {
		return fmt.Errorf("the class cannot be opened: %w", err)
	}
	a.done.Go(a.census.work)
	a.done.Go(a.tend)
	return nc.Flush()
}

func readAuthority(file string) (*x509.Certificate, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("the school's certificate cannot be read: %w", err)
	}
	block, rest := pem.Decode(text)
	if block == nil || strings.TrimSpace(string(rest)) != "" {
		return nil, fmt.Errorf("%s must hold one certificate, in PEM", file)
	}
	return x509.ParseCertificate(block.Bytes)
}

func (a *atSchool) dial(user, passwordFile string) (*nats.Conn, error) {
	password, err := os.ReadFile(passwordFile)
	if err != nil {
		return nil, fmt.Errorf("the password for the school's servers cannot be read: %w", err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(a.authority)
	nc, err := nats.Connect(strings.Join(a.o.School.Servers, ","), nats.Name("class"), nats.UserInfo(user, strings.TrimSpace(string(password))),
		nats.Secure(&tls.Config{MinVersion: tls.VersionTLS13, RootCAs: roots}), nats.TLSHandshakeFirst(),
		nats.DontRandomize(), nats.Timeout(5*time.Second), nats.MaxReconnects(-1), nats.ReconnectWait(250*time.Millisecond), nats.PingInterval(2*time.Second), nats.MaxPingsOutstanding(2))
	if err != nil {
		return nil, fmt.Errorf("the school's servers (%s) do not let this program in: %w; look at the network and the school's configuration, or open the class without it", strings.Join(a.o.School.Servers, ", "), err)
	}
	return nc, nil
}

// claim makes sure that no other class has this one's key.
func (a *atSchool) claim(nc *nats.Conn) error {
	js, err := jetStream(nc)
	if err != nil {
		return err
	}
	ctx, stop := context.WithTimeout(context.Background(), readyWait)
	defer stop()
	stream, err := js.Stream(ctx, streamName+a.class)
	if err == nil && stream.CachedInfo().Config.Description != a.o.Class {
		return errors.New("another class at this school has the same short name by chance: open a new one")
	}
	return nil // it is made, or the failure is met again, when the stream is used
}

// What may be the matter with a school's servers, and what is to be done.
const (
	schoolAway  = "The school's servers are not reached. Everybody flies on, every run is kept and delivered later; go, pause and orders reach nobody meanwhile."
	schoolSpool = "The school's servers take no run events, too few of them are up. Everybody flies on, every run is kept and delivered later."
)

const tendEvery = time.Second

// tend looks whether the school's servers still carry the class.
func (a *atSchool) tend() {
	tick := time.NewTicker(tendEvery)
	defer tick.Stop()
	missed := 0
	for {
		select {
		case <-tick.C:
		case <-a.stop:
			return
		}
		switch {
		case !a.nc.IsConnected():
			missed = 0
			a.host.Trouble(schoolAway)
		case a.spooled():
			missed = 0
			a.host.Trouble("")
		default:
			// While another server takes the spool over nobody answers for a moment.
			if missed++; missed > 3 {
				a.host.Trouble(schoolSpool)
			}
		}
	}
}

// spooled reports whether the spool takes run events. A server that is left alone
// still tells of the spool, and that nobody leads it.
func (a *atSchool) spooled() bool {
	ctx, stop := context.WithTimeout(context.Background(), leaveWait)
	defer stop()
	stream, err := a.js.Stream(ctx, streamName+a.class)
	if err != nil {
		return false
	}
	cluster := stream.CachedInfo().Cluster
	return cluster == nil || cluster.Leader != ""
}

// CutOff implements classroom.Room.
func (a *atSchool) CutOff(s classroom.StationID) {
	for _, c := range a.census.cutOff(s) {
		if a.system != nil {
			// The server heeds only what it can answer; the station may have gone by itself.
			_ = a.system.PublishRequest("$SYS.REQ.SERVER."+c.server+".KICK", a.system.NewRespInbox(), fmt.Appendf(nil, `{"cid":%d}`, c.id))
		}
	}
}

// Addresses implements classroom.Room. The first is of a server that is up.
func (a *atSchool) Addresses() []string {
	now, _ := url.Parse(a.nc.ConnectedUrl())
	var out []string
	for _, s := range a.o.School.Servers {
		u, err := url.Parse(s)
		switch {
		case err != nil:
		case now != nil && u.Host == now.Host:
			out = slices.Insert(out, 0, u.Host+"/"+a.class)
		default:
			out = append(out, u.Host+"/"+a.class)
		}
	}
	return out
}

// Fingerprint implements classroom.Room.
func (a *atSchool) Fingerprint() classroom.Fingerprint {
	return pinAtSchool(a.authority.Raw, a.class)
}

// Close implements classroom.Room. An empty spool is not left behind at the school.
func (a *atSchool) Close() error {
	ctx, stop := context.WithTimeout(context.Background(), leaveWait)
	defer stop()
	if stream, err := a.js.Stream(ctx, streamName+a.class); err == nil && stream.CachedInfo().State.Msgs == 0 {
		_ = a.js.DeleteStream(ctx, streamName+a.class) // what comes between the two is on the stations as well
	}
	a.shut()
	return nil
}

func (a *atSchool) shut() {
	a.leave()
	if a.system != nil {
		a.system.Close()
	}
}

// keyAsTyped reads digits for the letters they look like, as in classes of earlier
// versions; no key has such digits.
var keyAsTyped = strings.NewReplacer("0", "O", "1", "I")

// place splits an address as a student types it: a class at a school has its
// key after a slash.
func place(address string) (hostPort, key string) {
	hostPort, key, _ = strings.Cut(strings.TrimPrefix(classroom.ReadAddress(address), "tls://"), "/")
	if _, _, err := net.SplitHostPort(hostPort); err != nil {
		hostPort = net.JoinHostPort(strings.Trim(hostPort, "[]"), DefaultPort)
	}
	return hostPort, keyAsTyped.Replace(strings.ToUpper(key))
}
