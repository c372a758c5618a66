package stud

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Stud is one headed stud in UHPC or concrete.
type Stud struct {
	Diameter units.Length
	Height   units.Length // after welding, overall
	Fu       units.Stress // specified tensile strength
	Fc       units.Stress // compressive strength around it
	Ec       units.Stress // modulus around it
}

// Strength is the shear resistance of one stud.
type Strength struct {
	Nominal  units.Force
	Factored units.Force
	Limits   []calc.Limit // of the rule that gave it
	Clause   calc.Clause
}

var area = calc.Define(calc.Def{Symbol: "A_sc", Name: "shank area", Expr: "pi*d^2/4", Dim: calc.Area,
	Params: []calc.Param{{Symbol: "d", Name: "stud diameter", Dim: calc.Length}}})

// Standard is a rule for the resistance of one stud.
type Standard int

// Standards, as the design basis numbers them.
const (
	ByAASHTO Standard = 1
	ByAISC   Standard = 2
	ByEN     Standard = 3
)

// StandardOf is the standard that a design basis chooses.
func StandardOf(b basis.Basis) Standard {
	switch v := b.Value(basis.StudStandard); {
	case v >= 2.5:
		return ByEN
	case v >= 1.5:
		return ByAISC
	default:
		return ByAASHTO
	}
}

// String is the standard's name.
func (s Standard) String() string {
	switch s {
	case ByAISC:
		return "AISC 360 I8.3"
	case ByEN:
		return "EN 1994-1-1"
	default:
		return "AASHTO LRFD"
	}
}

// Strength is the shear resistance by the standard that the design basis
// chooses. The weld collar is never part of it.
func (s Stud) Strength(p *calc.Pad, b basis.Basis) Strength {
	switch StandardOf(b) {
	case ByAISC:
		return AISC{Stud: s}.Strength(p, b)
	case ByEN:
		return EN1994{Stud: s}.Strength(p, b)
	default:
		return AASHTO{Stud: s}.Strength(p, b)
	}
}

// givens records what every strength rule starts from.
func (s Stud) givens(p *calc.Pad) {
	if p == nil {
		return
	}
	p.Given("d", "stud diameter", calc.Length, float64(s.Diameter), "design")
	p.Given("F_u", "stud tensile strength", calc.Stress, float64(s.Fu), "design")
	p.Given("f'_c", "strength of the UHPC", calc.Stress, float64(s.Fc), "design")
}

// check closes a check of one stud.
func check(key, name string, demand units.Force, s Strength, p *calc.Pad) calc.Check {
	return calc.Finish(calc.Check{Key: key, Name: name, Group: "repair", Demand: float64(demand), Resistance: float64(s.Factored),
		Dim: calc.Force, Limits: s.Limits, Clause: s.Clause, Lines: p.Lines()})
}

// Others shows the resistance of one stud by the standards that the design basis
// did not choose, for information.
func (s Stud) Others(b basis.Basis, demand units.Force, pad func() *calc.Pad) []calc.Check {
	chosen := StandardOf(b)
	out := make([]calc.Check, 0, 2)
	for _, by := range [...]Standard{ByAASHTO, ByAISC, ByEN} {
		var c calc.Check
		switch {
		case by == chosen:
			continue
		case by == ByAASHTO:
			c = AASHTO{Stud: s, Demand: demand}.Check(pad(), b)
		case by == ByAISC:
			c = AISC{Stud: s, Demand: demand}.Check(pad(), b)
		default:
			c = EN1994{Stud: s, Demand: demand}.Check(pad(), b)
		}
		c.Verdict = calc.Informs
		out = append(out, c)
	}
	return out
}

// PushOutWords says what the push-out tests that the program was set against show
// and what they do not.
const PushOutWords = "The formulas for one stud were set against sixteen push-out tests (FHWA-HRT-20-005, read second-hand) of one stud size, 7/8 by 6 in., in concrete and grout of 54 to 66 MPa. " +
	"The tests do not cover UHPC, short studs (height below four diameters), thin or corroded metal under the stud, studs welded to an upright web, studs on both sides of one web, or repeated load."
