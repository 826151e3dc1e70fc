package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/container"
	"github.com/go-gl/glfw/v3.4/glfw"

	"kickover/procedure/settings"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// Frame is the window on the screen with nothing in it yet.
type Frame struct {
	app    fyne.App
	window fyne.Window
}

// FrameOptions are how the window stands.
type FrameOptions struct {
	Title  string
	Icon   []byte // a PNG
	Dress  theme.Tokens
	Window settings.Window // as the person had it last
}

// OpenFrame puts the window on the screen. Of all that a start waits for the
// display takes longest, and it needs nothing of what will be shown: that can be
// read meanwhile. It must be called on the main goroutine, once, before [Run].
func OpenFrame(o FrameOptions) *Frame {
	panel.OneRasterThread()
	textScale(o.Window.Text)
	f := &Frame{app: app.NewWithID("kickover")}
	f.app.SetIcon(icon(o.Icon))
	f.app.Settings().SetTheme(o.Dress.Fyne())
	f.window = f.app.NewWindow(o.Title)
	f.window.SetPadded(false)
	f.window.SetContent(container.NewWithoutLayout()) // else the toolkit paints one of its own
	f.window.Resize(opening(o.Window))
	f.window.SetMaster()
	f.window.Show()
	return f
}

// measure lets the toolkit hear how large the desktop made the window: on a display
// that is smaller than what was asked for, less. Whatever is put into the window
// before that makes it as large again as was asked for.
func (f *Frame) measure() { glfw.PollEvents() }

// fill paints the window with what it was given, and runs it until it is closed.
func (f *Frame) fill(end *ending) {
	f.window.Show() // a second time: it paints at once, and not at the loop's next turn
	defer keepShown()()
	end.run(f.app.Run)
}

func icon(png []byte) fyne.Resource { return fyne.NewStaticResource("kickover.png", png) }
