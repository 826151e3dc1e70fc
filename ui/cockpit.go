package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/driver/desktop"

	"kickover/ui/panel"
	"kickover/ui/theme"
	"kickover/ui/timer"
)

// TimerOptions are what the window of the cockpit timer works with.
type TimerOptions struct {
	Timer   timer.Options
	Icon    []byte // a PNG
	Painted func() // called once, when the first frame has been shown
	// Windowed opens a window and not the whole display, on which the figures are
	// as large as they can be.
	Windowed bool
}

// RunTimer opens a window with nothing in it but the cockpit timer, and returns
// when it is closed.
func RunTimer(o TimerOptions) error {
	panel.OneRasterThread()
	a := app.NewWithID("kickover")
	a.SetIcon(icon(o.Icon))
	remember := o.Timer.Redress
	o.Timer.Redress = func(t theme.Tokens) {
		a.Settings().SetTheme(t.Fyne())
		if remember != nil {
			remember(t)
		}
	}
	a.Settings().SetTheme(o.Timer.Dress.Fyne())
	w := timerWindow(a, o.Windowed)
	unstamp := func() {}
	end := endOf(w, func() { unstamp() })
	o.Timer.Leave = end.quit
	o.Timer.Fill = func() { w.SetFullScreen(!w.FullScreen()) }
	screen, err := timer.New(o.Timer)
	if err != nil {
		return err
	}
	defer screen.Close()
	w.SetPadded(false)
	w.Resize(fyne.NewSize(1024, 600)) // before the content, which would be drawn twice
	w.SetContent(screen.Content())
	a.Lifecycle().SetOnStarted(func() {
		screen.Focus(w)
		if stop, err := screen.Stamp(w); err == nil {
			unstamp = stop
		}
		if o.Painted != nil {
			o.Painted()
		}
	})
	defer keepShown()()
	w.Show()
	end.run(a.Run)
	return nil
}

// timerWindow makes the window. One that will have the whole display has no frame:
// the toolkit shows it before it fills the display, and a frame is bright at night.
func timerWindow(a fyne.App, windowed bool) fyne.Window {
	d, ok := a.Driver().(desktop.Driver)
	if windowed || !ok {
		return a.NewWindow("Kickover")
	}
	w := d.CreateSplashWindow()
	w.SetTitle("Kickover")
	w.SetMaster()
	w.SetFullScreen(true)
	return w
}
