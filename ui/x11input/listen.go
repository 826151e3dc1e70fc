package x11input

import (
	"errors"
	"fmt"
	"io"
	"time"

	"fyne.io/fyne/v2"
	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"
)

// settle is how long a release waits for the press that would make it a repeat,
// before the server is asked whether the key is up. The server sends both at
// once; the release keeps its own stamp meanwhile.
const settle = 4 * time.Millisecond

// Keyboard is what a Listener tells.
type Keyboard interface {
	// Keys says which keys will be told, before any is, and again with none
	// when no more will be.
	Keys([]fyne.KeyName)
	// Key tells that a key went down or came up, at what now said when it was
	// read. Calls come from one goroutine.
	Key(k fyne.KeyName, down bool, at time.Duration)
}

// Listen begins to hear the keys of a window of the display named by DISPLAY.
// Now is called as each key is read. The func it gives stops it and returns
// when it has.
func Listen(window uint32, now func() time.Duration, to Keyboard) (stop func(), err error) {
	// What the library has to say it says in its errors too.
	xgb.Logger.SetOutput(io.Discard)
	conn, err := xgb.NewConn()
	if err != nil {
		return nil, fmt.Errorf("hearing keys from the X server: %w; the toolkit's keys are used, which are up to 17 ms late", err)
	}
	l := &listener{conn: conn, now: now, to: to}
	if err := l.begin(xproto.Window(window)); err != nil {
		conn.Close()
		return nil, fmt.Errorf("hearing keys of window %#x: %w; the toolkit's keys are used, which are up to 17 ms late", window, err)
	}
	strokes, done := make(chan stroke, 64), make(chan struct{})
	go l.read(strokes)
	go func() {
		defer close(done)
		l.tell(strokes)
		to.Keys(nil)
	}()
	return func() {
		conn.Close()
		<-done
	}, nil
}

// listener belongs to its reading goroutine, but for keys, which the telling
// one reads and which is written before either begins.
type listener struct {
	conn *xgb.Conn
	now  func() time.Duration
	to   Keyboard
	keys [256]fyne.KeyName
}

func (l *listener) begin(w xproto.Window) error {
	if err := l.mapping(); err != nil {
		return err
	}
	// A client's event mask is its own: the toolkit's connection keeps its.
	mask := []uint32{xproto.EventMaskKeyPress | xproto.EventMaskKeyRelease}
	if err := xproto.ChangeWindowAttributesChecked(l.conn, w, xproto.CwEventMask, mask).Check(); err != nil {
		return err
	}
	var told []fyne.KeyName
	for _, k := range l.keys {
		if k != "" {
			told = append(told, k)
		}
	}
	l.to.Keys(told)
	return nil
}

// mapping asks which key has which legend.
func (l *listener) mapping() error {
	s := xproto.Setup(l.conn)
	if s == nil {
		return errors.New("the X server said nothing about itself")
	}
	n := s.MaxKeycode - s.MinKeycode + 1
	m, err := xproto.GetKeyboardMapping(l.conn, s.MinKeycode, byte(n)).Reply()
	if err != nil {
		return fmt.Errorf("asking for the keyboard's layout: %w", err)
	}
	per := int(m.KeysymsPerKeycode)
	for i := range int(n) {
		for _, sym := range m.Keysyms[i*per : (i+1)*per] {
			// The first legend that is one of ours: a key of a layout that is
			// not Latin has its Latin letter in a later group.
			if k, ok := name(uint32(sym)); ok {
				l.keys[int(s.MinKeycode)+i] = k
				break
			}
		}
	}
	return nil
}

// read stamps what comes until the connection is closed.
func (l *listener) read(out chan<- stroke) {
	defer close(out)
	var clock stamps
	for {
		ev, err := l.conn.WaitForEvent()
		at := l.now()
		if ev == nil && err == nil {
			return
		}
		const others = xproto.ModMaskControl | xproto.ModMask1
		switch e := ev.(type) {
		case xproto.KeyPressEvent:
			at = clock.mend(uint32(e.Time), at)
			if e.State&others == 0 {
				out <- stroke{code: byte(e.Detail), down: true, time: uint32(e.Time), at: at}
			}
		case xproto.KeyReleaseEvent:
			out <- stroke{code: byte(e.Detail), time: uint32(e.Time), at: clock.mend(uint32(e.Time), at)}
		}
	}
}

// tell passes strokes on, less repeats.
func (l *listener) tell(in <-chan stroke) {
	var f repeats
	wait := time.NewTimer(time.Hour)
	defer wait.Stop()
	for {
		select {
		case s, ok := <-in:
			if !ok {
				l.pass(f.flush())
				return
			}
			l.pass(f.feed(s))
			if f.waiting != nil {
				wait.Reset(settle)
			}
		case <-wait.C:
			if f.waiting == nil {
				continue
			}
			if l.stillDown(f.waiting.code) {
				// A repeat whose press this process was too busy to read yet.
				wait.Reset(settle)
				continue
			}
			l.pass(f.flush())
		}
	}
}

// stillDown asks the server whether a key is down, whatever was read so far. A
// server that no longer answers holds nothing.
func (l *listener) stillDown(code byte) bool {
	keys, err := xproto.QueryKeymap(l.conn).Reply()
	return err == nil && keys.Keys[code/8]&(1<<(code%8)) != 0
}

func (l *listener) pass(strokes []stroke) {
	for _, s := range strokes {
		if k := l.keys[s.code]; k != "" {
			l.to.Key(k, s.down, s.at)
		}
	}
}
