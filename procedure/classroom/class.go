package classroom

import (
	"cmp"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"time"

	"kickover/procedure/record"
)

// Class is what a class is for as long as it is kept.
type Class struct {
	ID     string
	Name   string
	Opened time.Time
	Plan   []Situation // what the instructor means to drill, in order

	certificate tls.Certificate
	secret      []byte // of the tokens
}

// classState is what changes while a class goes on, as the book keeps it.
type classState struct {
	Drills []Drill `json:"drills"` // the last one is the present one
	Rev    int     `json:"rev"`
	Host   string  `json:"host,omitempty"` // of the network it was last on, where its stations look for it
	Port   int     `json:"port,omitempty"` // that was chosen for it there; 0 is none
}

// ErrNoClass is a folder without a class in it.
var ErrNoClass = errors.New("there is no class in this folder")

const (
	bookName  = "class.db"
	spoolName = "spool"
)

// NewClass makes a class with its own certificate and keeps it in a folder of
// its own within folder, or, where that is a DSN of PostgreSQL (see [record.IsDSN]), in a
// schema of its own there.
func NewClass(folder, name string, plan []Situation, now time.Time) (*Class, *Book, error) {
	switch {
	case name == "":
		return nil, nil, errors.New("the class has no name yet: type one, as its day and hour")
	case tooLong(nameLimit, name):
		return nil, nil, fmt.Errorf("the class's name is too long: %d letters at most", nameLimit)
	}
	c := &Class{ID: newClassID(), Name: name, Opened: now.UTC().Round(0), Plan: plan, secret: make([]byte, 32)}
	if _, err := rand.Read(c.secret); err != nil {
		return nil, nil, err
	}
	var err error
	if c.certificate, err = newCertificate(now); err != nil {
		return nil, nil, err
	}
	b, err := openBook(folder, c.ID)
	if err != nil {
		return nil, nil, err
	}
	if err := b.putClass(c); err != nil {
		b.Close()
		return nil, nil, err
	}
	return c, b, nil
}

// Reopen takes up a class that was opened before; its stations come back by
// themselves, since its certificate is the same.
func Reopen(folder, id string) (*Class, *Book, error) {
	if there, err := bookExists(folder, id); err != nil || !there {
		return nil, nil, cmp.Or(err, ErrNoClass)
	}
	b, err := openBook(folder, id)
	if err != nil {
		return nil, nil, err
	}
	c, err := b.class()
	if err != nil {
		b.Close()
		return nil, nil, err
	}
	return c, b, nil
}

// Classes lists the classes of a folder, or of a database, the newest first; one
// that cannot be read is left out.
func Classes(folder string) []*Class {
	ids, _ := bookIDs(folder) // a database that cannot be reached has none to reopen either
	var out []*Class
	for _, id := range ids {
		if c, b, err := Reopen(folder, id); err == nil {
			b.Close()
			out = append(out, c)
		}
	}
	slices.SortFunc(out, func(a, b *Class) int { return b.Opened.Compare(a.Opened) })
	return out
}

// openBook opens a class's book, and makes it if it is not there.
func openBook(folder, id string) (*Book, error) {
	if record.IsDSN(folder) {
		return openInPostgres(folder, id)
	}
	return OpenBook(filepath.Join(folder, id, bookName))
}

func bookExists(folder, id string) (bool, error) {
	if record.IsDSN(folder) {
		ids, err := idsInPostgres(folder)
		return slices.Contains(ids, id), err
	}
	if _, err := os.Stat(filepath.Join(folder, id, bookName)); err != nil {
		return false, fmt.Errorf("%w: %w", ErrNoClass, err)
	}
	return true, nil
}

func bookIDs(folder string) (ids []string, err error) {
	if record.IsDSN(folder) {
		return idsInPostgres(folder)
	}
	names, err := filepath.Glob(filepath.Join(folder, "*", bookName))
	for _, n := range names {
		ids = append(ids, filepath.Base(filepath.Dir(n)))
	}
	return ids, err
}

// Certificate is the class's own, the same for as long as it is kept.
func (c *Class) Certificate() tls.Certificate { return c.certificate }

// Fingerprint is what stations pin.
func (c *Class) Fingerprint() Fingerprint { return sha256.Sum256(c.certificate.Certificate[0]) }

// Spool is the folder for the messaging engine's own files.
func Spool(folder, class string) string { return filepath.Join(folder, class, spoolName) }

// newCertificate makes a certificate that says nothing about the machine or the
// school: it is recognised by its fingerprint alone.
func newCertificate(now time.Time) (tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return tls.Certificate{}, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return tls.Certificate{}, err
	}
	template := x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: "Kickover class"}, DNSNames: []string{"class.invalid"},
		// Clocks in a room may be wrong by a day; the pin, not the date, protects.
		NotBefore: now.Add(-48 * time.Hour), NotAfter: now.AddDate(1, 0, 0),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	der, err := x509.CreateCertificate(rand.Reader, &template, &template, key.Public(), key)
	if err != nil {
		return tls.Certificate{}, err
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, nil
}

