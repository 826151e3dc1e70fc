package main

import (
	"log/slog"
	"time"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	screens "kickover/ui/classroom"
)

// announcedRoom is a class's network that tells others of itself while it is open.
type announcedRoom struct {
	classroom.Room
	hush func()
}

// announceRoom lets students find a class on their network. Where that cannot be,
// they type the address as always.
func announceRoom(r classroom.Room, c classroom.Class) classroom.Room {
	addresses := r.Addresses()
	if len(addresses) == 0 {
		return r
	}
	hush, err := natslink.Announce(c.ID, c.Name, addresses[0])
	if err != nil {
		slog.Info("class not announced", "class", c.ID, "err", err)
		return r
	}
	return announcedRoom{r, hush}
}

// Close implements classroom.Room.
func (r announcedRoom) Close() error {
	r.hush()
	return r.Room.Close()
}

// lookWait is how long classes on the network are listened for.
const lookWait = 2 * time.Second

// nearbyClasses are those that were heard of.
func nearbyClasses() []screens.Nearby {
	var out []screens.Nearby
	for _, c := range natslink.Look(lookWait) {
		out = append(out, screens.Nearby{Name: c.Name, Address: c.Address})
	}
	return out
}
