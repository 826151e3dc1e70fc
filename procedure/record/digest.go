package record

import (
	"encoding/binary"
	"time"

	"kickover/procedure"
)

// Step is what became of one step of a run: what a look at many runs needs to
// know of each, so that none has to be replayed for it.
type Step struct {
	ID          procedure.StepID
	Title       string
	Kind        procedure.StepKind
	Criticality int
	Verdict     procedure.Verdict
	Window      procedure.Window
	Begin       time.Duration    // since the run began, when it was due
	Elapsed     time.Duration    // what the window judged; zero when it was not done
	Hesitation  time.Duration    // from Begin to the first act for it; negative when unknown
	TakenFor    procedure.StepID // what was done when this was due, if it was done out of order
}

// Steps are stored packed: a run's are read together or not at all, a student's
// are read by the thousand, and a row for each step took ten times as long to
// read. The first byte is the layout's version. Then come, step by step, its
// texts, each after its length, and its numbers, all as varints of
// encoding/binary.
const digestVersion = 1

// packSteps gives what is stored for steps, nil for none.
func packSteps(steps []Step) []byte {
	if len(steps) == 0 {
		return nil
	}
	packed := binary.AppendUvarint([]byte{digestVersion}, uint64(len(steps)))
	for _, s := range steps {
		for _, text := range []string{string(s.ID), s.Title, string(s.Kind), string(s.Verdict), string(s.TakenFor)} {
			packed = binary.AppendUvarint(packed, uint64(len(text)))
			packed = append(packed, text...)
		}
		for _, number := range []int64{
			int64(s.Criticality), int64(s.Window.Min), int64(s.Window.Ideal), int64(s.Window.Max),
			int64(s.Begin), int64(s.Elapsed), int64(s.Hesitation),
		} {
			packed = binary.AppendVarint(packed, number)
		}
	}
	return packed
}

// unpacker reads what packSteps wrote. Equal texts come back as one string, since
// a student's runs repeat the same few.
type unpacker struct {
	rest  []byte
	bad   bool
	texts map[string]string
}

// unpack gives nil for what it cannot read, and for a newer layout: steps can be
// had again from a replay.
func (u *unpacker) unpack(packed []byte) []Step {
	if len(packed) == 0 || packed[0] != digestVersion {
		return nil
	}
	u.rest, u.bad = packed[1:], false
	count := u.unsigned()
	if count > uint64(len(u.rest)) {
		return nil
	}
	steps := make([]Step, count)
	for i := range steps {
		s := &steps[i]
		s.ID, s.Title, s.Kind = procedure.StepID(u.text()), u.text(), procedure.StepKind(u.text())
		s.Verdict, s.TakenFor = procedure.Verdict(u.text()), procedure.StepID(u.text())
		s.Criticality = int(u.signed())
		s.Window = procedure.Window{Min: u.duration(), Ideal: u.duration(), Max: u.duration()}
		s.Begin, s.Elapsed, s.Hesitation = u.duration(), u.duration(), u.duration()
	}
	if u.bad || len(u.rest) > 0 {
		return nil
	}
	return steps
}

func (u *unpacker) unsigned() uint64 {
	v, n := binary.Uvarint(u.rest)
	u.skip(n)
	return v
}

func (u *unpacker) signed() int64 {
	v, n := binary.Varint(u.rest)
	u.skip(n)
	return v
}

func (u *unpacker) duration() time.Duration { return time.Duration(u.signed()) }

// skip moves on by a number's bytes; none or fewer means that there is none.
func (u *unpacker) skip(n int) {
	if n <= 0 {
		u.rest, u.bad = nil, true
		return
	}
	u.rest = u.rest[n:]
}

func (u *unpacker) text() string {
	length := u.unsigned()
	if length > uint64(len(u.rest)) {
		u.rest, u.bad = nil, true
		return ""
	}
	raw := u.rest[:length]
	u.rest = u.rest[length:]
	if known, ok := u.texts[string(raw)]; ok {
		return known
	}
	if u.texts == nil {
		u.texts = map[string]string{}
	}
	text := string(raw)
	u.texts[text] = text
	return text
}
