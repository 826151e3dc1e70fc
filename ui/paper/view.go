package paper

import (
	"context"
	"fmt"
	"image"
	"image/color"

	"kickover/ui/theme"
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
		for i := range pages {
			pages[i] = lit(pages[i], s.o.Theme)
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

// lit is a page as it lies there in the window's light: at night white paper would
// undo what eyes have got used to, so it is shown dark, written on in the ink.
func lit(page image.Image, t theme.Tokens) image.Image {
	if t.Name != theme.Night.Name {
		return page
	}
	b := page.Bounds()
	out := image.NewNRGBA(b)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			white := color.GrayModel.Convert(page.At(x, y)).(color.Gray).Y
			out.SetNRGBA(x, y, theme.Mix(t.Ink, sheetColour(t), float64(white)/0xff))
		}
	}
	return out
}

// sheetColour is that of a sheet with nothing on it.
func sheetColour(t theme.Tokens) color.NRGBA {
	if t.Name == theme.Night.Name {
		return t.Raised
	}
	return color.NRGBA{R: 0xff, G: 0xff, B: 0xff, A: 0xff}
}

func (s *Screen) refresh() {
	s.image.Image = nil
	if s.at >= 0 && s.at < len(s.pages) {
		s.image.Image = s.pages[s.at]
	}
	s.image.Refresh()
	s.build()
}
