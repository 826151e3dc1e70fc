package motion

import (
	"time"

	"kickover/procedure"
)

// aircraft is an aeroplane with every kind of part the screen can draw.
var aircraft = &procedure.Aircraft{
	ID: "brindle-180", Name: "Brindle 180", MinBusVolts: 24.2,
	Starter: procedure.StarterLimits{Crank: 6 * time.Second, Rest: 45 * time.Second, Attempts: 5, LongRest: 20 * time.Minute},
	Controls: []procedure.Control{
		{ID: procedure.ControlBattery, Name: "Battery", Kind: procedure.Switch, Hand: procedure.Left, Detents: []string{"off", "on"}},
		{ID: procedure.ControlAlternator, Name: "Alternator", Kind: procedure.Switch, Hand: procedure.Left, Detents: []string{"off", "on"}},
		{ID: procedure.ControlPump, Name: "Boost pump", Kind: procedure.Switch, Hand: procedure.Left, Detents: []string{"off", "on"}},
		{ID: "fuel_selector", Name: "Fuel selector", Kind: procedure.Switch, Hand: procedure.Left, Detents: []string{"off", "on"}},
		{ID: "external_power", Name: "External power", Kind: procedure.Switch, Hand: procedure.Left, Detents: []string{"off", "on"}},
		{ID: procedure.ControlBrakes, Name: "Brakes", Kind: procedure.Switch, Hand: procedure.Feet, Detents: []string{"released", "held"}},
		{ID: procedure.ControlIgnition, Name: "Ignition", Kind: procedure.Rotary, Hand: procedure.Left,
			Detents: []string{"off", "right", "left", "both", "start"}, Sprung: []procedure.Sprung{{From: "start", To: "both"}}},
		{ID: procedure.ControlThrottle, Name: "Throttle", Kind: procedure.Lever, Hand: procedure.Right, Unit: "mm", Travel: 80,
			Low: "closed", High: "open", Edge: "aft",
			Marks: []procedure.Mark{{ID: "prime", Name: "prime", At: 28, Tolerance: 2}, {ID: "start", Name: "start", At: 9, Tolerance: 1.5}}},
		{ID: procedure.ControlMixture, Name: "Mixture", Kind: procedure.Lever, Hand: procedure.Right, Travel: 1, Low: "cut-off", High: "rich", Edge: "aft"},
	},
	Instruments: []procedure.Instrument{
		{ID: procedure.InstrumentBusVolts, Name: "Volts", Unit: "V", Min: 18, Max: 30, Decimals: 1,
			Ranges: []procedure.Range{{Kind: procedure.Caution, From: 18, To: 24.2}, {Kind: procedure.Normal, From: 24.2, To: 28.8}, {Kind: procedure.Limit, From: 29.5, To: 29.5}}},
		{ID: procedure.InstrumentAmperes, Name: "Amperes", Unit: "A", Min: -60, Max: 60,
			Ranges: []procedure.Range{{Kind: procedure.Normal, From: 0, To: 60}}},
		{ID: procedure.InstrumentFuelFlow, Name: "Fuel flow", Unit: "g/s", Min: 0, Max: 5, Decimals: 1,
			Ranges: []procedure.Range{{Kind: procedure.Normal, From: 0.4, To: 4.6}, {Kind: procedure.Limit, From: 4.8, To: 4.8}}},
		{ID: procedure.InstrumentRPM, Name: "Engine speed", Unit: "rpm", Min: 0, Max: 3000,
			Ranges: []procedure.Range{{Kind: procedure.Normal, From: 600, To: 2700}, {Kind: procedure.Limit, From: 2700, To: 2700}}},
		{ID: procedure.InstrumentOilPressure, Name: "Oil pressure", Unit: "kPa", Min: 0, Max: 700,
			Ranges: []procedure.Range{{Kind: procedure.Caution, From: 70, To: 170}, {Kind: procedure.Normal, From: 170, To: 620}, {Kind: procedure.Limit, From: 660, To: 660}}},
		{ID: procedure.InstrumentCylinderHead, Name: "Cylinder head", Unit: "°C", Min: -20, Max: 260,
			Ranges: []procedure.Range{{Kind: procedure.Normal, From: 60, To: 230}, {Kind: procedure.Limit, From: 250, To: 250}}},
		{ID: procedure.InstrumentStarterLight, Name: "Starter", Unit: procedure.UnitLamp, Max: 1},
		{ID: procedure.InstrumentSmoke, Name: "Smoke", Unit: procedure.UnitLamp, Max: 1},
		{ID: procedure.InstrumentDrips, Name: "Fuel drips", Unit: procedure.UnitLamp, Max: 1},
		{ID: procedure.InstrumentFuelSmell, Name: "Smell of fuel", Unit: procedure.UnitLamp, Max: 1},
	},
}

