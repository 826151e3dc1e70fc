package classroom

import (
	"crypto/ecdh"
	"crypto/hmac"
	"crypto/hpke"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"errors"
	"fmt"
)

// What a student must not read goes to a station sealed to a key that only the
// running program holds (HPKE, RFC 9180: X25519, HKDF-SHA256, ChaCha20-Poly1305),
// and always in an envelope of one size, so that neither its length nor its
// presence tells anything.

// sealedRoom is how much an envelope holds.
const sealedRoom = 1024

var (
	sealKEM  = hpke.DHKEM(ecdh.X25519())
	sealKDF  = hpke.HKDFSHA256()
	sealAEAD = hpke.ChaCha20Poly1305()

	errSealed = errors.New("a sealed message could not be opened: it is for another station or another drill")
)

// sealKey is a station's key. It is made when the program starts and is kept in
// memory only.
type sealKey struct{ private hpke.PrivateKey }

func newSealKey() (sealKey, error) {
	k, err := sealKEM.GenerateKey()
	return sealKey{k}, err
}

func (k sealKey) public() []byte { return k.private.PublicKey().Bytes() }

// open opens what was sealed for this key and for this use.
func (k sealKey) open(use string, sealed []byte) ([]byte, error) {
	padded, err := hpke.Open(k.private, sealKDF, sealAEAD, []byte(use), sealed)
	if err != nil || len(padded) != sealedRoom {
		return nil, errSealed
	}
	n := int(binary.BigEndian.Uint16(padded))
	if n > sealedRoom-2 {
		return nil, errSealed
	}
	return padded[2 : 2+n], nil
}

// seal seals a message to a station's public key for one use, which names the
// station and what the message is part of: it cannot be opened as another.
func seal(public []byte, use string, message []byte) ([]byte, error) {
	if len(message) > sealedRoom-2 {
		return nil, fmt.Errorf("%d bytes are too many for a sealed message, %d fit: shorten the line or choose fewer faults", len(message), sealedRoom-2)
	}
	k, err := sealKEM.NewPublicKey(public)
	if err != nil {
		return nil, fmt.Errorf("the station's key is not one: %w", err)
	}
	padded := make([]byte, sealedRoom)
	binary.BigEndian.PutUint16(padded, uint16(len(message)))
	copy(padded[2:], message)
	return hpke.Seal(k, sealKDF, sealAEAD, []byte(use), padded)
}

// token stands for a fault in what a station writes down and sends: a name that
// means something to the instructor's program only, and something else in every
// drill and at every station.
func token(secret []byte, drill DrillID, station StationID, fault string) string {
	m := hmac.New(sha256.New, secret)
	fmt.Fprintf(m, "%s|%s|%s", drill, station, fault)
	return "t" + base32.StdEncoding.EncodeToString(m.Sum(nil)[:10])
}
