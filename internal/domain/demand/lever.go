package demand

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
)

var (
	leverAt = calc.Define(calc.Def{Symbol: "r", Name: "part of a lane by the lever rule so far", Expr: "r_0 + x/(2*S)", Dim: calc.Scalar, Clause: clauseLever,
		Params: []calc.Param{par("r_0", "part from the wheels before", calc.Scalar), par("x", "distance of the wheel from the girder where the deck is hinged", calc.Span), parS}})
	presence = calc.Define(calc.Def{Symbol: "g", Name: "share with multiple presence", Expr: "m*r", Dim: calc.Scalar, Clause: clauseLanes,
		Params: []calc.Param{par("m", "multiple presence", calc.Scalar), par("r", "part of a lane", calc.Scalar)}})
	rigid = calc.Define(calc.Def{Symbol: "r", Name: "part of a lane with the section turning as a whole", Expr: "n/N_b + X*e/X_2", Dim: calc.Scalar, Clause: clauseRigid,
		Params: []calc.Param{par("n", "lanes loaded", calc.Scalar), par("N_b", "girders", calc.Scalar), par("X", "distance of the exterior girder from the middle", calc.Span),
			par("e", "sum of the distances of the trucks from the middle", calc.Span), par("X_2", "sum of the squares of the girders' distances from the middle", calc.Area)}})
)

// wheels is how trucks stand side by side.
type wheels struct{ gauge, curb, apart float64 }

func wheelsOf(b basis.Basis) wheels {
	return wheels{b.Value(basis.WheelGauge), b.Value(basis.WheelCurb), b.Value(basis.WheelApart)}
}

// at is the distance of wheel i from the first, of trucks as close as they may be.
// Lanes of full width would keep the second truck a little farther from the curb;
// closer lies on the safe side.
func (w wheels) at(i int) float64 {
	x := float64(float64(i/2) * (w.gauge + w.apart))
	if i%2 == 1 {
		x += w.gauge
	}
	return x
}

// lever is the part of a lane that n trucks side by side send to the girder when the
// deck is hinged over every interior girder: a wheel sends what its distance from the
// next girder, over the spacing, says. For an exterior girder the first wheel stands as
// near to the curb as it may. For an interior one the trucks stand where they give
// most, which is with a wheel over the girder; the curbs are not looked at, which is
// safe.
func (s Span) lever(p *calc.Pad, b basis.Basis, e End, n int) float64 {
	w, sp := wheelsOf(b), float64(s.Spacing)
	if s.Exterior(e) {
		r, first := 0.0, sp+float64(s.edge(e))-w.curb
		for i := range 2 * n {
			if x := first - w.at(i); x > 0 {
				r = leverAt.Eval(p, r, x, sp)
			}
		}
		return r
	}
	best, most := 0, -1.0
	for k := range 2 * n {
		sum := 0.0
		for i := range 2 * n {
			sum += max(0, sp-abs(w.at(i)-w.at(k)))
		}
		if sum > most {
			best, most = k, sum
		}
	}
	r := 0.0
	for i := range 2 * n {
		if x := sp - abs(w.at(i)-w.at(best)); x > 0 {
			r = leverAt.Eval(p, r, x, sp)
		}
	}
	return r
}

// turning is the part of a lane that reaches an exterior girder when n lanes are
// loaded from its curb and the cross-section stays straight.
func (s Span) turning(p *calc.Pad, b basis.Basis, e End, n int) float64 {
	w, sp := wheelsOf(b), float64(s.Spacing)
	outer := float64(float64(s.Girders-1)*sp) / 2
	squares := 0.0
	for i := range s.Girders {
		x := outer - float64(float64(i)*sp)
		squares += float64(x * x)
	}
	sum := 0.0
	for i := range n {
		sum += outer + float64(s.edge(e)) - w.curb - w.gauge/2 - w.at(2*i)
	}
	return rigid.Eval(p, float64(n), float64(s.Girders), outer, sum, squares)
}

// rule is a part of a lane for n lanes loaded, without multiple presence.
type rule func(p *calc.Pad, b basis.Basis, e End, n int) float64

// share is the largest of a rule over from to most lanes loaded, with multiple
// presence. Only the governing number of lanes is written down.
func share(p *calc.Pad, b basis.Basis, e End, from, most int, f rule, factor func(basis.Basis, int) float64) float64 {
	best, g := 0, -1.0
	for n := from; n <= most; n++ {
		if v := factor(b, n) * f(nil, b, e, n); v > g {
			best, g = n, v
		}
	}
	if best == 0 {
		return 0
	}
	if p != nil {
		p.Note("lanes loaded that give most: " + number(float64(best)))
	}
	return presence.Eval(p, factor(b, best), f(p, b, e, best))
}

// multiple is the multiple presence factor of n lanes.
func multiple(b basis.Basis, n int) float64 {
	switch {
	case n <= 1:
		return b.Value(basis.Presence1)
	case n == 2:
		return b.Value(basis.Presence2)
	case n == 3:
		return b.Value(basis.Presence3)
	}
	return b.Value(basis.Presence4)
}

// reduction is that of the load factor method.
func reduction(b basis.Basis, n int) float64 {
	switch {
	case n <= 2:
		return 1
	case n == 3:
		return b.Value(basis.Reduce3)
	}
	return b.Value(basis.Reduce4)
}

func abs(x float64) float64 { return max(x, -x) }
