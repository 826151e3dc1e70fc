package natslink_test

import (
	"bufio"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"math/big"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nkeys"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/classroom/simulated"
	"kickover/procedure/parttest"
	"kickover/procedure/record/postgrestest"
)

// How a school's server is configured, and joined with others; testdata has it,
// for whoever runs them.
const (
	schoolConfig  = "testdata/school.conf"
	clusterConfig = "testdata/cluster.conf"
)

// serveCluster is a school's server as a process of its own: the engine's
// program without its command line. Its argument is its configuration.
func serveCluster(config string) error {
	o, err := server.ProcessConfigFile(config)
	if err != nil {
		return err
	}
	o.NoSigs = true
	s, err := server.NewServer(o)
	if err != nil {
		return err
	}
	s.Start()
	if !s.ReadyForConnections(patience) {
		return errors.New("the server does not start")
	}
	fmt.Println(s.Addr())
	select {}
}

// school is a server with its certificate and passwords, and how a class
// reaches it.
type school struct {
	t       testing.TB
	folder  string
	servers []*served // one, or three that are joined
	config  *natslink.School
}

// served is one of a school's servers.
type served struct {
	conf, addr string
	process    *exec.Cmd
	out        io.Reader // says when it is ready
}

func newSchool(t testing.TB) *school {
	t.Helper()
	return newSchoolOf(t, 1)
}

// newSchoolOf is a school with so many servers, joined by clusterConfig.
func newSchoolOf(t testing.TB, servers int) *school {
	t.Helper()
	s := &school{t: t, folder: t.TempDir()}
	s.certify()
	issuer, err := nkeys.CreateAccount()
	if err != nil {
		t.Fatal(err)
	}
	seed, e1 := issuer.Seed()
	public, e2 := issuer.PublicKey()
	text, e3 := os.ReadFile(schoolConfig)
	if err := errors.Join(e1, e2, e3); err != nil {
		t.Fatal(err)
	}
	s.write("issuer.seed", seed)
	s.write("instructor.password", []byte("a password\n"))
	s.write("warden.password", []byte("another password\n"))
	conf := strings.NewReplacer("/etc/nats", s.folder, "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", public,
		"PASSWORD-OF-INSTRUCTOR", "a password", "PASSWORD-OF-WARDEN", "another password").Replace(string(text))
	urls := s.configure(conf, servers)
	for _, v := range s.servers {
		if err := v.begin(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(v.kill)
	}
	for _, v := range s.servers {
		if err := v.ready(); err != nil {
			t.Fatal(err)
		}
	}
	config, err := json.Marshal(map[string]any{"servers": urls, "replicas": servers, "ca": "ca.pem", "account": "CLASSROOM",
		"user": "instructor", "password_file": "instructor.password", "issuer_file": "issuer.seed",
		"system_user": "warden", "system_password_file": "warden.password", "classes": postgrestest.DSN(t)})
	if err != nil {
		t.Fatal(err)
	}
	s.write("school.json", config)
	if s.config, err = natslink.ReadSchool(filepath.Join(s.folder, "school.json")); err != nil {
		t.Fatal(err)
	}
	return s
}

// configure writes the configuration of each server, and gives their URLs.
func (s *school) configure(conf string, servers int) (urls []string) {
	s.t.Helper()
	joined, err := os.ReadFile(clusterConfig)
	if err != nil {
		s.t.Fatal(err)
	}
	var routes []string
	for n := range servers {
		routes = append(routes, fmt.Sprintf("nats-%d.school.example:6222", n+1), parttest.FreeAddress(s.t))
	}
	for n := range servers {
		text, name := conf, fmt.Sprintf("school-%d", n+1)
		if servers > 1 {
			block := strings.Replace(string(joined), "listen: nats-1.", fmt.Sprintf("listen: nats-%d.", n+1), 1)
			text += strings.NewReplacer(append(routes, "/etc/nats", s.folder)...).Replace(block)
		}
		addr := parttest.FreeAddress(s.t)
		text = strings.NewReplacer("nats.school.example:4222", addr, "school-1", name, "/var/lib/nats", filepath.Join(s.folder, name)).Replace(text)
		s.write(name+".conf", []byte(text))
		s.servers = append(s.servers, &served{conf: filepath.Join(s.folder, name+".conf"), addr: addr})
		urls = append(urls, "tls://"+addr)
	}
	return urls
}

// begin starts the server, and ready waits until it can be used.
func (v *served) begin() error {
	v.process = play("cluster", v.conf)
	var err error
	if v.out, err = v.process.StdoutPipe(); err != nil {
		return err
	}
	return v.process.Start()
}

func (v *served) ready() error {
	if _, err := bufio.NewReader(v.out).ReadString('\n'); err != nil {
		return fmt.Errorf("the school's server does not start: %w", err)
	}
	return nil
}

func (v *served) kill() {
	v.process.Process.Kill()
	v.process.Wait()
}

// start starts a server again that was killed.
func (s *school) start(v *served) {
	s.t.Helper()
	if err := errors.Join(v.begin(), v.ready()); err != nil {
		s.t.Fatal(err)
	}
}

func (s *school) write(name string, data []byte) {
	s.t.Helper()
	if err := os.WriteFile(filepath.Join(s.folder, name), data, 0o600); err != nil {
		s.t.Fatal(err)
	}
}

// certify makes the school's authority and a certificate for its server.
func (s *school) certify() {
	s.t.Helper()
	now := time.Now()
	make := func(template, parent *x509.Certificate, signer *ecdsa.PrivateKey) ([]byte, *ecdsa.PrivateKey) {
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			s.t.Fatal(err)
		}
		if signer == nil {
			signer = key
		}
		der, err := x509.CreateCertificate(rand.Reader, template, parent, key.Public(), signer)
		if err != nil {
			s.t.Fatal(err)
		}
		return der, key
	}
	authority := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "a school"}, IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageCertSign, NotBefore: now.Add(-time.Hour), NotAfter: now.Add(time.Hour)}
	ca, caKey := make(authority, authority, nil)
	leaf := &x509.Certificate{SerialNumber: big.NewInt(2), Subject: pkix.Name{CommonName: "nats"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}, NotBefore: now.Add(-time.Hour), NotAfter: now.Add(time.Hour)}
	cert, key := make(leaf, authority, caKey)
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		s.t.Fatal(err)
	}
	authorityPEM := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: ca})
	s.write("ca.pem", authorityPEM)
	s.write("server.pem", append(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: cert}), authorityPEM...))
	s.write("server.key", pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private}))
}

