package procedure

// warnings are what is said and shown at once for each breach: what to do
// first, then why.
var warnings = map[Breach]Line{
	BreachNoPropClear:  {Caption: "Stop. Look first: left, ahead, right, and call clear."},
	BreachAreaOccupied: {Caption: "Stop. Somebody is in the propeller's area."},
	BreachBrakesOff:    {Caption: "Brakes. They are not held."},
	BreachCrankLimit:   {Caption: "Release the starter. It is past its limit."},
	BreachRest:         {Caption: "Release the starter. It has not rested."},
	BreachStarterIn:    {Caption: "Release the starter. The engine is running."},
	BreachNoOil:        {Caption: "No oil pressure. Mixture to cut-off."},
	BreachOverspeed:    {Caption: "Throttle back. The engine is racing."},
	BreachDanger:       {Caption: "Danger. Look, and do the drill for it."},
}

// Warning is what is said and shown the moment the breach happens.
func (b Breach) Warning() Line { return warnings[b] }

// Breaches lists every breach, in the order in which they are declared.
func Breaches() []Breach {
	return []Breach{
		BreachNoPropClear, BreachAreaOccupied, BreachBrakesOff, BreachCrankLimit,
		BreachRest, BreachStarterIn, BreachNoOil, BreachOverspeed, BreachDanger,
	}
}

// StandingLines are the lines that the engine itself may say in any flow: the
// warnings and the counted seconds.
func StandingLines() []Line {
	var out []Line
	for _, b := range Breaches() {
		out = append(out, b.Warning())
	}
	for _, w := range numberWords[1:] {
		out = append(out, Line{Caption: w})
	}
	return out
}
