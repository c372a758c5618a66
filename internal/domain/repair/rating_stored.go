package repair

import (
	"encoding/json"
	"fmt"

	"endcast/internal/domain/demand"
	"endcast/internal/domain/units"
)

// A summary is written with every vehicle and level once, beside which each
// condition has its numbers in the same order: four conditions of some forty
// factors, at every edit.
type storedSummary struct {
	Missing []string           `json:"missing,omitempty"`
	Problem string             `json:"problem,omitempty"`
	Traffic int                `json:"traffic"`
	Lines   []storedLine       `json:"lines,omitempty"`
	Rated   []storedConditions `json:"rated,omitempty"`
}

type storedLine struct {
	Method  demand.Method `json:"method"`
	Level   demand.Level  `json:"level"`
	Vehicle string        `json:"vehicle"`
	Class   demand.Class  `json:"class"`
	Gross   units.Force   `json:"gross"`
	Posts   bool          `json:"posts,omitzero"`
}

type storedConditions struct {
	ConditionRatings
	Ratings []storedRating `json:"ratings"` // in the order of the lines
}

// storedRating is the factor, null where it is not known, the verdict, and the safe
// load where it is not the whole weight.
type storedRating struct {
	RF      *float64       `json:"rf"`
	Verdict demand.Verdict `json:"v"`
	Safe    *units.Force   `json:"safe,omitempty"`
}

// MarshalJSON implements json.Marshaler.
func (r RatingSummary) MarshalJSON() ([]byte, error) {
	out := storedSummary{Missing: r.Missing, Problem: r.Problem, Traffic: r.Traffic}
	for i, c := range r.Rated {
		x := storedConditions{ConditionRatings: c, Ratings: make([]storedRating, len(c.Ratings))}
		x.ConditionRatings.Ratings = nil
		for j, l := range c.Ratings {
			if i == 0 {
				out.Lines = append(out.Lines, storedLine{l.Method, l.Level, l.Vehicle, l.Class, l.Gross, l.Posts})
			} else if len(c.Ratings) != len(out.Lines) || out.Lines[j].Vehicle != l.Vehicle || out.Lines[j].Level != l.Level || out.Lines[j].Method != l.Method {
				return nil, fmt.Errorf("rating summary: %s has other vehicles than %s", c.Condition, r.Rated[0].Condition)
			}
			out.Lines[j].Posts = out.Lines[j].Posts || l.Posts // all that are known post, or none
			x.Ratings[j].Verdict = l.Verdict
			if l.Known {
				rf := l.RF
				x.Ratings[j].RF = &rf
			}
			if l.Posts && l.SafeLoad != l.Gross {
				safe := l.SafeLoad
				x.Ratings[j].Safe = &safe
			}
		}
		out.Rated = append(out.Rated, x)
	}
	return json.Marshal(out)
}

// UnmarshalJSON implements json.Unmarshaler.
func (r *RatingSummary) UnmarshalJSON(raw []byte) error {
	var in storedSummary
	if err := json.Unmarshal(raw, &in); err != nil {
		return err
	}
	*r = RatingSummary{Missing: in.Missing, Problem: in.Problem, Traffic: in.Traffic}
	for _, x := range in.Rated {
		if len(x.Ratings) != len(in.Lines) {
			return fmt.Errorf("rating summary: %s has %d factors for %d vehicles and levels", x.Condition, len(x.Ratings), len(in.Lines))
		}
		c := x.ConditionRatings
		c.Ratings = make([]RatingLine, len(in.Lines))
		for j, l := range in.Lines {
			v := x.Ratings[j]
			y := RatingLine{Method: l.Method, Level: l.Level, Vehicle: l.Vehicle, Class: l.Class, Gross: l.Gross, Posts: l.Posts && v.RF != nil, Verdict: v.Verdict}
			if v.RF != nil {
				y.RF, y.Known = *v.RF, true
			}
			if y.Posts {
				y.SafeLoad = l.Gross
			}
			if v.Safe != nil {
				y.SafeLoad = *v.Safe
			}
			c.Ratings[j] = y
		}
		r.Rated = append(r.Rated, c)
	}
	return nil
}
