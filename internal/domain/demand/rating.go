package demand

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Level is what a rating factor is for.
type Level string

// Levels.
const (
	Inventory      Level = "inventory" // the load that may use the bridge for ever
	Operating      Level = "operating" // the largest load that may use it at all
	LegalLevel     Level = "legal"
	PermitLevel    Level = "permit"
	EmergencyLevel Level = "emergency"
)

// Words is the level for a reader.
func (l Level) Words() string { return string(l) }

// Verdict is what a rating factor says.
type Verdict string

// Verdicts.
const (
	Sufficient   Verdict = "sufficient"   // 1 or more
	Insufficient Verdict = "insufficient" // less than 1
	DeadLoad     Verdict = "dead_load"    // less than 0: fails under dead load alone
	Incomplete   Verdict = "incomplete"   // 1 or more, but a load is not known
	Unrated      Verdict = "unrated"      // no rating factor can be given
)

// Words is the verdict for a reader.
func (v Verdict) Words() string {
	switch v {
	case Sufficient:
		return "carries the load"
	case Insufficient:
		return "does not carry the load"
	case DeadLoad:
		return "fails under dead load"
	case Incomplete:
		return "incomplete"
	case Unrated:
		return "not rated"
	}
	return "unknown"
}

// RatingInput is what rating factors at one end follow from. Nominal and Phi are those
// of the check that governs the end.
type RatingInput struct {
	Resistance      string       `json:"resistance,omitzero"` // what resists, in words, for the sheet
	Nominal         units.Force  `json:"nominal"`
	Phi             float64      `json:"phi"`
	Loads           Loads        `json:"loads"`
	Trucks          []Truck      `json:"trucks,omitempty"`  // those to rate, in order
	Methods         []Method     `json:"methods,omitempty"` // none: both
	Span            units.Length `json:"span,omitzero"`     // zero where it is not known
	Traffic         int          `json:"traffic,omitzero"`  // trucks a day in one direction; zero where it is not known
	Condition       Condition    `json:"condition,omitzero"`
	MeasuredLoss    bool         `json:"measured_loss,omitzero"`    // raises the condition factor: an owner's explicit choice
	MeasuredWearing bool         `json:"measured_wearing,omitzero"` // the wearing surface was measured in the field
}

// Validate refuses inputs that cannot be. The error is a *fault.Invalid.
func (in RatingInput) Validate() error {
	var v refusals
	n := float64(in.Nominal)
	v.find(n >= 0 && n <= heaviestReaction, "nominal", n, "be from 0 to # N", heaviestReaction)
	v.find(in.Phi > 0 && in.Phi <= 1, "phi", in.Phi, "be more than 0 and at most 1")
	v.find(in.Span >= 0 && in.Span <= longestSpan, "span", float64(in.Span), "be from 0, for not known, to # mm", longestSpan)
	v.find(in.Traffic >= 0 && in.Traffic <= mostTraffic, "traffic", float64(in.Traffic), "be from 0, for not known, to #", mostTraffic)
	if in.Condition.Words() == "unknown" {
		v.Add("condition", string(in.Condition), "must be good, fair, poor or empty, got %q", string(in.Condition))
	}
	v.under("", validTrucks(in.Trucks))
	v.under("", validMethods(in.Methods))
	v.under("loads.", in.Loads.Validate())
	return v.Err()
}

// mostTraffic catches a mistyped count. Common practice, no source.
const mostTraffic = 100000

// Rating is one rating factor. RF means nothing unless Known. It may be negative: the
// end then fails under its dead load and no live load at all should be on it until a
// licensed engineer has looked.
type Rating struct {
	Method  Method  `json:"method"`
	Level   Level   `json:"level"`
	Vehicle string  `json:"vehicle"` // Truck.Title
	Class   Class   `json:"class"`
	RF      float64 `json:"rf"`
	Known   bool    `json:"known"`
	Verdict Verdict `json:"verdict"`
	// SafeLoad is the gross weight of this vehicle that may cross, where the rating is
	// one that a posting follows from (Posts); zero then means not at all.
	SafeLoad units.Force `json:"safe_load,omitzero"`
	Posts    bool        `json:"posts,omitzero"`
	Gross    units.Force `json:"gross,omitzero"`
	Gamma    float64     `json:"gamma,omitzero"`    // factor on live load
	Capacity units.Force `json:"capacity,omitzero"` // C
	Missing  []string    `json:"missing,omitempty"` // in words
	Clause   calc.Clause `json:"clause"`
	Lines    []calc.Line `json:"-"`
}

