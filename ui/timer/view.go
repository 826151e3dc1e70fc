package timer

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"kickover/assets/fonts"
	"kickover/procedure/timer"
	"kickover/procedure/units"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// view is the board: where things are, and the cells they are shown in.
type view struct {
	units  units.Units
	tokens theme.Tokens
	board  *panel.Board
	layout
	shown  []fyne.CanvasObject // as the toolkit was last given them
	plates []plate             // what may be pressed beside the button, lowest first

	head   *panel.Cell[headState]
	watch  *panel.Cell[watchState]
	around *panel.Cell[aroundState]
	button *panel.Cell[buttonState]
	next   *panel.Cell[nextState]
	chips  *panel.Cell[chipsState] // situations
	words  *panel.Cell[chipsState] // notes
	foot   *panel.Cell[footState]
	alarm  *panel.Cell[alarmState]
	helped *panel.Cell[helpState]
	air    *panel.Cell[airState]
	fleet  *panel.Cell[fleetState]
	entry  *panel.Cell[entryState]
}

// leaf is what is shown beside the machine's picture: the page that is open, and
// what is being typed.
type leaf struct {
	page    page
	direct  bool // the key is stamped by the display server
	many    bool // another aeroplane may be chosen
	free    bool // nothing is timed: the foot's keys may be pressed
	fleet   []string
	boarded int
	typing  bool
	asked   string
	typed   string
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
}

func newView(t theme.Tokens) *view {
	v := &view{tokens: t}
	v.layout.fit(panel.LeastW, panel.LeastH)
	v.board = panel.NewBoard(t, v.arrange, v.scenery)
	b := v.board
	v.head = panel.NewInlay(b, v.paintHead)
	v.foot = panel.NewInlay(b, v.paintFoot)
	v.next = panel.NewInlay(b, v.paintNext)
	v.chips = panel.NewInlay(b, v.paintChips)
	v.words = panel.NewInlay(b, v.paintChips)
	v.around = panel.NewInlay(b, v.paintAround)
	v.button = panel.NewCell(b, v.paintButton)
	v.watch = panel.NewCell(b, v.paintWatch).Base(sameDial, v.paintDial)
	v.alarm = panel.NewCell(b, v.paintAlarm)
	v.helped = panel.NewInlay(b, v.paintHelp)
	v.air = panel.NewInlay(b, v.paintAir)
	v.fleet = panel.NewInlay(b, v.paintFleet)
	v.entry = panel.NewInlay(b, v.paintEntry)
	return v
}

func (v *view) arrange(w, h float64) {
	v.layout.fit(w, h)
	v.head.Area = panel.Rect{X: 0, Y: 0, W: w, H: 78}
	v.foot.Area = panel.Rect{X: 0, Y: v.rule + 2, W: w, H: h - v.rule - 2}
	v.next.Area = v.textAt
	v.chips.Area, v.words.Area = v.chipsArea(situationRows), v.chipsArea(noteRows)
	v.around.Area = v.left
	v.watch.Area = v.clock().Area()
	v.button.Area = v.buttonAt
	v.alarm.Area = panel.Rect{X: 0, Y: 0, W: w, H: 84}
	v.helped.Area, v.air.Area, v.fleet.Area, v.entry.Area = v.left, v.left, v.left, v.left
}

func (v *view) clock() panel.Stopwatch {
	return panel.Stopwatch{X: v.watchX, Y: v.watchY, R: v.watchR}
}

func (v *view) scenery(p *panel.Pen) { p.Rule(edge, v.rule, v.w-edge, v.rule, p.Line) }

func (v *view) objects() []fyne.CanvasObject {
	return v.board.Objects()
}

func (v *view) fit(size fyne.Size, ratio float64) {
	v.board.Resize(size, ratio)
}

func (v *view) redress(t theme.Tokens) {
	v.tokens = t
	v.board.Dress(t)
}

