package repair

import (
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/units"
)

// Conditions of an end, as results are stored by and ratings are given for.
const (
	AsNew    = "as_new"
	Corroded = "corroded"
	Repaired = "repaired"
	AsWelded = "as_welded"
)

// of is the evaluation of a condition, nil where there is none.
func (e Evaluations) of(condition string) *Evaluation {
	switch condition {
	case AsNew:
		return e.AsNew
	case Corroded:
		return e.Corroded
	case Repaired:
		return e.Repaired
	case AsWelded:
		return e.AsWelded
	}
	return nil
}

// RatingSummary is the rating factors of an end in each of its conditions, small
// enough to be stored at every edit.
type RatingSummary struct {
	Missing []string           `json:"missing,omitempty"` // in words, what is not known of the loads
	Problem string             `json:"problem,omitempty"` // as of Demand
	Traffic int                `json:"traffic"`           // trucks a day that the factors counted with; zero: not known
	Rated   []ConditionRatings `json:"rated,omitempty"`
}

// ConditionRatings is the rating factors of one condition of an end.
type ConditionRatings struct {
	Condition string      `json:"condition"`
	Nominal   units.Force `json:"nominal"`
	Phi       float64     `json:"phi"`
	Outside   bool        `json:"outside"` // a limit of the method is not met: no rating is to be relied on
	// Least is the least factor of the loads that may cross: every vehicle by load and
	// resistance factors but the design load at inventory level. Nil where none is known.
	Least   *float64           `json:"least"`
	Vehicle string             `json:"vehicle,omitempty"` // of the least factor
	Level   string             `json:"level,omitempty"`
	Ratings []RatingLine       `json:"ratings"`
	Screens []demand.Screening `json:"screens"` // Governs is the place in Ratings
}

// RatingLine is a demand.Rating as it is stored.
type RatingLine struct {
	Method   demand.Method  `json:"method"`
	Level    demand.Level   `json:"level"`
	Vehicle  string         `json:"vehicle"`
	Class    demand.Class   `json:"class"`
	RF       float64        `json:"rf"`
	Known    bool           `json:"known"`
	Verdict  demand.Verdict `json:"verdict"`
	SafeLoad units.Force    `json:"safe_load,omitzero"`
	Posts    bool           `json:"posts,omitzero"`
	Gross    units.Force    `json:"gross,omitzero"`
}

// Of returns the ratings of a condition, nil where it was not rated.
func (r RatingSummary) Of(condition string) *ConditionRatings {
	for i := range r.Rated {
		if r.Rated[i].Condition == condition {
			return &r.Rated[i]
		}
	}
	return nil
}

// least is the least factor of a condition, nil where none is known.
func (r RatingSummary) least(condition string) *float64 {
	if c := r.Of(condition); c != nil {
		return c.Least
	}
	return nil
}

// RatingsOn rates an end in one of its conditions with the calculation of every
// factor on its rating; the capacity goes on the pad. It is nil where the condition
// or the loads are not there.
func (r *Record) RatingsOn(s *Scope, condition string, p *calc.Pad) []demand.Rating {
	d := r.Demand(s)
	ev := r.Numbers(s, nil).of(condition)
	if ev == nil || !d.rates() {
		return nil
	}
	return demand.Rate(p, s.Basis(), r.ratingInput(s, d, ev))
}

// rates reports whether anything of the loads is known.
func (d Demand) rates() bool { return d.How != ByHandTotal && d.Problem == "" }

func (r *Record) ratingInput(s *Scope, d Demand, ev *Evaluation) demand.RatingInput {
	in := demand.RatingInput{Resistance: ev.Governing, Nominal: finite(ev.Nominal), Phi: ev.Phi, Loads: d.Loads, Trucks: s.Vehicles(), Traffic: r.traffic(s)}
	if sp, ok := s.Span(r.End.SpanID); ok {
		in.Span = sp.Length
	}
	if x := r.DemandOf(); x != nil {
		in.Condition, in.MeasuredLoss, in.MeasuredWearing = demand.Condition(x.Condition), x.LossMeasured, x.WearingMeasured
	}
	return in
}

// traffic is the trucks a day of the end's span, zero where it is not known.
func (r *Record) traffic(s *Scope) int {
	if x := s.SpanDemand(r.End.SpanID); x != nil && x.ADTT != nil {
		return *x.ADTT
	}
	return 0
}

// Ratings rates an end in every condition that it has.
func (r *Record) Ratings(s *Scope) RatingSummary {
	return r.ratings(s, r.Demand(s), r.Numbers(s, nil))
}

func (r *Record) ratings(s *Scope, d Demand, ev Evaluations) RatingSummary {
	out := RatingSummary{Missing: d.Missing, Problem: d.Problem, Traffic: r.traffic(s)}
	if !d.rates() {
		return out
	}
	for _, name := range [...]string{AsNew, Corroded, Repaired, AsWelded} {
		if e := ev.of(name); e != nil {
			out.Rated = append(out.Rated, r.rated(s, d, e, name))
		}
	}
	return out
}

func (r *Record) rated(s *Scope, d Demand, e *Evaluation, name string) ConditionRatings {
	b := s.Basis()
	list := demand.Rate(nil, b, r.ratingInput(s, d, e))
	out := ConditionRatings{Condition: name, Nominal: finite(e.Nominal), Phi: e.Phi, Outside: e.Outside(), Ratings: make([]RatingLine, len(list))}
	for i, x := range list {
		out.Ratings[i] = RatingLine{Method: x.Method, Level: x.Level, Vehicle: x.Vehicle, Class: x.Class, RF: x.RF, Known: x.Known, Verdict: x.Verdict,
			SafeLoad: x.SafeLoad, Posts: x.Posts, Gross: x.Gross}
		// What is not known can only bring the factor down.
		sure := x.Known && (len(x.Missing) == 0 || x.RF < 1)
		if sure && x.Method == demand.LRFR && x.Level != demand.Inventory && (out.Least == nil || x.RF < *out.Least) {
			rf := x.RF
			out.Least, out.Vehicle, out.Level = &rf, x.Vehicle, string(x.Level)
		}
	}
	for _, m := range [...]demand.Method{demand.LRFR, demand.LoadFactor} {
		out.Screens = append(out.Screens, demand.Screen(b, m, list))
	}
	return out
}

// Outside reports whether a check that decides has a limit that is not met.
func (e *Evaluation) Outside() bool {
	for i := range e.Checks {
		c := &e.Checks[i]
		if c.Verdict == calc.Informs {
			continue
		}
		if c.Verdict == calc.Outside {
			return true
		}
		for _, l := range c.Limits {
			if !l.Met {
				return true
			}
		}
	}
	return false
}
