package classroom

import (
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Identity is a station's part in one class, kept on its own machine so that a
// program that is started again takes its old place without a code.
type Identity struct {
	Station     StationID `json:"station"`
	Secret      string    `json:"secret"`
	Words       [3]string `json:"words"`
	Fingerprint string    `json:"fingerprint,omitempty"` // of the class's certificate, hex, once it was seen
	Address     string    `json:"address"`
	Class       string    `json:"class,omitempty"`
	Name        string    `json:"name,omitempty"`
	Joined      time.Time `json:"joined"`

	dir string
}

const (
	identityName = "station.json"
	runsName     = "runs"
)

// IdentityFor gives this machine's identity in the class with these check words,
// and makes one if it was never there. Each class has a folder of its own.
func IdentityFor(folder string, code JoinCode, address, name string, now time.Time) (Identity, error) {
	dir := filepath.Join(folder, strings.Join(code.Words[:], "-"))
	id, err := readIdentity(dir)
	switch {
	case err == nil:
	case errors.Is(err, fs.ErrNotExist):
		id = Identity{Station: StationID(rand.Text()), Secret: rand.Text() + rand.Text(), Words: code.Words, Joined: now.UTC(), dir: dir}
	default:
		return Identity{}, fmt.Errorf("what this machine knows of the class cannot be read: %w; move the folder %s away and join again", err, dir)
	}
	id.Address = address
	if name != "" {
		id.Name = name
	}
	return id, id.save()
}

// Identities are the classes that this machine was in, the latest first.
func Identities(folder string) []Identity {
	names, _ := filepath.Glob(filepath.Join(folder, "*", identityName)) // the pattern is ours
	var out []Identity
	for _, n := range names {
		if id, err := readIdentity(filepath.Dir(n)); err == nil {
			out = append(out, id)
		}
	}
	slices.SortFunc(out, func(a, b Identity) int { return b.Joined.Compare(a.Joined) })
	return out
}

// Pinned is the fingerprint of the class's certificate, false before it was
// ever seen.
func (id Identity) Pinned() (f Fingerprint, ok bool) {
	b, err := hex.DecodeString(id.Fingerprint)
	if err != nil || len(b) != len(f) {
		return f, false
	}
	copy(f[:], b)
	return f, true
}

// Trust reports whether a certificate is the class's: by the pin, or the first
// time by the check words.
func (id Identity) Trust(f Fingerprint) bool {
	if pinned, ok := id.Pinned(); ok {
		return pinned == f
	}
	return CheckWords(f) == id.Words
}

// pin notes the certificate that was trusted.
func (id *Identity) pin(f Fingerprint, class string) error {
	text := hex.EncodeToString(f[:])
	if id.Fingerprint == text && id.Class == class {
		return nil
	}
	id.Fingerprint, id.Class = text, class
	return id.save()
}

func readIdentity(dir string) (Identity, error) {
	text, err := os.ReadFile(filepath.Join(dir, identityName))
	if err != nil {
		return Identity{}, err
	}
	id := Identity{dir: dir}
	if err := json.Unmarshal(text, &id); err != nil {
		return Identity{}, err
	}
	if !plainID(string(id.Station)) || id.Secret == "" {
		return Identity{}, errMalformed
	}
	return id, nil
}

func (id Identity) save() error {
	if err := os.MkdirAll(id.dir, 0o700); err != nil {
		return fmt.Errorf("the class's folder cannot be made: %w", err)
	}
	return writeFile(filepath.Join(id.dir, identityName), encode(id))
}
