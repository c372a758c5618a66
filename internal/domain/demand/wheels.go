package demand

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
)

var (
	linesSimple = calc.Define(calc.Def{Symbol: "n", Name: "wheel lines that reach an interior girder", Expr: "S/c", Dim: calc.Scalar, Clause: clauseWheels,
		Params: []calc.Param{parS, par("c", "spacing that carries one wheel line", calc.Span)}})
	linesEdge = calc.Define(calc.Def{Symbol: "n", Name: "wheel lines that reach an exterior girder at least", Expr: "S/(c_0 + c_1*S)", Dim: calc.Scalar, Clause: clauseWheels,
		Params: []calc.Param{parS, par("c_0", "constant part", calc.Span), par("c_1", "part of the spacing", calc.Scalar)}})
	linesLever = calc.Define(calc.Def{Symbol: "n", Name: "wheel lines with the deck as a simple span between girders", Expr: "2*g", Dim: calc.Scalar, Clause: clauseWheels,
		Params: []calc.Param{par("g", "part of a lane", calc.Scalar)}})
)

// wheelLines fills the wheel lines of the load factor method. A wheel right over the
// bearing does not spread along the deck: it reaches the girders as if the deck were a
// simple span between them. Wheels on the span spread by the spacing rules, an
// exterior girder by the deck as a simple span with a floor.
func (s Span) wheelLines(p *calc.Pad, b basis.Basis, e End, x *Share) {
	if s.fromObtuse(e) > 0 {
		p.Note("load factor method: no correction for skew, which that method does not have")
	}
	p.Note("wheels over the bearing, the deck a simple span between girders")
	simple := func(p *calc.Pad, from, most int) float64 {
		return linesLever.Eval(p, share(p, b, e, from, most, s.lever, reduction))
	}
	x.OverOne = simple(p, 1, 1)
	x.Over = x.OverOne
	if x.Lanes > 1 {
		x.Over = max(x.Over, simple(p, 2, x.Lanes))
	}
	p.Note("wheels on the span")
	sp := float64(s.Spacing)
	if s.Exterior(e) {
		x.AwayOne, x.Away = x.OverOne, x.Over
		if x.Lanes > 1 && float64(s.Girders) >= b.Value(basis.GirdersLeast) {
			x.Away = max(x.Away, s.linesFloor(p, b, sp))
		}
		return
	}
	over := func(most basis.Key, lanes string) bool {
		limit := b.Value(most)
		if sp <= limit*(1+rounding) {
			return false
		}
		x.Warnings = append(x.Warnings, "load factor method: the spacing "+feet(s.Spacing)+" is more than the rule for "+lanes+" holds for: the deck as a simple span between girders")
		return true
	}
	if over(basis.LinesOneMost, "one lane") {
		x.AwayOne = x.OverOne
	} else {
		x.AwayOne = linesSimple.Eval(p, sp, b.Value(basis.LinesOne))
	}
	x.Away = x.AwayOne
	if x.Lanes > 1 {
		if over(basis.LinesTwoMost, "two lanes") {
			x.Away = max(x.Away, x.Over)
		} else {
			x.Away = max(x.Away, linesSimple.Eval(p, sp, b.Value(basis.LinesTwo)))
		}
	}
}

// linesFloor is the least number of wheel lines of an exterior girder.
func (s Span) linesFloor(p *calc.Pad, b basis.Basis, sp float64) float64 {
	switch {
	case sp <= b.Value(basis.LinesEdge)*(1+rounding):
		return linesSimple.Eval(p, sp, b.Value(basis.LinesTwo))
	case sp < b.Value(basis.LinesTwoMost):
		return linesEdge.Eval(p, sp, b.Value(basis.LinesEdgeBase), b.Value(basis.LinesEdgePart))
	}
	return 0
}
