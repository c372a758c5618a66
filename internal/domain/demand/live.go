package demand

import (
	"slices"
	"strconv"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	onGirder = calc.Define(calc.Def{Symbol: "R_L", Name: "live load on the girder, with impact", Expr: "g*V_1", Dim: calc.Force, Clause: clauseShear,
		Params: []calc.Param{par("g", "share of a lane", calc.Scalar), par("V_1", "reaction of one lane", calc.Force)}})
)

// Input is everything that the reactions at one end follow from.
type Input struct {
	Span    Span     `json:"span"`
	End     End      `json:"end"`
	Parts   []Part   `json:"parts,omitempty"`
	Trucks  []Truck  `json:"trucks,omitempty"`
	Methods []Method `json:"methods,omitempty"` // none: both
	Hand    Loads    `json:"hand,omitzero"`     // what a person entered; it goes before statics
}

// mostTrucks bounds one list. Common practice, no source.
const mostTrucks = 200

// Validate refuses a geometry, a part, a vehicle or an entered reaction that cannot
// be, and two vehicles with one code. The error is a *fault.Invalid; its fields are
// named span.field, end.field, parts[i].field, trucks[i].field and hand.field.
func (in Input) Validate() error {
	var all refusals
	all.under("span.", in.Span.Validate())
	if len(all.Fields) > 0 {
		return all.Err()
	}
	all.under("end.", in.Span.Place(in.End))
	all.under("", validParts(in.Span, in.Parts))
	all.under("", validTrucks(in.Trucks))
	all.under("", validMethods(in.Methods))
	all.under("hand.", in.Hand.Validate())
	return all.Err()
}

func validMethods(list []Method) error {
	var all refusals
	for i, m := range list {
		if !m.Known() || slices.Contains(list[:i], m) {
			all.Add("methods["+strconv.Itoa(i)+"]", string(m), "must be lrfr or load_factor, each once, got %q", string(m))
		}
	}
	return all.Err()
}

func validTrucks(list []Truck) error {
	var all refusals
	if len(list) > mostTrucks {
		all.Add("trucks", strconv.Itoa(len(list)), "must be at most %d, got %d", mostTrucks, len(list))
		return all.Err()
	}
	for i := range list {
		if err := list[i].Validate(); err != nil {
			all.under(at("trucks", i), err)
		}
		for j := range i {
			a, b := &list[i], &list[j]
			switch {
			case a.Code == b.Code:
				all.Add(at("trucks", i)+"code", a.Code, "must be unique, got %q twice", a.Code)
			case a.Title() != b.Title():
				continue
			case a.Load == "" || b.Load == "":
				all.Add(at("trucks", i)+"load", a.Load, "must not be the code of another vehicle, got %q", a.Title())
			case a.Class != b.Class || a.Method != b.Method:
				all.Add(at("trucks", i)+"load", a.Load, "must join vehicles of one class and one method, got %q with %q", a.Code, b.Code)
			default:
				continue
			}
			break
		}
	}
	return all.Err()
}

// Reactions is what the end must carry: dead load by statics, live load of every
// vehicle under every method, and over them what a person entered. The sheet goes on
// the pad in that order.
func Reactions(p *calc.Pad, b basis.Basis, in Input) (Loads, error) {
	if err := in.Validate(); err != nil {
		return Loads{}, err
	}
	l := in.Span.dead(p, in.End, in.Parts)
	if len(in.Trucks) > 0 {
		l.Share = in.Span.distribute(p, b, in.End)
		l.Live = make([]Live, 0, 2*len(in.Trucks))
		for _, m := range methods(in.Methods) {
			if m == LoadFactor {
				in.Span.wheelLines(p, b, in.End, &l.Share)
			}
			for i := range in.Trucks {
				in.live(p, b, &l, i, m)
			}
		}
	}
	hand := in.Hand
	if len(hand.Live) == 0 && !hand.DC1.Known && !hand.DC2.Known && !hand.DW.Known {
		return l, nil
	}
	hand.tell(p)
	return l.Over(hand), nil
}

func methods(list []Method) []Method {
	if len(list) == 0 {
		return bothMethods
	}
	return list
}

var bothMethods = []Method{LRFR, LoadFactor}

// tell writes down what was entered by hand.
func (l Loads) tell(p *calc.Pad) {
	if p == nil {
		return
	}
	p.Note("reactions entered by hand, in place of statics")
	for _, k := range Buckets() {
		if r := l.Bucket(k); r.Known {
			p.Given(deadSum[k].Symbol(), "dead load, "+k.Words(), calc.Force, float64(r.Force), r.Origin)
		}
	}
	for _, x := range l.Live {
		p.Given("R_L", "live load on the girder, with impact, "+x.Load+", "+x.Method.Words(), calc.Force, float64(x.Force), x.Origin)
	}
}

// live adds the reaction of vehicle i, or puts it in place of an alternative that
// gives less.
func (in *Input) live(p *calc.Pad, b basis.Basis, l *Loads, i int, m Method) {
	t := &in.Trucks[i]
	if !t.serves(m, in.Span.Length) {
		return
	}
	if p != nil {
		name := t.Code
		if t.Name != "" {
			name += ", " + t.Name
		}
		p.Note(name + " (" + m.Words() + ")")
	}
	x := Live{Load: t.Title(), Method: m, Origin: statics, Governs: t.Code}
	alone := t.OneLane || t.Class == Fatigue || t.Class == Emergency && b.Value(basis.EmergencyOneLane) >= 0.5
	var one perLane
	if m == LoadFactor {
		over, away := l.Share.Over, l.Share.Away
		if alone {
			over, away = l.Share.OverOne, l.Share.AwayOne
		}
		one = lines(p, b, *t, in.Span.Length, over, away)
		x.Force, x.Share = one.with, away
	} else {
		x.Share = l.Share.G
		if alone {
			x.Share = l.Share.Alone
		}
		one = lane(p, b, *t, in.Span.Length, m)
		x.Lane = float64(one.with)
		x.Force = units.Force(onGirder.Eval(p, x.Share, x.Lane))
	}
	x.Impact, x.Placement = one.impact, one.place
	if one.alone {
		x.Governs = laneLoadName
	}
	for j := range l.Live {
		if old := &l.Live[j]; old.Load == x.Load && old.Method == m {
			if x.Force > old.Force {
				*old = x
			}
			return
		}
	}
	l.Live = append(l.Live, x)
}
