package demand

import (
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	parL = par("L", "span from bearing to bearing", calc.Span)

	axleAt = calc.Define(calc.Def{Symbol: "V", Name: "reaction of the axles so far", Expr: "V_0 + P*(1 - x/L)", Dim: calc.Force, Clause: clauseStatics,
		Params: []calc.Param{par("V_0", "reaction of the axles before", calc.Force), par("P", "axle load", calc.Force),
			par("x", "distance from the bearing", calc.Span), parL}})
	wheelAt = calc.Define(calc.Def{Symbol: "V", Name: "reaction of the wheel lines so far", Expr: "V_0 + n*P/2*(1 - x/L)", Dim: calc.Force, Clause: clauseStatics,
		Params: []calc.Param{par("V_0", "reaction of the axles before", calc.Force), par("n", "wheel lines that reach the girder", calc.Scalar),
			par("P", "axle load", calc.Force), par("x", "distance from the bearing", calc.Span), parL}})
)

// Placement is where a train of axles stands when it gives most: one axle right over
// the bearing, and on the span those behind it or, with Ahead, those in front of it,
// which is the same train traveling the other way. A variable gap is at its shortest.
type Placement struct {
	Over  int  `json:"over"` // index of the axle over the bearing
	Ahead bool `json:"ahead,omitzero"`
}

// next is the axle after i going into the span and the gap to it.
func (pl Placement) next(t Truck, i int) (int, units.Length, bool) {
	if pl.Ahead {
		if i == 0 {
			return 0, 0, false
		}
		return i - 1, t.Axles[i].Gap, true
	}
	if i+1 >= len(t.Axles) {
		return 0, 0, false
	}
	return i + 1, t.Axles[i+1].Gap, true
}

// Positions is the distance from the bearing of each axle, in the order of the truck;
// negative for one that is off the span.
func (pl Placement) Positions(t Truck) []units.Length {
	at := make([]units.Length, len(t.Axles))
	for i := range at {
		at[i] = -1
	}
	if pl.Over >= len(at) || pl.Over < 0 {
		return at
	}
	x := units.Length(0)
	at[pl.Over] = 0
	for i, gap, ok := pl.next(t, pl.Over); ok; i, gap, ok = pl.next(t, i) {
		x += gap
		at[i] = x
	}
	return at
}

// sum is the reaction of one placement, the axle over the bearing counted with the
// factor over and those on the span with the factor away.
func (pl Placement) sum(t Truck, span units.Length, over, away float64) float64 {
	l, x := float64(span), 0.0
	v := float64(over * float64(t.Axles[pl.Over].Load))
	for i, gap, ok := pl.next(t, pl.Over); ok; i, gap, ok = pl.next(t, i) {
		if x += float64(gap); x >= l {
			break
		}
		v += float64(away * float64(t.Axles[i].Load) * (1 - x/l))
	}
	return v
}

// worst is the placement that gives most. The influence line of an end reaction falls
// from 1 at the bearing in a straight line to 0 at the other end, and the sum over a
// moving train has its peaks where an axle stands over the bearing, so trying every
// axle in both directions is exact. A longer gap only moves axles away from the
// bearing or leaves them off the span: the shortest is never beaten.
func (t Truck) worst(span units.Length, over, away float64) Placement {
	var best Placement
	most := 0.0
	for i := range t.Axles {
		for _, ahead := range [2]bool{false, true} {
			pl := Placement{Over: i, Ahead: ahead}
			if v := pl.sum(t, span, over, away); v > most {
				best, most = pl, v
			}
		}
	}
	return best
}

// AxleReaction is the largest end reaction of the axles of one truck on a simple
// span, for one lane, without impact and lane load, and where the truck stands then.
// It is exact. A truck without axles or a span that is not positive gives zero.
func AxleReaction(p *calc.Pad, t Truck, span units.Length) (units.Force, Placement) {
	if len(t.Axles) == 0 || !(span > 0) {
		return 0, Placement{}
	}
	pl := t.worst(span, 1, 1)
	l, x := float64(span), 0.0
	v := axleAt.Eval(p, 0, float64(t.Axles[pl.Over].Load), 0, l)
	for i, gap, ok := pl.next(t, pl.Over); ok; i, gap, ok = pl.next(t, i) {
		if x += float64(gap); x >= l {
			break
		}
		v = axleAt.Eval(p, v, float64(t.Axles[i].Load), x, l)
	}
	return units.Force(v), pl
}

// wheelReaction is AxleReaction in wheel lines of the load factor method: over
// counts for the axle over the bearing, away for those on the span.
func wheelReaction(p *calc.Pad, t Truck, span units.Length, over, away float64) (units.Force, Placement) {
	pl := t.worst(span, over, away)
	l, x := float64(span), 0.0
	v := wheelAt.Eval(p, 0, over, float64(t.Axles[pl.Over].Load), 0, l)
	for i, gap, ok := pl.next(t, pl.Over); ok; i, gap, ok = pl.next(t, i) {
		if x += float64(gap); x >= l {
			break
		}
		v = wheelAt.Eval(p, v, away, float64(t.Axles[i].Load), x, l)
	}
	return units.Force(v), pl
}
