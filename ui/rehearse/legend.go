package rehearse

import (
	"fyne.io/fyne/v2"

	"kickover/procedure"
)

// Legend is what a key does, in the few words that fit on its cap.
type Legend struct {
	Key  fyne.KeyName
	Does string
	Hand procedure.Hand // whose control it works; empty is neither's
	Held bool           // it works as long as it is down
}

// legends are the words for the acts; an empty one depends on the aircraft.
var legends = map[act]Legend{
	actBrakes:    {Does: "brakes"},
	actStart:     {Does: "START", Hand: procedure.Left, Held: true},
	actTurnBack:  {Does: "ignition back", Hand: procedure.Left},
	actTurnOn:    {Does: "ignition on", Hand: procedure.Left},
	actClear:     {Does: "call clear"},
	actReady:     {Does: "ready"},
	actReport:    {Does: "report gauge"},
	actSkip:      {Does: "skip the rest"},
	actAnswer:    {Does: "answer"},
	actIgnore:    {Does: "put off"},
	actNext:      {Does: "next step"},
	actBack:      {Does: "step back"},
	actOpen:      {Does: "throttle open", Hand: procedure.Right, Held: true},
	actClose:     {Does: "throttle close", Hand: procedure.Right, Held: true},
	actMarkUp:    {Does: "throttle mark up", Hand: procedure.Right},
	actMarkDown:  {Does: "throttle mark down", Hand: procedure.Right},
	actRich:      {Does: "mixture rich", Hand: procedure.Right},
	actCut:       {Does: "mixture cut-off", Hand: procedure.Right},
	actEnrich:    {Does: "mixture richer", Hand: procedure.Right, Held: true},
	actLean:      {Does: "mixture leaner", Hand: procedure.Right, Held: true},
	actThirdUp:   {Does: "third lever on", Hand: procedure.Right},
	actThirdDown: {Does: "third lever back", Hand: procedure.Right},
	actLeftUp:    {Does: "left lever out", Hand: procedure.Left},
	actLeftDown:  {Does: "left lever in", Hand: procedure.Left},
	actPause:     {Does: "pause"},
	actLeave:     {Does: "leave"},
	actEscape:    {Does: "pause, leave"},
}

// Legends are what the keys do in an aircraft, from the very map that they work
// by. A key whose control the aircraft lacks is left out.
func Legends(a *procedure.Aircraft) []Legend {
	var out []Legend
	for key, b := range keymap {
		l := legends[b.act]
		l.Key = key
		switch b.act {
		case actRocker:
			c, ok := nthSwitch(a, b.arg)
			if !ok {
				continue
			}
			l.Does, l.Hand = c.Name, c.Hand
		case actLook:
			l.Does = []string{"look left", "look ahead", "look right"}[b.arg]
		case actChoose:
			l.Does = []string{"1st answer", "2nd answer", "3rd answer", "4th answer"}[b.arg]
		case actThirdUp, actThirdDown, actLeftUp, actLeftDown:
			c, ok := leverBeside(a, l.Hand)
			if !ok {
				continue
			}
			l.Does = c.Name + map[bool]string{true: ": " + c.High, false: ": " + c.Low}[b.act == actThirdUp || b.act == actLeftUp]
		case actRich, actCut, actEnrich, actLean:
			if _, ok := a.Control(procedure.ControlMixture); !ok {
				continue
			}
		}
		out = append(out, l)
	}
	return out
}

// nthSwitch is the aircraft's switch that a number key works.
func nthSwitch(a *procedure.Aircraft, n int) (procedure.Control, bool) {
	for _, c := range a.Controls {
		if c.Kind != procedure.Switch || c.ID == procedure.ControlBrakes {
			continue
		}
		if n == 0 {
			return c, true
		}
		n--
	}
	return procedure.Control{}, false
}

// leverBeside is the lever beside throttle and mixture that a hand has, as a hand
// primer.
func leverBeside(a *procedure.Aircraft, hand procedure.Hand) (procedure.Control, bool) {
	for _, c := range a.Controls {
		if c.Kind == procedure.Lever && c.Hand == hand && c.ID != procedure.ControlThrottle && c.ID != procedure.ControlMixture {
			return c, true
		}
	}
	return procedure.Control{}, false
}
