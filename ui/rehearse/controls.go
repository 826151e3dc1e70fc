package rehearse

import (
	"kickover/procedure"
	"kickover/ui/panel"
)

// leverRoom is what a lever without named marks needs, in units.
const leverRoom = 88

func (p *parts) fitControls(a *procedure.Aircraft) {
	var switches, left, right []procedure.Control
	var brake, key *procedure.Control
	for i, k := range a.Controls {
		switch {
		case k.ID == procedure.ControlBrakes:
			brake = &a.Controls[i]
		case k.Kind == procedure.Lever && k.Hand == procedure.Left:
			left = append(left, k)
		case k.Kind == procedure.Lever:
			right = append(right, k)
		case k.Kind == procedure.Rotary:
			key = &a.Controls[i]
		default:
			switches = append(switches, k)
		}
	}
	c := p.controls
	p.half = c.W / 2
	if len(left) > 0 || len(switches) > mostRockers {
		p.half = c.W * 0.56
	}
	lane := float64(len(left)) * leverRoom
	p.fitLeft(switches, brake, key, len(left) > 0, panel.Rect{X: c.X, Y: c.Y, W: p.half - lane, H: c.H})
	p.fitLevers(left, panel.Rect{X: c.X + p.half - lane - 6, Y: c.Y + 22, W: lane, H: c.H - 26})
	p.fitLevers(right, panel.Rect{X: c.X + p.half, Y: c.Y + 22, W: c.W - p.half, H: c.H - 26})
}

// fitLeft places the switches, the brakes and the key, which the left hand and
// the feet work. Beside is that levers stand there too, and leave less room.
func (p *parts) fitLeft(switches []procedure.Control, brake, key *procedure.Control, beside bool, r panel.Rect) {
	if key != nil {
		p.key = &panel.KeySwitch{Control: *key, Key: startKey, Step: turnKeys,
			At: panel.Rect{X: r.X + 22, Y: r.Y + r.H - 68, W: r.W - 44, H: 38}}
	}
	large := switches
	lane := 0.0
	if len(switches) > mostRockers {
		large, lane = switches[:mostRockers], 80
		if beside { // whatever the size: a part has its cell for as long as the screen is there
			large = switches[:mostRockers-1]
		}
	}
	n := len(large)
	if brake != nil {
		n++
	}
	pitch := (r.W - 36 - lane) / float64(max(n, 3))
	w, h := min(62, pitch-14), min(r.H-210, 120)
	at := func(i int) panel.Rect {
		return panel.Rect{X: r.X + 18 + pitch*(float64(i)+0.5) - w/2, Y: r.Y + 64, W: w, H: h}
	}
	for i, k := range large {
		p.rockers = append(p.rockers, panel.Rocker{Control: k, At: at(i), Key: rockerKey(i)})
	}
	if brake != nil {
		p.brake = &panel.Brake{Control: *brake, At: at(len(large)), Key: brakeKey}
	}
	p.fitToggles(switches, len(large), panel.Rect{X: r.X + r.W - lane - 6, Y: r.Y + 38, W: lane, H: h + 62})
}

// mostRockers is how many switches are drawn large; the rest are seldom used.
const mostRockers = 3

// fitToggles places the switches from the first on in a column.
func (p *parts) fitToggles(switches []procedure.Control, first int, r panel.Rect) {
	n := len(switches) - first
	for i := range n {
		h := min(r.H/float64(n), 52)
		p.toggles = append(p.toggles, panel.Toggle{Control: switches[first+i], Key: rockerKey(first + i),
			At: panel.Rect{X: r.X, Y: r.Y + float64(i)*h, W: r.W, H: min(h-4, 42)}})
	}
}

func rockerKey(i int) string {
	if i < len(rockerKeys) {
		return rockerKeys[i]
	}
	return ""
}

// fitLevers places levers side by side; what is over goes to those that have
// marks with names.
func (p *parts) fitLevers(levers []procedure.Control, r panel.Rect) {
	wide := 0
	for _, l := range levers {
		if len(l.Marks) > 0 {
			wide++
		}
	}
	over := r.W - leverRoom*float64(len(levers))
	plain := min(leverRoom-8+max(over-110, 0)/2, 120)
	if wide == 0 {
		plain = r.W / float64(max(len(levers), 1))
	}
	broad := (r.W - plain*float64(len(levers)-wide)) / float64(max(wide, 1))
	x := r.X
	for _, l := range levers {
		v := panel.Lever{Control: l, Keys: leverKeys(l), At: panel.Rect{X: x, Y: r.Y, W: plain, H: r.H}}
		if len(l.Marks) > 0 {
			v.At.W, v.Notes = broad, true
			if l.ID == procedure.ControlThrottle {
				v.Snap = snapKeys
			}
		}
		x += v.At.W
		p.levers = append(p.levers, v)
	}
}

func leverKeys(l procedure.Control) []string {
	switch {
	case l.ID == procedure.ControlThrottle:
		return []string{"I", "K"}
	case l.ID == procedure.ControlMixture:
		return []string{"O", "L"}
	case l.Hand == procedure.Left:
		return []string{"E", "Q"}
	default:
		return []string{"Y", "H"}
	}
}
