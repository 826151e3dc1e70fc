package main

import (
	"io"
	"math"

	"kickover/procedure/planner"
)

// The plan as JSON. Probabilities carry the ends of their 95 % interval.
type planJSON struct {
	Aircraft string       `json:"aircraft"`
	Caution  string       `json:"caution"`
	Rules    string       `json:"handbook_rules"`
	Interval string       `json:"interval"`
	Unit     planner.Unit `json:"prime_unit"`
	Seed     uint64       `json:"seed"`
	Learnt   *learntJSON  `json:"learnt,omitempty"`
	Rows     []rowJSON    `json:"rows"`
}

type learntJSON struct {
	Registration string      `json:"registration"`
	Starts       int         `json:"starts"`
	WhyNot       string      `json:"why_nothing,omitempty"`
	LeftOut      []string    `json:"left_out"`
	Traits       []traitJSON `json:"traits"`
}

type traitJSON struct {
	Name string  `json:"name"`
	Mean float64 `json:"mean_of_model"`
	SD   float64 `json:"sd"`
}

type rowJSON struct {
	Conditions planDayJSON  `json:"conditions"`
	Handbook   handbookJSON `json:"handbook"`
	Advice     adviceJSON   `json:"advice"`
	Primes     []pointJSON  `json:"primes"`
}

type handbookJSON struct {
	Flow      string  `json:"flow"`
	Situation string  `json:"situation"`
	Primes    bool    `json:"primes"`
	Min       float64 `json:"min"`
	Ideal     float64 `json:"ideal"`
	Max       float64 `json:"max"`
}

type adviceJSON struct {
	Given  bool     `json:"given"`
	Prime  *float64 `json:"prime"`
	Why    string   `json:"why"`
	Beyond string   `json:"beyond_the_window,omitempty"`
}

type pointJSON struct {
	Prime  float64   `json:"prime"`
	Inside bool      `json:"inside_window"`
	Trials int       `json:"trials"`
	Start  shareJSON `json:"start"`
	Flood  shareJSON `json:"flood"`
}

type shareJSON struct {
	P    float64 `json:"p"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

func shareOf(s planner.Share) shareJSON {
	four := func(x float64) float64 { return math.Round(x*1e4) / 1e4 }
	return shareJSON{four(s.Value()), four(s.Low), four(s.High)}
}

func (f *planFlags) writeJSON(out io.Writer, s *planner.Survey, q planner.Question, r planner.Records) error {
	j := planJSON{
		Aircraft: f.aircraft, Caution: caution, Rules: planner.HandbookRules,
		Interval: "95 %, Wilson's score", Unit: s.Aeroplane.Unit, Seed: f.seed,
	}
	if f.registration != "" {
		j.Learnt = learntOf(f.registration, q, r)
	}
	for _, row := range s.Rows {
		j.Rows = append(j.Rows, rowOf(row))
	}
	return writeJSON(out, j)
}

func learntOf(registration string, q planner.Question, r planner.Records) *learntJSON {
	l := &learntJSON{Registration: registration, WhyNot: q.Aeroplane.WhyNotLearn(), LeftOut: append([]string{}, r.Left...), Traits: []traitJSON{}}
	if q.Belief != nil {
		l.Starts = q.Belief.Starts
		for _, t := range q.Belief.Traits() {
			l.Traits = append(l.Traits, traitJSON(t))
		}
	}
	return l
}

func rowOf(r planner.Row) rowJSON {
	h := r.Handbook
	j := rowJSON{
		Conditions: planDayOf(r.Conditions),
		Handbook:   handbookJSON{string(h.Flow), h.Situation, h.Primes(), h.Min, h.Ideal, h.Max},
		Primes:     []pointJSON{},
	}
	a := r.Advice()
	j.Advice = adviceJSON{Given: a.Given, Why: a.Why, Beyond: a.Beyond}
	if a.Given {
		j.Advice.Prime = &a.Point.Prime
	}
	for _, p := range r.Points() {
		j.Primes = append(j.Primes, pointJSON{p.Prime, h.Inside(p.Prime), p.Trials, shareOf(p.Start), shareOf(p.Flood)})
	}
	return j
}
