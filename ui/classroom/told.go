package classroom

import (
	"fmt"
	"strings"

	"kickover/procedure/classroom"
	"kickover/procedure/powerplant"
)

// toldWords says who has what the instructor ordered last. Open is where it may be
// named: a board may be on the projector, and the class is not to learn there that
// something is wrong now.
func toldWords(t classroom.Told, open bool) string {
	what := orderWords(t.Order, open)
	reached := len(t.Have) + len(t.Not)
	if reached+len(t.Away) == 0 {
		return ""
	}
	words := fmt.Sprintf("%d of %d stations have it", len(t.Have), reached)
	switch {
	case reached == 0:
		words = "nobody has it yet"
	case reached == 1 && len(t.Have) == 1:
		words = fmt.Sprintf("station %d has it", t.Have[0])
	case reached == 1:
		words = fmt.Sprintf("station %d does not have it yet", t.Not[0])
	case len(t.Not) > 0:
		words += ", not yet " + numbered(t.Not)
	}
	if len(t.Away) > 0 {
		words += "; away: " + numbered(t.Away)
	}
	return what + ": " + words
}

// numbered lists stations by their numbers, as many as are read at a glance.
func numbered(stations []int) string {
	const few = 6
	var list []string
	for i, n := range stations {
		if i == few {
			return strings.Join(list, ", ") + fmt.Sprintf(" and %d more", len(stations)-few)
		}
		list = append(list, fmt.Sprint(n))
	}
	return strings.Join(list, ", ")
}

// orderWords names an order.
func orderWords(o classroom.Order, open bool) string {
	switch o.Kind {
	case classroom.OrderPause:
		return "Pause"
	case classroom.OrderGo:
		return "Go on"
	case classroom.OrderEnd:
		return "The end"
	case classroom.OrderBegin:
		return "Go"
	case classroom.OrderSay:
		return "Your line"
	}
	if !open {
		return "Your order"
	}
	if o.Kind == classroom.OrderFault {
		for _, f := range powerplant.Faults() {
			if f.Fault == o.Fault {
				return f.Name
			}
		}
		return string(o.Fault)
	}
	for _, w := range walkers {
		switch {
		case w.sector != o.Sector:
		case o.Gone:
			return w.name + ": out again"
		default:
			return w.name + ": " + w.who
		}
	}
	return "Your order"
}