var ratingLRFR = calc.Define(calc.Def{Symbol: "RF", Name: "rating factor", Expr: "(C - gamma_DC*(DC_1 + DC_2) - gamma_DW*DW)/(gamma_L*LL)", Dim: calc.Scalar, Clause: clauseRF,
	Params: []calc.Param{par("C", "capacity", calc.Force), par("gamma_DC", "factor on structure and attachments", calc.Scalar), parDC1, parDC2,
		par("gamma_DW", "factor on the wearing surface", calc.Scalar), parDW, par("gamma_L", "factor on live load", calc.Scalar), parLL}})

var ratingLFR = calc.Define(calc.Def{Symbol: "RF", Name: "rating factor, load factor method", Expr: "(C - A_1*(DC_1 + DC_2 + DW))/(A_2*LL)", Dim: calc.Scalar, Clause: clauseLFR,
	Params: []calc.Param{par("C", "capacity", calc.Force), par("A_1", "factor on dead load", calc.Scalar), parDC1, parDC2, parDW,
		par("A_2", "factor on live load", calc.Scalar), parLL}})

// rater is what all ratings of one end share.
type rater struct {
	in           *RatingInput
	b            basis.Basis
	p            *calc.Pad
	cLRFR, cLFR  float64
	dc1, dc2, dw float64
	gammaDW      float64
	missing      []string
}

// Rate returns the rating factor of each vehicle at each of its levels under each
// method, in the order method, vehicle, level. The fatigue truck is not rated. With
// loads that are not known it works with what there is and says what is missing: such
// a rating is never shown as sufficient.
//
// The capacity goes on p; the lines of each rating go with it.
func Rate(p *calc.Pad, b basis.Basis, in RatingInput) []Rating {
	r := rater{in: &in, b: b, p: p, missing: in.Loads.missing()}
	r.dc1, r.dc2, r.dw = in.Loads.dead(DC1), in.Loads.dead(DC2), in.Loads.dead(DW)
	r.gammaDW = b.Value(basis.GammaDW)
	if in.MeasuredWearing {
		r.gammaDW = b.Value(basis.GammaDWMeasured)
	}
	out := make([]Rating, 0, 2*len(in.Trucks)+6)
	for _, m := range methods(in.Methods) {
		r.capacity(m)
		for i := range in.Trucks {
			t := &in.Trucks[i]
			if t.Class == Fatigue || t.Method != "" && t.Method != m || in.named(i) {
				continue
			}
			live, ok := in.Loads.Of(t.Title(), m)
			if !ok && t.Over > 0 && in.Span <= t.Over {
				continue // a load for longer spans only
			}
			for _, level := range levels(t.Class, m) {
				out = append(out, r.rate(t, in.gross(t, live), live, ok, level, m))
			}
		}
		out = r.strangers(out, m)
	}
	return out
}

// named reports whether an alternative of the same load stands before vehicle i.
func (in *RatingInput) named(i int) bool {
	t := &in.Trucks[i]
	if t.Load == "" {
		return false
	}
	for j := range i {
		if in.Trucks[j].Load == t.Load {
			return true
		}
	}
	return false
}

// gross is the weight of the alternative that governs.
func (in *RatingInput) gross(t *Truck, live Live) units.Force {
	if t.Load != "" && live.Governs != t.Code {
		for i := range in.Trucks {
			if o := &in.Trucks[i]; o.Load == t.Load && o.Code == live.Governs {
				return o.GVW()
			}
		}
	}
	return t.GVW()
}

// strangers notes live loads that were entered by hand for a vehicle that is not in
// the list.
func (r *rater) strangers(out []Rating, m Method) []Rating {
next:
	for i := range r.in.Loads.Live {
		x := &r.in.Loads.Live[i]
		if x.Method != m || x.Governs != "" {
			continue
		}
		for j := range r.in.Trucks {
			if r.in.Trucks[j].Title() == x.Load {
				continue next
			}
		}
		out = append(out, Rating{Method: m, Vehicle: x.Load, Verdict: Unrated, Missing: []string{"the vehicle " + x.Load + ": its class and weight"}})
	}
	return out
}

var (
	bothLevels    = []Level{Inventory, Operating}
	legalLevel    = []Level{LegalLevel}
	permitLevel   = []Level{PermitLevel}
	emergencyOnly = []Level{EmergencyLevel}
)

// levels are those that a class of vehicle is rated at.
func levels(c Class, m Method) []Level {
	switch {
	case m == LoadFactor || c == Design:
		return bothLevels
	case c == Emergency:
		return emergencyOnly
	case c == Permit:
		return permitLevel
	}
	return legalLevel
}

