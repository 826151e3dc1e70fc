package record

import (
	"reflect"
	"testing"
	"time"

	"kickover/procedure"
)

// Whatever bytes a damaged store gives, they are steps or nothing; and steps come
// back as they were packed.
func FuzzUnpack(f *testing.F) {
	packed := packSteps([]Step{
		{ID: "pump", Title: "Boost pump", Kind: procedure.StepSet, Criticality: 2, Verdict: procedure.OutOfOrder, Hesitation: -1, TakenFor: "prime"},
		{ID: "prime", Kind: procedure.StepHold, Verdict: procedure.OnTime, Window: procedure.Window{Min: 1, Ideal: 2, Max: 3},
			Begin: 1<<62 + 1, Elapsed: time.Second, Hesitation: -1 << 62},
	})
	f.Add(packed)
	f.Add(packed[:len(packed)-1])
	f.Add([]byte{digestVersion, 0xff, 0xff, 0xff, 0xff, 0x0f})
	f.Fuzz(func(t *testing.T, text []byte) {
		steps := new(unpacker).unpack(text)
		if again := new(unpacker).unpack(packSteps(steps)); len(steps) > 0 && !reflect.DeepEqual(again, steps) {
			t.Errorf("%+v\ncame back as\n%+v", steps, again)
		}
	})
}
