package powerplant_test

import (
	"fmt"
	"time"

	"kickover/procedure/powerplant"
)

// A cold start, with the hands and the ears that a rehearsal would have.
func Example() {
	spec, err := powerplant.ByName("injected-180")
	if err != nil {
		panic(err)
	}
	plant, err := powerplant.New(spec, powerplant.Conditions{OATCelsius: 10}, 1)
	if err != nil {
		panic(err)
	}
	hands := powerplant.Controls{Battery: true, BoostPump: true, Magnetos: powerplant.MagnetosBoth, ThrottleMM: 28}
	plant.SetControls(hands)
	plant.Advance(2 * time.Second)

	hands.Mixture = 1
	plant.SetControls(hands)
	plant.Advance(4200 * time.Millisecond)
	hands.Mixture, hands.ThrottleMM = 0, 9
	plant.SetControls(hands)
	plant.Advance(5 * time.Second)

	hands.Starter = true
	plant.SetControls(hands)
	var ears powerplant.Detector
	for range 1000 {
		plant.Advance(10 * time.Millisecond)
		for _, signal := range ears.Observe(plant.Elapsed(), plant) {
			fmt.Println(signal)
			if signal == powerplant.SignalFires {
				hands.Mixture, hands.Starter = 1, false
				plant.SetControls(hands)
			}
		}
	}
	// Output:
	// fires
	// runs
	// levels_off
}
