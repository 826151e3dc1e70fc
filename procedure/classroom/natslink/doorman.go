package natslink

import (
	"crypto/subtle"
	"errors"
	"net"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"kickover/procedure/classroom"
)

// ownUser is the program's own connection to its server.
const ownUser = "instructor"

// doorman decides who may connect, and what they may do.
type doorman served

// Check implements server.Authentication.
func (d *doorman) Check(c server.ClientAuthentication) bool {
	o := c.GetOpts()
	if o.Username == ownUser {
		if subtle.ConstantTimeCompare([]byte(o.Password), []byte(d.secret)) != 1 {
			return false
		}
		c.RegisterUser(&server.User{Username: ownUser})
		return true
	}
	if c.Kind() != server.CLIENT || c.GetTLSConnectionState() == nil || len(o.Username) > 100 || len(o.Password) > 200 || len(o.Token) > 100 {
		return false
	}
	address := ""
	if a := c.RemoteAddress(); a != nil {
		address, _, _ = net.SplitHostPort(a.String())
	}
	secret, code := split(o.Password)
	s := classroom.StationID(o.Username)
	switch err := d.host.Admit(classroom.Caller{Station: s, Secret: secret, Code: code, Address: address}); {
	case errors.Is(err, classroom.ErrOldCode):
		c.RegisterUser(expired())
		return true
	case err != nil:
		return false
	}
	c.RegisterUser(&server.User{Username: o.Username, Permissions: permissions(d.o.Class, s)})
	d.mu.Lock()
	d.callers[c.GetID()] = s
	d.mu.Unlock()
	return true
}

// expired is who came with a code that is no longer valid. The engine has one
// sentence for all whom it does not let in; that a code is too old it says only to
// who is in already. So he comes in, may do nothing, and is put out again at once.
func expired() *server.User {
	nothing := &server.SubjectPermission{Deny: []string{">"}}
	return &server.User{Permissions: &server.Permissions{Publish: nothing, Subscribe: nothing}, ConnectionDeadline: time.Now()}
}

// permissions are what a station may do. There is no deny list: what is not
// allowed is not.
func permissions(class string, s classroom.StationID) *server.Permissions {
	return &server.Permissions{
		Publish:   &server.SubjectPermission{Allow: []string{liveOf(class, s), eventsOf(class, s), askOf(class, s)}},
		Subscribe: &server.SubjectPermission{Allow: []string{allOf(class), toOf(class, s), inboxOf(s) + ".>"}},
	}
}

// A password is the station's own secret, and the digits of the join code for
// one that is new.
func join(secret, code string) string { return secret + "." + code }

func split(password string) (secret, code string) {
	for i := range len(password) {
		if password[i] == '.' {
			return password[:i], password[i+1:]
		}
	}
	return password, ""
}