func say(caption string) procedure.Line { return procedure.Line{Caption: caption} }

func within(s float64) procedure.Window {
	return procedure.Window{Max: time.Duration(s * float64(time.Second))}
}

var primeWindow = procedure.Window{Min: 3500 * time.Millisecond, Ideal: 4200 * time.Millisecond, Max: 5 * time.Second}

// steps is a cold start, shortened.
var steps = []procedure.Step{
	{ID: "brakes", Title: "Brakes held", Kind: procedure.StepSet, Hand: procedure.Feet, Window: within(5)},
	{ID: "battery", Title: "Battery on", Kind: procedure.StepSet, Hand: procedure.Left, Window: within(5)},
	{ID: "volts", Title: "Bus volts", Kind: procedure.StepCheck, Hand: procedure.Eyes, Window: within(6), Prompt: say("Bus volts: read the value, at least 24.2"),
		Conditions: []procedure.Condition{{Instrument: procedure.InstrumentBusVolts, Min: 24.2, Max: 30}}},
	{ID: "pump", Title: "Boost pump on", Kind: procedure.StepSet, Hand: procedure.Left, Window: within(5)},
	{ID: "prime-mark", Title: "Throttle to prime mark", Kind: procedure.StepSet, Hand: procedure.Right, Window: within(5)},
	{ID: "prime", Title: "Prime", Kind: procedure.StepHold, Hand: procedure.Right, Window: primeWindow,
		Prompt: say("Mixture full forward until the flow levels off, then fully back"),
		Why:    "The injectors spray into the intakes only while the pump pushes and the mixture is open. The lines fill first, then the flow levels off: from there on every second is fuel in the intakes.",
		Wrong:  "Too short, and there is nothing to burn. Too long, and the plugs are wet and no spark will light it.",
		Hold:   &procedure.Hold{Control: procedure.ControlMixture, Full: 1, By: procedure.ByBoth, Cue: procedure.InstrumentFuelFlow}},
	{ID: "start-mark", Title: "Throttle to start mark", Kind: procedure.StepSet, Hand: procedure.Right, Window: within(5)},
	{ID: "brief", Title: "Brief the next three", Kind: procedure.StepBrief, Hand: procedure.Voice, Window: within(8)},
	{ID: "clear", Title: "Propeller area clear", Kind: procedure.StepPropClear, Hand: procedure.Eyes, Window: within(20), AnswerWait: 3 * time.Second,
		Prompt: say("Left … ahead … right … clear")},
	{ID: "crank", Title: "Crank", Kind: procedure.StepCrank, Hand: procedure.Left, Window: within(6), Prompt: say("Hold START until it fires, six seconds at most")},
	{ID: "catch", Title: "Catch: mixture forward", Kind: procedure.StepCatch, Hand: procedure.Right, Window: within(2)},
	{ID: "release", Title: "Release the starter", Kind: procedure.StepRelease, Hand: procedure.Left, Window: within(2)},
	{ID: "settle", Title: "Settle at 1,000 rpm", Kind: procedure.StepSettle, Hand: procedure.Right, Window: within(10)},
	{ID: "oil", Title: "Oil pressure within 30 s", Kind: procedure.StepCheck, Hand: procedure.Eyes, Window: within(30)},
}
