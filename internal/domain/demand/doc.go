// Package demand says what a girder end must carry, and how it rates.
//
// Reactions takes a span, the place of one girder end in it, the parts of its dead
// load and the vehicles, and returns the reaction of each at that end: dead load by
// statics in three buckets, live load by the exact placement of the axles, the
// share of a lane that reaches the girder, impact, and the correction for skew at
// an obtuse corner. A person may put reactions of an existing calculation in their
// place. Factored gives the reaction that a design must carry, Rate the rating
// factors with a nominal resistance, Screen and Post what follows from them.
//
// A span's end reaction is that of a simple span. Nothing here covers continuous
// girders, interior supports, curved girders, girders that are not parallel, or people
// on a sidewalk.
//
// Most factors come from licensed specifications and are settings of package basis,
// each with its source and how well that is confirmed. The results support an
// engineer's judgement and do not replace it: the owner's manual, the codes in force
// and a licensed engineer decide, above all before a bridge is opened, posted or
// closed on their account.
package demand

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
)

// Clauses. Those of AASHTO are from memory or second-hand: confirm article and
// edition against the licensed text.
var (
	clauseStatics  = calc.Clause{Document: "statics of a simple span", Tag: basis.Read}
	clauseLanes    = calc.Clause{Document: "AASHTO LRFD BDS", Article: "3.6.1", Tag: basis.Memory}
	clauseImpact   = calc.Clause{Document: "AASHTO LRFD BDS", Article: "3.6.2.1", Tag: basis.Memory}
	clauseShear    = calc.Clause{Document: "AASHTO LRFD BDS", Article: "4.6.2.2.3", Tag: basis.SecondHand}
	clauseLever    = calc.Clause{Document: "AASHTO LRFD BDS", Article: "C4.6.2.2.1, lever rule", Tag: basis.Memory}
	clauseRigid    = calc.Clause{Document: "AASHTO LRFD BDS", Article: "C4.6.2.2.2d", Tag: basis.Memory}
	clauseSkew     = calc.Clause{Document: "AASHTO LRFD BDS", Article: "4.6.2.2.3c", Tag: basis.SecondHand}
	clauseKg       = calc.Clause{Document: "AASHTO LRFD BDS", Article: "4.6.2.2.1", Tag: basis.SecondHand}
	clauseStrength = calc.Clause{Document: "AASHTO LRFD BDS", Article: "3.4.1, Strength I", Tag: basis.SecondHand}
	clauseWheels   = calc.Clause{Document: "AASHTO Standard Specifications", Article: "3.23", Edition: "17th", Tag: basis.Memory}
	clauseOldIM    = calc.Clause{Document: "AASHTO Standard Specifications", Article: "3.8.2", Edition: "17th", Tag: basis.Memory}
	clauseOldLoad  = calc.Clause{Document: "AASHTO Standard Specifications", Article: "3.22", Edition: "17th", Tag: basis.Memory}
	clauseRF       = calc.Clause{Document: "AASHTO Manual for Bridge Evaluation", Article: "6A.4.2.1", Tag: basis.SecondHand}
	clauseLegal    = calc.Clause{Document: "AASHTO Manual for Bridge Evaluation", Article: "6A.4.4.2.3", Tag: basis.SecondHand}
	clausePermit   = calc.Clause{Document: "AASHTO Manual for Bridge Evaluation", Article: "6A.4.5", Tag: basis.Memory}
	clauseCapacity = calc.Clause{Document: "AASHTO Manual for Bridge Evaluation", Article: "6A.4.2", Tag: basis.SecondHand}
	clauseLFR      = calc.Clause{Document: "AASHTO Manual for Bridge Evaluation", Article: "6B.4.1", Tag: basis.Memory}
	clausePosting  = calc.Clause{Document: "AASHTO Manual for Bridge Evaluation", Article: "6A.8.3", Tag: basis.Read}
)

// Method is the family of rules that loads and ratings follow.
type Method string

// Methods.
const (
	LRFR       Method = "lrfr"        // load and resistance factors, LRFD loads
	LoadFactor Method = "load_factor" // load factor method of the standard specifications
)

// Words is the method for a reader.
func (m Method) Words() string {
	switch m {
	case LRFR:
		return "load and resistance factors"
	case LoadFactor:
		return "load factor method"
	}
	return "unknown method"
}

// Known reports whether m is one of the methods.
func (m Method) Known() bool { return m == LRFR || m == LoadFactor }

// par is one parameter of a formula.
func par(symbol, name string, d calc.Dim) calc.Param {
	return calc.Param{Symbol: symbol, Name: name, Dim: d}
}

// sheet returns a pad for one result, or nil when nobody reads along.
func sheet(p *calc.Pad) *calc.Pad {
	if p == nil {
		return nil
	}
	return calc.NewPad()
}

// rounding is what a ratio may miss a limit by: feet held in millimetres.
const rounding = 1e-9

// refusals collects fields that cannot be taken.
type refusals struct{ fault.Invalid }

// find refuses a field unless ok. ok must be written so that a NaN makes it false.
// Each # of the limit stands for one of the numbers; the text is made only when it is
// needed.
func (r *refusals) find(ok bool, field string, value float64, limit string, numbers ...float64) {
	if ok && finite(value) {
		return
	}
	for _, n := range numbers {
		limit = strings.Replace(limit, "#", number(n), 1)
	}
	r.Add(field, number(value), "must %s, got %s", limit, number(value))
}

// under adds the fields of err under the name of the thing they belong to.
func (r *refusals) under(prefix string, err error) {
	if err == nil {
		return
	}
	var v *fault.Invalid
	if !errors.As(err, &v) {
		return
	}
	r.join(prefix, v.Fields)
}

// join adds fields under the name of the thing they belong to.
func (r *refusals) join(prefix string, fields []fault.Field) {
	for _, f := range fields {
		f.Field = prefix + f.Field
		r.Fields = append(r.Fields, f)
	}
}

// at names an element of a list, as in parts[2].
func at(list string, i int) string { return list + "[" + strconv.Itoa(i) + "]." }

func number(v float64) string {
	return strconv.FormatFloat(math.Round(float64(v*1000))/1000, 'f', -1, 64)
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
