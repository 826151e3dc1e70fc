package parttest

import (
	"math/rand/v2"
	"net"
	"strconv"
	"sync"
	"testing"
)

var given sync.Map

// FreeAddress is one of loopback that nobody listens at, and that a program which is
// killed can be given again: its port is none of those that the system hands to
// whoever asks for any, which begin at 32768 (net.ipv4.ip_local_port_range in Linux's
// documentation, networking/ip-sysctl), so that nobody has it by chance meanwhile.
func FreeAddress(t testing.TB) string {
	t.Helper()
	for {
		address := net.JoinHostPort("127.0.0.1", strconv.Itoa(20000+rand.IntN(12000)))
		if _, before := given.LoadOrStore(address, true); before {
			continue
		}
		l, err := net.Listen("tcp", address)
		if err != nil {
			continue // somebody listens there
		}
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		return address
	}
}
