package rehearsal

import (
	"kickover/procedure"
	"kickover/procedure/powerplant"
)

// Inject lets something go wrong from now on, and keeps that in the event list.
func (r *Rehearsal) Inject(f powerplant.Fault) error {
	if r.Done() {
		return nil
	}
	if err := r.plant.Inject(f); err != nil {
		return err
	}
	r.happen(procedure.Event{Kind: procedure.EventFault, At: r.physics, Subject: string(f)})
	return nil
}
