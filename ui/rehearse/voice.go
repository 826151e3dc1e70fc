package rehearse

import (
	"slices"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/ui/panel"
)

// What is said aloud has two buttons at the foot of the step strip, so that a
// mouse can say it at any moment, as the keys can.

// voiceHigh is the room that the row takes at the strip's foot.
const voiceHigh = 52

// voiceState is which of the two the present step asks for; in Evaluate neither.
type voiceState struct{ ready, clear bool }

// voiced reports whether a student has anything to say.
func voiced(n *rehearsal.Snapshot) bool {
	return !n.Done && (n.Phase == procedure.Perform || n.Phase == procedure.Evaluate)
}

func (v *view) showVoice(n *rehearsal.Snapshot, silent bool) {
	if !voiced(n) {
		v.voice.Hide()
		return
	}
	var s voiceState
	if st := present(n); st != nil && !silent {
		s.ready = st.Kind == procedure.StepBrief
		s.clear = st.Kind == procedure.StepPropClear && !n.Area.Called && !slices.ContainsFunc(n.Area.Sectors[:], unseen)
	}
	v.voice.Show(s)
}

// unseen reports whether a third has still to be looked at, or somebody is there.
func unseen(q rehearsal.SectorView) bool { return !q.Looked || q.Occupied && q.Seen }

func (v *view) voiceRow() panel.Rect {
	s := v.parts.strip
	return panel.Rect{X: s.X + 5, Y: s.Y + s.H - voiceHigh, W: s.W - 10, H: voiceHigh}
}

func (v *view) voicePlates() []plate {
	const gap = 8
	r, s := v.voiceRow().Inset(gap), v.voice.Value()
	at := panel.Rect{X: r.X, Y: r.Y, W: r.W * 0.53, H: 34}
	ready := plate{panel.Plate{At: at, Text: "Ready", Key: readyKey, Main: s.ready}, actReady, 0}
	at.X, at.W = at.X+at.W+gap, r.W-at.W-gap
	return []plate{ready, {panel.Plate{At: at, Text: "CLEAR", Key: callKey, Main: s.clear}, actClear, 0}}
}

func (v *view) paintVoice(p *panel.Pen, _ voiceState) {
	p.Fill(v.voiceRow(), p.Panel)
	for _, b := range v.voicePlates() {
		b.Paint(p)
	}
}

// mouseHint tells whoever flies by mouse how one hand does for two, from the brief
// until the mixture is caught; in Evaluate only once START is held.
func mouseHint(n *rehearsal.Snapshot, h *hands) string {
	const how = "With START held: wheel up, or the right button, is mixture forward"
	flies, holds := h.byMouse()
	catches := func(st rehearsal.StepView) bool { return st.Step.Kind == procedure.StepCatch }
	st := present(n)
	if !flies || st == nil || !voiced(n) || !slices.ContainsFunc(n.Steps, catches) {
		return ""
	}
	switch st.Kind {
	case procedure.StepBrief, procedure.StepCrank, procedure.StepCatch:
		if holds || n.Phase != procedure.Evaluate {
			return how
		}
	}
	return ""
}
