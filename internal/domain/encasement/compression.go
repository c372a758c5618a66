package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Compression is compression of one face's panel between the studs and the
// bearing. The width that works is what lies at once in the panel, in the spread
// of the group downward and in the spread of the bearing upward.
type Compression struct {
	Demand    units.Force // the whole reaction
	Share     float64     // part of it that this face carries
	Fc        units.Stress
	Thickness units.Length
	Width     units.Length // that works
}

var compressionClause = calc.Clause{Document: "AASHTO UHPC guide specification", Edition: "1st ed., 2024", Tag: basis.Memory}

var compressionStrength = calc.Define(calc.Def{Symbol: "R_c", Name: "reaction that this panel allows", Expr: "phi_c*k_c*f'_c*t_p*b_e/s", Dim: calc.Force, Clause: compressionClause,
	Params: []calc.Param{{Symbol: "phi_c", Name: "resistance factor", Dim: calc.Scalar}, {Symbol: "k_c", Name: "block stress factor", Dim: calc.Scalar},
		{Symbol: "f'_c", Name: "strength of the UHPC", Dim: calc.Stress}, {Symbol: "t_p", Name: "panel thickness", Dim: calc.Length},
		{Symbol: "b_e", Name: "width that works", Dim: calc.Length}, {Symbol: "s", Name: "share of the face", Dim: calc.Scalar}}})

// Resistance is the reaction that this panel allows, N.
func (c Compression) Resistance(p *calc.Pad, b basis.Basis) float64 {
	return compressionStrength.Eval(p, b.Value(basis.PanelPhiCompression), b.Value(basis.PanelCompressionFactor), float64(c.Fc),
		float64(c.Thickness), math.Max(0, float64(c.Width)), c.Share)
}

// Check compares the reaction with what the panel allows.
func (c Compression) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return calc.Finish(calc.Check{Key: KeyCompression, Name: "Compression of the panel", Group: repair, Demand: float64(c.Demand),
		Resistance: c.Resistance(p, b), Dim: calc.Force, Clause: compressionClause, Lines: p.Lines()})
}
