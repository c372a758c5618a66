package demand

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	parS = par("S", "girder spacing", calc.Span)

	shareOne = calc.Define(calc.Def{Symbol: "g_1", Name: "share of shear, interior girder, one lane", Expr: "c_0 + S/c_1", Dim: calc.Scalar, Clause: clauseShear,
		Params: []calc.Param{par("c_0", "constant part", calc.Scalar), parS, par("c_1", "spacing that adds a lane", calc.Span)}})
	shareTwo = calc.Define(calc.Def{Symbol: "g_2", Name: "share of shear, interior girder, two lanes or more", Expr: "c_0 + S/c_1 - (S/c_2)^2", Dim: calc.Scalar, Clause: clauseShear,
		Params: []calc.Param{par("c_0", "constant part", calc.Scalar), parS, par("c_1", "spacing that adds a lane", calc.Span), par("c_2", "spacing of the square taken off", calc.Span)}})
	edgeFactor = calc.Define(calc.Def{Symbol: "e", Name: "factor of an exterior girder", Expr: "c_0 + d_e/c_1", Dim: calc.Scalar, Clause: clauseShear,
		Params: []calc.Param{par("c_0", "constant part", calc.Scalar), par("d_e", "web to the face of the curb", calc.Span), par("c_1", "distance that adds 1", calc.Span)}})
	shareEdge = calc.Define(calc.Def{Symbol: "g_2", Name: "share of shear, exterior girder, two lanes or more", Expr: "e*g_i", Dim: calc.Scalar, Clause: clauseShear,
		Params: []calc.Param{par("e", "factor of an exterior girder", calc.Scalar), par("g_i", "share of an interior girder, two lanes or more", calc.Scalar)}})
	shareAll = calc.Define(calc.Def{Symbol: "g", Name: "share of a lane", Expr: "c*max(g_1, g_2)", Dim: calc.Scalar, Clause: clauseShear,
		Params: []calc.Param{parSkew, par("g_1", "one lane", calc.Scalar), par("g_2", "two lanes or more", calc.Scalar)}})
	shareAlone = calc.Define(calc.Def{Symbol: "g_s", Name: "share of a vehicle alone in one lane, multiple presence taken out", Expr: "c*g_1/m", Dim: calc.Scalar, Clause: clauseShear,
		Params: []calc.Param{parSkew, par("g_1", "one lane", calc.Scalar), par("m", "multiple presence of one lane", calc.Scalar)}})
	shareFloor = calc.Define(calc.Def{Symbol: "g_f", Name: "least share, lanes over girders", Expr: "N_L/N_b", Dim: calc.Scalar,
		Params: []calc.Param{par("N_L", "lanes", calc.Scalar), par("N_b", "girders", calc.Scalar)}})
)

// Share is how much of a lane reaches a girder end, and how that was found.
type Share struct {
	Lanes    int      `json:"lanes"`              // lanes loaded
	One      float64  `json:"one"`                // one lane, multiple presence inside, before skew
	Multi    float64  `json:"multi"`              // two lanes or more, before skew; zero on a one-lane roadway
	Corner   Corner   `json:"corner"`             // of the deck, at this end
	Skew     float64  `json:"skew"`               // correction, 1 where there is none
	G        float64  `json:"g"`                  // the larger of one lane and more, with skew: what counts for most loads
	Alone    float64  `json:"alone"`              // one lane with multiple presence taken out, with skew
	Over     float64  `json:"over"`               // load factor method: wheel lines of an axle over the bearing
	Away     float64  `json:"away"`               // load factor method: wheel lines of axles on the span
	OverOne  float64  `json:"over_one"`           // the same with one lane loaded
	AwayOne  float64  `json:"away_one"`           //
	Warnings []string `json:"warnings,omitempty"` // where a range was left and the lever rule took over, and the like
}

// Distribute is the share of a lane of live load that reaches a girder end in shear:
// the formulas for a deck on steel beams where they hold, the lever rule where they do
// not, with words for the reason. Multiple presence is inside the formulas and is
// applied to the lever rule. The error is a *fault.Invalid.
func Distribute(p *calc.Pad, b basis.Basis, s Span, e End) (Share, error) {
	if err := s.Validate(); err != nil {
		return Share{}, err
	}
	if err := s.Place(e); err != nil {
		return Share{}, err
	}
	return s.distribute(p, b, e), nil
}

