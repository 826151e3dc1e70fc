package home

import (
	"math/rand/v2"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// surprises draws days that the student does not see. With a seed the same ones
// come in the same order, so that a lesson can be given again.
type surprises struct {
	seed  uint64 // 0 is another one each time
	drawn uint64
}

// draw gives a day and now and then something wrong. How long since the shutdown
// stays in the flow's own range, since that is what chose the flow.
func (s *surprises) draw(since time.Duration, f *procedure.Flow) (rehearsal.Conditions, []powerplant.Fault) {
	seed := s.seed
	if seed == 0 {
		seed = rand.Uint64()
	}
	s.drawn++
	chance := rand.New(rand.NewPCG(seed, s.drawn))
	spread := 0.8 + 0.4*chance.Float64()
	day := rehearsal.Conditions{
		OATCelsius:      -10 + 40*chance.Float64(),
		PressureAltM:    2000 * chance.Float64() * chance.Float64(),
		SinceShutdown:   time.Duration(float64(since) * spread),
		BatteryCharge:   0.6 + 0.4*chance.Float64(),
		SurpriseOffered: true,
	}
	return day, fault(f, chance)
}

// fault now and then gives something wrong, as a real day does.
func fault(f *procedure.Flow, chance *rand.Rand) []powerplant.Fault {
	const odds = 0.4
	if f.Situation == "fire" || f.Situation == "flooded" || chance.Float64() > odds {
		return nil
	}
	faults := []powerplant.Fault{
		powerplant.FaultPumpDead, powerplant.FaultWeakBattery, powerplant.FaultSulphated, powerplant.FaultFlooded,
		powerplant.FaultNoOilPressure, powerplant.FaultAlternatorDead, powerplant.FaultStaysEngaged,
	}
	return []powerplant.Fault{faults[chance.IntN(len(faults))]}
}
