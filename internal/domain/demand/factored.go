package demand

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	parDC1 = par("DC_1", "dead load of the structure", calc.Force)
	parDC2 = par("DC_2", "dead load of attachments", calc.Force)
	parDW  = par("DW", "wearing surface and utilities", calc.Force)
	parLL  = par("LL", "live load with impact", calc.Force)

	strengthI = calc.Define(calc.Def{Symbol: "R_u", Name: "factored reaction, Strength I", Expr: "gamma_DC*(DC_1 + DC_2) + gamma_DW*DW + gamma_LL*LL", Dim: calc.Force, Clause: clauseStrength,
		Params: []calc.Param{par("gamma_DC", "load factor", calc.Scalar), parDC1, parDC2, par("gamma_DW", "load factor", calc.Scalar), parDW,
			par("gamma_LL", "load factor", calc.Scalar), parLL}})
	loadFactor = calc.Define(calc.Def{Symbol: "R_u", Name: "factored reaction, load factor method", Expr: "beta_D*(DC_1 + DC_2 + DW) + beta_L*LL", Dim: calc.Force, Clause: clauseOldLoad,
		Params: []calc.Param{par("beta_D", "factor on dead load", calc.Scalar), parDC1, parDC2, parDW, par("beta_L", "factor on live load", calc.Scalar), parLL}})
)

// Demand is the factored reaction that a design must carry. It leaves out what is
// not known and says so: with anything in Missing it is a lower bound.
type Demand struct {
	Method  Method      `json:"method"`
	Force   units.Force `json:"force"`
	Load    string      `json:"load"` // the design load counted, empty where none is known
	Missing []string    `json:"missing,omitempty"`
	Clause  calc.Clause `json:"clause"`
	Lines   []calc.Line `json:"-"`
}

// designLoad is the design load of a method.
func designLoad(m Method) string {
	if m == LoadFactor {
		return HS20
	}
	return HL93
}

// Factored is the factored reaction with the design load of the method, HL-93 or HS20.
// Any other load, such as an owner's own, is named in load; empty for the design load.
func Factored(p *calc.Pad, b basis.Basis, l Loads, m Method, load string) Demand {
	if load == "" {
		load = designLoad(m)
	}
	out := Demand{Method: m, Missing: l.missing(), Clause: clauseStrength}
	live, ok := l.Of(load, m)
	if ok {
		out.Load = load
	} else {
		out.Missing = append(out.Missing, "the live load "+load)
	}
	q := sheet(p)
	for _, w := range out.Missing {
		if q != nil {
			q.Note("not known, and not in the sum: " + w)
		}
	}
	dc1, dc2, dw, ll := l.dead(DC1), l.dead(DC2), l.dead(DW), float64(live.Force)
	if m == LoadFactor {
		out.Clause = clauseOldLoad
		out.Force = units.Force(loadFactor.Eval(q, b.Value(basis.DeadLFD), dc1, dc2, dw, b.Value(basis.LiveLFD), ll))
	} else {
		out.Force = units.Force(strengthI.Eval(q, b.Value(basis.GammaDC), dc1, dc2, b.Value(basis.GammaDW), dw, b.Value(basis.GammaLL), ll))
	}
	out.Lines = q.Lines()
	return out
}

// dead is a bucket as a number, zero where it is not known.
func (l Loads) dead(k Bucket) float64 {
	if r := l.Bucket(k); r.Known {
		return float64(r.Force)
	}
	return 0
}
