package demand

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

var (
	parSkew = par("c", "correction for skew", calc.Scalar)

	skewRatio = calc.Define(calc.Def{Symbol: "q", Name: "stiffness ratio of deck and girder", Expr: "L*t_s^3/K_g", Dim: calc.Scalar, Clause: clauseSkew,
		Params: []calc.Param{parL, par("t_s", "deck thickness", calc.Length), par("K_g", "longitudinal stiffness", calc.Inertia)}})
	skewAt = calc.Define(calc.Def{Symbol: "c", Name: "correction for skew at the obtuse corner", Expr: "1 + c_0*q^c_1*tan(theta)", Dim: calc.Scalar, Clause: clauseSkew,
		Params: []calc.Param{par("c_0", "factor", calc.Scalar), par("q", "stiffness ratio of deck and girder", calc.Scalar), par("c_1", "power", calc.Scalar),
			par("theta", "skew, the larger of the two ends", calc.Angle)}})
	stiffness = calc.Define(calc.Def{Symbol: "K_g", Name: "longitudinal stiffness of a girder", Expr: "n*(I + A*e_g^2)", Dim: calc.Inertia, Clause: clauseKg,
		Params: []calc.Param{par("n", "modulus of the girder over that of the deck", calc.Scalar), par("I", "second moment of area of the girder", calc.Inertia),
			par("A", "area of the girder", calc.Area), par("e_g", "middle of the girder to the middle of the deck", calc.Length)}})
	eccentricity = calc.Define(calc.Def{Symbol: "e_g", Name: "middle of the girder to the middle of the deck", Expr: "d - y + h + t_s/2", Dim: calc.Length, Clause: clauseKg,
		Params: []calc.Param{par("d", "depth of the girder", calc.Length), par("y", "centroid of the girder over its bottom", calc.Length),
			par("h", "haunch between flange and deck", calc.Length), par("t_s", "deck thickness", calc.Length)}})
)

// Stiffness is Kg of a girder under a deck: n(I + A eg^2). ratio is the modulus of
// the girder over that of the deck, haunch the concrete between top flange and deck.
func Stiffness(p *calc.Pad, sec girder.Section, ratio float64, haunch, deck units.Length) units.Inertia {
	eg := eccentricity.Eval(p, float64(sec.Depth), centroid(sec), float64(haunch), float64(deck))
	return units.Inertia(stiffness.Eval(p, ratio, float64(sec.Inertia()), float64(sec.Area()), eg))
}

// centroid is the height of the centroid over the bottom. The fillets of a rolled
// shape, alike at both flanges, are left out.
func centroid(sec girder.Section) float64 {
	tb, tt, d := float64(sec.FlangeThickness), float64(sec.TopFlangeThickness), float64(sec.Depth)
	bottom, top := float64(sec.FlangeWidth)*tb, float64(sec.TopFlangeWidth)*tt
	web := float64(sec.WebThickness) * (d - tb - tt)
	first := float64(bottom*tb/2) + float64(top*(d-tt/2)) + float64(web*(tb+(d-tb-tt)/2))
	return first / (bottom + top + web)
}

// skewFactor is the correction for skew: at the girders counted from the obtuse corner
// of the end's own bearing line, with the larger skew of the two ends; never a
// reduction, so 1 at an acute corner. A square end has no such corner, whatever the
// other end of the span. The load factor method has no correction.
func (s Span) skewFactor(p *calc.Pad, b basis.Basis, e End, x *Share) float64 {
	at := s.fromObtuse(e)
	if at == 0 {
		return 1
	}
	if float64(at) > b.Value(basis.SkewGirders) {
		p.Note("away from the obtuse corner: no correction for skew, and no reduction at the acute one")
		return 1
	}
	theta := max(abs(float64(s.SkewNear)), abs(float64(s.SkewFar)))
	if most := b.Value(basis.SkewMost); theta > most*(1+rounding) {
		x.Warnings = append(x.Warnings, "the skew "+number(theta)+"° is more than "+number(most)+"°, the most that the correction is meant for: refined analysis is called for")
	}
	var q float64
	if kg := float64(s.Stiffness); kg > 0 {
		if least, most := b.Value(basis.StiffLeast), b.Value(basis.StiffMost); !within(kg, least, most) {
			x.Warnings = append(x.Warnings, "the longitudinal stiffness "+stiff(kg)+" is outside "+stiff(least)+" to "+stiff(most)+", the range of the correction for skew")
		}
		q = skewRatio.Eval(p, float64(s.Length), float64(s.Deck), kg)
	} else {
		q = b.Value(basis.SkewRatio)
		p.Given("q", "stiffness ratio of deck and girder", calc.Scalar, q, "design basis, the stiffness is not known")
		x.Warnings = append(x.Warnings, "the longitudinal stiffness of the girder is not known: the correction for skew takes "+number(q)+" for the ratio of deck and girder")
	}
	return skewAt.Eval(p, b.Value(basis.SkewFactor), q, b.Value(basis.SkewPower), theta)
}

func stiff(v float64) string {
	const in4 = float64(units.Inch * units.Inch * units.Inch * units.Inch)
	return number(v/in4) + " in⁴ (" + number(v/1e6) + "·10⁶ mm⁴)"
}
