package flowfile

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"kickover/procedure"
)

// FlowSchema is the first line of a flow file.
const FlowSchema = "kickover/flow/1"

// maxSteps bounds a flow: nobody learns more by heart.
const maxSteps = 60

// ParseFlow reads a flow file for an aircraft. The name is the one that
// messages give. The error, if any, is an [*Errors] with everything that is
// wrong. That the flows named by its choices exist is not checked here but by
// [Load], [LoadUser] and [Check], which know the other flows.
func ParseFlow(name string, data []byte, aircraft *procedure.Aircraft) (*procedure.Flow, error) {
	read, err := parseFlow(name, data, aircraft)
	if err != nil {
		return nil, err
	}
	return read.flow, nil
}

// readFlow is a flow with what is needed to check it against its neighbours.
type readFlow struct {
	flow    *procedure.Flow
	report  *report
	choices []choiceAt
	ends    *node // where the flow says how it ends
}

// choiceAt is a choice and where it names its flow.
type choiceAt struct {
	procedure.Choice
	at      *node
	noStart bool // it follows a failed attempt
}

func parseFlow(name string, data []byte, aircraft *procedure.Aircraft) (*readFlow, error) {
	r := newReport(name, data)
	if aircraft == nil {
		return nil, wholeFile(name, "the aircraft of this flow is not known", "put its file into the aircraft folder")
	}
	root := document(r, data)
	if root == nil {
		return nil, r.err()
	}
	read := &readFlow{report: r, flow: &procedure.Flow{}}
	read.header(root, aircraft)
	if err := r.err(); err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	read.flow.Hash = hex.EncodeToString(sum[:])
	return read, nil
}

func (read *readFlow) header(root *node, a *procedure.Aircraft) {
	r, flow := read.report, read.flow
	f := group(r, root, "a flow", "schema", "id", "aircraft", "title", "situation",
		"known_by", "caution", "entry", "answers", "signs", "ends", "steps", "choices", "no_start")
	schema(r, &f, FlowSchema)
	flow.ID = procedure.FlowID(ident(r, f.need("id", "cold")))
	of := f.need("aircraft", string(a.ID))
	flow.Aircraft = procedure.AircraftID(ident(r, of))
	if flow.Aircraft != "" && flow.Aircraft != a.ID {
		r.complain(of, fmt.Sprintf("the flow is for %q but stands among those of %q", flow.Aircraft, a.ID), "move the file to the folder of its aircraft, or correct the name")
	}
	flow.Title = text(r, f.need("title", "Cold start"), 40)
	flow.Situation = ident(r, f.need("situation", "cold"))
	flow.KnownBy = text(r, f.need("known_by", "more than two hours since shutdown"), 240)
	flow.Caution = spokenText(r, f.need("caution", "The aeroplane's own handbook rules."), 240)
	flow.Entry = truth(r, f.need("entry", "true"))

	read.drill(&f, a)
	s := sequence{r: r, a: a, ids: map[string]int{}}
	flow.Steps = s.all(f.need("steps", "a list"), "flow", "split it into several flows")
	seen := map[string]int{}
	for _, n := range list(r, f.get("choices"), "choices") {
		flow.Choices = append(flow.Choices, read.choice(n, seen, false))
	}
	read.ending(s.cranked)
	if n := f.get("no_start"); n != nil {
		read.noStart(n, a, &s)
	}
}

// drill reads what makes a flow a drill: the faults it answers, their signs and
// how it ends.
func (read *readFlow) drill(f *fields, a *procedure.Aircraft) {
	r, flow := read.report, read.flow
	seen := map[string]int{}
	for _, n := range list(r, f.get("answers"), "faults") {
		fault := ident(r, n)
		unique(r, n, fault, "fault", seen)
		flow.Answers = append(flow.Answers, fault)
	}
	if n := f.get("signs"); n != nil {
		flow.Signs = readSigns(r, n, a)
	}
	if read.ends = f.get("ends"); read.ends != nil {
		flow.Ends = procedure.Outcome(word(r, read.ends, "an end of a flow", string(procedure.Stopped), string(procedure.Resumed)))
	}
}

