package procedure_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/starter"
)

// A scenario is what a practitioner would tell: lines of "time what". The
// events of hand, eye and voice, and what the engine did, in the words of the
// files. See parseScenario.
type scenario struct {
	name    string
	flow    procedure.FlowID
	phase   procedure.Phase
	panel   string
	oat     float64
	script  string
	want    string // key=verdict of every step that came to something
	breach  string // breaches in order
	outcome procedure.Outcome
}

func TestScenarios(t *testing.T) {
	for _, sc := range scenarios {
		t.Run(sc.name, func(t *testing.T) {
			run := mustRun(sc)
			for _, e := range parseScenario(t, sc.script) {
				run.Apply(e)
			}
			st := run.State()
			if got, want := verdicts(st), strings.Join(strings.Fields(sc.want), " "); got != want {
				t.Errorf("verdicts\n got %s\nwant %s", got, want)
			}
			if got := breaches(st); got != sc.breach {
				t.Errorf("breaches %q, want %q", got, sc.breach)
			}
			if st.Outcome != sc.outcome {
				t.Errorf("outcome %q, want %q", st.Outcome, sc.outcome)
			}
		})
	}
}

// atStep is a cold start flown as taught, up to a step; scenarios continue it.
const (
	toBrakes   = "1s brakes held\n"
	toBattery  = toBrakes + "2s battery on\n"
	toVolts    = toBattery + "3s report bus_volts 24.6\n"
	toPump     = toVolts + "4s boost_pump on\n"
	toThrottle = toPump + "5s throttle 28\n"
	toPrime    = toThrottle + "6s mixture 1\n10.2s mixture 0\n"
	toStart    = toPrime + "11s throttle 9\n"
	toBrief    = toStart + "12s call ready\n"
	toLooked   = toBrief + "13s look left\n14s look ahead\n15s look right\n16s call clear\n"
	toCrank    = toLooked + "20s ignition start\n"
	toFires    = toCrank + "21.5s signal fires\n"
	toCaught   = toFires + "22.3s mixture 1\n22.5s ignition both\n22.6s signal runs\n"
	toSettled  = toCaught + "23s reading rpm 1010\n"
	toOil      = toSettled + "26s report oil_pressure 300\n"
	toEnd      = toOil + "27s alternator on\n28s boost_pump off\n"
)

const asTaught = `brakes=on_time battery=on_time volts=on_time idle=on_time pump=on_time
	throttle-prime=on_time prime=on_time throttle-start=on_time brief=on_time clear=on_time
	crank=on_time catch=on_time release=on_time settle=on_time oil=on_time after=on_time`

func with(changes ...string) string {
	out := strings.Join(strings.Fields(asTaught), " ")
	for _, c := range changes {
		key, _, _ := strings.Cut(c, "=")
		fields := strings.Fields(out)
		for i, f := range fields {
			if strings.HasPrefix(f, key+"=") {
				fields[i] = c
			}
		}
		out = strings.Join(fields, " ")
	}
	return out
}