// class opens a class at the school.
func (s *school) class() *room {
	s.t.Helper()
	r := &room{t: s.t, folder: s.config.Classes, bell: newBell()}
	c, b, err := classroom.NewClass(s.config.Classes, "Tuesday", nil, time.Now())
	if err != nil {
		s.t.Fatal(err)
	}
	if r.i, err = classroom.NewInstructor(c, b, classroom.InstructorOptions{Libraries: shipped(), Changed: r.bell.ring}); err != nil {
		s.t.Fatal(err)
	}
	hub, err := natslink.Open(natslink.Options{Class: c.ID, School: s.config}, r.i)
	for begun := time.Now(); err != nil && len(s.servers) > 1 && time.Since(begun) < patience; {
		hub, err = natslink.Open(natslink.Options{Class: c.ID, School: s.config}, r.i) // they have not yet agreed on who leads
	}
	if err != nil {
		s.t.Fatal(err)
	}
	r.i.Attach(hub)
	r.addr = hub.Addresses()[0]
	s.t.Cleanup(func() {
		if err := r.i.Close(); err != nil {
			s.t.Error(err)
		}
	})
	return r
}

func (r *room) delivered(runs int) {
	r.t.Helper()
	r.bell.until(r.t, "all runs are delivered", func() bool {
		stored, err := r.i.Book().Runs("")
		if err != nil || len(stored) != runs {
			return false
		}
		for _, s := range stored {
			if !s.Ended {
				return false
			}
		}
		return true
	})
}

// Two rooms have classes at one school's servers and database; each has its own
// stations and runs.
func TestClassesAtASchool(t *testing.T) {
	s := newSchool(t)
	a, b := s.class(), s.class()
	if a.i.JoinCode().Words == b.i.JoinCode().Words || a.addr == b.addr {
		t.Error("two classes have the same check words or address")
	}
	for range 3 {
		a.sit(&simulated.Seat{Events: 120}, a.addr)
	}
	b.sit(&simulated.Seat{Events: 40}, b.addr)
	a.fly(3)
	b.fly(1)
	a.delivered(3)
	b.delivered(1)
	whole(t, a.i.Book(), 3, 120)
	whole(t, b.i.Book(), 1, 40)
	a.bell.until(t, "three stations are in the first class", func() bool { return a.i.Tally().Here == 3 })
}

// The school's server is killed in the middle and started again: the runs go on
// and are delivered once.
func TestTheSchoolsServerIsKilled(t *testing.T) {
	s := newSchool(t)
	r := s.class()
	began := make(chan classroom.RunID, 2)
	for range 2 {
		r.sit(&simulated.Seat{Events: 300, Every: 10 * time.Millisecond, Began: func(_ classroom.Assignment, run classroom.RunID) { began <- run }}, r.addr)
	}
	r.fly(2)
	<-began
	<-began
	s.servers[0].kill()
	r.bell.until(t, "the instructor is told", func() bool { return strings.Contains(r.told(), "school's servers are not reached") })
	s.start(s.servers[0])
	r.delivered(2)
	whole(t, r.i.Book(), 2, 300)
	r.bell.until(t, "the instructor is told that it is over", func() bool { return r.told() == "Everybody can be reached again." })
}

