package natslink

import (
	"net"
	"slices"
)

// Interface is a network of this machine that a class can be on.
type Interface struct {
	Name string
	Host string // its address
}

// Interfaces lists the networks that are up, by their IPv4 addresses, which can
// be typed from a projector; this machine alone comes last.
func Interfaces() ([]Interface, error) {
	all, err := net.Interfaces()
	if err != nil {
		return nil, err
	}
	var out []Interface
	for _, i := range all {
		addresses, err := i.Addrs()
		if err != nil || i.Flags&net.FlagUp == 0 {
			continue
		}
		for _, a := range addresses {
			if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && !n.IP.IsLinkLocalUnicast() {
				out = append(out, Interface{i.Name, n.IP.String()})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Interface) int {
		la, lb := net.ParseIP(a.Host).IsLoopback(), net.ParseIP(b.Host).IsLoopback()
		switch {
		case la == lb:
			return 0
		case la:
			return 1
		}
		return -1
	})
	return out, nil
}
