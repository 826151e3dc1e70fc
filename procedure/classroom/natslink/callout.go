package natslink

import (
	"strings"

	"github.com/nats-io/jwt/v2"
	"github.com/nats-io/nats.go"

	"kickover/procedure/classroom"
)

// calloutSubject is where a cluster asks who may connect (docs.nats.io, "Auth
// Callout").
const calloutSubject = "$SYS.REQ.USER.AUTH"

// admit answers for stations of this class. About others it says nothing: their
// own class's program does, and where none is open the server lets nobody in.
func (a *atSchool) admit(m *nats.Msg) {
	q, err := jwt.DecodeAuthorizationRequestClaims(string(m.Data))
	if err != nil {
		return
	}
	o := q.ConnectOptions
	class, station, _ := strings.Cut(o.Username, ".")
	if class != a.class {
		return
	}
	answer := jwt.NewAuthorizationResponseClaims(q.UserNkey)
	answer.Audience = q.Server.ID
	answer.Jwt, err = a.user(q, classroom.StationID(station))
	if err != nil {
		answer.Error = err.Error()
	}
	if token, err := answer.Encode(a.issuer); err == nil {
		_ = m.Respond([]byte(token)) // the station tries again when it does not come
	}
}

// user decides on a station and writes down what it may do.
func (a *atSchool) user(q *jwt.AuthorizationRequestClaims, s classroom.StationID) (string, error) {
	o := q.ConnectOptions
	if q.TLS == nil || len(o.Username) > 100 || len(o.Password) > 200 {
		return "", classroom.ErrRefused
	}
	secret, code := split(o.Password)
	if err := a.host.Admit(classroom.Caller{Station: s, Secret: secret, Code: code, Address: q.ClientInformation.Host}); err != nil {
		return "", classroom.ErrRefused // why is no business of who may be guessing
	}
	u := jwt.NewUserClaims(q.UserNkey)
	u.Name, u.Audience = o.Username, a.o.School.Account
	may := permissions(a.class, s)
	u.Pub.Allow.Add(may.Publish.Allow...)
	u.Sub.Allow.Add(may.Subscribe.Allow...)
	u.Limits.Subs, u.Limits.Payload = maxSubs, maxPayload
	token, err := u.Encode(a.issuer)
	if err == nil {
		a.census.admitted(s, connection{q.Server.ID, q.ClientInformation.ID})
	}
	return token, err
}
