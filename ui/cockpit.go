package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/driver/desktop"

	"kickover/ui/panel"
	"kickover/ui/theme"
	"kickover/ui/timer"
)

// Cockpit is a window for nothing but the cockpit timer, and not on the screen yet.
type Cockpit struct {
	app    fyne.App
	window fyne.Window
}

// OpenCockpit makes the window, while what is timed can be read beside it. Windowed
// opens a window and not the whole display, on which the figures are as large as
// they can be. It must be called on the main goroutine, once.
func OpenCockpit(picture []byte, dress theme.Tokens, windowed bool) *Cockpit {
	panel.OneRasterThread()
	a := app.NewWithID("kickover")
	a.SetIcon(icon(picture))
	a.Settings().SetTheme(dress.Fyne())
	return &Cockpit{a, timerWindow(a, windowed)}
}

// Run puts the timer on the screen, and returns when it is closed. Painted is called
// once, when the first frame has been shown.
func (c *Cockpit) Run(o timer.Options, painted func()) error {
	a, w := c.app, c.window
	remember := o.Redress
	o.Redress = func(t theme.Tokens) {
		a.Settings().SetTheme(t.Fyne())
		if remember != nil {
			remember(t)
		}
	}
	unstamp := func() {}
	end := endOf(w, func() { unstamp() })
	o.Leave = end.quit
	o.Fill = func() { w.SetFullScreen(!w.FullScreen()) }
	screen, err := timer.New(o)
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
		painted()
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