var scenarios = []scenario{
	{name: "as taught", script: toEnd, want: asTaught, outcome: procedure.Started},
	{
		name:   "prime held too long",
		script: strings.Replace(toEnd, "10.2s mixture 0", "11.001s mixture 0", 1),
		want:   with("prime=late"), outcome: procedure.Started,
	},
	{
		name:   "prime cut short",
		script: strings.Replace(toEnd, "10.2s mixture 0", "9.4s mixture 0", 1),
		want:   with("prime=early"), outcome: procedure.Started,
	},
	{
		name:   "throttle rests at the start mark on its way to the prime mark",
		script: strings.Replace(toEnd, "5s throttle 28", "4.2s throttle 9\n5s throttle 28", 1),
		want:   asTaught, outcome: procedure.Started,
	},
	{
		name:   "prime in two halves counts as one",
		script: strings.Replace(toEnd, "10.2s mixture 0", "8s mixture 0\n8.5s mixture 1\n10.6s mixture 0", 1),
		want:   with("prime=on_time"), outcome: procedure.Started,
	},
	{
		name:   "battery forgotten until after the pump",
		script: strings.Replace(toEnd, "2s battery on\n3s report bus_volts 24.6\n4s boost_pump on", "3s boost_pump on\n4s battery on\n4.5s report bus_volts 24.6", 1),
		want:   with("battery=out_of_order", "volts=out_of_order"), outcome: procedure.Started,
	},
	{
		name:   "volts called while they are low, then left",
		script: strings.Replace(toEnd, "report bus_volts 24.6", "report bus_volts 23.9", 1),
		want:   with("volts=missed"), outcome: procedure.Started,
	},
	{
		name:   "volts called while they are low, then when they hold",
		script: strings.Replace(toEnd, "3s report bus_volts 24.6", "3s report bus_volts 23.9\n3.5s report bus_volts 24.3", 1),
		want:   with("volts=early"), outcome: procedure.Started,
	},
	{
		name:   "slow to the pump",
		script: strings.NewReplacer("4s boost_pump on", "9s boost_pump on", "5s throttle 28", "9.5s throttle 28", "6s mixture 1", "10s mixture 1", "10.2s mixture 0", "14.2s mixture 0", "11s throttle", "14.5s throttle", "12s call", "14.8s call").Replace(toEnd),
		want:   with("pump=late"), outcome: procedure.Started,
	},
	{
		name:   "cranked without looking",
		script: toBrief + "13s ignition start\n14s signal fires\n14.5s mixture 1\n15s ignition both\n16s reading rpm 1000\n19s report oil_pressure 300\n20s alternator on\n21s boost_pump off",
		want:   with("clear=missed", "crank=unsafe"), outcome: procedure.EndUnsafe,
		breach: "no valid propeller-area check",
	},
	{
		name:   "cranked without waiting for an answer",
		script: strings.NewReplacer("20s ignition", "18.999s ignition").Replace(toEnd),
		want:   with("clear=missed", "crank=unsafe"), outcome: procedure.EndUnsafe,
		breach: "no valid propeller-area check",
	},
	{
		name:   "cranked the moment the wait was over",
		script: strings.NewReplacer("20s ignition", "19s ignition").Replace(toEnd),
		want:   asTaught, outcome: procedure.Started,
	},
	{
		name:   "somebody walked in after the call",
		script: toLooked + "19.5s area ahead 1\n20s ignition start\n20.5s ignition both\n21s end hands-ended",
		want:   cut(with("crank=unsafe"), "catch"), outcome: procedure.EndUnsafe,
		breach: "somebody is in the propeller's area",
	},
	{
		name:   "somebody walked in and out, looked again",
		script: toLooked + "17s area ahead 1\n18s area ahead 0\n19s look ahead\n19.2s call clear\n" + shift(strings.TrimPrefix(toEnd, toLooked), 3),
		want:   asTaught, outcome: procedure.Started,
	},
	{
		name:   "somebody walked in and out, not looked again",
		script: toLooked + "17s area ahead 1\n18s area ahead 0\n" + strings.TrimPrefix(toEnd, toLooked),
		want:   with("clear=missed", "crank=unsafe"), outcome: procedure.EndUnsafe,
		breach: "no valid propeller-area check",
	},
	{
		name:   "brakes let go before cranking",
		script: toLooked + "19.5s brakes released\n" + strings.TrimPrefix(toEnd, toLooked),
		want:   with("crank=unsafe"), outcome: procedure.EndUnsafe,
		breach: "brakes not held",
	},
	{
		name:   "starter held past its limit",
		script: toCrank + "26.000000001s ignition both\n27s end hands-ended",
		want:   cut(with("crank=unsafe"), "catch"), outcome: procedure.EndUnsafe,
		breach: "starter past its limit",
	},
	{
		name:   "starter let go at its limit",
		script: toCrank + "26s ignition both\n27s end hands-ended",
		want:   cut(with(), "catch"), outcome: procedure.NotStarted,
	},
	{
		name:   "starter held for ever",
		script: toCrank + "90s end hands-ended",
		want:   cut(with("crank=unsafe"), "catch"), outcome: procedure.EndUnsafe,
		breach: "starter past its limit",
	},
	{
		name:   "brakes let go while it is cranked",
		script: toCrank + "20.5s brakes released\n" + strings.TrimPrefix(toEnd, toCrank),
		want:   with("crank=unsafe"), outcome: procedure.EndUnsafe,
		breach: "brakes not held",
	},
	{
		name:   "brakes let go when it has fired and the starter is still in",
		script: toFires + "22s brakes released\n" + strings.TrimPrefix(toEnd, toFires),
		want:   with("release=unsafe"), outcome: procedure.EndUnsafe,
		breach: "brakes not held",
	},
	{
		name:   "brakes let go when the starter is out",
		script: toSettled + "24s brakes released\n" + strings.TrimPrefix(toEnd, toSettled),
		want:   asTaught, outcome: procedure.Started,
	},
	{
		name:   "starter put into the running engine",
		script: toSettled + "24s ignition start\n25s ignition both\n" + strings.TrimPrefix(toEnd, toSettled),
		want:   asTaught, outcome: procedure.EndUnsafe,
		breach: "starter held in a running engine",
	},
	{
		name:   "the engine dies on the starter that was put into it",
		script: toSettled + "24s ignition start\n24.5s signal dies\n25s ignition both\n27s end hands-ended",
		want:   cut(with(), "oil") + " off=missed", outcome: procedure.EndUnsafe,
		breach: "starter held in a running engine",
	},
	{
		name:   "the prime never ends",
		script: toThrottle + "6s mixture 1\n90s end hands-ended",
		want:   cut(with("prime=late"), "throttle-start"), outcome: procedure.NotStarted,
	},
	{
		name:   "left in the middle of the prime",
		script: toThrottle + "6s mixture 1\n8s end abandoned",
		want:   cut(with("prime=early"), "throttle-start"), outcome: procedure.Abandoned,
	},
	{
		name:   "left as it fired, before it ran by itself",
		script: toFires + "21.6s end abandoned",
		want:   cut(with(), "catch") + " catch=missed", outcome: procedure.Abandoned,
	},
	{
		name:   "mixture forward before it fired",
		script: strings.Replace(toEnd, "21.5s signal fires\n22.3s mixture 1", "21s mixture 1\n21.5s signal fires", 1),
		want:   with("catch=early"), outcome: procedure.Started,
	},
	{
		name:   "caught late",
		script: strings.Replace(toEnd, "22.3s mixture 1\n22.5s ignition both", "22.5s ignition both\n24s mixture 1", 1),
		want:   with("catch=late"), outcome: procedure.Started,
	},
	{
		name:   "starter left in",
		script: strings.NewReplacer("22.5s ignition both", "25.6s ignition both", "22.6s signal", "25.7s signal", "26s report", "28s report", "27s alt", "29s alt", "28s boost", "30s boost").Replace(toEnd),
		want:   with("release=unsafe"), outcome: procedure.EndUnsafe,
		breach: "starter held in a running engine",
	},
	{
		name:   "no oil pressure",
		script: toSettled + "51.500000001s tick\n53s mixture 0\n54s signal dies\n55s end hands-ended",
		want:   cut(with("oil=unsafe"), "after"), outcome: procedure.EndUnsafe,
		breach: "running without oil pressure",
	},
	{
		name:   "oil pressure at the last moment",
		script: toSettled + "51.5s reading oil_pressure 200\n51.5s report oil_pressure 200\n53s alternator on\n54s boost_pump off",
		want:   asTaught, outcome: procedure.Started,
	},
	{
		name: "in the cold the oil has a minute", oat: -15,
		script: toSettled + "70s reading oil_pressure 200\n71s report oil_pressure 200\n73s alternator on\n74s boost_pump off",
		want:   asTaught, outcome: procedure.Started,
	},
	{
		name:   "did not fire, primed again",
		script: toCrank + "25.9s ignition both\n28s boost_pump off\n40s choose again\n74s boost_pump on\n75s throttle 28\n76s mixture 1\n78s mixture 0\n79s throttle 9\n80s look left\n81s look ahead\n82s look right\n83s call clear\n87s ignition start\n88s signal fires\n88.8s mixture 1\n89s ignition both\n89.1s signal runs\n90s reading rpm 990\n92s report oil_pressure 300\n93s alternator on\n93.5s boost_pump off",
		want: cut(with("crank=on_time"), "catch") + ` off=on_time rest=on_time pump#2=on_time throttle-prime#2=on_time
			prime#2=on_time throttle-start#2=on_time clear#2=on_time crank#2=on_time catch#2=on_time release#2=on_time
			settle#2=on_time oil#2=on_time after#2=on_time`,
		outcome: procedure.Started,
	},
	{
		name:   "cranked again before the rest was over",
		script: toCrank + "25.9s ignition both\n28s boost_pump off\n40s look left\n41s look ahead\n42s look right\n43s call clear\n47s ignition start\n48s ignition both\n49s end hands-ended",
		want:   cut(with("crank=on_time"), "catch") + ` off=on_time rest=missed clear#2=on_time crank#2=unsafe`,
		breach: "starter not rested", outcome: procedure.EndUnsafe,
	},
	{
		name:   "no oil pressure, and shut down for it",
		script: "0s fault no_oil_pressure\n0s reading oil_pressure 0\n" + toSettled + "40s mixture 0\n41s signal dies\n42s ignition off\n43s battery off",
		want:   cut(with(), "oil") + " no-oil-cut=on_time no-oil-off=on_time", outcome: procedure.Stopped,
	},
	{
		name:   "no oil pressure, and shut down before anybody could know",
		script: "0s fault no_oil_pressure\n0s reading oil_pressure 0\n" + toSettled + "30s mixture 0\n31s signal dies",
		want:   cut(with(), "oil") + " oil=missed", outcome: procedure.NotStarted,
	},
	{
		name:   "shut down for oil pressure that a slow gauge did not show yet",
		script: "0s reading oil_pressure 0\n" + toSettled + "40s mixture 0\n41s signal dies\n42s ignition off\n43s battery off",
		want:   cut(with(), "oil") + " no-oil-cut=on_time no-oil-off=on_time", outcome: procedure.NotStarted,
	},
	{
		name: "no oil pressure, and told so", phase: procedure.Perform,
		script: "0s fault no_oil_pressure\n0s reading oil_pressure 0\n" + toSettled + "39.5s tick\n50s mixture 0\n51s signal dies\n52s ignition off\n53s battery off",
		want:   cut(with(), "oil") + " no-oil-cut=on_time no-oil-off=on_time", outcome: procedure.Stopped,
	},
	{
		name:   "the starter stays in and nobody looks",
		script: "0s fault starter_stays_engaged\n" + toCrank + "20.1s reading starter_light 1\n" + strings.TrimPrefix(toSettled, toCrank) + "35s mixture 0\n36s ignition off\n36s battery off",
		want:   cut(with(), "oil") + " engaged-cut=late engaged-off=on_time", outcome: procedure.EndUnsafe,
		breach: "danger left unanswered",
	},
	{
		name: "low volts, external power, and on where it was",
		script: toBattery + "2.1s reading bus_volts 23\n5s external_power on\n5.1s reading bus_volts 28\n6s report bus_volts 28\n" +
			shift(strings.TrimPrefix(toEnd, toVolts), 3),
		want: "brakes=on_time battery=on_time external=on_time " + strings.TrimPrefix(with(), "brakes=on_time battery=on_time "), outcome: procedure.Started,
	},
	{
		name:   "no spark, and a mechanic",
		script: "0s fault left_magneto_dead\n" + toCrank + "25.9s ignition both\n28s boost_pump off\n40s choose stop\n41s ignition off\n42s battery off",
		want:   cut(with("crank=on_time"), "catch") + " off=on_time give-up-cut=on_time give-up-off=on_time", outcome: procedure.Stopped,
	},
	{
		name:   "a choice that nobody offered",
		script: toCrank + "25.9s ignition both\n28s boost_pump off\n40s choose prayer\n41s end hands-ended",
		want:   cut(with("crank=on_time"), "catch") + " off=on_time rest=missed", outcome: procedure.NotStarted,
	},
	{
		name:   "it fires and dies while it is cranked",
		script: toFires + "22s signal dies\n23s ignition both\n24s boost_pump off\n25s end hands-ended",
		want:   cut(with(), "catch") + " catch=missed off=on_time rest=missed", outcome: procedure.NotStarted,
	},
	{
		name: "explain turns its pages", phase: procedure.Explain,
		script: strings.Repeat("1s call next\n", 16), want: strings.NewReplacer("on_time", "").Replace(asTaught), outcome: procedure.Read,
	},
}

