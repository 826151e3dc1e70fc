package review

import (
	"context"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"kickover/assets/fonts"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Signing is an instructor's word on the run that is shown.
type Signing struct {
	Student string // whose run it is; empty when nobody is named
	Signed  string // what was signed already, in a sentence; empty for nothing
	// Sign may wait for a disk or a network, and is called from another goroutine
	// than the window's.
	Sign func(instructor, remarks string) error
}

// mostRemarks bounds what is written, in bytes: it has to fit its place on paper.
const mostRemarks = 600

// signature is the slip on which an instructor signs, over the page.
type signature struct {
	o       *Signing
	t       theme.Tokens
	signed  func(words string)
	left    func()
	canvas  fyne.Canvas
	work    control.Work
	title   *canvas.Text
	text    *fyne.Container // what signing means, and below it what went wrong
	said    *fyne.Container
	name    *control.Entry
	remarks *control.Entry
	sign    *control.Button
	keep    *control.Button
	slip    *widget.PopUp
	over    fyne.CanvasObject    // the slip with what it is laid on
	keys    func(*fyne.KeyEvent) // the window's
}

// askToSign asks for the instructor's name and remarks.
func (s *Screen) askToSign(t theme.Tokens, o *Signing) {
	c := fyne.CurrentApp().Driver().CanvasForObject(s.content)
	if c == nil {
		return
	}
	x := &signature{
		o: o, t: t, canvas: c, signed: s.sign, left: func() { s.refocus(c) },
		title: control.Text("Sign this run", 22, fonts.WeightBold, t.Ink), text: container.NewWithoutLayout(),
		name: control.NewEntry("Instructor's name"), remarks: control.NewTextEntry("Remarks, if any"),
	}
	x.sign = control.NewButton(t, "Sign", "", control.Primary, x.put)
	x.keep = control.NewButton(t, "Leave it", "Esc", control.Plain, x.leave)
	x.name.OnSubmitted = func(string) { c.Focus(x.remarks) }
	student := o.Student
	if student == "" {
		student = "the student"
	}
	why, _ := control.Paragraph("You say that "+student+" flew it as it should be. It is a note of training, and nobody's licence.", 15, fonts.WeightRegular, t.Ink2, slipWide)
	x.text.Add(why)
	x.slip = widget.NewModalPopUp(control.Placed(fyne.NewSize(slipWide+48, 410), x.place, x.title, x.text, x.name, x.remarks, x.keep, x.sign), c)
	x.slip.Show()
	x.over = c.Overlays().Top()
	x.listen()
	c.Focus(x.name)
}

const slipWide = 520

func (x *signature) place(fyne.Size) {
	control.PutText(x.title, 24, 16)
	control.Put(x.text, 24, 56, slipWide, 120)
	control.Put(x.name, 24, 178, slipWide, 44)
	control.Put(x.remarks, 24, 232, slipWide, 100)
	control.Put(x.keep, 24, 348, 180, 48)
	control.Put(x.sign, 24+slipWide-200, 348, 200, 48)
}

// listen has Esc leave the slip while nothing lies over it; other keys are the
// window's as ever.
func (x *signature) listen() {
	x.keys = x.canvas.OnTypedKey()
	x.canvas.SetOnTypedKey(func(e *fyne.KeyEvent) {
		switch {
		case e.Name == fyne.KeyEscape && x.canvas.Overlays().Top() == x.over:
			x.leave()
		case x.keys != nil:
			x.keys(e)
		}
	})
}

func (x *signature) leave() {
	x.work.Stop()
	x.canvas.SetOnTypedKey(x.keys)
	x.slip.Hide()
	x.left()
}

// put has the instructor's word kept.
func (x *signature) put() {
	if x.work.Busy() {
		return
	}
	if len(x.remarks.Text) > mostRemarks {
		x.say("The remarks are too long for their place on paper: keep them to a few lines.")
		return
	}
	name, remarks := x.name.Text, x.remarks.Text
	x.work.Start(func(context.Context, func(string)) func() {
		err := x.o.Sign(name, remarks)
		return func() {
			if err != nil {
				x.say("Not signed: " + err.Error())
				return
			}
			x.leave()
			x.signed("Signed by " + name + ".")
		}
	}, func(string) { x.say("Writing it down…") })
}

func (x *signature) say(words string) {
	if x.said != nil {
		x.text.Remove(x.said)
	}
	x.said, _ = control.Paragraph(words, 15, fonts.WeightRegular, x.t.Caution, slipWide)
	x.said.Move(fyne.NewPos(0, 70))
	x.text.Add(x.said)
	x.text.Refresh()
}

// refocus puts the keyboard back on the way on.
func (s *Screen) refocus(c fyne.Canvas) {
	if s.first != nil {
		c.Focus(s.first)
	}
}