func (s Span) distribute(p *calc.Pad, b basis.Basis, e End) Share {
	x := Share{Lanes: s.LoadedLanes(b), Corner: s.Corner(e), Warnings: s.outside(b)}
	simple := len(x.Warnings) > 0 // the lever rule in place of the formulas
	exterior := s.Exterior(e)
	sp := float64(s.Spacing)
	if exterior && !simple {
		de, least, most := s.edge(e), b.Value(basis.EdgeLeast), b.Value(basis.EdgeMost)
		if within(float64(de), least, most) {
			p.Note("exterior girder, one lane by the lever rule")
			x.One = share(p, b, e, 1, 1, s.lever, multiple)
			if x.Lanes > 1 {
				g2 := shareTwo.Eval(p, b.Value(basis.ShareTwoBase), sp, b.Value(basis.ShareTwoSpread), b.Value(basis.ShareTwoBend))
				f := edgeFactor.Eval(p, b.Value(basis.ShareEdgeBase), float64(de), b.Value(basis.ShareEdgeRise))
				x.Multi = shareEdge.Eval(p, f, g2)
			}
		} else {
			simple = true
			x.Warnings = append(x.Warnings, "the web of the exterior girder is "+feet(de)+" from the curb, outside "+feet(units.Length(least))+" to "+feet(units.Length(most))+": lever rule")
		}
	}
	switch {
	case simple:
		if p != nil {
			for _, w := range x.Warnings {
				p.Note(w)
			}
		}
		x.One = share(p, b, e, 1, 1, s.lever, multiple)
		x.Multi = share(p, b, e, 2, x.Lanes, s.lever, multiple)
	case !exterior:
		x.One = shareOne.Eval(p, b.Value(basis.ShareOneBase), sp, b.Value(basis.ShareOneSpread))
		if x.Lanes > 1 {
			x.Multi = shareTwo.Eval(p, b.Value(basis.ShareTwoBase), sp, b.Value(basis.ShareTwoSpread), b.Value(basis.ShareTwoBend))
		}
	}
	if exterior && b.Value(basis.RigidSection) >= 0.5 {
		p.Note("exterior girder, the section turning as a whole")
		x.One = max(x.One, share(p, b, e, 1, 1, s.turning, multiple))
		x.Multi = max(x.Multi, share(p, b, e, 2, x.Lanes, s.turning, multiple))
	}
	x.Skew = s.skewFactor(p, b, e, &x)
	x.G = shareAll.Eval(p, x.Skew, x.One, x.Multi)
	if b.Value(basis.GirdersFloor) >= 0.5 {
		x.G = max(x.G, shareFloor.Eval(p, float64(x.Lanes), float64(s.Girders)))
	}
	if !(x.G > 0) {
		x.Warnings = append(x.Warnings, "no wheel reaches this girder by these rules: the curb keeps traffic off it, and it cannot be rated for live load here")
	}
	x.Alone = shareAlone.Eval(p, x.Skew, x.One, b.Value(basis.Presence1))
	return x
}

// outside says which range of the formulas the span leaves; nothing when it leaves
// none.
func (s Span) outside(b basis.Basis) []string {
	var out []string
	span := func(what string, v units.Length, least, most basis.Key, show func(units.Length) string) {
		if low, high := b.Value(least), b.Value(most); !within(float64(v), low, high) {
			out = append(out, what+" "+show(v)+" is outside "+show(units.Length(low))+" to "+show(units.Length(high))+": lever rule")
		}
	}
	span("the girder spacing", s.Spacing, basis.SpacingLeast, basis.SpacingMost, feet)
	span("the span", s.Length, basis.SpanLeast, basis.SpanMost, feet)
	span("the deck thickness", s.Deck, basis.DeckLeast, basis.DeckMost, inches)
	if n := b.Value(basis.GirdersLeast); float64(s.Girders) < n {
		out = append(out, number(float64(s.Girders))+" girders are fewer than "+number(n)+": lever rule")
	}
	return out
}

// within keeps a limit despite the rounding of feet held in millimetres.
func within(v, least, most float64) bool {
	return v >= least-rounding*abs(least) && v <= most+rounding*abs(most)
}

// feet and inches print a length in both families of units, for words that any
// reader may see.
func feet(v units.Length) string {
	return number(float64(v/units.Foot)) + " ft (" + number(float64(v)/1000) + " m)"
}

func inches(v units.Length) string {
	return number(float64(v/units.Inch)) + " in (" + number(float64(v)) + " mm)"
}
