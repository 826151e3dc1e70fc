package ledgerfile

import (
	"strings"
	"testing"
	"time"
)

func TestEntryRoundTrip(t *testing.T) {
	wall := time.Date(2026, 10, 25, 0, 59, 59, 123456789, time.FixedZone("summer", 7200))
	for _, e := range []entry{
		{kind: engaged, at: Moment{Boot: "b", Since: 12*time.Hour + 7, Wall: wall}},
		{kind: released, at: Moment{Boot: "b", Since: -3*sec - 1, Wall: wall, Hardware: wall.Truncate(sec)}, until: 45 * sec},
		{kind: mark, at: Moment{Wall: wall}},
	} {
		got, ok := parse(strings.TrimSuffix(e.line(), "\n"))
		if !ok || got.kind != e.kind || got.until != e.until || got.at.Since != e.at.Since || got.at.Boot != e.at.Boot ||
			!got.at.Wall.Equal(e.at.Wall) || !got.at.Hardware.Equal(e.at.Hardware) {
			t.Errorf("%q comes back as %+v", e.line(), got)
		}
	}
}

// RFC 3720, appendix B.4: CRC-32C of 32 bytes of zeros is aa 36 91 8a, least
// significant byte first; from memory.
func TestChecksumIsCastagnoli(t *testing.T) {
	body := strings.Repeat("\x00", 32)
	if _, ok := parse(body + " crc=8a9136aa"); ok {
		t.Error("a line without fields is read") // the sum is right, the content is not
	}
	if got := sum(body); got != 0x8a9136aa {
		t.Errorf("checksum %08x, want 8a9136aa", got)
	}
}

// No bytes make reading fail, and what was read whole can be written again.
func FuzzRead(f *testing.F) {
	e := entry{kind: released, at: Moment{Boot: "b", Since: time.Hour, Wall: time.Unix(1e9, 0)}, until: 45 * sec}
	f.Add([]byte(header + "\n" + e.line()))
	f.Add([]byte(header + "\n" + e.line() + e.line()[:20]))
	f.Add([]byte("mark \n\x00"))
	now := Moment{Boot: "b", Since: 2 * time.Hour, Wall: time.Unix(2e9, 0)}
	f.Fuzz(func(t *testing.T, data []byte) {
		c := read(data)
		a := replay(c, now, limits, gap)
		if len(c.damaged) > 0 && c.damaged[len(c.damaged)-1] == len(c.entries) && a.ledger.Owed(0) == 0 {
			t.Error("damage at the end owes no rest")
		}
		if _, engaged := a.ledger.Engaged(); engaged {
			t.Error("the starter is left engaged")
		}
		var again strings.Builder
		for _, e := range c.entries {
			again.WriteString(e.line())
		}
		if d := read([]byte(again.String())); len(d.entries) != len(c.entries) || d.torn {
			t.Errorf("%d entries, written again %d", len(c.entries), len(d.entries))
		}
	})
}
