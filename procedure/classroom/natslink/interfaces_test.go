package natslink

import (
	"strings"
	"testing"
)

// The network that a class is on can go while it is open, and is missed then; one
// that this machine has, loopback, and a name, which cannot be compared, are not.
func TestANetworkThatIsGone(t *testing.T) {
	h := &served{o: Options{Host: "192.0.2.77"}} // RFC 5737: no machine has it
	if text := h.networkTrouble(); !strings.Contains(text, "network at 192.0.2.77 is gone") {
		t.Errorf("it says %q", text)
	}
	if text := h.networkTrouble(); len(text) > 160 {
		t.Errorf("it says %d letters, and the board has one line", len(text))
	}
	all, err := Interfaces()
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range append(all, Interface{Host: "127.0.0.1"}, Interface{Host: "laptop"}) {
		h.o.Host = n.Host
		if text := h.networkTrouble(); text != "" {
			t.Errorf("at %s it says %q", n.Host, text)
		}
	}
}