func (b *Book) putClass(c *Class) error {
	plan, err := json.Marshal(c.Plan)
	if err != nil {
		return err
	}
	key, err := x509.MarshalPKCS8PrivateKey(c.certificate.PrivateKey)
	if err != nil {
		return err
	}
	_, err = b.db.Exec("INSERT INTO class (one, id, name, opened, plan, state, cert, key, secret) VALUES (1, $1, $2, $3, $4, '{}', $5, $6, $7)",
		c.ID, c.Name, c.Opened.UnixNano(), string(plan), c.certificate.Certificate[0], key, c.secret)
	return err
}

func (b *Book) class() (*Class, error) {
	var c Class
	var opened int64
	var plan, cert, key []byte
	err := b.db.QueryRow("SELECT id, name, opened, plan, cert, key, secret FROM class").Scan(&c.ID, &c.Name, &opened, &plan, &cert, &key, &c.secret)
	if err == sql.ErrNoRows {
		return nil, ErrNoClass
	}
	if err != nil {
		return nil, err
	}
	private, err := x509.ParsePKCS8PrivateKey(key)
	if err := errors.Join(err, json.Unmarshal(plan, &c.Plan)); err != nil {
		return nil, fmt.Errorf("the class's file is damaged: %w", err)
	}
	c.Opened = time.Unix(0, opened).UTC()
	c.certificate = tls.Certificate{Certificate: [][]byte{cert}, PrivateKey: private}
	return &c, nil
}

func (b *Book) putPlan(plan []Situation) error {
	text, err := json.Marshal(plan)
	if err != nil {
		return err
	}
	_, err = b.db.Exec("UPDATE class SET plan = $1", string(text))
	return err
}

func (b *Book) state() (classState, error) {
	var text []byte
	var s classState
	if err := b.db.QueryRow("SELECT state FROM class").Scan(&text); err != nil {
		return s, err
	}
	return s, json.Unmarshal(text, &s)
}

func (b *Book) putState(s classState) error {
	text, err := json.Marshal(s)
	if err != nil {
		return err
	}
	_, err = b.db.Exec("UPDATE class SET state = $1", string(text))
	return err
}

// bookedStation is a station as the book keeps it.
type bookedStation struct {
	ID     StationID
	Number int
	Name   string
	Secret []byte
	Cut    string
}

func (b *Book) stations() ([]bookedStation, error) {
	rows, err := b.db.Query("SELECT id, number, name, secret, cut FROM stations ORDER BY number")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []bookedStation
	for rows.Next() {
		var s bookedStation
		if err := rows.Scan(&s.ID, &s.Number, &s.Name, &s.Secret, &s.Cut); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}

func (b *Book) putStation(s bookedStation) error {
	_, err := b.db.Exec(`INSERT INTO stations (id, number, name, secret, cut) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (id) DO UPDATE SET name = excluded.name, cut = excluded.cut`, s.ID, s.Number, s.Name, s.Secret, s.Cut)
	return err
}

func (b *Book) orders() (map[StationID][]Order, error) {
	rows, err := b.db.Query("SELECT station, body FROM orders ORDER BY station, n")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := map[StationID][]Order{}
	for rows.Next() {
		var s StationID
		var body []byte
		var o Order
		if err := rows.Scan(&s, &body); err != nil {
			return nil, err
		}
		if err := json.Unmarshal(body, &o); err != nil {
			return nil, err
		}
		out[s] = append(out[s], o)
	}
	return out, rows.Err()
}

// putOrders keeps the next order of each station.
func (b *Book) putOrders(next map[StationID]numbered) error {
	return b.write(func(tx *sql.Tx) error {
		for s, o := range next {
			if _, err := tx.Exec("INSERT INTO orders (station, n, body) VALUES ($1, $2, $3)", s, o.n, string(encode(o.order))); err != nil {
				return err
			}
		}
		return nil
	})
}

type numbered struct {
	n     int
	order Order
}

// Note writes a line into the class's log: who was cut off and why.
func (b *Book) note(at time.Time, s StationID, what string) error {
	_, err := b.db.Exec("INSERT INTO log (at, station, what) VALUES ($1, $2, $3)", at.UnixNano(), s, what)
	return err
}

// LogLine is a line of the class's log.
type LogLine struct {
	At      time.Time
	Station StationID
	What    string
}

// Log is the class's log, oldest first.
func (b *Book) Log() ([]LogLine, error) {
	rows, err := b.db.Query("SELECT at, station, what FROM log ORDER BY at")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []LogLine
	for rows.Next() {
		var l LogLine
		var at int64
		if err := rows.Scan(&at, &l.Station, &l.What); err != nil {
			return nil, err
		}
		l.At = time.Unix(0, at)
		out = append(out, l)
	}
	return out, rows.Err()
}

// KeepAloud keeps a drill with one machine; again with the same id replaces it.
func (b *Book) KeepAloud(id string, begun time.Time, a *Aloud) error {
	_, err := b.db.Exec(`INSERT INTO aloud (id, aircraft, flow, begun, taps) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (id) DO UPDATE SET taps = excluded.taps`, id, a.flow.Aircraft, a.flow.ID, begun.UnixNano(), string(encode(a.sinceBegun())))
	return err
}