// cut drops a step and all after it from a list of verdicts.
func cut(list, key string) string {
	out, _, _ := strings.Cut(list, key+"=")
	return strings.TrimSpace(out)
}

// shift moves a script's times.
func shift(script string, seconds float64) string {
	var out strings.Builder
	for _, line := range strings.Split(strings.TrimSpace(script), "\n") {
		at, rest, _ := strings.Cut(line, " ")
		d, err := time.ParseDuration(at)
		if err != nil {
			panic(err)
		}
		fmt.Fprintf(&out, "%v %s\n", d+time.Duration(seconds*float64(time.Second)), rest)
	}
	return out.String()
}

func verdicts(st procedure.State) string {
	var out []string
	for _, s := range st.Steps {
		if s.Status == procedure.StatusDone {
			out = append(out, s.Key+"="+strings.ReplaceAll(string(s.Verdict), " ", "_"))
		}
	}
	return strings.Join(out, " ")
}

func breaches(st procedure.State) string {
	var out []string
	for _, b := range st.Breaches {
		out = append(out, string(b.Breach))
	}
	return strings.Join(out, ", ")
}

func mustRun(sc scenario) *procedure.Run {
	run, err := procedure.NewRun(setup(sc))
	if err != nil {
		panic(err)
	}
	return run
}

