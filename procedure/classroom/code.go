package classroom

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
	"math/big"
	"net"
	"strings"

	"github.com/tyler-smith/go-bip39/wordlists"
	"golang.org/x/crypto/argon2"
)

// JoinCode is what the projector shows beside the address, and what a student
// types: six digits that let a station in for a while, and three check words
// that tell the instructor's machine from any other that answers.
type JoinCode struct {
	Digits string
	Words  [3]string
}

// ErrJoinCode is a join code that cannot be one, whatever class it is for.
var ErrJoinCode = errors.New("this is not a join code: type the six digits and the three words as the projector shows them")

func (c JoinCode) String() string {
	return c.Digits[:3] + " " + c.Digits[3:] + " " + strings.Join(c.Words[:], " ")
}

// ParseJoinCode reads a join code as a person types it: in any case, with
// spaces, hyphens or commas, of each word at least its first four letters, which
// no two words of the list share, and with a letter where a digit looks like one.
func ParseJoinCode(text string) (JoinCode, error) {
	if len(text) > 200 {
		return JoinCode{}, ErrJoinCode
	}
	var c JoinCode
	words := 0
	for _, f := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return strings.ContainsRune(" \t\n\r-.,", r)
	}) {
		digits := asDigits(f)
		switch {
		case allDigits(digits) && (digits == f || !isCheckWord(f)):
			c.Digits += digits
		case words < len(c.Words):
			w, ok := checkWord(f)
			if !ok {
				return JoinCode{}, fmt.Errorf("%q is none of the check words: look at the projector again", f)
			}
			c.Words[words] = w
			words++
		default:
			return JoinCode{}, ErrJoinCode
		}
	}
	if words != len(c.Words) || len(c.Digits) != 6 {
		return JoinCode{}, ErrJoinCode
	}
	return c, nil
}

// lookalikes are what is read, from the back of a room, for a digit. A code has
// digits and words of small letters only, so that a letter among digits is a digit.
var lookalikes = strings.NewReplacer("o", "0", "i", "1", "l", "1", "|", "1", "!", "1")

func asDigits(f string) string { return lookalikes.Replace(f) }

func allDigits(f string) bool { return strings.Trim(f, "0123456789") == "" }

// isCheckWord tells a word of such letters alone, as "oil" is one.
func isCheckWord(f string) bool {
	_, ok := checkWord(f)
	return ok
}

// ReadAddress reads a class's address as a person types it: in one that is digits
// and dots, a letter is the digit that it looks like.
func ReadAddress(text string) string {
	text = strings.TrimSpace(text)
	folded := asDigits(strings.ToLower(text))
	host, _, _ := strings.Cut(folded, ":")
	if strings.Trim(folded, "0123456789.:") == "" && net.ParseIP(host) != nil {
		return folded
	}
	return text
}

// newClassID draws a class's id. At a school its first six letters are typed, so it
// has none that could be taken for a digit, and no digit that could be for one.
func newClassID() string {
	const length = 12
	id := ""
	for len(id) < length {
		id += strings.Map(func(r rune) rune {
			if strings.ContainsRune("ILO", r) {
				return -1
			}
			return r
		}, rand.Text()) // of A to Z and 2 to 7
	}
	return id[:length]
}

// checkWord finds the word that a person began.
func checkWord(begun string) (string, bool) {
	for _, w := range wordlists.English {
		if w == begun || len(begun) >= 4 && strings.HasPrefix(w, begun) {
			return w, true
		}
	}
	return "", false
}

// Fingerprint is the SHA-256 of a certificate as it goes over the wire.
type Fingerprint [sha256.Size]byte

// CheckWords are the words for a certificate. Three words are 33 bits, which a
// fast hash would let an attacker match in seconds by trying certificates; so
// each try is made to cost memory and time (Argon2id, RFC 9106, 64 MiB): on one
// core about a tenth of a second, and years for 33 bits, for a certificate that
// lives as long as a class.
func CheckWords(f Fingerprint) [3]string {
	sum := argon2.IDKey(f[:], []byte("kickover check words 1"), 2, 64*1024, 2, 8)
	n := new(big.Int).SetBytes(sum)
	var words [3]string
	base, r := big.NewInt(int64(len(wordlists.English))), new(big.Int)
	for i := range words {
		n.DivMod(n, base, r)
		words[i] = wordlists.English[r.Int64()]
	}
	return words
}

// newDigits draws six digits.
func newDigits() string {
	n, err := rand.Int(rand.Reader, big.NewInt(1_000_000))
	if err != nil { // crypto/rand does not fail on the platforms that Go supports
		panic(err)
	}
	return fmt.Sprintf("%06d", n)
}

// sameSecret compares without telling by its time where the two differ.
func sameSecret(a, b string) bool {
	x, y := sha256.Sum256([]byte(a)), sha256.Sum256([]byte(b))
	return subtle.ConstantTimeCompare(x[:], y[:]) == 1
}