// The instructor's program goes and comes back while the stations stay connected
// to the school's servers: the class continues with them.
func TestAClassAtASchoolIsReopened(t *testing.T) {
	s := newSchool(t)
	r := s.class()
	id := r.i.Class().ID
	r.sit(&simulated.Seat{Events: 40}, r.addr)
	r.fly(1)
	r.delivered(1)
	if err := r.i.Close(); err != nil {
		t.Fatal(err)
	}
	c, b, err := classroom.Reopen(s.config.Classes, id)
	if err != nil {
		t.Fatal(err)
	}
	if r.i, err = classroom.NewInstructor(c, b, classroom.InstructorOptions{Libraries: shipped(), Changed: r.bell.ring}); err != nil {
		t.Fatal(err)
	}
	hub, err := natslink.Open(natslink.Options{Class: id, School: s.config}, r.i)
	if err != nil {
		t.Fatal(err)
	}
	r.i.Attach(hub)
	r.fly(1)
	r.delivered(2)
	whole(t, r.i.Book(), 2, 40)
}

// Without the code nobody comes in; a code of one class is none of another.
func TestTheCodeAtASchool(t *testing.T) {
	s := newSchool(t)
	a, b := s.class(), s.class()
	code := a.i.JoinCode()
	for code.Digits == a.i.JoinCode().Digits {
		b.i.Shut(false) // another code, if it is the same by chance
		code.Digits = b.i.JoinCode().Digits
	}
	st, _ := sit(t, &simulated.Seat{}, a.addr, code, a.bell)
	a.bell.until(t, "it is refused", func() bool { return st.Status().Refused })
	words := a.i.JoinCode()
	words.Words = b.i.JoinCode().Words
	other, _ := sit(t, &simulated.Seat{}, a.addr, words, a.bell)
	a.bell.until(t, "it does not trust another class", func() bool { return other.Status().Notice == classroom.ErrUntrusted.Error() })
}

// A station at a school can use its own subjects only, and one that floods is
// cut off and does not come back, while the class goes on.
func TestAHostileStationAtASchool(t *testing.T) {
	s := newSchool(t)
	r := s.class()
	_, key, _ := strings.Cut(r.addr, "/")
	refused := make(chan error, 16)
	connect := func() (*nats.Conn, error) {
		return nats.Connect("tls://"+s.servers[0].addr, nats.UserInfo(key+"."+intruder, intruderSecret+"."+r.i.JoinCode().Digits), nats.NoReconnect(), nats.Timeout(patience),
			nats.Secure(&tls.Config{InsecureSkipVerify: true}), nats.TLSHandshakeFirst(), nats.CustomInboxPrefix("_INBOX."+intruder),
			nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) { refused <- err }))
	}
	nc, err := connect()
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	for _, subject := range []string{"kickover." + key + ".live.SOMEBODYELSESOMEBODY", "kickover.OTHERS.live." + intruder, "$JS.API.STREAM.DELETE.EVENTS_" + key, "$SYS.REQ.USER.AUTH"} {
		nc.Publish(subject, []byte("{}"))
		nc.Flush()
		if err := <-refused; !errors.Is(err, nats.ErrPermissionViolation) {
			t.Errorf("%s: %v", subject, err)
		}
	}
	for _, subject := range []string{">", "kickover.*.to.*", "_INBOX.>"} {
		if _, err := nc.SubscribeSync(subject); err != nil {
			t.Fatal(err)
		}
		nc.Flush()
		if err := <-refused; !errors.Is(err, nats.ErrPermissionViolation) {
			t.Errorf("%s: %v", subject, err)
		}
	}
	for nc.Publish("kickover."+key+".live."+intruder, []byte(`{"steps":10}`)) == nil {
	}
	row, _ := r.i.Row(intruder)
	r.bell.until(t, "it is cut off", func() bool {
		row, _ = r.i.Row(intruder)
		return row.Trouble != ""
	})
	if !strings.Contains(row.Trouble, "flooded") {
		t.Errorf("it was cut off since it %s", row.Trouble)
	}
	if _, err := connect(); err == nil {
		t.Error("it came back")
	}
	r.goesOn()
}

func TestAWrongSchool(t *testing.T) {
	file := filepath.Join(t.TempDir(), "school.json")
	for text, want := range map[string]string{
		`{}`:                             `"servers" names none`,
		`{"servers":["nats://x:4222"]}`:  "write tls://HOST:PORT",
		`{"servers":["tls://x:1"]}`:      `"issuer_file" is missing`,
		`{"server":["tls://x:1"]}`:       `unknown field "server"`,
		`{"classes":"/a/folder"}`:        `"classes" is no postgres:// address`,
		`{"system_user":"warden"}`:       `belong together`,
		`{"ca":"none.pem"}`:              "cannot be read: open",
		`not JSON`:                       "is no configuration",
		`{"servers":["tls://a:b@x:12"]}`: "write tls://HOST:PORT",
	} {
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := natslink.ReadSchool(file); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}