// setup begins the cold flow in Evaluate where a scenario does not say.
func setup(sc scenario) procedure.Setup {
	lib := saltmarsh()
	s := procedure.Setup{
		Library: lib, Flow: sc.flow, Phase: sc.phase, Panel: sc.panel, OATCelsius: sc.oat,
		Ledger: starter.New(lib.Aircraft.Starter),
	}
	if s.Phase == "" {
		s.Phase = procedure.Evaluate
	}
	if s.Flow == "" {
		s.Flow = "cold"
	}
	return s
}

// fataler is a test, or a property being checked.
type fataler interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
}

// parseScenario reads lines of "time subject value": "6s mixture 1", "13s look
// left", "3s report bus_volts 24.6", "21.5s signal fires".
func parseScenario(t fataler, script string) []procedure.Event {
	t.Helper()
	lib := saltmarsh()
	var out []procedure.Event
	for _, line := range strings.Split(strings.TrimSpace(script), "\n") {
		f := strings.Fields(line)
		at, err := time.ParseDuration(f[0])
		if err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		e := procedure.Event{Seq: len(out) + 1, At: at, Kind: procedure.EventKind(f[1])}
		switch e.Kind {
		case procedure.EventTick:
		case procedure.EventEnd:
			e.Text = f[2]
		case procedure.EventLook, procedure.EventCall, procedure.EventChoose, procedure.EventSignal, procedure.EventFault:
			e.Subject = f[2]
		case procedure.EventReport, procedure.EventReading, procedure.EventArea:
			e.Subject, e.Value = f[2], number(t, f[3])
		default:
			c, ok := lib.Aircraft.Control(procedure.ControlID(f[1]))
			if !ok {
				t.Fatalf("%q: no control or event %q", line, f[1])
			}
			e.Kind, e.Subject = procedure.EventMove, f[1]
			if p, ok := c.Detent(f[2]); ok {
				e.Value = float64(p)
			} else {
				e.Value = number(t, f[2])
			}
		}
		out = append(out, e)
	}
	return out
}

