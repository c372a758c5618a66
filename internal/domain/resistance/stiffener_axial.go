package resistance

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

func axialDef(symbol, name, expr string, d calc.Dim, params ...calc.Param) *calc.Formula {
	return calc.Define(calc.Def{Symbol: symbol, Name: name, Expr: expr, Dim: d, Clause: clauseAxial, Params: params})
}

var (
	parBe  = par("b_e", "projecting width that counts", calc.Length)
	parWs  = par("w_s", "width of web that counts", calc.Length)
	parNw  = par("n_w", "web counted each side, over its thickness", calc.Scalar)
	parXs  = par("x_s", "girder end to the stiffeners", calc.Length)
	parPo  = par("P_o", "squash load", calc.Force)
	parPe  = par("P_e", "elastic buckling load", calc.Force)
	parKL  = par("K", "effective length factor", calc.Scalar)
	parAmn = par("A_min", "smallest section", calc.Area)

	axialCounted = axialDef("b_e", "projecting width that counts", "min(b_t, b_lim)", calc.Length, parBt, par("b_lim", "largest projecting width", calc.Length))
	axialStrip   = axialDef("w_s", "width of web that counts", "n_w*t_w + min(n_w*t_w, x_s)", calc.Length, parNw, parTw, parXs)
	axialArea    = axialDef("A_min", "smallest section along the height", "n*b_e*t_p + w_s*t_w", calc.Area, parPlates, parBe, parTp, parWs,
		par("t_w", "thinnest row of the web strip", calc.Length))
	axialInertia = axialDef("I", "second moment about the middle of the web", "n*(t_p*b_e^3/12 + t_p*b_e*((b_e + t_w)/2)^2) + w_s*t_w^3/12", calc.Inertia,
		parPlates, parTp, parBe, par("t_w", "mean thickness of the web strip", calc.Length), parWs)
	axialSquash  = axialDef("P_o", "squash load", "F_ys*A_min", calc.Force, parFys, parAmn)
	axialElastic = axialDef("P_e", "elastic buckling load", "pi^2*E*I/(K*D)^2", calc.Force, parE, par("I", "second moment of area", calc.Inertia), parKL, parWeb)
	columnShort  = calc.Define(calc.Def{Symbol: "R_n", Name: "nominal axial resistance, P_o/P_e at most 2.25", Expr: "0.658^(P_o/P_e)*P_o", Dim: calc.Force,
		Clause: clauseColumn, Params: []calc.Param{parPo, parPe}})
	columnLong = calc.Define(calc.Def{Symbol: "R_n", Name: "nominal axial resistance, P_o/P_e above 2.25", Expr: "0.877*P_e", Dim: calc.Force,
		Clause: clauseColumn, Params: []calc.Param{parPe}})
)

// StiffenerAxial is the stiffeners with a strip of web as a column, AASHTO LRFD
// BDS 6.10.11.2.4. The smallest section along the height squashes; the mean one
// bends. Where the web yields before the stiffeners the strip is narrowed by the
// ratio of their strengths. Web between several pairs is not counted.
type StiffenerAxial struct {
	Plates     int // two to a pair
	Width      units.Length
	Thickness  units.Length
	Fy         units.Stress // stiffeners
	FyWeb      units.Stress
	WebLeast   units.Length // thinnest row of the web strip
	WebMean    units.Length // mean of the web strip
	WebDepth   units.Length // between flanges
	X          units.Length // girder end to the stiffeners
	Demand     units.Force
	Conditions []calc.Limit // limits of the procedure
}

// Column is the section and the resistance of a stiffener column.
type Column struct {
	Counted units.Length  // projecting width that counts
	Area    units.Area    // smallest section
	Inertia units.Inertia // of the mean section
	Nominal units.Force
}

// Column finds the section and the nominal resistance.
func (c StiffenerAxial) Column(p *calc.Pad, b basis.Basis) Column {
	width := StiffenerWidth{Width: c.Width, Thickness: c.Thickness, Fy: c.Fy}
	n, tp := float64(c.Plates), float64(c.Thickness)
	be := axialCounted.Eval(p, float64(c.Width), float64(width.Limit(p, b)))
	nw := b.Value(basis.StiffenerStrip) * min(1, float64(c.FyWeb/c.Fy))
	least, mean, x := float64(c.WebLeast), float64(c.WebMean), float64(c.X)
	p.Given("t_w", "thinnest row of the web strip", calc.Length, least, "thickness map")
	a := axialArea.Eval(p, n, be, tp, axialStrip.Eval(p, nw, least, x), least)
	if mean != least {
		p.Given("t_w", "mean thickness of the web strip", calc.Length, mean, "thickness map")
	}
	i := axialInertia.Eval(p, n, tp, be, mean, axialStrip.Eval(nil, nw, mean, x))
	out := Column{Counted: units.Length(be), Area: units.Area(a), Inertia: units.Inertia(i)}
	if !(a > 0) || !(i > 0) {
		p.Note("no section is left")
		return out
	}
	po := axialSquash.Eval(p, float64(c.Fy), a)
	pe := axialElastic.Eval(p, b.Value(basis.SteelModulus), i, b.Value(basis.StiffenerLength), float64(c.WebDepth))
	if po/pe <= 2.25 {
		out.Nominal = units.Force(columnShort.Eval(p, po, pe))
	} else {
		out.Nominal = units.Force(columnLong.Eval(p, pe))
	}
	return out
}

// Radius is the radius of gyration of a column.
func (c Column) Radius() units.Length {
	return units.Length(math.Sqrt(float64(c.Inertia) / float64(c.Area)))
}

// Factored is the resistance to compare with the demand.
func (c StiffenerAxial) Factored(p *calc.Pad, b basis.Basis) units.Force {
	return factor(p, c.Column(p, b).Nominal, b.Value(basis.StiffenerPhiAxial), 1)
}

// Check compares the reaction with the axial resistance.
func (c StiffenerAxial) Check(p *calc.Pad, b basis.Basis) calc.Check {
	q := sheet(p)
	r := c.Factored(q, b)
	return calc.Finish(calc.Check{Key: "stiffener.axial", Name: "Bearing stiffeners, column with a strip of web", Group: group,
		Demand: float64(c.Demand), Resistance: float64(r), Dim: calc.Force, Limits: c.Conditions, Clause: clauseAxial, Lines: q.Lines()})
}