// capacity is C of a method.
func (r *rater) capacity(m Method) {
	in := r.in
	if r.p != nil {
		what := "governing check of the end"
		if in.Resistance != "" {
			what = in.Resistance
		}
		r.p.Given("R_n", "nominal resistance", calc.Force, float64(in.Nominal), what)
		r.p.Given("phi", "resistance factor", calc.Scalar, in.Phi, what)
	}
	if m == LoadFactor {
		r.cLFR = capacityLFR.Eval(r.p, in.Phi, float64(in.Nominal))
		return
	}
	if in.Condition == ConditionUnknown {
		r.p.Note("the condition is not stated: the rating counts with the poor one")
	}
	phiC := in.Condition.Factor(r.p, r.b, in.MeasuredLoss)
	r.cLRFR = capacity.Eval(r.p, phiC, r.b.Value(basis.SystemFactor), r.b.Value(basis.CapacityFloor), in.Phi, float64(in.Nominal))
}

func (r *rater) rate(t *Truck, gross units.Force, live Live, known bool, level Level, m Method) Rating {
	q := sheet(r.p)
	out := Rating{Method: m, Level: level, Vehicle: t.Title(), Class: t.Class, Gross: gross, Missing: r.missing, Clause: clauseRF, Verdict: Unrated}
	c := r.cLRFR
	switch {
	case m == LoadFactor:
		c, out.Clause = r.cLFR, clauseLFR
	case level == LegalLevel:
		out.Clause = clauseLegal
	case level == PermitLevel:
		out.Clause = clausePermit
	}
	out.Capacity = units.Force(c)
	ll := float64(live.Force)
	switch {
	case !known:
		out.Missing = more(out.Missing, "the live load "+out.Vehicle)
	case !(ll > 0) || math.IsInf(ll, 0):
		out.Missing = more(out.Missing, "a live load "+out.Vehicle+" that reaches the end")
	case !finite(c):
		out.Missing = more(out.Missing, "a resistance that is a number")
	default:
		for _, w := range out.Missing {
			if q != nil {
				q.Note("not known, and not in the rating: " + w)
			}
		}
		out.Gamma = r.gamma(q, t, level, m)
		if m == LoadFactor {
			out.RF = ratingLFR.Eval(q, c, r.b.Value(basis.DeadA1), r.dc1, r.dc2, r.dw, out.Gamma, ll)
		} else {
			out.RF = ratingLRFR.Eval(q, c, r.b.Value(basis.GammaDC), r.dc1, r.dc2, r.gammaDW, r.dw, out.Gamma, ll)
		}
		out.Known = finite(out.RF)
		r.judge(q, &out)
	}
	if out.Lines = q.Lines(); !out.Known {
		out.RF = 0
	}
	return out
}

// gamma is the factor on live load.
func (r *rater) gamma(q *calc.Pad, t *Truck, level Level, m Method) float64 {
	k := basis.GammaInventory
	switch {
	case m == LoadFactor && level == Inventory:
		k = basis.InventoryA2
	case m == LoadFactor:
		k = basis.OperatingA2
	case level == Operating:
		k = basis.GammaOperating
	case level == EmergencyLevel:
		k = basis.GammaEmergency
	case level == PermitLevel && t.Gamma > 0:
		q.Given("gamma_L", "live-load factor", calc.Scalar, t.Gamma, "the permit")
		return t.Gamma
	case level == PermitLevel:
		k = basis.GammaPermit
	case level == LegalLevel:
		return LegalFactor(q, r.b, t.Class, r.in.Traffic)
	}
	return r.b.Value(k)
}

// judge puts the rating factor into words and follows it to the safe load.
func (r *rater) judge(q *calc.Pad, out *Rating) {
	switch {
	case !out.Known:
		out.Missing = more(out.Missing, "loads that are numbers")
		return
	case out.RF < 0:
		out.Verdict = DeadLoad
		q.Note("the factored dead load alone is more than the capacity: the end fails under dead load")
	case out.RF < 1-rounding:
		out.Verdict = Insufficient
	case len(out.Missing) > 0:
		out.Verdict = Incomplete
	default:
		out.Verdict = Sufficient
	}
	posts := out.Level == LegalLevel || out.Method == LoadFactor && out.Level == Operating
	if posts && (out.Class == Legal || out.Class == SpecialHauling) && len(out.Missing) == 0 {
		out.Posts = true
		out.SafeLoad = SafeLoad(q, r.b, out.Method, out.Gross, out.RF)
	}
}

// more adds one word to a list that others share.
func more(list []string, word string) []string {
	return append(list[:len(list):len(list)], word)
}
