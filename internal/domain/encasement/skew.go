package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// SkewRoom is room for the gun at an end diaphragm that follows the skew: on the
// acute side it leans over the studs, and the gun has to stand square to the web.
// Our proposal; the design basis says whether it decides. The panel is cast round
// the diaphragm, so skew asks no more of its size.
type SkewRoom struct {
	At    units.Length // stud from the diaphragm, along the web
	Leans bool         // the diaphragm leans toward the stud
	Reach units.Length // of stud and gun square to the web
	Skew  units.Angle
	Mark  string
}

var skewClause = calc.Clause{Document: "rule of this program", Tag: basis.Proposal}

var skewLeft = calc.Define(calc.Def{Symbol: "a", Name: "room left at the reach of the gun", Expr: "a_0 - y*tan(theta)", Dim: calc.Length, Clause: skewClause,
	Params: []calc.Param{{Symbol: "a_0", Name: "stud to the diaphragm at the web", Dim: calc.Length}, {Symbol: "y", Name: "reach of stud and gun", Dim: calc.Length},
		{Symbol: "theta", Name: "skew", Dim: calc.Angle}}})

// Left is the room that is left.
func (c SkewRoom) Left(p *calc.Pad) float64 {
	if !c.Leans {
		return float64(c.At)
	}
	return skewLeft.Eval(p, float64(c.At), float64(c.Reach), math.Abs(float64(c.Skew)))
}

// Check compares the room needed at the diaphragm with what the skew leaves.
func (c SkewRoom) Check(p *calc.Pad, b basis.Basis) calc.Check {
	left := c.Left(p)
	if p != nil {
		p.Note("least at stud " + c.Mark)
	}
	out := calc.Check{Key: KeySkewRoom, Name: "Room for the gun at the skewed diaphragm", Group: detail, Demand: b.Value(basis.StudDiaphragmClearance),
		Resistance: left, Dim: calc.Length, Clause: skewClause, Lines: p.Lines()}
	if b.Value(basis.StudSkewDecides) < 0.5 {
		out.Verdict = calc.Informs
	}
	return calc.Finish(out)
}

// skewReach is how far stud and gun stand out from the web.
func skewReach(b basis.Basis, height units.Length) units.Length {
	return height + units.Length(b.Value(basis.StudSkewGun))
}

// skewRoom is the check of the stud that has the least room; ok is false without
// skew or diaphragm. Positive skew has the left end of the line ahead; X counts
// ahead at a near end and back at a far one.
func skewRoom(b basis.Basis, g girder.Geometry, d Design) (SkewRoom, bool) {
	if g.SkewDeg == 0 || !(g.DiaphragmX > 0) || len(d.Studs) == 0 {
		return SkewRoom{}, false
	}
	ahead := (g.SkewDeg > 0) == (g.Name.Side != girder.Far) // the diaphragm's left half lies toward greater X
	reach := skewReach(b, d.StudHeight)
	least, at := math.Inf(1), SkewRoom{}
	for i := range d.Studs {
		s := &d.Studs[i]
		beyond := s.X > g.DiaphragmX
		c := SkewRoom{At: units.Length(math.Abs(float64(s.X - g.DiaphragmX))), Leans: beyond == (ahead == (s.Face == survey.Left)),
			Reach: reach, Skew: g.SkewDeg, Mark: s.Mark}
		if v := c.Left(nil); v < least {
			least, at = v, c
		}
	}
	return at, true
}
