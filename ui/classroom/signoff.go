package classroom

import (
	"errors"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure/classroom"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Signer is where sign-offs are kept.
type Signer interface {
	// SignOff makes the run the student's and keeps the instructor's word for it.
	SignOff(SignOff) error
	// Signed tells by whom runs were signed.
	Signed() (by map[string]string, err error)
}

// SignOff is an instructor's word that a student flew a run as it should be. It
// is a note of training and nobody's licence.
type SignOff struct {
	Run, Student, Instructor, Remarks string // people by their names
}

// Sign is one person's run.
type Sign struct {
	Run      classroom.RunID
	Number   int // of the station
	Name     string
	Note     string // "prime 4.2 s, attempts 1"
	State    string // how it ended
	SignedBy string // empty when it is not
}

// SignListOptions are what the list of runs needs from outside.
type SignListOptions struct {
	Theme   theme.Tokens
	Signs   []Sign
	CanSign bool // the records are open
	Open    func(Sign)
	Back    func()
}

// SignList lists the runs of a drill with names: it is not for the projector.
type SignList struct {
	back    *control.Button
	content *fyne.Container
}

// NewSignList makes the screen.
func NewSignList(o SignListOptions) *SignList {
	t := o.Theme
	title := control.Text("Whose run will you sign off?", control.Title, fonts.WeightBold, t.Ink)
	secret := control.Text("Not for the projector: it names people.", control.Label, fonts.WeightMedium, t.Caution)
	var rows []fyne.CanvasObject
	for _, x := range o.Signs {
		end := x.State
		if x.SignedBy != "" {
			end = "✓ signed by " + x.SignedBy
		}
		rows = append(rows, control.NewRow(t, strings.TrimSpace(fmt.Sprintf("%d  %s", x.Number, x.Name)), x.Note, end, func() {
			if o.CanSign && x.SignedBy == "" {
				o.Open(x)
			}
		}))
	}
	if !o.CanSign {
		secret.Text = "The records cannot be opened, so nothing can be signed now; the runs are safe in the class's own file."
	}
	s := &SignList{back: control.NewButton(t, "Back to the debrief", "", control.Primary, o.Back)}
	list := container.NewVScroll(container.NewVBox(rows...))
	s.content = control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		const edge = 40
		control.PutText(title, edge, 16)
		control.PutText(secret, edge, 62)
		control.Put(list, edge, 92, z.Width-2*edge, z.Height-92-80)
		control.Put(s.back, edge, z.Height-64, s.back.MinSize().Width, 48)
	}, title, secret, list, s.back)
	return s
}

// Content is what goes below the window's header.
func (s *SignList) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the way back.
func (s *SignList) Focus(w fyne.Window) { w.Canvas().Focus(s.back) }

// SignOffOptions are what the screen of one sign-off needs from outside.
type SignOffOptions struct {
	Theme      theme.Tokens
	Sign       Sign
	Instructor string              // who signed last
	Put        func(SignOff) error // its error is shown as it is
	Review     func()              // the run itself; nil leaves that out
	Back       func()
}

// SigningOff is where one run is signed.
type SigningOff struct {
	o                            SignOffOptions
	student, instructor, remarks *control.Entry
	problem                      *message
	content                      *fyne.Container
}

var errWho = errors.New("write the student's name and your own: a sign-off names both")

// NewSignOff makes the screen.
func NewSignOff(o SignOffOptions) *SigningOff {
	t := o.Theme
	s := &SigningOff{o: o, student: control.NewEntry(""), instructor: control.NewEntry(""), remarks: control.NewEntry(""), problem: newMessage(t)}
	s.student.SetText(o.Sign.Name)
	s.instructor.SetText(o.Instructor)
	s.remarks.SetPlaceHolder("In your own words, if you like")
	for _, e := range []*control.Entry{s.student, s.instructor, s.remarks} {
		e.OnSubmitted = func(string) { s.sign() }
	}
	title := control.Text(fmt.Sprintf("Sign off the run of station %d", o.Sign.Number), control.Title, fonts.WeightBold, t.Ink)
	note := newMessage(t)
	note.colour, note.text = t.Ink2, sentence(o.Sign.State)+" "+o.Sign.Note
	small := control.Text("A note of training, kept in the records under these names; nobody's licence.", control.Label, fonts.WeightRegular, t.Ink3)
	sign := control.NewButton(t, "Sign", "↵", control.Primary, s.sign)
	back := control.NewButton(t, "Back", "", control.Quiet, o.Back)
	heads := []fyne.CanvasObject{control.Heading("THE STUDENT", t), control.Heading("YOU, WHO SIGN", t), control.Heading("REMARKS", t)}
	children := append([]fyne.CanvasObject{title, note.box, small, sign, back, s.problem.box, s.student, s.instructor, s.remarks}, heads...)
	var review *control.Button
	if o.Review != nil {
		review = control.NewButton(t, "See the run", "", control.Plain, o.Review)
		children = append(children, review)
	}
	s.content = control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		const edge = 48
		w := min(z.Width-2*edge, 640)
		control.PutText(title, edge, 24)
		note.put(edge, 74, z.Width-2*edge)
		y := float32(140)
		for i, e := range []*control.Entry{s.student, s.instructor, s.remarks} {
			control.PutText(heads[i], edge, y)
			control.Put(e, edge, y+20, w, 44)
			y += 84
		}
		control.Put(sign, edge, y, 160, 52)
		x := float32(edge + 172)
		if review != nil {
			control.Put(review, x, y+3, review.MinSize().Width, 46)
			x += review.MinSize().Width + 12
		}
		control.Put(back, x, y+3, 100, 46)
		control.PutText(small, edge, y+68)
		s.problem.put(edge, y+96, w)
	}, children...)
	return s
}

// Content is what goes below the window's header.
func (s *SigningOff) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the first name that is not there yet.
func (s *SigningOff) Focus(w fyne.Window) {
	e := s.remarks
	switch "" {
	case strings.TrimSpace(s.student.Text):
		e = s.student
	case strings.TrimSpace(s.instructor.Text):
		e = s.instructor
	}
	w.Canvas().Focus(e)
}

func (s *SigningOff) sign() {
	student, instructor := strings.TrimSpace(s.student.Text), strings.TrimSpace(s.instructor.Text)
	err := errWho
	if student != "" && instructor != "" {
		err = s.o.Put(SignOff{Student: student, Instructor: instructor, Remarks: strings.TrimSpace(s.remarks.Text)})
	}
	s.problem.text = ""
	if err != nil {
		s.problem.text = sentence(err.Error())
	}
	s.content.Refresh()
}
