package resistance

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

func shearDef(symbol, name, expr string, d calc.Dim, params ...calc.Param) *calc.Formula {
	return calc.Define(calc.Def{Symbol: symbol, Name: name, Expr: expr, Dim: d, Clause: clauseShear, Params: params})
}

var (
	parShearK = par("k", "shear buckling coefficient", calc.Scalar)
	parX      = par("X", "slenderness scale", calc.Scalar)
	parS      = par("s", "web slenderness", calc.Scalar)
	parK0     = par("k_0", "coefficient of a web without stiffeners", calc.Scalar)

	shearStiffened = shearDef("k", "shear buckling coefficient of a stiffened panel", "k_0 + k_0/(d_o/D)^2", calc.Scalar, parK0,
		par("d_o", "distance to the first stiffener", calc.Length), parWeb)
	shearScale   = shearDef("X", "slenderness scale", "sqrt(E*k/F_yw)", calc.Scalar, parE, parShearK, parFyw)
	shearSlender = shearDef("s", "web slenderness", "D/t_w", calc.Scalar, parWeb, par("t_w", "mean web thickness of the end panel", calc.Length))
	shearInel    = shearDef("C", "shear buckling over shear yield, inelastic", "c_1*X/s", calc.Scalar, par("c_1", "constant", calc.Scalar), parX, parS)
	shearElastic = shearDef("C", "shear buckling over shear yield, elastic", "c_3*X^2/s^2", calc.Scalar, par("c_3", "constant", calc.Scalar), parX, parS)
	shearVp      = shearDef("V_p", "plastic shear force", "c_p*F_yw*A_v", calc.Force, par("c_p", "shear yield over yield strength", calc.Scalar), parFyw,
		par("A_v", "smallest upright section of the web", calc.Area))
	shearVn = shearDef("R_n", "nominal shear resistance", "C*V_p", calc.Force, par("C", "shear buckling over shear yield", calc.Scalar), par("V_p", "plastic shear force", calc.Force))
)

// Shear is the shear resistance of the end panel, AASHTO LRFD BDS 6.10.9, without
// tension field. The smallest upright section stands for D times t_w, and the
// slenderness takes the mean thickness of the panel. At the slender limit the rule
// itself steps up by a tenth of a percent; that is kept.
type Shear struct {
	Depth     units.Length // D, web depth between flanges
	Fy        units.Stress
	Cut       units.Area   // smallest upright section of the end panel
	Thickness units.Length // mean of the end panel
	Panel     units.Length // distance to the first intermediate stiffener, zero for none
	Demand    units.Force
	// Limits of the procedure that touch the flow of shear: holes along the flange, a
	// detached or a bowed web.
	Conditions []calc.Limit
}

// constants are the three of the edition that the basis chooses. They set where a
// web stops yielding, where it starts to buckle elastically, and how it does.
func (c Shear) constants(p *calc.Pad, b basis.Basis) (stocky, slender, elastic float64) {
	if b.Value(basis.ShearFirst) >= 0.5 {
		p.Note("constants of the first editions of AASHTO LRFD BDS")
		return b.Value(basis.ShearStockyFirst), b.Value(basis.ShearSlenderFirst), b.Value(basis.ShearElasticFirst)
	}
	return b.Value(basis.ShearStocky), b.Value(basis.ShearSlender), b.Value(basis.ShearElastic)
}

// Ratio is C, the shear buckling resistance over the shear yield resistance.
func (c Shear) Ratio(p *calc.Pad, b basis.Basis) float64 {
	d, k0 := float64(c.Depth), b.Value(basis.ShearUnstiffened)
	var k float64
	if do := float64(c.Panel); do > 0 && do <= d*b.Value(basis.ShearEndPanel)*(1+rounding) {
		k = shearStiffened.Eval(p, k0, do, d)
	} else {
		k = k0
		p.Given("k", "shear buckling coefficient of a web without stiffeners", calc.Scalar, k, "design basis")
	}
	x := shearScale.Eval(p, b.Value(basis.SteelModulus), k, float64(c.Fy))
	s := shearSlender.Eval(p, d, float64(c.Thickness))
	c1, c2, c3 := c.constants(p, b)
	switch {
	case s <= c1*x:
		p.Note("the web yields in shear before it buckles: C = 1")
		return 1
	case s <= c2*x:
		return shearInel.Eval(p, c1, x, s)
	default:
		return shearElastic.Eval(p, c3, x, s)
	}
}

// Nominal is the resistance without factor; zero where no web is left.
func (c Shear) Nominal(p *calc.Pad, b basis.Basis) units.Force {
	if !(c.Thickness > sliver) || !(c.Cut > 0) {
		p.Note("no web is left to resist shear")
		return 0
	}
	p.Given("A_v", "smallest upright section of the web", calc.Area, float64(c.Cut), "thickness map")
	p.Given("t_w", "mean web thickness of the end panel", calc.Length, float64(c.Thickness), "thickness map")
	ratio := c.Ratio(p, b)
	vp := shearVp.Eval(p, b.Value(basis.ShearPlastic), float64(c.Fy), float64(c.Cut))
	return units.Force(shearVn.Eval(p, ratio, vp))
}

// Factored is the resistance to compare with the demand.
func (c Shear) Factored(p *calc.Pad, b basis.Basis) units.Force {
	return factor(p, c.Nominal(p, b), b.Value(basis.ShearPhi), 1)
}

// Check compares the reaction with the shear resistance.
func (c Shear) Check(p *calc.Pad, b basis.Basis) calc.Check {
	q := sheet(p)
	r := c.Factored(q, b)
	return calc.Finish(calc.Check{Key: "web.shear", Name: "Web shear in the end panel", Group: group,
		Demand: float64(c.Demand), Resistance: float64(r), Dim: calc.Force, Limits: c.Conditions, Clause: clauseShear, Lines: q.Lines()})
}
