package classroom

import "slices"

// SetPlan keeps what the instructor means to drill, in this order. It changes
// nothing for a drill that was announced.
func (i *Instructor) SetPlan(plan []Situation) error {
	plan = slices.Clone(plan)
	i.mu.Lock()
	i.class.Plan = plan
	i.mu.Unlock()
	return i.book.putPlan(plan)
}

// Drilled counts how often a situation was drilled so far.
func Drilled(s Situation, drills []Drill) int {
	n := 0
	for _, d := range drills {
		if d.Situation.same(s) {
			n++
		}
	}
	return n
}

// same compares what is drilled, whatever it is called.
func (s Situation) same(o Situation) bool {
	return s.Aircraft == o.Aircraft && s.Flow == o.Flow && s.Phase == o.Phase && s.Panel == o.Panel &&
		s.Conditions == o.Conditions && s.Hidden == o.Hidden && slices.Equal(s.Faults, o.Faults)
}
