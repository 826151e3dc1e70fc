package powerplant

// Magnetos is the ignition switch, START aside.
type Magnetos int

// The positions, as on the switch.
const (
	MagnetosOff Magnetos = iota
	MagnetoRight
	MagnetoLeft
	MagnetosBoth
)

// Controls is where the hands have put things. The zero value is an aeroplane
// at rest: all off, throttle closed, mixture at cut-off, primer in, fuel on.
type Controls struct {
	Battery    bool
	Alternator bool
	BoostPump  bool    // injected engines
	ThrottleMM float64 // from the closed stop, clamped to the travel
	Mixture    float64 // 0 cut-off to 1 full rich
	Magnetos   Magnetos
	Starter    bool // the switch is held in START

	// Primer is how far the hand primer's knob is pulled out, 0 to 1.
	// Pulling draws fuel in, which takes about a second; pushing sends it to
	// the ports. PrimerUnlocked lets a running engine draw fuel through it.
	Primer         float64
	PrimerUnlocked bool

	FuelOff       bool // the fuel selector is off
	ExternalPower bool // a power cart is plugged in
}

// sane keeps what cannot be true out of the equations.
func (c Controls) sane(s *Spec) Controls {
	c.ThrottleMM = within(c.ThrottleMM, s.Throttle.TravelMM)
	c.Mixture = within(c.Mixture, 1)
	c.Primer = within(c.Primer, 1)
	return c
}

// within clamps x to 0..most; not a number is 0.
func within(x, most float64) float64 {
	if !(x > 0) {
		return 0
	}
	return min(x, most)
}
