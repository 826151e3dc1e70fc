package natslink

import (
	"cmp"
	"fmt"
	"io"
	"log"
	"net"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"github.com/hashicorp/mdns"
)

// Classes can be found on the network they are on, so that nobody has to type an
// address: multicast DNS and DNS-SD (RFC 6762, RFC 6763). It is a convenience:
// many networks do not carry it, and an address that is typed always works.
// Anybody can announce anything, so what is found is as good as what is typed:
// the join code's check words tell whether it is the class.

const (
	nearbyService = "_kickover-class._tcp"
	nearbyName    = "class=" // of the text record that has the class's name, as in a URL
	nearbyAtMost  = 64
	nearbyLetters = 60
)

// Nearby is a class that announces itself.
type Nearby struct {
	Name    string
	Address string // to be typed
}

// Announce tells the chosen network of a class until stop is called. address is
// what [classroom.Room] gave; id the class's.
func Announce(id, name, address string) (stop func(), err error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, fmt.Errorf("a class at a school is not announced: its address is typed (%w)", err)
	}
	number, err := strconv.Atoi(port)
	if err != nil {
		return nil, fmt.Errorf("a class at a school is not announced: its address is typed (%w)", err)
	}
	on, err := interfaceOf(host)
	if err != nil {
		return nil, err
	}
	zone, err := mdns.NewMDNSService(id, nearbyService, "", strings.ToLower(id)+".local.", number, []net.IP{net.ParseIP(host)}, []string{nearbyName + url.QueryEscape(name)})
	if err != nil {
		return nil, fmt.Errorf("the class cannot be announced: %w; students type its address", err)
	}
	server, err := mdns.NewServer(&mdns.Config{Zone: zone, Iface: on, Logger: log.New(io.Discard, "", 0)})
	if err != nil {
		return nil, fmt.Errorf("the class cannot be announced: %w; students type its address", err)
	}
	return sync.OnceFunc(func() { _ = server.Shutdown() }), nil
}

func interfaceOf(host string) (*net.Interface, error) {
	all, err := net.Interfaces()
	if err != nil {
		return nil, err
	}
	for k := range all {
		addresses, err := all[k].Addrs()
		if err != nil {
			continue
		}
		for _, a := range addresses {
			if n, ok := a.(*net.IPNet); ok && n.IP.Equal(net.ParseIP(host)) {
				return &all[k], nil
			}
		}
	}
	return nil, fmt.Errorf("this machine has no network with the address %s any more", host)
}

// Look listens for so long on the networks of this machine, and gives the
// classes that it heard of, by name. None is no error: the address is typed then.
func Look(wait time.Duration) []Nearby {
	networks, err := Interfaces()
	if err != nil {
		return nil
	}
	var mu sync.Mutex
	found := map[Nearby]bool{}
	var asking sync.WaitGroup
	for _, n := range networks {
		asking.Go(func() {
			for _, c := range lookOn(n, wait) {
				mu.Lock()
				found[c] = true
				mu.Unlock()
			}
		})
	}
	asking.Wait()
	var out []Nearby
	for c := range found {
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b Nearby) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.Address, b.Address)) })
	return out
}

func lookOn(n Interface, wait time.Duration) (out []Nearby) {
	on, err := net.InterfaceByName(n.Name)
	if err != nil {
		return nil
	}
	entries := make(chan *mdns.ServiceEntry, nearbyAtMost)
	q := mdns.DefaultParams(nearbyService)
	q.Entries, q.Timeout, q.Interface, q.DisableIPv6, q.Logger = entries, wait, on, true, log.New(io.Discard, "", 0)
	if mdns.Query(q) != nil {
		return nil // this network does not carry it
	}
	close(entries)
	for e := range entries {
		if c, ok := nearby(e); ok {
			out = append(out, c)
		}
	}
	return out
}

// nearby reads what somebody announced.
func nearby(e *mdns.ServiceEntry) (Nearby, bool) {
	if !strings.Contains(e.Name, nearbyService) || e.AddrV4 == nil || e.Port <= 0 || e.Port > 65535 {
		return Nearby{}, false
	}
	for _, text := range e.InfoFields {
		escaped, ok := strings.CutPrefix(text, nearbyName)
		name, err := url.QueryUnescape(escaped)
		if ok && err == nil && name != "" && len(name) <= nearbyLetters && utf8.ValidString(name) && !strings.ContainsFunc(name, func(r rune) bool { return r < ' ' }) {
			return Nearby{name, net.JoinHostPort(e.AddrV4.String(), strconv.Itoa(e.Port))}, true
		}
	}
	return Nearby{}, false
}
