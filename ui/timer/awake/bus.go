//go:build !windows && !darwin

package awake

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/godbus/dbus/v5"
)

func system() inhibitor { return &bus{dial: dialSession} }

// dialSession reaches the session's bus, and starts none where there is none.
func dialSession(o ...dbus.ConnOption) (*dbus.Conn, error) {
	conn, err := dbus.SessionBusPrivateNoAutoStartup(o...)
	if err != nil {
		return nil, err
	}
	if err := errors.Join(conn.Auth(nil), conn.Hello()); err != nil {
		conn.Close()
		return nil, err
	}
	return conn, nil
}

// bus asks over the session bus. Each hold has its own connection: its end is
// the end of the request, whatever else goes wrong.
type bus struct {
	dial func(...dbus.ConnOption) (*dbus.Conn, error)
	conn *dbus.Conn
	undo func(context.Context) error
}

// patience is how long a desktop may take to answer.
const patience = 3 * time.Second

func (b *bus) hold(app, reason string) error {
	conn, err := b.dial()
	if err != nil {
		return fmt.Errorf("no session bus: %w", err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	b.undo, err = screenSaver(ctx, conn, app, reason)
	if err != nil {
		var other error
		if b.undo, other = portal(ctx, conn, reason); other != nil {
			conn.Close()
			return fmt.Errorf("this desktop cannot be asked: %w", errors.Join(err, other))
		}
	}
	b.conn = conn
	return nil
}

func (b *bus) release() error {
	if b.conn == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	err := b.undo(ctx)
	closed := b.conn.Close()
	b.conn = nil
	if closed == nil {
		return nil // the request went with the connection, said or not
	}
	return errors.Join(err, closed)
}

// screenSaver asks the screen saver, and gives how to take it back.
func screenSaver(ctx context.Context, conn *dbus.Conn, app, reason string) (func(context.Context) error, error) {
	const name = "org.freedesktop.ScreenSaver"
	saver := conn.Object(name, "/org/freedesktop/ScreenSaver")
	var cookie uint32
	if err := saver.CallWithContext(ctx, name+".Inhibit", 0, app, reason).Store(&cookie); err != nil {
		return nil, err
	}
	return func(ctx context.Context) error {
		return saver.CallWithContext(ctx, name+".UnInhibit", 0, cookie).Err
	}, nil
}

// idle is the portal's flag for "the session is not idle".
const idle uint32 = 8

// portal asks the desktop portal, and gives how to take it back.
func portal(ctx context.Context, conn *dbus.Conn, reason string) (func(context.Context) error, error) {
	const name = "org.freedesktop.portal.Desktop"
	var request dbus.ObjectPath
	options := map[string]dbus.Variant{"reason": dbus.MakeVariant(reason)}
	err := conn.Object(name, "/org/freedesktop/portal/desktop").
		CallWithContext(ctx, "org.freedesktop.portal.Inhibit.Inhibit", 0, "", idle, options).Store(&request)
	if err != nil {
		return nil, err
	}
	return func(ctx context.Context) error {
		return conn.Object(name, request).CallWithContext(ctx, "org.freedesktop.portal.Request.Close", 0).Err
	}, nil
}
