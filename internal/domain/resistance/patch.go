package resistance

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	parFyf = par("f_yf", "yield strength of the flange", calc.Stress)
	parfyw = par("f_yw", "yield strength of the web", calc.Stress)
	parHw  = par("h_w", "web depth between flanges", calc.Length)
	parSs  = par("s_s", "stiff bearing length", calc.Length)
	parC   = par("c", "girder end to the bearing", calc.Length)
	parKF  = par("k_F", "buckling coefficient", calc.Scalar)
	parM1  = par("m_1", "flange factor", calc.Scalar)
	parM2  = par("m_2", "slender web factor", calc.Scalar)
	parLe  = par("l_e", "effective load length", calc.Length)
	parLy  = par("l_y", "effective loaded length", calc.Length)
)

func patchDef(symbol, name, expr string, d calc.Dim, params ...calc.Param) *calc.Formula {
	return calc.Define(calc.Def{Symbol: symbol, Name: name, Expr: expr, Dim: d, Clause: clausePatch, Params: params})
}

var (
	patchFlange   = patchDef("b_f", "flange width that counts", "min(b, t_w + 30*t_f*sqrt(235[MPa]/f_yf))", calc.Length, par("b", "flange width", calc.Length), parTw, parTf, parFyf)
	patchKF       = patchDef("k_F", "buckling coefficient", "min(2 + 6*(s_s + c)/h_w, 6)", calc.Scalar, parSs, parC, parHw)
	patchCritical = patchDef("F_cr", "critical load", "0.9*k_F*E*t_w^3/h_w", calc.Force, parKF, parE, parTw, parHw)
	patchM1       = patchDef("m_1", "flange factor", "f_yf*b_f/(f_yw*t_w)", calc.Scalar, parFyf, par("b_f", "flange width that counts", calc.Length), parfyw, parTw)
	patchM2       = patchDef("m_2", "slender web factor", "0.02*(h_w/t_f)^2", calc.Scalar, parHw, parTf)
	patchLe       = patchDef("l_e", "effective load length", "min(k_F*E*t_w^2/(2*f_yw*h_w), s_s + c)", calc.Length, parKF, parE, parTw, parfyw, parHw, parSs, parC)
	patchLy       = patchDef("l_y", "effective loaded length",
		"min(l_e + t_f*sqrt(m_1/2 + (l_e/t_f)^2 + m_2), l_e + t_f*sqrt(m_1 + m_2), s_s + 2*t_f*(1 + sqrt(m_1 + m_2)))",
		calc.Length, parLe, parTf, parM1, parM2, parSs)
	patchLambda = patchDef("lambda_F", "slenderness", "sqrt(l_y*t_w*f_yw/F_cr)", calc.Scalar, parLy, parTw, parfyw, par("F_cr", "critical load", calc.Force))
	patchChi    = patchDef("chi_F", "reduction", "min(0.5/lambda_F, 1)", calc.Scalar, par("lambda_F", "slenderness", calc.Scalar))
	patchR      = patchDef("F_Rd", "resistance", "f_yw*chi_F*l_y*t_w/gamma_M1", calc.Force, parfyw, par("chi_F", "reduction", calc.Scalar), parLy, parTw,
		par("gamma_M1", "partial factor", calc.Scalar))
)

// Patch is the resistance of the web to a patch load at an unstiffened end, EN
// 1993-1-5 clause 6, load type (c). It is a second opinion from another code and
// does not decide: on thin webs it reads far lower than the AASHTO rule, and which
// of the two is nearer to a corroded end is not settled.
type Patch struct {
	Depth       units.Length // web depth between flanges
	Thickness   units.Length
	Flange      units.Length // thickness
	FlangeWidth units.Length
	Fy          units.Stress // web and flange
	Bearing     units.Length
	Start       units.Length // girder end to the near edge of the bearing
	Demand      units.Force
}

// Resistance is the design resistance and the slenderness that it was found at.
// The factor m_2 counts for a slenderness above 0.5 only, and the slenderness
// depends on m_2: where both readings agree with themselves the lower counts.
func (c Patch) Resistance(p *calc.Pad, b basis.Basis) (units.Force, float64) {
	tw, tf, hw, fy := float64(c.Thickness), float64(c.Flange), float64(c.Depth), float64(c.Fy)
	if !(tw > sliver) || !(tf > sliver) || !(hw > 0) {
		p.Note("no web or no flange is left to resist a patch load")
		return 0, math.Inf(1)
	}
	e, ss := b.Value(basis.SteelModulus), min(max(0, float64(c.Bearing)), hw)
	bf := patchFlange.Eval(p, float64(c.FlangeWidth), tw, tf, fy)
	kF := patchKF.Eval(p, ss, float64(c.Start), hw)
	cr := patchCritical.Eval(p, kF, e, tw, hw)
	m1 := patchM1.Eval(p, fy, bf, fy, tw)
	le := patchLe.Eval(p, kF, e, tw, fy, hw, ss, float64(c.Start))
	gamma := b.Value(basis.WebGammaPatch)
	pass := func(p *calc.Pad, m2 float64) (force, lambda float64) {
		ly := patchLy.Eval(p, le, tf, m1, m2, ss)
		lambda = patchLambda.Eval(p, ly, tw, fy, cr)
		return patchR.Eval(p, fy, patchChi.Eval(p, lambda), ly, tw, gamma), lambda
	}
	m2 := patchM2.Eval(nil, hw, tf)
	slender, lambda := pass(nil, m2)
	stocky, lambdaStocky := pass(nil, 0)
	if lambda > 0.5 && (lambdaStocky > 0.5 || slender <= stocky) {
		patchM2.Eval(p, hw, tf)
	} else {
		p.Note("slenderness at most 0.5: m_2 = 0")
		m2 = 0
	}
	r, at := pass(p, m2)
	return units.Force(r), at
}

// Check shows the reaction beside the resistance; it does not decide.
func (c Patch) Check(p *calc.Pad, b basis.Basis) calc.Check {
	out, _ := c.check(p, b)
	return out
}

func (c Patch) check(p *calc.Pad, b basis.Basis) (calc.Check, float64) {
	q := sheet(p)
	r, slender := c.Resistance(q, b)
	return calc.Finish(calc.Check{Key: "web.patch", Name: "Patch load at the end, European rule", Group: group,
		Demand: float64(c.Demand), Resistance: float64(r), Dim: calc.Force, Verdict: calc.Informs, Clause: clausePatch, Lines: q.Lines()}), slender
}
