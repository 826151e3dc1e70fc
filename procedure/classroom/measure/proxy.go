package main

import (
	"net"
	"sync"
)

// proxy stands between stations and the class. Dead, it swallows everything
// and answers nothing, as a switch does that lost its power.
type proxy struct {
	net.Listener
	to string

	mu    sync.Mutex // guards what follows
	conns []net.Conn
	dead  bool
}

func newProxy(to string) (*proxy, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	n := &proxy{Listener: l, to: to}
	go n.serve()
	return n, nil
}

func (n *proxy) serve() {
	for {
		down, err := n.Accept()
		if err != nil {
			return
		}
		if n.note(down) {
			continue // it hears nothing until the network is back
		}
		up, err := net.Dial("tcp", n.to)
		if err != nil {
			down.Close()
			continue
		}
		n.note(up)
		go n.carry(up, down)
		go n.carry(down, up)
	}
}

func (n *proxy) note(c net.Conn) (dead bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.conns = append(n.conns, c)
	return n.dead
}

func (n *proxy) carry(to, from net.Conn) {
	defer to.Close()
	defer from.Close()
	buffer := make([]byte, 32<<10)
	for {
		k, err := from.Read(buffer)
		if err != nil {
			return
		}
		n.mu.Lock()
		dead := n.dead
		n.mu.Unlock()
		if dead {
			continue // swallowed
		}
		if _, err := to.Write(buffer[:k]); err != nil {
			return
		}
	}
}

// die cuts the network, and mend mends it; connections of before do not come back.
func (n *proxy) die() error {
	n.mu.Lock()
	n.dead = true
	n.mu.Unlock()
	return nil
}

func (n *proxy) mend() error {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.dead = false
	for _, c := range n.conns {
		c.Close()
	}
	n.conns = nil
	return nil
}
