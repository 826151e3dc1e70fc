package hands

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"kickover/procedure"
)

// LineError is what is wrong with one line.
type LineError struct {
	Line  int
	Value string // what stands there, empty when it is the whole line
	Wrong string // what is wrong with it
	Mend  string // what to write instead
}

func (e *LineError) Error() string {
	text := fmt.Sprintf("line %d: ", e.Line)
	if e.Value != "" {
		text += e.Value + ": "
	}
	return text + e.Wrong + "; " + e.Mend
}

// mostErrors bounds how many wrong lines are told of.
const mostErrors = 100

// longestLine bounds a line, in bytes.
const longestLine = 1 << 16

// What no run comes to: acts, and the time of one. A start with every rest in it
// takes an hour or two and some hundreds of acts.
const (
	mostActs  = 200_000
	latestAct = 7 * 24 * time.Hour
)

// Parse reads acts and gives them in order of time; acts at the same time keep
// the order of their lines. The events have no sequence number yet, and a report
// has no value: the run gives both. The error joins a *LineError for each line
// that is wrong, and then there are no events.
func Parse(r io.Reader, aircraft *procedure.Aircraft) ([]procedure.Event, error) {
	var events []procedure.Event
	var wrong []error
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, longestLine)
	number := 0
	for lines.Scan() && len(wrong) < mostErrors {
		number++
		text := bytes.TrimSpace(bytes.TrimPrefix(lines.Bytes(), []byte("\ufeff")))
		if len(text) == 0 {
			continue
		}
		if len(events) == mostActs {
			wrong = append(wrong, &LineError{Line: number, Wrong: fmt.Sprintf("more than %d acts", mostActs), Mend: "write the acts of one run"})
			break
		}
		e, err := parseLine(text, aircraft)
		if err != nil {
			err.Line = number
			wrong = append(wrong, err)
			continue
		}
		events = append(events, e)
	}
	if err := lines.Err(); errors.Is(err, bufio.ErrTooLong) {
		wrong = append(wrong, &LineError{Line: number + 1, Wrong: fmt.Sprintf("longer than %d bytes", longestLine), Mend: "write one act a line"})
	} else if err != nil {
		return nil, fmt.Errorf("read hands: %w", err)
	}
	if len(wrong) > 0 {
		return nil, errors.Join(wrong...)
	}
	slices.SortStableFunc(events, func(a, b procedure.Event) int { return cmp.Compare(a.At, b.At) })
	return events, nil
}

// acts are the keys that say what was done; a line has exactly one.
var acts = []string{"control", "look", "call", "report", "choose"}

const example = `write for example {"at":"1.2s","control":"battery","to":"on"}`

func parseLine(text []byte, aircraft *procedure.Aircraft) (e procedure.Event, _ *LineError) {
	fields, err := parseObject(text)
	if err != nil {
		return e, &LineError{Wrong: err.Error(), Mend: example}
	}
	act := ""
	for key, raw := range fields {
		switch {
		case slices.Contains(acts, key):
			if act != "" {
				return e, &LineError{Wrong: "two acts on one line", Mend: "give each a line of its own"}
			}
			act = key
		case key != "at" && key != "to":
			return e, &LineError{Value: fmt.Sprintf("%q:%s", key, raw), Wrong: "unknown key", Mend: "a line has at, one of " + strings.Join(acts, ", ") + ", and a control has to"}
		}
	}
	if act == "" {
		return e, &LineError{Wrong: "no act", Mend: "say one of " + strings.Join(acts, ", ")}
	}
	if _, given := fields["to"]; given != (act == "control") {
		return e, &LineError{Wrong: "a control and to belong together", Mend: example}
	}
	var bad *LineError
	if e.At, bad = parseAt(fields["at"]); bad != nil {
		return e, bad
	}
	subject, isText := textOf(fields[act])
	if !isText || subject == "" {
		return e, &LineError{Value: string(fields[act]), Wrong: act + " wants a name in quotes", Mend: example}
	}
	e.Subject = subject
	switch act {
	case "control":
		e.Kind = procedure.EventMove
		e.Value, bad = parseMove(subject, fields["to"], aircraft)
	case "look":
		e.Kind = procedure.EventLook
		bad = oneOf(subject, "nowhere to look", []string{procedure.LookLeft, procedure.LookAhead, procedure.LookRight})
	case "call":
		e.Kind = procedure.EventCall
		bad = oneOf(subject, "not a call", []string{procedure.CallClear, procedure.CallReady,
			procedure.CallAnswered, procedure.CallIgnored, procedure.CallNext, procedure.CallBack})
	case "report":
		e.Kind = procedure.EventReport
		bad = oneOf(subject, "not an instrument of the "+aircraft.Name, instrumentNames(aircraft))
	case "choose":
		e.Kind = procedure.EventChoose // the flow knows its choices, the aircraft does not
	}
	return e, bad
}

