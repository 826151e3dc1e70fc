package ui

import (
	"time"

	"fyne.io/fyne/v2"

	"kickover/assets/fonts"
	"kickover/ui/control"
)

// patience is how long the window may stand still before it says why.
const patience = 100 * time.Millisecond

// while does something that may wait for a disk or a network beside the window's
// goroutine, and then shows what came of it. What takes longer than a moment has a
// page that says what is waited for, with a way on: the work itself goes on, since
// it keeps what was done.
func (s *shell) while(what string, do func() (show func())) {
	done := make(chan func(), 1)
	s.working.Add(1)
	go func() {
		defer s.working.Done()
		done <- do()
	}()
	select {
	case show := <-done:
		show()
		return
	case <-time.After(patience):
	}
	waiting := true
	t := s.o.Dress
	title := control.Text(what, control.Title, fonts.WeightBold, t.Ink)
	rest := control.Text("It goes on by itself if you do not wait for it.", control.Body, fonts.WeightRegular, t.Ink2)
	on := control.NewButton(t, "Do not wait", "Esc", control.Primary, s.showHome)
	content := control.Placed(fyne.NewSize(500, 240), func(fyne.Size) {
		const edge = 48
		control.PutText(title, edge, 24)
		control.PutText(rest, edge, 76)
		control.Put(on, edge, 124, on.MinSize().Width, 50)
	}, title, rest, on)
	s.page(waitingScreen, content, func(w fyne.Window) { w.Canvas().Focus(on) })
	s.leave = func() { waiting = false }
	go func() {
		show := <-done
		fyne.Do(func() {
			if waiting {
				show()
			}
		})
	}()
}
