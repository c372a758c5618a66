package monitor

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
)

var own = calc.Clause{Document: "Endcast", Article: "strain records", Tag: basis.Proposal}

var (
	shareFormula = calc.Define(calc.Def{Symbol: "s", Name: "load share of the panel", Dim: calc.Scalar, Clause: own,
		Expr: "epsilon_p*EA_p/(epsilon_p*EA_p + epsilon_w*EA_w)",
		Params: []calc.Param{{Symbol: "epsilon_p", Name: "strain of the panel", Dim: calc.Strain}, {Symbol: "EA_p", Name: "stiffness of the panel", Dim: calc.Force},
			{Symbol: "epsilon_w", Name: "strain of the web", Dim: calc.Strain}, {Symbol: "EA_w", Name: "stiffness of the web", Dim: calc.Force}}})
	changeFormula = calc.Define(calc.Def{Symbol: "k", Name: "web over control, after over before", Dim: calc.Scalar, Clause: own,
		Expr:   "q_a/q_b",
		Params: []calc.Param{{Symbol: "q_a", Name: "web over control after, median", Dim: calc.Scalar}, {Symbol: "q_b", Name: "web over control before, median", Dim: calc.Scalar}}})
	fallFormula = calc.Define(calc.Def{Symbol: "r", Name: "fall of web strain for the same truck", Dim: calc.Scalar, Clause: own,
		Expr: "1 - k", Params: []calc.Param{{Symbol: "k", Name: "web over control, after over before", Dim: calc.Scalar}}})
)

// shareOf is the load share from the strain of the panel over that of the web. A
// panel that is strained the other way carries less than nothing; so it is shown.
func (s Stiffness) shareOf(panelOverWeb float64) float64 {
	p, w := panelOverWeb*float64(s.Panel), float64(s.Web)
	return p / (p + w)
}

// known tells whether forces can be found.
func (s Stiffness) known() bool {
	return s.Web > 0 && s.Panel > 0 && s.WebError >= 0 && s.PanelError >= 0 && !math.IsInf(float64(s.Web+s.Panel), 0)
}

// share is the median of the shares of all passages, whether the panel showed an
// event of its own or not: leaving out those that it missed would flatter it. Its
// interval holds the scatter of passages and what is not known of the stiffnesses:
// each draw multiplies panel over web stiffness by exp(u n), n normal, u the root
// of the sum of squares of both errors.
func (j *judge) share(seen []Seen) Interval {
	st := j.ev.Stiffness
	if !st.known() {
		return none
	}
	u := math.Hypot(st.WebError, st.PanelError)
	return j.how.Of(j.blocked(seen, func(s Seen) float64 { return st.shareOf(s.PanelOverWeb) }), 0.5, func(v float64, d *Draw) float64 {
		m := math.Exp(u * d.Normal())
		return v * m / (1 - v + v*m)
	})
}

// Sheet writes down how the figures of a comparison come about, from the medians.
func (j Judgment) Sheet(p *calc.Pad, st Stiffness) {
	sum := map[State]Summary{}
	for _, s := range j.States {
		sum[s.State] = s
	}
	for _, c := range j.Against {
		p.Note("Against the state before: " + c.After.String() + ".")
		if a, b := sum[c.After].Ratio, sum[Before].Ratio; a.N > 0 && b.N > 0 {
			fallFormula.Eval(p, changeFormula.Eval(p, a.Value, b.Value))
		}
		if r := sum[c.After].StrainRatio; r.N > 0 && st.known() {
			p.Note("Load share from the median strain ratio of all passages, the web strain set to one millionth.")
			shareFormula.Eval(p, r.Value*1e-6, float64(st.Panel), 1e-6, float64(st.Web))
		}
		p.Note(c.Words)
	}
	p.Note("95 percent intervals by drawing whole days or hours of passages again. Limits are our proposal: no published acceptance rule was found. The verdict supports the engineer's and does not replace it.")
}