// parseObject reads one flat JSON object and refuses a key that comes twice,
// which encoding/json would let pass.
func parseObject(text []byte) (map[string]json.RawMessage, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	if open, err := d.Token(); err != nil || open != json.Delim('{') {
		return nil, errors.New("not a JSON object")
	}
	fields := map[string]json.RawMessage{}
	for d.More() {
		token, err := d.Token()
		key, isText := token.(string)
		if err != nil || !isText {
			return nil, errors.New("not a JSON object")
		}
		if _, again := fields[key]; again {
			return nil, fmt.Errorf("%q stands there twice", key)
		}
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return nil, errors.New("not a JSON object")
		}
		fields[key] = raw
	}
	if _, err := d.Token(); err != nil {
		return nil, errors.New("the object does not end")
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("something follows the object")
	}
	return fields, nil
}

func parseAt(raw json.RawMessage) (time.Duration, *LineError) {
	const mend = `write the time since the run began, as "1.2s", "450ms" or "1m5s"`
	text, isText := textOf(raw)
	if !isText {
		if raw == nil {
			return 0, &LineError{Wrong: "no time", Mend: mend}
		}
		return 0, &LineError{Value: string(raw), Wrong: "not a time", Mend: mend}
	}
	at, err := time.ParseDuration(text)
	switch {
	case err != nil:
		return 0, &LineError{Value: string(raw), Wrong: "not a time", Mend: mend}
	case at < 0:
		return 0, &LineError{Value: string(raw), Wrong: "before the run begins", Mend: mend}
	case at > latestAct:
		return 0, &LineError{Value: string(raw), Wrong: "more than a week after the run begins", Mend: mend}
	}
	return at, nil
}

func parseMove(name string, raw json.RawMessage, aircraft *procedure.Aircraft) (float64, *LineError) {
	control, ok := aircraft.Control(procedure.ControlID(name))
	if !ok {
		return 0, oneOf(name, "not a control of the "+aircraft.Name, controlNames(aircraft))
	}
	if control.Kind != procedure.Lever {
		return parseDetent(control, raw)
	}
	at, ok := leverPosition(control, raw)
	if !ok {
		return 0, &LineError{Value: string(raw), Wrong: name + " cannot go there", Mend: "write " + leverMend(control)}
	}
	if !(at >= 0 && at <= control.Travel) {
		return 0, &LineError{Value: string(raw), Wrong: "beyond the travel of " + name, Mend: "write " + leverMend(control)}
	}
	return float64(at), nil
}

func parseDetent(control *procedure.Control, raw json.RawMessage) (float64, *LineError) {
	text, isText := textOf(raw)
	if !isText {
		return 0, &LineError{Value: string(raw), Wrong: string(control.ID) + " is a switch", Mend: "write one of " + strings.Join(control.Detents, ", ")}
	}
	at, ok := control.Detent(text)
	if !ok {
		return 0, oneOf(text, "not a position of "+string(control.ID), control.Detents)
	}
	return float64(at), nil
}

// leverPosition reads a number of a lever without a scale, a distance on one
// with a scale, or a name of a place along either.
func leverPosition(control *procedure.Control, raw json.RawMessage) (procedure.Position, bool) {
	text, isText := textOf(raw)
	if !isText {
		at, err := strconv.ParseFloat(string(raw), 64)
		return procedure.Position(at), err == nil && control.Unit == ""
	}
	if mark, ok := control.Mark(procedure.MarkID(text)); ok {
		return mark.At, true
	}
	switch text {
	case "":
		return 0, false
	case control.Low:
		return 0, true
	case control.High:
		return control.Travel, true
	}
	number, unit, _ := strings.Cut(text, " ")
	at, err := strconv.ParseFloat(number, 64)
	if err != nil || control.Unit != "mm" {
		return 0, false
	}
	switch unit {
	case "mm":
		return procedure.Position(at), true
	case "in":
		return procedure.Position(at * 25.4), true
	}
	return 0, false
}

// leverMend says what may be written for a lever.
func leverMend(control *procedure.Control) string {
	travel := strconv.FormatFloat(float64(control.Travel), 'g', -1, 64)
	may := []string{"a number from 0 to " + travel}
	if control.Unit != "" {
		inches := strconv.FormatFloat(float64(control.Travel)/25.4, 'f', 2, 64)
		may = []string{fmt.Sprintf(`a distance from its stop, "0 mm" to "%s mm", or "0 in" to "%s in"`, travel, inches)}
	}
	for _, name := range append([]string{control.Low, control.High}, markNames(control)...) {
		if name != "" {
			may = append(may, strconv.Quote(name))
		}
	}
	return strings.Join(may, ", or ")
}

func oneOf(text, wrong string, may []string) *LineError {
	if slices.Contains(may, text) {
		return nil
	}
	return &LineError{Value: strconv.Quote(text), Wrong: wrong, Mend: "write one of " + strings.Join(may, ", ")}
}

func textOf(raw json.RawMessage) (text string, ok bool) {
	if len(raw) == 0 || raw[0] != '"' {
		return "", false
	}
	return text, json.Unmarshal(raw, &text) == nil
}

func controlNames(a *procedure.Aircraft) (names []string) {
	for _, c := range a.Controls {
		names = append(names, string(c.ID))
	}
	return names
}

func instrumentNames(a *procedure.Aircraft) (names []string) {
	for _, i := range a.Instruments {
		names = append(names, string(i.ID))
	}
	return names
}

func markNames(c *procedure.Control) (names []string) {
	for _, m := range c.Marks {
		names = append(names, string(m.ID))
	}
	return names
}
