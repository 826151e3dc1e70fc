package hands

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"kickover/procedure"
)

// act is a line as it is written; the order of its keys is that of the fields.
type act struct {
	At      string `json:"at"`
	Control string `json:"control,omitempty"`
	To      any    `json:"to,omitempty"`
	Look    string `json:"look,omitempty"`
	Call    string `json:"call,omitempty"`
	Report  string `json:"report,omitempty"`
	Choose  string `json:"choose,omitempty"`
}

// Write writes what the student did in a run, one line each; the events that are
// not the student's are passed over. It fails on a control that the aircraft
// does not have, or a position that the control cannot take.
func Write(w io.Writer, events []procedure.Event, aircraft *procedure.Aircraft) error {
	buffered := bufio.NewWriter(w)
	out := json.NewEncoder(buffered)
	out.SetEscapeHTML(false)
	for _, e := range events {
		line := act{At: e.At.String()}
		switch e.Kind {
		case procedure.EventMove:
			to, err := positionText(aircraft, e)
			if err != nil {
				return fmt.Errorf("write hands: event %d: %w", e.Seq, err)
			}
			line.Control, line.To = e.Subject, to
		case procedure.EventLook:
			line.Look = e.Subject
		case procedure.EventCall:
			line.Call = e.Subject
		case procedure.EventReport:
			line.Report = e.Subject
		case procedure.EventChoose:
			line.Choose = e.Subject
		default:
			continue
		}
		if err := out.Encode(line); err != nil {
			return fmt.Errorf("write hands: event %d: %w", e.Seq, err)
		}
	}
	if err := buffered.Flush(); err != nil {
		return fmt.Errorf("write hands: %w", err)
	}
	return nil
}

// positionText is where a control was put, so that it is read back to the bit.
func positionText(aircraft *procedure.Aircraft, e procedure.Event) (any, error) {
	control, ok := aircraft.Control(procedure.ControlID(e.Subject))
	if !ok {
		return nil, fmt.Errorf("the %s has no control %q", aircraft.Name, e.Subject)
	}
	beyond := errors.New("the " + e.Subject + " cannot stand at " + strconv.FormatFloat(e.Value, 'g', -1, 64))
	if control.Kind != procedure.Lever {
		i := int(e.Value)
		if float64(i) != e.Value || i < 0 || i >= len(control.Detents) {
			return nil, beyond
		}
		return control.Detents[i], nil
	}
	if math.IsNaN(e.Value) || e.Value < 0 || e.Value > float64(control.Travel) {
		return nil, beyond
	}
	if control.Unit == "" {
		return e.Value, nil
	}
	return strconv.FormatFloat(e.Value, 'g', -1, 64) + " " + control.Unit, nil
}
