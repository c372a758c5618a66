package demand

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	parIM    = par("I", "impact", calc.Scalar)
	parAxles = par("V", "reaction of the axles", calc.Force)

	laneLoad = calc.Define(calc.Def{Symbol: "V_L", Name: "reaction of the lane load", Expr: "w*L/2 + P", Dim: calc.Force, Clause: clauseLanes,
		Params: []calc.Param{par("w", "lane load", calc.LineLoad), parL, par("P", "concentrated load over the bearing", calc.Force)}})
	laneOnly = calc.Define(calc.Def{Symbol: "V_L", Name: "reaction of the lane load", Expr: "w*L/2", Dim: calc.Force, Clause: clauseLanes,
		Params: []calc.Param{par("w", "lane load", calc.LineLoad), parL}})
	laneLines = calc.Define(calc.Def{Symbol: "V_L", Name: "reaction of the lane load on the girder", Expr: "n*w*L/4 + n_0*P/2", Dim: calc.Force, Clause: clauseWheels,
		Params: []calc.Param{par("n", "wheel lines that reach the girder", calc.Scalar), par("w", "lane load", calc.LineLoad), parL,
			par("n_0", "wheel lines over the bearing", calc.Scalar), par("P", "concentrated load over the bearing", calc.Force)}})
	withImpact = calc.Define(calc.Def{Symbol: "V_1", Name: "reaction with impact", Expr: "(1 + I)*V", Dim: calc.Force, Clause: clauseImpact,
		Params: []calc.Param{parIM, parAxles}})
	withLane = calc.Define(calc.Def{Symbol: "V_1", Name: "reaction with impact and lane load", Expr: "(1 + I)*V + V_L", Dim: calc.Force, Clause: clauseImpact,
		Params: []calc.Param{parIM, parAxles, par("V_L", "reaction of the lane load", calc.Force)}})
	impactLFD = calc.Define(calc.Def{Symbol: "I", Name: "impact by the load factor method", Expr: "min(c_1/(L + c_2), I_m)", Dim: calc.Scalar, Clause: clauseOldIM,
		Params: []calc.Param{par("c_1", "length over which impact is counted", calc.Span), parL, par("c_2", "length added to the span", calc.Span),
			par("I_m", "most impact", calc.Scalar)}})
)

// LaneReaction is the end reaction of a truck's lane load for one lane, without
// impact: half of the load on the span, with the concentrated load over the bearing.
func LaneReaction(p *calc.Pad, t Truck, span units.Length) units.Force {
	if t.LanePoint == 0 {
		return units.Force(laneOnly.Eval(p, t.Lane, float64(span)))
	}
	return units.Force(laneLoad.Eval(p, t.Lane, float64(span), float64(t.LanePoint)))
}

// impact is the impact of a vehicle on a span under a method.
func impact(p *calc.Pad, b basis.Basis, t Truck, span units.Length, m Method) float64 {
	if m == LoadFactor {
		return impactLFD.Eval(p, b.Value(basis.ImpactLFD), float64(span), b.Value(basis.ImpactLFDSpan), b.Value(basis.ImpactLFDMost))
	}
	k := basis.Impact
	if t.Class == Fatigue {
		k = basis.ImpactFatigue
	}
	i := b.Value(k)
	p.Given("I", "impact", calc.Scalar, i, "design basis")
	return i
}

// laneLoadName is what governs where a lane load in place of the axles gives more.
const laneLoadName = "lane load"

// PerLane is the end reaction of one lane of a vehicle with impact and lane load, not
// yet shared among girders. The design load is the larger of its alternatives: see
// Reactions.
func PerLane(p *calc.Pad, b basis.Basis, t Truck, span units.Length, m Method) (units.Force, Placement) {
	x := lane(p, b, t, span, m)
	return x.with, x.place
}

// perLane is one lane of one vehicle.
type perLane struct {
	with   units.Force // with impact and lane load
	impact float64
	place  Placement
	alone  bool // the lane load governs in place of the axles
}

func lane(p *calc.Pad, b basis.Basis, t Truck, span units.Length, m Method) perLane {
	v, pl := AxleReaction(p, t, span)
	x := perLane{place: pl, impact: impact(p, b, t, span, m)}
	switch {
	case t.Lane == 0 && t.LanePoint == 0:
		x.with = units.Force(withImpact.Eval(p, x.impact, float64(v)))
	case t.LaneAlone:
		if l := LaneReaction(p, t, span); l > v {
			p.Note("the lane load in place of the axles gives more")
			v, x.alone, x.place = l, true, Placement{}
		}
		x.with = units.Force(withImpact.Eval(p, x.impact, float64(v)))
	default:
		x.with = units.Force(withLane.Eval(p, x.impact, float64(v), float64(LaneReaction(p, t, span))))
	}
	return x
}

// lines is lane for one girder in wheel lines.
func lines(p *calc.Pad, b basis.Basis, t Truck, span units.Length, over, away float64) perLane {
	v, pl := wheelReaction(p, t, span, over, away)
	x := perLane{place: pl, impact: impact(p, b, t, span, LoadFactor)}
	if t.Lane == 0 && t.LanePoint == 0 {
		x.with = units.Force(withImpact.Eval(p, x.impact, float64(v)))
		return x
	}
	l := laneLines.Eval(p, away, t.Lane, float64(span), over, float64(t.LanePoint))
	if !t.LaneAlone {
		x.with = units.Force(withLane.Eval(p, x.impact, float64(v), l))
		return x
	}
	if l > float64(v) {
		p.Note("the lane load in place of the axles gives more; its concentrated load counts as wheels over the bearing")
		v, x.alone, x.place = units.Force(l), true, Placement{}
	}
	x.with = units.Force(withImpact.Eval(p, x.impact, float64(v)))
	return x
}
