package review

import (
	"fyne.io/fyne/v2"
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
	Sign    func(instructor, remarks string) error
}

// mostRemarks bounds what is written, in bytes: it has to fit its place on paper.
const mostRemarks = 600

// askToSign asks for the instructor's name and remarks, over the page.
func (s *Screen) askToSign(t theme.Tokens, o *Signing) {
	c := fyne.CurrentApp().Driver().CanvasForObject(s.content)
	if c == nil {
		return
	}
	title := control.Text("Sign this run", 22, fonts.WeightBold, t.Ink)
	name, remarks := widget.NewEntry(), widget.NewMultiLineEntry()
	name.SetPlaceHolder("Instructor's name")
	remarks.SetPlaceHolder("Remarks, if any")
	remarks.Wrapping = fyne.TextWrapWord
	fields := []fyne.CanvasObject{name, remarks}
	text := container.NewWithoutLayout()
	const wide = 520
	var said *fyne.Container
	say := func(words string) {
		if said != nil {
			text.Remove(said)
		}
		said, _ = control.Paragraph(words, 15, fonts.WeightRegular, t.Caution, wide)
		said.Move(fyne.NewPos(0, 70))
		text.Add(said)
		text.Refresh()
	}
	student := o.Student
	if student == "" {
		student = "the student"
	}
	why, _ := control.Paragraph("You say that "+student+" flew it as it should be. It is a note of training, and nobody's licence.", 15, fonts.WeightRegular, t.Ink2, wide)
	text.Add(why)
	var popup *widget.PopUp
	leave := func() { popup.Hide(); s.refocus(c) }
	do := control.NewButton(t, "Sign", "", control.Primary, func() {
		if len(remarks.Text) > mostRemarks {
			say("The remarks are too long for their place on paper: keep them to a few lines.")
			return
		}
		if err := o.Sign(name.Text, remarks.Text); err != nil {
			say("Not signed: " + err.Error())
			return
		}
		leave()
		s.sign("Signed by " + name.Text + ".")
	})
	keep := control.NewButton(t, "Leave it", "", control.Plain, leave)
	box := control.Placed(fyne.NewSize(wide+48, 410), func(size fyne.Size) {
		control.PutText(title, 24, 16)
		control.Put(text, 24, 56, wide, 120)
		control.Put(fields[0], 24, 178, wide, 44)
		control.Put(fields[1], 24, 232, wide, 100)
		control.Put(keep, 24, 348, 150, 48)
		control.Put(do, 24+wide-200, 348, 200, 48)
	}, title, text, fields[0], fields[1], keep, do)
	popup = widget.NewModalPopUp(box, c)
	popup.Show()
	c.Focus(name)
}

// refocus puts the keyboard back on the way on.
func (s *Screen) refocus(c fyne.Canvas) {
	if s.first != nil {
		c.Focus(s.first)
	}
}