// show gives every cell what it has to show, and reports whether the toolkit
// must be told of other objects than before.
func (v *view) show(p *picture, l leaf) bool {
	v.plates = nil
	head := headState{
		left:   p.Aeroplane.Title() + " · " + p.Situation,
		middle: attemptText(p), right: airText(p, v.units),
		board: l.many && p.State == timer.Ready,
		air:   p.State == timer.Ready || p.State == timer.Quiet || p.State == timer.Noting,
	}
	v.head.Show(head)
	v.headPlates(head)
	v.showButton(p, l)
	chips := chipsOf(p)
	v.next.Show(nextState{over: p.Over, head: v.units.Words(p.Head), lines: v.units.Words(strings.Join(p.Lines, "\n")), rows: chips.rows})
	v.showChips(chips)
	foot := footState{caption: p.Caption, notice: p.Notice, undo: p.Undo && !l.typing, free: l.free || l.typing, timed: clockFirst(p.State), open: l.page != noPage, typing: l.typing, dress: v.nextDress()}
	v.foot.Show(foot)
	if foot.free {
		v.plates = append(v.plates, plate{at: v.footAround()}) // a near miss is not the button
		for i, k := range foot.keys() {
			v.plates = append(v.plates, plate{at: v.footKeyAt(i), does: k.does})
		}
	}
	if foot.undo {
		v.plates = append(v.plates, plate{at: v.undoAt(), does: doesUndo})
	}
	v.showLeft(p, l)
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

func (v *view) showChips(s chipsState) {
	show, hide := v.chips, v.words
	if s.rows == noteRows {
		show, hide = hide, show
	}
	hide.Hide()
	if s.rows == 0 {
		show.Hide()
		return
	}
	show.Show(s)
	v.plates = append(v.plates, v.chipPlates(s)...)
}

func (v *view) showButton(p *picture, l leaf) {
	b := buttonState{Button: p.Button, held: int(p.Button.Held * 60), alarm: p.Alarm && p.Button.Warn}
	b.quiet = p.State == timer.Priming && !p.Latch || p.State == timer.Cranking
	if l.typing {
		b.Button = timer.Button{Text: "KEEP", Sub: "Enter keeps what is typed, Escape does not", Rest: true}
		b.quiet = true
	}
	v.button.Show(b)
}

// showLeft shows the clock, the propeller's area or a page, and hides the others.
func (v *view) showLeft(p *picture, l leaf) {
	var watch, around, helped, air, fleet, entry bool
	switch {
	case l.typing:
		entry = true
		v.entry.Show(entryState{asked: l.asked, text: l.typed})
	case l.page == helpPage:
		helped = true
		s := helpState{direct: l.direct, latch: p.Latch}
		v.helped.Show(s)
		v.plates = append(v.plates, v.helpPlates(s)...)
	case l.page == airPage:
		air = true
		v.air.Show(v.airOf(p))
		v.plates = append(v.plates, v.airPlates()...)
	case l.page == fleetPage:
		fleet = true
		s := fleetOf(p, l)
		v.fleet.Show(s)
		v.plates = append(v.plates, v.fleetPlates(s)...)
	case p.Area != nil:
		around = true
		v.around.Show(aroundState{looks: p.Area.Looks, listening: p.State == timer.Listening, answer: panel.Tenths(p.Area.Answer), wait: panel.Tenths(p.Area.Wait)})
	default:
		watch = true
		v.watch.Show(watchOf(p))
	}
	for _, c := range []struct {
		shown bool
		hide  func()
	}{
		{watch, v.watch.Hide}, {around, v.around.Hide}, {helped, v.helped.Hide},
		{air, v.air.Hide}, {fleet, v.fleet.Hide}, {entry, v.entry.Hide},
	} {
		if !c.shown {
			c.hide()
		}
	}
	if air || fleet || helped || entry { // a slip beside a plate is not the button
		v.plates = append([]plate{{at: v.left}}, v.plates...)
	}
}

// under finds the plate under the pointer.
func (v *view) under(at fyne.Position) (plate, bool) {
	x, y := v.board.Units(at)
	for _, p := range slices.Backward(v.plates) {
		if p.at.Contains(x, y) {
			return p, true
		}
	}
	return plate{}, false
}

// headState is the line at the top.
type headState struct {
	left, middle, right string
	board, air          bool // the ends may be pressed
}

func attemptText(p *picture) string {
	if p.Of > 0 {
		return fmt.Sprintf("attempt %d of %d", p.Attempt, p.Of)
	}
	return fmt.Sprintf("attempt %d", p.Attempt)
}

func airText(p *picture, u units.Units) string {
	text := "air temperature not set"
	if !math.IsNaN(p.Celsius) {
		text = u.Celsius(p.Celsius)
	}
	if !math.IsNaN(p.AltitudeM) {
		text += " · " + u.Metres(p.AltitudeM)
	}
	return text
}

var headType = panel.Title.Sized(24)

// headEnd is where an end of the line at the top may be pressed.
func (v *view) headEnd(right bool) panel.Rect {
	const w, h = 380, 54 // the clock begins below
	if right {
		return panel.Rect{X: v.w - edge + 14 - w, Y: 12, W: w, H: h}
	}
	return panel.Rect{X: edge - 14, Y: 12, W: w, H: h}
}

func (v *view) headPlates(s headState) {
	if s.board {
		v.plates = append(v.plates, plate{at: v.headEnd(false), does: doesFleet})
	}
	if s.air {
		v.plates = append(v.plates, plate{at: v.headEnd(true), does: doesAir})
	}
}

func (v *view) paintHead(p *panel.Pen, s headState) {
	t := headType.Weighted(fonts.WeightSemiBold)
	if s.board {
		r := v.headEnd(false)
		r.W = min(r.W, p.Measure(s.left, t)+28)
		p.Box(r, 10, p.Raised, p.Line, 1.5)
	}
	if s.air {
		r := v.headEnd(true)
		w := min(r.W, p.Measure(s.right, t)+28)
		p.Box(panel.Rect{X: r.X + r.W - w, Y: r.Y, W: w, H: r.H}, 10, p.Raised, p.Line, 1.5)
	}
	room := v.headEnd(true).W - 28
	p.Text(s.left, edge, 50, panel.Start, p.Fit(s.left, t, room, 14), p.Ink2)
	p.Text(s.middle, v.w/2, 50, panel.Middle, headType, p.Ink)
	p.Text(s.right, v.w-edge, 50, panel.End, p.Fit(s.right, t, room, 14), p.Ink2)
}

// footState is the line at the foot: the standing caution, what is said, and what
// can be undone.
type footState struct {
	caption, notice string
	undo, free      bool
	open            bool // a page is
	timed           bool // and no page may be
	typing          bool // other keys are letters
	dress           string
}

// footKey is a key that the foot names, and that may be pressed there.
type footKey struct {
	key, text string
	does      deed
}

// keys are those of the foot, from the right.
func (s footState) keys() []footKey {
	leave := footKey{"Esc", "leave", doesEscape}
	switch {
	case s.typing:
		return []footKey{{"Esc", "cancel", doesEscape}}
	case s.open:
		leave.text = "close"
	}
	return []footKey{leave, {"H", "help", doesHelp}, {"N", s.dress, doesDress}}
}

// nextDress is what N leads to.
func (v *view) nextDress() string {
	all := theme.All()
	for i, d := range all {
		if d.Name == v.tokens.Name {
			return strings.ToLower(all[(i+1)%len(all)].Name)
		}
	}
	return ""
}

// undoAt is where the last press may be taken back with the pointer.
func (v *view) undoAt() panel.Rect {
	const w = 272
	return panel.Rect{X: v.w - edge - w, Y: v.rule + 45, W: w, H: 32}
}

// footKeyAt is where a key of the foot may be pressed, counted from the right.
func (v *view) footKeyAt(i int) panel.Rect {
	const w, apart = 124, 10
	return panel.Rect{X: v.w - edge - w - float64(i)*(w+apart), Y: v.rule + 7, W: w, H: 34}
}

// footAround is the keys of the foot with the room in which one is just missed.
func (v *view) footAround() panel.Rect {
	const near = 12
	last, first := v.footKeyAt(0), v.footKeyAt(len(footState{}.keys())-1)
	return panel.Rect{X: first.X, Y: first.Y, W: last.X + last.W - first.X, H: first.H}.Inset(-near)
}

func (v *view) paintFoot(p *panel.Pen, s footState) {
	y, t := v.rule+34, panel.Body.Sized(20)
	room := v.w - 2*edge
	if s.undo {
		room -= v.undoAt().W + 20
	}
	notice := s.noticed(p, t, v.footKeyAt(len(footState{}.keys())-1).X-16-edge, room)
	if len(notice) > 1 {
		y -= 9 // which leaves room for a second line
	}
	p.Text("Your handbook rules; this only keeps time.", edge, y, panel.Start, t, p.Ink3)
	for i, k := range s.keys() {
		r, ink := v.footKeyAt(i), p.Ink3
		if s.free {
			p.Box(r, 8, p.Raised, p.Line, 1.5)
			ink = p.Ink2
		} else if k.does == doesEscape || k.does == doesHelp && s.timed {
			continue // it would lose what is timed, or cover it
		}
		p.Text(k.key+"  "+k.text, r.X+r.W/2, r.Y+24, panel.Middle, t, ink)
	}
	if s.undo {
		const undo = "U  undo, for two seconds"
		r := v.undoAt()
		p.Box(r, 8, p.Raised, p.Now, 2)
		p.Text(undo, r.X+r.W/2, r.Y+22, panel.Middle, p.Fit(undo, panel.Title.Sized(19), r.W-20, 12), p.Now)
	}
	y = v.rule + 67
	switch {
	case s.caption != "":
		text := "“" + s.caption + "”"
		p.Speaker(edge+14, y-8, 26, p.Ink3)
		p.Text(text, edge+40, y, panel.Start, p.Fit(text, panel.Title.Sized(23), room-40, 13), p.Ink2)
	case len(notice) > 0:
		y -= 15 * float64(len(notice)-1)
		p.Triangle(edge+9, y-7, 18, p.Caution)
		for _, line := range notice {
			p.Text(line, edge+noticeIn, y, panel.Start, t, p.Ink)
			y += 25
		}
	}
}

// noticeIn leaves room for the mark before a notice.
const noticeIn = 28

// noticed is the notice in the lines that it takes, of which there is room for two:
// the upper one ends before the keys of the foot. What is said goes before it.
func (s footState) noticed(p *panel.Pen, t panel.Type, upper, lower float64) []string {
	if s.caption != "" || s.notice == "" {
		return nil
	}
	if lines := p.Wrap(s.notice, t, lower-noticeIn); len(lines) == 1 {
		return lines
	}
	lines := p.Wrap(s.notice, t, upper-noticeIn)
	if len(lines) == 1 { // where an undo makes the lower one the shorter
		return lines
	}
	return []string{lines[0], p.Clip(strings.Join(lines[1:], " "), t, lower-noticeIn)}
}

// nextState is what stands below the button.
type nextState struct {
	over, head, lines string
	rows              int // of chips below it
}

func (v *view) paintNext(p *panel.Pen, s nextState) {
	r := v.textAt
	room := r.H
	if s.rows > 0 {
		room -= float64(s.rows) * (chipHigh + chipGap)
	}
	over, below := 26.0, 10.0
	if s.rows > 0 { // which leave no room to spare
		over, below = 20, 8
	}
	y := r.Y + over
	p.Text(s.over, r.X+2, y, panel.Start, panel.Group.Sized(21).Weighted(fonts.WeightSemiBold), p.Ink3)
	head := panel.Title.Sized(34)
	for head.Size > 22 && len(p.Wrap(s.head, head, r.W)) > 1 && (s.rows > 0 || len(p.Wrap(s.head, head, r.W)) > 3 || head.Size > 28) {
		head.Size--
	}
	leading := head.Size * 1.18
	y = p.Paragraph(s.head, r.X, y+below+head.Size*0.85, r.W, leading, 3, panel.Start, head, p.Ink)
	if s.rows > 0 {
		y -= 6
	}
	if s.lines == "" {
		return
	}
	body := panel.Body.Sized(25)
	fits := func() bool { // with the room below that letters have which hang down, and a gap
		last := y + 2 + (float64(len(p.Wrap(s.lines, body, r.W)))-1)*body.Size*1.3
		return last+body.Size*0.25+10 <= r.Y+room
	}
	for body.Size > 17 && !fits() {
		body.Size--
	}
	for _, l := range strings.Split(s.lines, "\n") {
		y = p.Paragraph(l, r.X, y+2, r.W, body.Size*1.3, 0, panel.Start, body, p.Ink2)
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

// quarters of a degree from twelve o'clock.
func quarters(elapsed, scale time.Duration) int16 {
	if scale <= 0 {
		return 0
	}
	return int16(math.Round(min(max(float64(elapsed)/float64(scale), 0), 1) * 360 * 4))
}

var transparent = color.NRGBA{}