func readSigns(r *report, n *node, a *procedure.Aircraft) *procedure.Signs {
	s := &procedure.Signs{}
	f := group(r, n, "signs", "engine", "set", "reads", "for", "cold_for")
	if at := f.get("engine"); at != nil {
		s.Engine = procedure.EngineState(word(r, at, "what an engine does",
			string(procedure.EngineStill), string(procedure.EngineCranking), string(procedure.EngineRuns)))
	}
	s.Targets = readTargets(r, f.get("set"), a, "")
	s.Conditions = readReadings(r, f.need("reads", "{ oil_pressure: { max: 20 kPa } }"), a, nil)
	s.For = positive(r, f.need("for", "2 s"))
	if at := f.get("cold_for"); at != nil {
		c := group(r, at, "a time in the cold", "below", "for")
		below, _ := quantity(r, c.need("below", "-10 degC"), "temperature", "-10 degC")
		s.Cold = &procedure.ColdSigns{BelowCelsius: below, For: positive(r, c.need("for", "40 s"))}
	}
	return s
}

// ending checks that a drill ends in one way, and that its first act can begin it.
func (read *readFlow) ending(cranks bool) {
	r, flow := read.report, read.flow
	if flow.Ends == procedure.Resumed && (cranks || len(flow.Choices) > 0) {
		r.complain(read.ends, "a drill after which the flow goes on neither cranks nor leads to a choice", "remove \"ends\", or the crank and the choices")
	}
	if flow.Ends == procedure.Stopped && len(flow.Choices) > 0 {
		r.complain(read.ends, "a flow that ends with the engine stopped leads to no choice", "remove \"ends\" or \"choices\"")
	}
	if flow.Ends != "" && len(flow.Steps) > 0 && flow.Signs != nil && flow.Steps[0].Kind != procedure.StepSet && flow.Steps[0].Kind != "" {
		r.complain(read.ends, "a drill is begun by its first act, and its first step is none", "put a step with \"kind: set\" first")
	}
}

func (read *readFlow) noStart(n *node, a *procedure.Aircraft, s *sequence) {
	r := read.report
	f := group(r, n, "what follows when it does not start", "steps", "choices")
	if !s.cranked && f.at != nil {
		r.complain(n, "the flow never cranks, so nothing can fail to start", "remove no_start, or add a crank step")
	}
	b := sequence{r: r, a: a, ids: s.ids, branch: true}
	branch := &procedure.NoStart{Steps: b.all(f.need("steps", "a list"), "branch", "say less: it is flown under stress")}
	seen := map[string]int{}
	for _, m := range list(r, f.need("choices", "a list"), "choices") {
		branch.Choices = append(branch.Choices, read.choice(m, seen, true))
	}
	read.flow.NoStart = branch
}

func (read *readFlow) choice(n *node, seen map[string]int, noStart bool) procedure.Choice {
	r := read.report
	f := group(r, n, "a choice", "id", "title", "ask", "flow")
	id, flow := f.need("id", "prime-again"), f.need("flow", "prime-again")
	c := procedure.Choice{
		ID:    ident(r, id),
		Title: spokenText(r, f.need("title", "Prime again"), 40),
		Ask:   spokenText(r, f.need("ask", "Is there a smell of fuel?"), 160),
		Flow:  procedure.FlowID(ident(r, flow)),
	}
	unique(r, id, c.ID, "choice", seen)
	if flow == nil {
		flow = n
	}
	read.choices = append(read.choices, choiceAt{c, flow, noStart})
	return c
}

// checkChoices complains about choices that lead nowhere, and about those that
// lead from a failed attempt to the next one without the starter's rest.
func (read *readFlow) checkChoices(flows []*procedure.Flow) {
	var names []string
	for _, f := range flows {
		names = append(names, string(f.ID))
	}
	for _, c := range read.choices {
		at := c.at
		target, ok := (&procedure.Library{Flows: flows}).Flow(c.Flow)
		if !ok {
			read.report.complain(at, fmt.Sprintf("the choice %q leads to a flow %q that the %s does not have", c.ID, c.Flow, read.flow.Aircraft), nearest("write", string(c.Flow), names))
			continue
		}
		if !c.noStart || !cranks(target) {
			continue
		}
		if !rests(read.flow.NoStart.Steps) && !rests(beforeCrank(target.Steps)) {
			read.report.complain(at, fmt.Sprintf("from a failed attempt the choice %q leads to the next crank without a rest", c.ID), "add a step with \"kind: rest\" to no_start, or before the crank of "+string(c.Flow))
		}
	}
}

func cranks(f *procedure.Flow) bool {
	for _, s := range f.Steps {
		if s.Kind == procedure.StepCrank {
			return true
		}
	}
	return false
}

func rests(steps []procedure.Step) bool {
	for _, s := range steps {
		if s.Kind == procedure.StepRest {
			return true
		}
	}
	return false
}

func beforeCrank(steps []procedure.Step) []procedure.Step {
	for i, s := range steps {
		if s.Kind == procedure.StepCrank {
			return steps[:i]
		}
	}
	return steps
}
