package demand

import (
	"strconv"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	deadLine = calc.Define(calc.Def{Symbol: "R", Name: "reaction of a line load, the length beyond the bearing in full", Expr: "q*w*(L/2 + a)", Dim: calc.Force, Clause: clauseStatics,
		Params: []calc.Param{parQ, par("w", "load per length", calc.LineLoad), parL, par("a", "length beyond the bearing", calc.Length)}})
	deadArea = calc.Define(calc.Def{Symbol: "R", Name: "reaction of a load on the deck, the length beyond the bearing in full", Expr: "p*b*(L/2 + a)", Dim: calc.Force, Clause: clauseStatics,
		Params: []calc.Param{par("p", "load per area", calc.Stress), par("b", "width that counts to the girder", calc.Span), parL, par("a", "length beyond the bearing", calc.Length)}})
	deadPoint = calc.Define(calc.Def{Symbol: "R", Name: "reaction of a point load", Expr: "q*P*(1 - x/L)", Dim: calc.Force, Clause: clauseStatics,
		Params: []calc.Param{parQ, par("P", "point load", calc.Force), par("x", "distance from the bearing", calc.Span), parL}})
	deadHere = calc.Define(calc.Def{Symbol: "R", Name: "reaction of a point load on the bearing or beyond it", Expr: "q*P", Dim: calc.Force, Clause: clauseStatics,
		Params: []calc.Param{parQ, par("P", "point load", calc.Force)}})

	parQ = par("q", "part that the girder carries", calc.Scalar)

	widthBetween = calc.Define(calc.Def{Symbol: "b", Name: "width half way to both neighbors", Expr: "S", Dim: calc.Span, Clause: clauseStatics, Params: []calc.Param{parS}})
	widthEdge    = calc.Define(calc.Def{Symbol: "b", Name: "width half way to the neighbor and to the edge", Expr: "S/2 + o", Dim: calc.Span, Clause: clauseStatics,
		Params: []calc.Param{parS, par("o", "web to the edge", calc.Span)}})
	widthShared = calc.Define(calc.Def{Symbol: "b", Name: "width shared equally", Expr: "B/N_b", Dim: calc.Span, Clause: clauseStatics,
		Params: []calc.Param{par("B", "width of deck or roadway", calc.Span), par("N_b", "girders", calc.Scalar)}})

	deadSum = map[Bucket]*calc.Formula{DC1: bucketSum("R_DC1"), DC2: bucketSum("R_DC2"), DW: bucketSum("R_DW")}
)

func bucketSum(symbol string) *calc.Formula {
	return calc.Define(calc.Def{Symbol: symbol, Name: "dead load of the kind so far", Expr: "R_0 + R", Dim: calc.Force, Clause: clauseStatics,
		Params: []calc.Param{par("R_0", "parts before", calc.Force), par("R", "this part", calc.Force)}})
}

// Dead is the dead load at a girder end by statics, in three buckets. A bucket that no
// part belongs to is not known; a part of value zero says that there is nothing. The
// error is a *fault.Invalid; fields of a part are named parts[i].field.
func Dead(p *calc.Pad, s Span, e End, parts []Part) (Loads, error) {
	if err := s.Validate(); err != nil {
		return Loads{}, err
	}
	if err := s.Place(e); err != nil {
		return Loads{}, err
	}
	if err := validParts(s, parts); err != nil {
		return Loads{}, err
	}
	return s.dead(p, e, parts), nil
}

// mostParts bounds one list. Common practice, no source.
const mostParts = 200

func validParts(s Span, parts []Part) error {
	var all refusals
	if len(parts) > mostParts {
		all.Add("parts", strconv.Itoa(len(parts)), "must be at most %d, got %d", mostParts, len(parts))
		return all.Err()
	}
	for i := range parts {
		if err := parts[i].Validate(s); err != nil {
			all.under(at("parts", i), err)
		}
	}
	return all.Err()
}

func (s Span) dead(p *calc.Pad, e End, parts []Part) Loads {
	var l Loads
	for _, k := range Buckets() {
		for i := range parts {
			x := &parts[i]
			if x.Bucket != k {
				continue
			}
			if p != nil {
				p.Note(x.Name + " (" + k.Words() + ")")
			}
			r := l.bucket(k)
			r.Force = units.Force(deadSum[k].Eval(p, float64(r.Force), s.part(p, e, x)))
			r.Known, r.Origin = true, statics
		}
	}
	return l
}

const statics = "statics"

// part is the reaction of one part at the end.
func (s Span) part(p *calc.Pad, e End, x *Part) float64 {
	l, beyond := float64(s.Length), float64(e.Beyond)
	if x.Kind == Area {
		return deadArea.Eval(p, x.Value, s.width(p, e, x), l, beyond)
	}
	q := s.carries(e, x)
	if x.Kind == Line {
		return deadLine.Eval(p, q, x.Value, l, beyond)
	}
	at := float64(x.At)
	if x.From != "" && x.From != e.Side {
		at = l - at
	}
	switch {
	case at <= 0:
		return deadHere.Eval(p, q, x.Value)
	case at >= l:
		p.Note("at the other bearing: nothing reaches this one")
		return 0
	}
	return deadPoint.Eval(p, q, x.Value, at, l)
}

// carries is the part of a line or a point that the girder carries.
func (s Span) carries(e End, x *Part) float64 {
	switch x.Where {
	case Shared:
		return 1 / float64(s.Girders)
	case Tributary:
		if s.Exterior(e) {
			return 0.5
		}
	case Exterior:
		if !s.Exterior(e) {
			return 0
		}
	case One:
		if x.Girder != e.Girder {
			return 0
		}
	}
	return 1
}

// width is the width of an area that counts to the girder.
func (s Span) width(p *calc.Pad, e End, x *Part) float64 {
	whole, out := s.DeckWidth(), s.overhang(e)
	if x.Bucket == DW {
		whole, out = s.Roadway(), s.edge(e)
	}
	switch {
	case x.Where == Shared:
		return widthShared.Eval(p, float64(whole), float64(s.Girders))
	case s.Exterior(e):
		return max(0, widthEdge.Eval(p, float64(s.Spacing), float64(out)))
	}
	return widthBetween.Eval(p, float64(s.Spacing))
}

// PerLength is what a part adds to a girder per length, N/mm: the figure that
// drawings and older calculations print. It is zero for a point.
func (x Part) PerLength(s Span, e End) float64 {
	switch x.Kind {
	case Line:
		return float64(s.carries(e, &x) * x.Value)
	case Area:
		return float64(x.Value * s.width(nil, e, &x))
	}
	return 0
}
