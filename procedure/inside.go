package procedure

// Subjects of readings that no gauge shows: what was in the cylinders and in
// the starter, recorded with the run so that a debrief can say why it did or did
// not start without simulating it again. No verdict depends on them.
const (
	InsideVapour  InstrumentID = "inside.vapour"  // fuel vapour in the charge, % by volume
	InsideWet     InstrumentID = "inside.wet"     // liquid fuel lying in the cylinders, g
	InsideFilm    InstrumentID = "inside.film"    // fuel on the walls of the intake ports, g
	InsideFiring  InstrumentID = "inside.firing"  // share of recent charges that fired, 0 to 1
	InsideWinding InstrumentID = "inside.winding" // starter winding, degC
	InsideFuel    InstrumentID = "inside.fuel"    // fuel let through since the run began, g
)
