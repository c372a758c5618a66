package encasement

import (
	"fmt"
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Room is a rule that keeps something at least a distance away: the demand is
// the distance needed, the resistance the least there is. Diameters times the
// stud diameter and Plus make the distance.
type Room struct {
	Key, Name string
	Diameter  units.Length
	Diameters float64
	Plus      units.Length
	Floor     units.Length // and never less than this
	Have      units.Length // +Inf where there is nothing to keep away from
	At        string       // where the least was found
	Clause    calc.Clause
	Informs   bool
}

var roomNeeded = calc.Define(calc.Def{Symbol: "a_min", Name: "distance needed", Expr: "max(k*d + a_0, a_1)", Dim: calc.Length,
	Params: []calc.Param{{Symbol: "k", Name: "diameters", Dim: calc.Scalar}, {Symbol: "d", Name: "stud diameter", Dim: calc.Length},
		{Symbol: "a_0", Name: "added to it", Dim: calc.Length}, {Symbol: "a_1", Name: "and at least", Dim: calc.Length}}})

// Needed is the distance to keep.
func (c Room) Needed(p *calc.Pad) units.Length {
	return units.Length(roomNeeded.Eval(p, c.Diameters, float64(c.Diameter), float64(c.Plus), float64(c.Floor)))
}

// Check compares the distance needed with the least there is.
func (c Room) Check(p *calc.Pad, _ basis.Basis) calc.Check {
	out := calc.Check{Key: c.Key, Name: c.Name, Group: detail, Dim: calc.Length, Clause: c.Clause}
	out.Demand = float64(c.Needed(p))
	out.Resistance = float64(c.Have)
	if math.IsInf(out.Resistance, 1) {
		p.Note("nothing to keep away from")
		out.Demand, out.Resistance = 0, 0
	} else if p != nil {
		p.Given("a", "least distance found", calc.Length, out.Resistance, c.At)
	}
	if c.Informs {
		out.Verdict = calc.Informs
	}
	out.Lines = p.Lines()
	return calc.Finish(out)
}

// Apart is a rule that keeps studs from standing too far apart.
type Apart struct {
	Widest units.Length // largest distance of a stud to its nearest neighbor
	At     string
}

var apartClause = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.10.1.2", Edition: "9th ed., 2020", Tag: basis.SecondHand}

// Check compares the widest distance with its limit.
func (c Apart) Check(p *calc.Pad, b basis.Basis) calc.Check {
	if p != nil {
		p.Given("a", "stud farthest from its nearest neighbor", calc.Length, float64(c.Widest), c.At)
	}
	return calc.Finish(calc.Check{Key: KeyApart, Name: "Largest spacing of studs", Group: detail, Demand: float64(c.Widest),
		Resistance: b.Value(basis.StudPitchMax), Dim: calc.Length, Clause: apartClause, Lines: p.Lines()})
}

// Seat is the panel foot: it must touch the flange. A panel over a gap takes
// nothing until the web has shortened by it.
type Seat struct {
	Gap   units.Length // designed or measured clear gap
	Above units.Length // height of the foot over the flange
}

var seatClause = calc.Clause{Document: "rule of this program", Tag: basis.Proposal}

// Check compares the gap under the foot with the largest that counts as tight.
func (c Seat) Check(p *calc.Pad, b basis.Basis) calc.Check {
	open := math.Max(float64(c.Gap), float64(c.Above))
	p.Given("g", "gap under the panel foot", calc.Length, open, "design")
	return calc.Finish(calc.Check{Key: KeySeat, Name: "Panel seated on the flange", Group: detail, Demand: open,
		Resistance: b.Value(basis.PanelGapMax), Dim: calc.Length, Clause: seatClause, Lines: p.Lines()})
}

// Material is the strength that the design counts on against the least that the
// rules speak of. A strength below it leaves the numbers standing and puts them
// outside the method.
type Material struct{ Fc units.Stress }

var materialClause = calc.Clause{Document: "AASHTO UHPC guide specification", Edition: "1st ed., 2024", Tag: basis.Memory}

// Check reports whether the strength is within the rules.
func (c Material) Check(p *calc.Pad, b basis.Basis) calc.Check {
	least := b.Value(basis.PanelStrengthMin)
	out := calc.Check{Key: KeyMaterial, Name: "Strength of the UHPC", Group: detail, Resistance: float64(c.Fc), Dim: calc.Stress, Clause: materialClause}
	met := calc.AtLeast(float64(c.Fc), least)
	if p != nil || !met {
		out.Limits = []calc.Limit{{Met: met, Text: fmt.Sprintf("strength is %.2f ksi (%.1f MPa), the rules begin at %.2f ksi (%.1f MPa)",
			float64(c.Fc/units.Ksi), float64(c.Fc), least/float64(units.Ksi), least)}}
	}
	p.Given("f'_c", "strength of the UHPC", calc.Stress, float64(c.Fc), "design")
	out.Lines = p.Lines()
	return calc.Finish(out)
}