func number(t fataler, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// saltmarsh is a small aeroplane with a cold flow, short enough to read here.
// The shipped flows are tested with the files they come from.
func saltmarsh() *procedure.Library {
	sw := func(id procedure.ControlID, detents ...string) procedure.Control {
		return procedure.Control{ID: id, Kind: procedure.Switch, Detents: detents}
	}
	a := &procedure.Aircraft{
		ID: "test", Name: "Test",
		Controls: []procedure.Control{
			sw(procedure.ControlBrakes, "released", "held"),
			sw(procedure.ControlBattery, "off", "on"),
			sw(procedure.ControlAlternator, "off", "on"),
			sw(procedure.ControlPump, "off", "on"),
			sw(procedure.ControlExternal, "off", "on"),
			{ID: procedure.ControlThrottle, Kind: procedure.Lever, Unit: "mm", Travel: 80},
			{ID: procedure.ControlMixture, Kind: procedure.Lever, Travel: 1},
			{ID: procedure.ControlIgnition, Kind: procedure.Rotary, Detents: []string{"off", "right", "left", "both", "start"},
				Sprung: []procedure.Sprung{{From: "start", To: "both"}}},
		},
		Instruments: []procedure.Instrument{{ID: procedure.InstrumentBusVolts}, {ID: procedure.InstrumentRPM}, {ID: procedure.InstrumentOilPressure}, {ID: procedure.InstrumentStarterLight, Unit: procedure.UnitLamp}},
		Panels:      []procedure.Panel{{ID: "standard"}, {ID: "no-flow", Hides: []procedure.InstrumentID{procedure.InstrumentFuelFlow}}},
		Starter:     procedure.StarterLimits{Crank: 6 * time.Second, Rest: 45 * time.Second, Attempts: 5, LongRest: 20 * time.Minute},
	}
	within := func(s float64) procedure.Window {
		return procedure.Window{Max: time.Duration(s * float64(time.Second))}
	}
	set := func(id procedure.StepID, targets ...procedure.Target) procedure.Step {
		return procedure.Step{ID: id, Title: string(id), Kind: procedure.StepSet, Window: within(5), Targets: targets}
	}
	target := func(id procedure.ControlID, at, tol procedure.Position) procedure.Target {
		return procedure.Target{Control: id, At: at, Tolerance: tol}
	}
	check := func(id procedure.StepID, in procedure.InstrumentID, least, window float64) procedure.Step {
		return procedure.Step{ID: id, Kind: procedure.StepCheck, Window: within(window),
			Conditions: []procedure.Condition{{Instrument: in, Min: least, Max: math.Inf(1)}}}
	}
	prime := procedure.Step{ID: "prime", Kind: procedure.StepHold, Count: true,
		Window: procedure.Window{Min: 3500 * time.Millisecond, Ideal: 4200 * time.Millisecond, Max: 5 * time.Second},
		Hold:   &procedure.Hold{Control: procedure.ControlMixture, Tolerance: 0.02, Full: 1, By: procedure.ByClock},
		CallOuts: []procedure.CallOut{{Anchor: procedure.BeforeIdeal, Offset: 500 * time.Millisecond,
			Line: procedure.Line{Caption: "mixture back"}}},
	}
	oil := check("oil", procedure.InstrumentOilPressure, 170, 30)
	oil.WindowFrom = procedure.FromFires
	oil.Cold = &procedure.ColdWindow{BelowCelsius: -10, Window: within(60)}
	ending := []procedure.Step{
		{ID: "crank", Kind: procedure.StepCrank, Window: within(6), Count: true},
		{ID: "catch", Kind: procedure.StepCatch, Window: within(2), Together: true, Targets: []procedure.Target{target(procedure.ControlMixture, 1, .05)}},
		{ID: "release", Kind: procedure.StepRelease, Window: within(2), Together: true},
		{ID: "settle", Kind: procedure.StepSettle, Window: within(10), Dwell: 2 * time.Second,
			Conditions: []procedure.Condition{{Instrument: procedure.InstrumentRPM, Min: 950, Max: 1050}}},
		oil,
		func() procedure.Step {
			s := set("after", target(procedure.ControlAlternator, 1, 0), target(procedure.ControlPump, 0, 0))
			s.Window = within(20)
			return s
		}(),
	}
	clear := procedure.Step{ID: "clear", Kind: procedure.StepPropClear, Window: within(20), AnswerWait: 3 * time.Second, ValidFor: 30 * time.Second}
	priming := []procedure.Step{
		set("pump", target(procedure.ControlPump, 1, 0)),
		set("throttle-prime", target(procedure.ControlThrottle, 28, 2)),
		prime,
		set("throttle-start", target(procedure.ControlThrottle, 9, 1.5)),
	}
	half := prime
	half.Window = procedure.Window{Min: 1700 * time.Millisecond, Ideal: 2100 * time.Millisecond, Max: 2500 * time.Millisecond}
	cold := &procedure.Flow{ID: "cold", Entry: true, Steps: join(
		[]procedure.Step{
			set("brakes", target(procedure.ControlBrakes, 1, 0)),
			set("battery", target(procedure.ControlBattery, 1, 0)),
			check("volts", procedure.InstrumentBusVolts, 24.2, 6),
			set("idle", target(procedure.ControlMixture, 0, .02), target(procedure.ControlThrottle, 0, 1)),
		}, priming,
		[]procedure.Step{{ID: "brief", Kind: procedure.StepBrief, Window: within(8)}, clear}, ending),
		NoStart: &procedure.NoStart{
			Steps:   []procedure.Step{set("off", target(procedure.ControlPump, 0, 0), target(procedure.ControlMixture, 0, .02)), {ID: "rest", Kind: procedure.StepRest}},
			Choices: []procedure.Choice{{ID: "again", Flow: "again"}, {ID: "patience", Flow: "patience"}},
		},
	}
	again := &procedure.Flow{ID: "again", Steps: join(priming[:2], []procedure.Step{half}, priming[3:], []procedure.Step{clear}, ending)}
	patience := &procedure.Flow{ID: "patience", Steps: join([]procedure.Step{clear}, ending)}
	shutDown := func(id procedure.FlowID, fault string, signs *procedure.Signs) *procedure.Flow {
		f := &procedure.Flow{ID: id, Ends: procedure.Stopped, Answers: []string{fault}, Signs: signs, Steps: []procedure.Step{
			set(procedure.StepID(id)+"-cut", target(procedure.ControlMixture, 0, .02)),
			set(procedure.StepID(id)+"-off", target(procedure.ControlIgnition, 0, 0), target(procedure.ControlBattery, 0, 0)),
		}}
		f.Steps[0].Criticality, f.Steps[0].Window = 3, within(30)
		return f
	}
	reads := func(in procedure.InstrumentID, least, most float64) []procedure.Condition {
		return []procedure.Condition{{Instrument: in, Min: least, Max: most}}
	}
	noOil := shutDown("no-oil", "no_oil_pressure", &procedure.Signs{Engine: procedure.EngineRuns, For: 15 * time.Second,
		Conditions: reads(procedure.InstrumentOilPressure, math.Inf(-1), 20)})
	engaged := shutDown("engaged", "starter_stays_engaged", &procedure.Signs{For: time.Second,
		Targets:    []procedure.Target{target(procedure.ControlIgnition, 1.5, 1.5)},
		Conditions: reads(procedure.InstrumentStarterLight, 1, 1)})
	engaged.Steps[0].Window = within(8)
	weak := &procedure.Flow{ID: "weak", Ends: procedure.Resumed, Answers: []string{"weak_battery"},
		Signs: &procedure.Signs{Engine: procedure.EngineStill, For: 2 * time.Second,
			Targets:    []procedure.Target{target(procedure.ControlBattery, 1, 0)},
			Conditions: reads(procedure.InstrumentBusVolts, math.Inf(-1), 24.1)},
		Steps: []procedure.Step{set("external", target(procedure.ControlExternal, 1, 0))}}
	give := shutDown("give-up", "left_magneto_dead", nil)
	cold.NoStart.Choices = append(cold.NoStart.Choices, procedure.Choice{ID: "stop", Flow: "give-up"})
	return &procedure.Library{Aircraft: a, Flows: []*procedure.Flow{cold, again, patience, noOil, engaged, weak, give}}
}

func join(parts ...[]procedure.Step) []procedure.Step {
	var out []procedure.Step
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}
