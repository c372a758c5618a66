package repair

import (
	"math"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/survey"
)

// Sight is a revision with what it stands on, as one side of a comparison.
type Sight struct {
	Design *Design
	Layout *encasement.Design
	// Review is the decision whose facts these are, nil where none kept any.
	Review *Review
	// At is the moment of the survey: that of the decision, or of the submission. Nil for
	// what is known now.
	At     *time.Time
	Survey *Survey // nil for the steel as new
	Found  *survey.Survey
	Facts  []StandFact
	// Checks have demand and resistance, by the key of the fact that holds their ratio.
	// A check whose ratio computed now is not the one on record is left out: what it was
	// computed with then is not known.
	Checks map[string]calc.Check
}

// Kept reports whether the facts were kept with a decision. Otherwise those of the end,
// its demand and the design basis are as they are now.
func (v Sight) Kept() bool { return v.Review != nil }

// Sighted is a revision with what it stands on: on the survey and with the facts of the
// latest decision on it, else on the survey it was submitted on, else on what is known
// now. Anew asks for what is known now whatever was decided.
func (r *Record) Sighted(s *Scope, d *Design, anew bool) Sight {
	v := Sight{Design: d, Layout: r.DesignOf(d), Survey: r.LatestSurvey()}
	v.Found = r.SurveyFindings(v.Survey)
	if !anew {
		for i := range r.Reviews {
			x := &r.Reviews[i]
			if x.DesignID == d.ID && (v.At == nil || x.At.After(*v.At)) {
				v.At, v.Review = &x.At, nil
				if len(x.StandsOn) > 0 {
					v.Review = x
				}
			}
		}
		if v.At == nil {
			v.At = d.SubmittedAt
		}
		if v.At != nil {
			v.Survey, v.Found = r.SurveyAt(*v.At)
		}
	}
	in := r.inputs(s)
	in.Survey, in.Design = v.Found, v.Layout
	ev := repaired(in, s.Basis(), steelOf(s.Basis(), in.Geometry, in.Survey), nil)
	v.Facts = r.standsOnSurvey(s, d, in, v.Survey, ev)
	if v.Review != nil {
		v.Facts = v.Review.StandsOn
	}
	v.Checks = map[string]calc.Check{}
	for key, c := range keyed(ev.Checks) {
		f := fact(v.Facts, key)
		if f == nil || f.Text != c.Verdict.Key() {
			continue
		}
		if f.Value == nil || math.Abs(*f.Value-c.Ratio) <= 1e-9*math.Max(1, math.Abs(c.Ratio)) {
			v.Checks[key] = c
		}
	}
	return v
}

// keyed names the deciding checks as facts name them.
func keyed(checks []calc.Check) map[string]calc.Check {
	out, seen := map[string]calc.Check{}, map[string]int{}
	for _, c := range checks {
		if c.Verdict == calc.Informs {
			continue
		}
		key := "check." + c.Key
		if seen[key]++; seen[key] > 1 {
			key += "." + strconv.Itoa(seen[key])
		}
		out[key] = c
	}
	return out
}

// FactChange is one fact that differs between two sights. Was or Is is nil where only
// the other side has it.
type FactChange struct {
	Key, Name string
	Was, Is   *StandFact
}

// Inside reports that the two read alike while what they speak for differs.
func (c FactChange) Inside() bool {
	if c.Was == nil || c.Is == nil || c.Was.Text != c.Is.Text || (c.Was.Value == nil) != (c.Is.Value == nil) {
		return false
	}
	return c.Was.Value == nil || *c.Was.Value == *c.Is.Value
}

// Sides is what differs between two sights of one end.
type Sides struct {
	Was, Is  Sight
	Layout   encasement.Difference
	Readings []ReadingChange
	Inputs   []FactChange // the steel, the end, the demand, the rules
	Results  []FactChange // capacity, verdict, what decides
	Checks   []FactChange
	Same     int // checks that came out alike
}

// Empty reports whether nothing differs.
func (v Sides) Empty() bool {
	return len(v.Layout.Quantities)+len(v.Layout.Studs)+len(v.Readings)+len(v.Inputs)+len(v.Results)+len(v.Checks) == 0
}

// CompareSights lists every difference between two sights of revisions of one end, the
// facts in the order in which a decision keeps them.
func CompareSights(was, is Sight) Sides {
	out := Sides{Was: was, Is: is, Layout: encasement.Compare(*was.Layout, *is.Layout), Readings: CompareReadings(was.Found, is.Found)}
	add := func(c FactChange) {
		group, _, _ := strings.Cut(c.Key, ".")
		switch group {
		case "layout": // told stud by stud
		case "check":
			out.Checks = append(out.Checks, c)
		case "result":
			out.Results = append(out.Results, c)
		default:
			out.Inputs = append(out.Inputs, c)
		}
	}
	for i := range is.Facts {
		f := &is.Facts[i]
		o := fact(was.Facts, f.Key)
		if o != nil && o.Sum == f.Sum {
			if strings.HasPrefix(f.Key, "check.") {
				out.Same++
			}
			continue
		}
		add(FactChange{Key: f.Key, Name: f.Name, Was: o, Is: f})
	}
	for i := range was.Facts {
		if o := &was.Facts[i]; fact(is.Facts, o.Key) == nil {
			add(FactChange{Key: o.Key, Name: o.Name, Was: o})
		}
	}
	out.Inputs = tell(out.Inputs, len(out.Readings) > 0)
	return out
}

// tell leaves out what other lines tell better: the number of settings where the
// settings themselves are listed, and that a survey reads otherwise where its findings
// are.
func tell(list []FactChange, readings bool) []FactChange {
	settings, steel := false, readings
	for _, c := range list {
		settings = settings || strings.HasPrefix(c.Key, "basis.")
		steel = steel || strings.HasPrefix(c.Key, "survey.")
	}
	out := list[:0]
	for _, c := range list {
		switch {
		case c.Key == "basis" && settings:
		case c.Key == "survey" && c.Inside() && steel:
		case c.Key == "survey.least" && c.Inside() && readings:
		default:
			out = append(out, c)
		}
	}
	return out
}

// RevisionBefore is the revision that a review of d is laid over: the latest earlier one
// that was ever approved, else the latest earlier one that left the designer's desk; nil
// for the first.
func (r *Record) RevisionBefore(d *Design) *Design {
	var approved, left *Design
	for i := range r.Designs {
		x := &r.Designs[i]
		if x.Revision >= d.Revision || x.State == DesignDraft {
			continue
		}
		if left == nil || x.Revision > left.Revision {
			left = x
		}
		if r.lastApproval(x) != nil && (approved == nil || x.Revision > approved.Revision) {
			approved = x
		}
	}
	if approved != nil {
		return approved
	}
	return left
}
