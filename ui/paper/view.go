package paper

import (
	"context"
	"fmt"
	"image"
)

// previewDPI is fine enough for a page to be read where it is shown large.
const previewDPI = 110

// draw makes the document anew and shows its page.
func (s *Screen) draw() {
	o := s.order()
	s.document = nil
	if o.What == Record && o.Run == "" {
		s.pages = nil
		if !s.wrong || s.said == "" {
			s.said, s.wrong = "There is no finished run of this flow to make a record of. Fly one, or choose another person or flow.", false
		}
		s.refresh()
		return
	}
	s.making.Start(func(context.Context, func(string)) func() {
		d, err := s.o.Make(o)
		var pages []image.Image
		if err == nil {
			pages, err = d.Preview(previewDPI)
		}
		return func() { s.made(o, d, pages, err) }
	}, func(string) { s.tell("Making the page…") })
}

func (s *Screen) made(o Order, d Document, pages []image.Image, err error) {
	s.document, s.pages, s.said, s.wrong, s.saved = d, pages, "", false, ""
	if err != nil {
		s.document, s.pages, s.said, s.wrong = nil, nil, err.Error(), true
	} else {
		s.file.SetText(s.o.FileFor(fileName(o)))
		s.at = max(0, min(s.at, len(pages)-1))
	}
	s.refresh()
}

// tell says what is waited for.
func (s *Screen) tell(words string) {
	s.said, s.wrong = words, false
	s.refresh()
}

func fileName(o Order) string {
	switch o.What {
	case Marks:
		return fmt.Sprintf("marks-%s.pdf", o.Aircraft)
	case Card:
		return fmt.Sprintf("card-%s-%s.pdf", o.Aircraft, o.Flow)
	}
	return fmt.Sprintf("record-%s-%s.pdf", o.Aircraft, o.Flow)
}

// save writes the file.
func (s *Screen) save() {
	if s.document == nil || s.saving.Busy() {
		return
	}
	d, file := s.document, s.file.Text
	s.saving.Start(func(context.Context, func(string)) func() {
		err := s.o.Save(d, file)
		return func() {
			if err != nil {
				s.said, s.wrong = err.Error(), true
			} else {
				s.saved = file
				s.said, s.wrong = "Written to "+file+". Print it at 100 %, “actual size”.", false
			}
			s.refresh()
		}
	}, func(string) { s.tell("Writing " + file + "…") })
}

// show opens what was saved.
func (s *Screen) show() {
	if err := s.o.Show(s.saved); err != nil {
		s.said, s.wrong = "It is written, but nothing on this desktop opened it: "+err.Error(), true
		s.refresh()
	}
}

func (s *Screen) leaf(by int) {
	if next := s.at + by; next >= 0 && next < len(s.pages) {
		s.at = next
		s.refresh()
	}
}

func (s *Screen) refresh() {
	s.image.Image = nil
	if s.at >= 0 && s.at < len(s.pages) {
		s.image.Image = s.pages[s.at]
	}
	s.image.Refresh()
	s.build()
}
