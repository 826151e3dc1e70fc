package settings

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure/settings"
	"kickover/ui/control"
)

// storePatience is how long a store is waited for, unless called off before.
const storePatience = 20 * time.Second

func (s *Screen) runs() section {
	sec := section{title: "RUNS"}
	moving := ""
	if d := s.o.Settings.Data; d != "" && s.o.Settings.Moved != "" {
		moving = " They move to " + d + " when the program starts next."
	}
	folder := control.NewEntry("another folder, in full")
	sec.lines = append(sec.lines, line{"Kept in", s.field(folder, "Move", func(*control.Button) { s.moveTo(folder.Text) }), "Now " + s.o.Folder + "." + moving})
	if s.o.CheckStore != nil {
		dsn := control.NewEntry("postgres://…")
		dsn.SetText(s.o.Settings.Store)
		sec.lines = append(sec.lines, line{"School's store", s.field(dsn, "Check and use", func(b *control.Button) { s.useStore(dsn.Text, b) }),
			"Empty keeps runs in the folder above. A change is used when the program starts next."})
	}
	sec.lines = append(sec.lines, line{"This page", control.NewButton(s.o.Theme, "Where it is kept", "", control.Plain, func() {
		s.Say("Settings are kept in " + s.o.File + ". It can be read, and changed while the window is closed.")
	}), ""})
	return sec
}

// field is a line to write in with a button that takes what was written.
func (s *Screen) field(e *control.Entry, text string, do func(*control.Button)) fyne.CanvasObject {
	var b *control.Button
	b = control.NewButton(s.o.Theme, text, "", control.Plain, func() { do(b) })
	e.OnSubmitted = func(string) { do(b) }
	return control.Placed(fyne.NewSize(280, 44), func(size fyne.Size) {
		w := b.MinSize().Width
		control.Put(e, 0, 0, size.Width-w-8, 44)
		control.Put(b, size.Width-w, 0, w, 44)
	}, e, b)
}

// moveTo has the runs brought to another folder at the next start: while the
// program runs they are being written.
func (s *Screen) moveTo(folder string) {
	if folder = strings.TrimSpace(folder); folder == "" {
		s.Say("Write the folder out in full, and press Move.")
		return
	}
	if s.o.CheckFolder != nil {
		whole, err := s.o.CheckFolder(folder)
		if err != nil {
			s.Say(fmt.Sprintf("Nothing was moved: %v.", err))
			return
		}
		folder = whole
	}
	s.change(func(c *settings.Settings) {
		c.Moved, c.Data = s.o.Folder, folder
	})
	s.Say("Runs move to " + folder + " when the program starts next. Until then they are kept where they are; the old ones are left there too.")
}

// useStore asks a school's store before it is relied upon.
func (s *Screen) useStore(dsn string, b *control.Button) {
	dsn = strings.TrimSpace(dsn)
	if s.cancel != nil {
		s.cancel()
		return
	}
	if dsn == "" {
		s.change(func(c *settings.Settings) { c.Store = "" })
		s.Say("Runs are kept in the folder above from the next start on.")
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), storePatience)
	s.cancel = cancel
	b.SetText("Cancel")
	s.Say("Asking the school's store…")
	go func() {
		err := s.o.CheckStore(ctx, dsn)
		s.o.Do(func() {
			cancel()
			s.cancel = nil
			b.SetText("Check and use")
			switch {
			case errors.Is(err, context.Canceled):
				s.Say("Called off; the store is as it was.")
			case err != nil:
				s.Say(fmt.Sprintf("The store was not changed: %v. Runs are kept as before. Look at the address, the name and the password.", err))
			default:
				s.change(func(c *settings.Settings) { c.Store = dsn })
				s.Say("It answers. Runs are kept there from the next start on.")
			}
		})
	}()
}
