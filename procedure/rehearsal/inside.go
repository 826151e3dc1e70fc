package rehearsal

import (
	"math"

	"kickover/procedure"
	"kickover/procedure/powerplant"
)

// insideQuantity is one thing that no gauge shows and the record keeps, with the
// least change worth keeping.
type insideQuantity struct {
	id         procedure.InstrumentID
	resolution float64
	value      func(powerplant.Inside, powerplant.Readings) float64
}

var insideQuantities = [...]insideQuantity{
	{procedure.InsideVapour, 0.05, vapourPercent},
	{procedure.InsideWet, 0.05, func(i powerplant.Inside, _ powerplant.Readings) float64 { return i.WetG }},
	{procedure.InsideFilm, 0.1, func(i powerplant.Inside, _ powerplant.Readings) float64 { return i.FilmLightG + i.FilmHeavyG }},
	{procedure.InsideFiring, 0.1, func(i powerplant.Inside, _ powerplant.Readings) float64 { return i.Firing }},
	{procedure.InsideWinding, 1, func(i powerplant.Inside, _ powerplant.Readings) float64 { return i.WindingC }},
	{procedure.InsideFuel, 0.1, func(i powerplant.Inside, _ powerplant.Readings) float64 { return i.FuelInG }},
}

// vapourPercent is the charge that was drawn in last while the engine turns,
// and the one that would be drawn in now while it stands.
func vapourPercent(i powerplant.Inside, r powerplant.Readings) float64 {
	const turning = 20 // rpm
	if r.RPM > turning && !math.IsNaN(i.ChargeFraction) {
		return 100 * i.ChargeFraction
	}
	return 100 * i.NowFraction
}

// insideTrace remembers what the record says of each quantity.
type insideTrace struct {
	recorded [len(insideQuantities)]float64
	begun    bool
}

func (t *insideTrace) sample(r *Rehearsal) {
	in, gauges := r.plant.Inside(), r.plant.Readings()
	for i, q := range insideQuantities {
		v := q.value(in, gauges)
		if t.begun && !changed(t.recorded[i], v, q.resolution) {
			continue
		}
		t.recorded[i] = v
		r.happen(procedure.Event{Kind: procedure.EventReading, At: r.physics, Subject: string(q.id), Value: v})
	}
	t.begun = true
}
