package timer

import (
	"fmt"
	"image/color"
	"math"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/assets/fonts"
	"kickover/procedure/timer"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// view is the board: where things are, and the cells they are shown in.
type view struct {
	registration string
	ground       *canvas.Rectangle
	board        *panel.Board
	layout
	shown []fyne.CanvasObject // as the toolkit was last given them

	head   *panel.Cell[headState]
	watch  *panel.Cell[watchState]
	around *panel.Cell[aroundState]
	button *panel.Cell[buttonState]
	next   *panel.Cell[nextState]
	chips  *panel.Cell[chipsState]
	foot   *panel.Cell[footState]
	alarm  *panel.Cell[alarmState]
	helped *panel.Cell[helpState]
}

// layout is where things are, in the board's units, of which the smallest window
// is 800 high.
type layout struct {
	w, h     float64
	watchX   float64
	watchY   float64
	watchR   float64
	left     panel.Rect // of the clock, or the propeller's area
	buttonAt panel.Rect // at its largest
	textAt   panel.Rect // below the button
	chipAt   panel.Rect
	rule     float64
}

const edge = 36

func (l *layout) fit(w, h float64) {
	l.w, l.h = w, h
	l.rule = h - 84
	split := w * 0.6
	l.watchX, l.watchY = split/2+6, (l.rule+78)/2
	l.watchR = min((l.rule-78)/2-44, split/2-62)
	l.left = panel.Rect{X: 0, Y: 78, W: split, H: l.rule - 78}
	l.buttonAt = panel.Rect{X: split, Y: 100, W: w - split - edge, H: h * 0.46}
	below := l.buttonAt.Y + l.buttonAt.H
	l.textAt = panel.Rect{X: split, Y: below + 8, W: w - split - edge, H: l.rule - below - 8}
	l.chipAt = panel.Rect{X: split, Y: l.rule - 92, W: w - split - edge, H: 88}
}

func newView(t theme.Tokens, registration string) *view {
	v := &view{registration: registration, ground: canvas.NewRectangle(t.Ground)}
	v.layout.fit(panel.LeastW, panel.LeastH)
	v.board = panel.NewBoard(t, v.arrange, v.scenery)
	b := v.board
	v.head = panel.NewInlay(b, v.paintHead)
	v.foot = panel.NewInlay(b, v.paintFoot)
	v.next = panel.NewInlay(b, v.paintNext)
	v.chips = panel.NewInlay(b, v.paintChips)
	v.around = panel.NewInlay(b, v.paintAround)
	v.button = panel.NewCell(b, v.paintButton)
	v.watch = panel.NewCell(b, v.paintWatch).Base(sameDial, v.paintDial)
	v.alarm = panel.NewCell(b, v.paintAlarm)
	v.helped = panel.NewCell(b, v.paintHelp)
	return v
}

func (v *view) arrange(w, h float64) {
	v.layout.fit(w, h)
	v.head.Area = panel.Rect{X: 0, Y: 0, W: w, H: 78}
	v.foot.Area = panel.Rect{X: 0, Y: v.rule + 2, W: w, H: h - v.rule - 2}
	v.next.Area = v.textAt
	v.chips.Area = v.chipAt
	v.around.Area = v.left
	v.watch.Area = v.clock().Area()
	v.button.Area = v.buttonAt
	v.alarm.Area = panel.Rect{X: 0, Y: 0, W: w, H: 84}
	v.helped.Area = v.left
}

func (v *view) clock() panel.Stopwatch {
	return panel.Stopwatch{X: v.watchX, Y: v.watchY, R: v.watchR}
}

func (v *view) scenery(p *panel.Pen) { p.Rule(edge, v.rule, v.w-edge, v.rule, p.Line) }

func (v *view) objects() []fyne.CanvasObject {
	return append([]fyne.CanvasObject{v.ground}, v.board.Objects()...)
}

func (v *view) fit(size fyne.Size, ratio float64) {
	v.ground.Resize(size)
	v.board.Resize(size, ratio)
}

func (v *view) redress(t theme.Tokens) {
	v.ground.FillColor = t.Ground
	v.ground.Refresh()
	v.board.Dress(t)
}

// show gives every cell what it has to show, and reports whether the toolkit
// must be told of other objects than before.
func (v *view) show(p *picture, help, direct bool) bool {
	v.head.Show(headState{
		left:   v.registration + " · " + p.Situation,
		middle: attemptText(p), right: airText(p),
	})
	v.button.Show(buttonState{Button: p.Button, held: int(p.Button.Held * 60), alarm: p.Alarm && p.Button.Warn})
	v.next.Show(nextState{over: p.Over, head: p.Head, lines: strings.Join(p.Lines, "\n"), chips: p.State == timer.Ready})
	if p.State == timer.Ready {
		v.chips.Show(chipsOf(p))
	} else {
		v.chips.Hide()
	}
	v.foot.Show(footState{caption: p.Caption, notice: p.Notice, undo: p.Undo, help: help})
	v.showLeft(p, help, direct)
	if p.Warning != "" {
		v.alarm.Show(alarmState{text: p.Warning, on: p.Alarm})
	} else {
		v.alarm.Hide()
	}
	v.board.Commit()
	objects := v.objects()
	changed := len(objects) != len(v.shown)
	for i := range v.shown {
		changed = changed || objects[i] != v.shown[i]
	}
	v.shown = objects
	return changed
}

// showLeft shows the clock, the propeller's area or the help, and hides the others.
func (v *view) showLeft(p *picture, help, direct bool) {
	switch {
	case help:
		v.helped.Show(helpState{direct: direct, latch: p.Latch})
		v.watch.Hide()
		v.around.Hide()
	case p.Area != nil:
		v.around.Show(aroundState{looks: p.Area.Looks, listening: p.State == timer.Listening, answer: panel.Tenths(p.Area.Answer), wait: panel.Tenths(p.Area.Wait)})
		v.watch.Hide()
		v.helped.Hide()
	default:
		v.watch.Show(watchOf(p))
		v.around.Hide()
		v.helped.Hide()
	}
}

// chip finds the situation under the pointer.
func (v *view) chip(at fyne.Position) (int, bool) {
	if !v.chips.Visible() {
		return 0, false
	}
	x, y := v.board.Units(at)
	for i, r := range v.chipPlaces(v.chips.Value()) {
		if r.Contains(x, y) {
			return i, true
		}
	}
	return 0, false
}

// headState is the line at the top.
type headState struct{ left, middle, right string }

func attemptText(p *picture) string {
	if p.Of > 0 {
		return fmt.Sprintf("attempt %d of %d", p.Attempt, p.Of)
	}
	return fmt.Sprintf("attempt %d", p.Attempt)
}

func airText(p *picture) string {
	text := "air temperature not set"
	if !math.IsNaN(p.Celsius) {
		text = timer.Degrees(p.Celsius)
	}
	if !math.IsNaN(p.Altitude) {
		text += fmt.Sprintf(" · %s m", strings.Replace(fmt.Sprintf("%.0f", p.Altitude), "-", "−", 1))
	}
	return text
}

func (v *view) paintHead(p *panel.Pen, s headState) {
	t := panel.Title.Sized(24)
	p.Text(s.left, edge, 53, panel.Start, t.Weighted(fonts.WeightSemiBold), p.Ink2)
	p.Text(s.middle, v.w/2, 53, panel.Middle, t, p.Ink)
	p.Text(s.right, v.w-edge, 53, panel.End, t.Weighted(fonts.WeightSemiBold), p.Ink2)
}

// footState is the line at the foot: the standing caution, what is said, and what
// can be undone.
type footState struct {
	caption, notice string
	undo, help      bool
}

func (v *view) paintFoot(p *panel.Pen, s footState) {
	y, t := v.rule+34, panel.Body.Sized(20)
	p.Text("Your handbook rules; this only keeps time.", edge, y, panel.Start, t, p.Ink3)
	right := "N night  U undo  H help"
	if s.help {
		right = "H closes this"
	}
	p.Text(right, v.w-edge, y, panel.End, t, p.Ink3)
	y += 33
	room := v.w - 2*edge
	if s.undo {
		const undo = "U  undo, for two seconds"
		q := panel.Title.Sized(19)
		w := p.Measure(undo, q) + 28
		r := panel.Rect{X: v.w - edge - w, Y: y - 22, W: w, H: 32}
		p.Box(r, 8, p.Raised, p.Now, 2)
		p.Text(undo, r.X+w/2, y, panel.Middle, q, p.Now)
		room -= w + 20
	}
	switch {
	case s.caption != "":
		text := "“" + s.caption + "”"
		p.Speaker(edge+14, y-8, 26, p.Ink3)
		p.Text(text, edge+40, y, panel.Start, p.Fit(text, panel.Title.Sized(23), room-40, 13), p.Ink2)
	case s.notice != "":
		p.Triangle(edge+9, y-7, 18, p.Caution)
		n := p.Fit(s.notice, t, room-28, 14)
		p.Text(p.Clip(s.notice, n, room-28), edge+28, y, panel.Start, n, p.Caution)
	}
}

// nextState is what stands below the button.
type nextState struct {
	over, head, lines string
	chips             bool
}

func (v *view) paintNext(p *panel.Pen, s nextState) {
	r := v.textAt
	room := r.H
	if s.chips {
		room -= 92
	}
	y := r.Y + 26
	p.Text(s.over, r.X+2, y, panel.Start, panel.Group.Sized(21).Weighted(fonts.WeightSemiBold), p.Ink3)
	head := panel.Title.Sized(34)
	for head.Size > 22 && len(p.Wrap(s.head, head, r.W)) > 1 && (s.chips || len(p.Wrap(s.head, head, r.W)) > 3 || head.Size > 28) {
		head.Size--
	}
	leading := head.Size * 1.18
	y = p.Paragraph(s.head, r.X, y+10+head.Size*0.85, r.W, leading, 3, panel.Start, head, p.Ink)
	if s.lines == "" {
		return
	}
	body := panel.Body.Sized(25)
	fits := func() bool { return float64(len(p.Wrap(s.lines, body, r.W)))*body.Size*1.3 <= r.Y+room-y+body.Size*0.7 }
	for body.Size > 17 && !fits() {
		body.Size--
	}
	for _, l := range strings.Split(s.lines, "\n") {
		y = p.Paragraph(l, r.X, y+2, r.W, body.Size*1.3, 0, panel.Start, body, p.Ink2)
	}
}

// chipsState is the situations that may be chosen, by name.
type chipsState struct {
	names  string // joined by line feeds
	chosen int
}

// chipsOf names the situations; where two are alike, by their title's ending.
func chipsOf(p *picture) chipsState {
	s := chipsState{chosen: -1}
	var names []string
	count := map[string]int{}
	for _, f := range p.Flows {
		count[f.Situation]++
	}
	for i, f := range p.Flows {
		name := f.Situation
		if count[name] > 1 {
			name = strings.ToLower(f.Title)
		}
		names = append(names, name)
		if f.ID == p.Flow.ID {
			s.chosen = i
		}
	}
	s.names = strings.Join(names, "\n")
	return s
}

const (
	chipHigh = 38
	chipGap  = 8
)

// chipPlaces lays the situations out in two rows, the rows as even as they come.
func (v *view) chipPlaces(s chipsState) []panel.Rect {
	names := strings.Split(s.names, "\n")
	letters := func(names []string) int { return len(strings.Join(names, "")) + 4*len(names) }
	split := len(names)
	for i := 1; i < len(names); i++ {
		if max(letters(names[:i]), letters(names[i:])) < max(letters(names[:split]), letters(names[split:])) {
			split = i
		}
	}
	var out []panel.Rect
	y := v.chipAt.Y
	for _, row := range [][]string{names[:split], names[split:]} {
		x := v.chipAt.X
		room := v.chipAt.W - chipGap*float64(len(row)-1)
		for _, n := range row {
			w := room * float64(len(n)+4) / float64(letters(row))
			out = append(out, panel.Rect{X: x, Y: y, W: w, H: chipHigh})
			x += w + chipGap
		}
		y += chipHigh + chipGap
	}
	return out
}

func (v *view) paintChips(p *panel.Pen, s chipsState) {
	places := v.chipPlaces(s)
	for i, n := range strings.Split(s.names, "\n") {
		r := places[i]
		line, ink, width := p.Line, p.Ink2, 1.5
		if i == s.chosen {
			line, ink, width = p.Now, p.Ink, 3
		}
		p.Box(r, 9, p.Raised, line, width)
		text := fmt.Sprintf("%d %s", i+1, n)
		p.Text(text, r.X+r.W/2, r.Y+26, panel.Middle, p.Fit(text, panel.Label.Sized(20), r.W-14, 12), ink)
	}
}

// alarmState is a warning over the top of the screen.
type alarmState struct {
	text string
	on   bool
}

func (v *view) paintAlarm(p *panel.Pen, s alarmState) {
	r := panel.Rect{W: v.w, H: 84}
	fill, ink := p.Warn, p.OnWarn
	if !s.on {
		fill, ink = theme.Mix(p.Ground, p.Warn, 0.25), p.Warn
	}
	p.Fill(r, fill)
	t := p.Fit(s.text, panel.Head.Sized(40), v.w-160, 20)
	w := p.Measure(s.text, t)
	p.Square(v.w/2-w/2-36, 42, 34, ink)
	p.Text(s.text, v.w/2+12, 56, panel.Middle, t, ink)
}

// helpState is what the help must say of this computer.
type helpState struct{ direct, latch bool }

func (v *view) paintHelp(p *panel.Pen, s helpState) {
	r := v.left.Inset(20)
	p.Box(r, 16, p.Panel, p.Line, 1.5)
	x, y, w := r.X+30, r.Y+46, r.W-60
	p.Text("One button", x, y, panel.Start, panel.Head.Sized(30), p.Ink)
	y = p.Paragraph("Space, or any mouse button anywhere. What it does now is written on it; the small line is what holding it down does instead.", x, y+34, w, 27, 0, panel.Start, panel.Body.Sized(21), p.Ink2)
	for _, k := range [][2]string{
		{"N", "dusk, day, night"}, {"U", "take the last press back, for two seconds"},
		{"1–9", "the situation, before the prime"}, {"M", primeText(s.latch)},
		{"↑ ↓", "outside air temperature"}, {"← →", "pressure altitude"}, {"H", "this page"},
	} {
		y += 33
		p.Text(k[0], x+28, y, panel.Middle, panel.Title.Sized(21), p.Ink2)
		p.Text(k[1], x+80, y, panel.Start, panel.Body.Sized(21), p.Ink)
	}
	resolution := "Keys and mouse are seen every 17 ms here, so that a time may be wrong by about as much; tenths are shown."
	if s.direct {
		resolution = "The key's times are the display server's, right to a few milliseconds; a mouse's are right to 17 ms. Tenths are shown."
	}
	y = p.Paragraph(resolution, x, y+42, w, 26, 0, panel.Start, panel.Body.Sized(20), p.Ink2)
	p.Triangle(x+8, y+12, 15, p.Caution)
	p.Paragraph("The propeller kills. Fire, smoke or fuel on the ground: the handbook's drill, not this clock. The aeroplane's handbook, local rules and your instructor rule over it. Its records are nobody's maintenance record.", x+28, y+18, w-28, 26, 0, panel.Start, panel.Body.Sized(20), p.Ink)
}

func primeText(latch bool) string {
	if latch {
		return "prime by holding; now: press and press"
	}
	return "prime by press and press; now: hold"
}

// quarters of a degree from twelve o'clock.
func quarters(elapsed, scale time.Duration) int16 {
	if scale <= 0 {
		return 0
	}
	return int16(math.Round(min(max(float64(elapsed)/float64(scale), 0), 1) * 360 * 4))
}

var transparent = color.NRGBA{}
