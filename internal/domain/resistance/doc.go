// Package resistance says what a corroded steel girder end can still carry.
//
// Evaluate takes the end as built, the survey and the demand, and returns every
// check with the capacity that governs. The rules are those of the standards for
// sound steel; how a thickness map becomes the few numbers that those rules take is
// a Procedure, because no published procedure could be confirmed: the one that
// ships is ours, and reports the lower of the two readings of the map.
//
// Each check is a struct of its inputs in a file of its own. Where the steel is in
// a state that a rule was not made for, a limit of the check is not met, and the
// check is never shown as a pass.
//
// The results support an engineer's judgement and do not replace it: the owner's
// manual and a licensed engineer decide.
package resistance

import (
	"strconv"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
)

// group is the group of every check of this package.
const group = "corroded"

// Clauses. Those of AASHTO are from memory: confirm article and edition against
// the licensed text.
var (
	clauseYielding  = calc.Clause{Document: "AASHTO LRFD BDS", Article: "D6.5.2", Tag: basis.Memory}
	clauseCrippling = calc.Clause{Document: "AASHTO LRFD BDS", Article: "D6.5.3", Tag: basis.Memory}
	clauseShear     = calc.Clause{Document: "AASHTO LRFD BDS", Article: "6.10.9", Tag: basis.Memory}
	clauseWidth     = calc.Clause{Document: "AASHTO LRFD BDS", Article: "6.10.11.2.2", Tag: basis.Memory}
	clauseFitted    = calc.Clause{Document: "AASHTO LRFD BDS", Article: "6.10.11.2.3", Tag: basis.Memory}
	clauseAxial     = calc.Clause{Document: "AASHTO LRFD BDS", Article: "6.10.11.2.4", Tag: basis.Memory}
	clauseColumn    = calc.Clause{Document: "AASHTO LRFD BDS", Article: "6.9.4.1.1", Tag: basis.Memory}
	clauseJ102      = calc.Clause{Document: "ANSI/AISC 360", Article: "J10.2", Edition: "2022", Tag: basis.Read}
	clauseJ103      = calc.Clause{Document: "ANSI/AISC 360", Article: "J10.3", Edition: "2022", Tag: basis.Read}
	clausePatch     = calc.Clause{Document: "EN 1993-1-5", Article: "6, load type (c)", Edition: "2006", Tag: basis.SecondHand}
	clauseFlange    = calc.Clause{Document: "AISC Design Examples", Article: "II.D-2", Edition: "v16.0", Tag: basis.Read}
	clauseProcedure = calc.Clause{Document: "procedure for corroded ends", Tag: basis.Proposal}
)

// par is one parameter of a formula.
func par(symbol, name string, d calc.Dim) calc.Param {
	return calc.Param{Symbol: symbol, Name: name, Dim: d}
}

// Parameters that many formulas share.
var (
	parE   = par("E", "modulus of elasticity", calc.Stress)
	parFyw = par("F_yw", "yield strength of the web", calc.Stress)
	parFys = par("F_ys", "yield strength of the stiffeners", calc.Stress)
	parTw  = par("t_w", "web thickness", calc.Length)
	parTf  = par("t_f", "bottom flange thickness", calc.Length)
	parD   = par("d", "depth of the section", calc.Length)
	parWeb = par("D", "web depth between flanges", calc.Length)
	parN   = par("N", "bearing length", calc.Length)
	parK   = par("k", "flange face to web toe of the fillet", calc.Length)
	parRn  = par("R_n", "nominal resistance", calc.Force)
	parPhi = par("phi", "resistance factor", calc.Scalar)
)

// limits collects limits of validity. Words are made only when somebody reads
// along or when a limit is not met, and carry plain numbers, so that they read
// alike in any units.
type limits struct {
	list []calc.Limit
	read bool
}

// atMost records that value stays at or below limit.
func (l *limits) atMost(what string, value, limit float64) {
	l.ratio(what, " at most ", value, limit, value <= limit*(1+rounding))
}

// below records that value stays below limit.
func (l *limits) below(what string, value, limit float64) {
	l.ratio(what, " less than ", value, limit, value < limit)
}

// atLeast records that value reaches limit.
func (l *limits) atLeast(what string, value, limit float64) {
	l.ratio(what, " at least ", value, limit, value >= limit*(1-rounding))
}

func (l *limits) ratio(what, word string, value, limit float64, met bool) {
	if l.read || !met {
		l.list = append(l.list, calc.Limit{Text: what + " is " + plain(value) + "," + word + plain(limit), Met: met})
	}
}

// holds records a condition.
func (l *limits) holds(text string, met bool) {
	if l.read || !met {
		l.list = append(l.list, calc.Limit{Text: text, Met: met})
	}
}

// rounding is what a ratio may miss a limit by: inches held in millimetres.
const rounding = 1e-9

func plain(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

// sheet returns a pad for one check, or nil when nobody reads along.
func sheet(p *calc.Pad) *calc.Pad {
	if p == nil {
		return nil
	}
	return calc.NewPad()
}

// sliver is a thickness that counts as nothing, in mm: below it the rules divide
// vanishing numbers by each other.
const sliver = 1e-3
