package repair

import (
	"fmt"
	"slices"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// Demand is what an end must carry, and how the number came.
type Demand struct {
	How      string      // ByHandTotal, ByHandParts or ByStatics
	Factored units.Force // what every check compares a capacity with
	Origin   string      // where it comes from, in words
	// Loads are the reactions by cause, without factors. What nobody has is not Known
	// there, and Missing says so in words: a rating is incomplete then.
	Loads   demand.Loads
	Missing []string
	// Problem says why the way that was chosen gives no demand. The factored total by
	// hand stands in its place then.
	Problem string
}

// Demand resolves what an end must carry, with the reaction of every vehicle.
func (r *Record) Demand(s *Scope) Demand { return r.DemandOn(s, nil) }

// DemandOn is Demand with its calculation written on a pad.
func (r *Record) DemandOn(s *Scope, p *calc.Pad) Demand {
	return r.resolve(s, p, s.Vehicles(), nil)
}

// Factored is Demand with the design load and the fatigue truck alone, which is all
// that the checks take: for work on many ends.
func (r *Record) Factored(s *Scope) Demand { return r.FactoredOn(s, nil) }

// FactoredOn is Factored with its calculation written on a pad.
func (r *Record) FactoredOn(s *Scope, p *calc.Pad) Demand {
	if r.how() == ByHandTotal {
		return r.total()
	}
	var design []demand.Truck
	for _, t := range s.Vehicles() {
		if t.Title() == demand.HL93 || t.Class == demand.Fatigue {
			design = append(design, t)
		}
	}
	return r.resolve(s, p, design, []demand.Method{demand.LRFR})
}

// repeating is the reaction of the fatigue truck with share and impact, without load
// factor; zero where nobody has it.
func (d Demand) repeating(s *Scope) units.Force {
	for _, t := range s.Vehicles() {
		if t.Class != demand.Fatigue {
			continue
		}
		if x, ok := d.Loads.Of(t.Title(), demand.LRFR); ok {
			return x.Force
		}
	}
	return 0
}

// DemandOf is the row that says how the demand comes, nil where nobody chose.
func (r *Record) DemandOf() *EndDemand {
	if len(r.EndDemands) == 0 {
		return nil
	}
	return &r.EndDemands[0]
}

func (r *Record) how() string {
	if d := r.DemandOf(); d != nil {
		return d.How
	}
	return ByHandTotal
}

// total is the factored reaction as it was entered.
func (r *Record) total() Demand {
	return Demand{How: ByHandTotal, Factored: r.End.Reaction, Origin: r.End.ReactionOrigin,
		Missing: []string{"the parts of the demand: it was entered as a factored total"}}
}

func (r *Record) resolve(s *Scope, p *calc.Pad, trucks []demand.Truck, methods []demand.Method) Demand {
	out := r.total()
	d := r.DemandOf()
	if d == nil || d.How == ByHandTotal {
		return out
	}
	b := s.Basis()
	var loads demand.Loads
	in, why := r.statics(s, trucks, methods)
	if d.How == ByHandParts {
		in.Hand = d.hand()
	}
	switch {
	case d.How == ByHandParts && why != "":
		loads = in.Hand
	case why != "":
		out.How, out.Problem = d.How, why
		return out
	default:
		var err error
		if loads, err = demand.Reactions(p, b, in); err != nil {
			out.How, out.Problem = d.How, err.Error()
			return out
		}
	}
	f := demand.Factored(p, b, loads, demand.LRFR, "")
	if len(f.Missing) > 0 || !(f.Force > 0) {
		out.How, out.Problem = d.How, "not known: "+strings.Join(f.Missing, "; ")
		if len(f.Missing) == 0 {
			out.Problem = "the loads add up to nothing"
		}
		return out
	}
	return Demand{How: d.How, Factored: f.Force, Origin: d.origin(), Loads: loads}
}

func (d EndDemand) origin() string {
	if d.How == ByStatics {
		return "statics of the span, " + d.Source
	}
	return "parts by hand, " + d.Source
}

// hand is what a person entered of the parts.
func (d EndDemand) hand() demand.Loads {
	part := func(f *units.Force) demand.Reaction {
		if f == nil {
			return demand.Reaction{}
		}
		return demand.Reaction{Force: *f, Known: true, Origin: d.Source}
	}
	out := demand.Loads{DC1: part(d.DC1), DC2: part(d.DC2), DW: part(d.DW)}
	if d.Live != nil && *d.Live > 0 {
		out.Live = []demand.Live{{Load: demand.HL93, Method: demand.LRFR, Force: *d.Live, Origin: d.Source}}
	}
	return out
}

// statics is what the reactions by statics follow from, or why they cannot be made.
func (r *Record) statics(s *Scope, trucks []demand.Truck, methods []demand.Method) (demand.Input, string) {
	sp, ok := s.Span(r.End.SpanID)
	if !ok {
		return demand.Input{}, "the span is not on record"
	}
	if why := s.continuous(sp); why != "" {
		return demand.Input{}, why
	}
	row := s.SpanDemand(sp.ID)
	if row == nil {
		return demand.Input{}, fmt.Sprintf("the cross section of span %d is not on record", sp.Number)
	}
	in := demand.Input{Span: row.geometry(sp, r.Geometry(s).Section), Trucks: trucks, Methods: methods,
		End: demand.End{Girder: r.End.GirderNo, Side: girder.Side(r.End.Side), Beyond: r.End.BearingStart + r.End.BearingLength/2}}
	for _, x := range s.PartsOf(sp.ID) {
		if !x.Retired {
			in.Parts = append(in.Parts, x.part())
		}
	}
	return in, ""
}

// continuous says why the end reactions of a span are not those of a simple span.
func (s *Scope) continuous(sp Span) string {
	if sp.ContinuousNext {
		return fmt.Sprintf("span %d runs on over its far support: the statics of a simple span does not hold", sp.Number)
	}
	for _, o := range s.Spans {
		if o.ContinuousNext && o.ToSupportID == sp.FromSupportID {
			return fmt.Sprintf("span %d runs on into span %d: the statics of a simple span does not hold", o.Number, sp.Number)
		}
	}
	return ""
}

// shape is the span as package demand reads it, its stiffness not known.
func (d SpanDemand) shape(sp Span) demand.Span {
	return demand.Span{Length: sp.Length, Girders: sp.Girders, Spacing: sp.Spacing, Deck: d.Deck, EdgeLeft: d.EdgeLeft, EdgeRight: d.EdgeRight,
		OverhangLeft: d.OverhangLeft, OverhangRight: d.OverhangRight, SkewNear: d.SkewNear, SkewFar: d.SkewFar, Lanes: d.Lanes}
}

// geometry is the span with the stiffness of its girders, by a section.
func (d SpanDemand) geometry(sp Span, sec girder.Section) demand.Span {
	out := d.shape(sp)
	if d.ModularRatio > 0 {
		out.Stiffness = demand.Stiffness(nil, sec, d.ModularRatio, d.Haunch, d.Deck)
	}
	return out
}

func (x LoadPart) part() demand.Part {
	return demand.Part{Name: x.Name, Bucket: demand.Bucket(x.Bucket), Kind: demand.Kind(x.Kind), Value: x.Value, Where: demand.Where(x.Where),
		Girder: x.Girder, At: x.At, From: girder.Side(x.From)}
}

// Span returns a span row by its identifier.
func (s *Scope) Span(id string) (Span, bool) {
	i := slices.IndexFunc(s.Spans, func(x Span) bool { return x.ID == id })
	if i < 0 {
		return Span{}, false
	}
	return s.Spans[i], true
}

// SpanDemand is the cross section of a span, nil where nobody entered it.
func (s *Scope) SpanDemand(spanID string) *SpanDemand {
	for i := range s.SpanDemands {
		if s.SpanDemands[i].SpanID == spanID {
			return &s.SpanDemands[i]
		}
	}
	return nil
}

// PartsOf are the parts of the dead load of a span in their order, retired ones
// included.
func (s *Scope) PartsOf(spanID string) []LoadPart {
	var out []LoadPart
	for _, x := range s.LoadParts {
		if x.SpanID == spanID {
			out = append(out, x)
		}
	}
	slices.SortStableFunc(out, func(a, b LoadPart) int { return a.Ord - b.Ord })
	return out
}

// Vehicles are the vehicles of the program: those that ship, each with the
// program's own row of its code in its place, then the program's others in the
// order of their codes. Retired ones are left out.
func (s *Scope) Vehicles() []demand.Truck {
	if s.vehicles != nil {
		return s.vehicles
	}
	own := make(map[string]*Truck, len(s.Trucks))
	var more []string
	for i := range s.Trucks {
		own[s.Trucks[i].Code] = &s.Trucks[i]
		more = append(more, s.Trucks[i].Code)
	}
	out := []demand.Truck{}
	put := func(code string, t demand.Truck) {
		row, ok := own[code]
		switch {
		case !ok:
			out = append(out, t)
		case !row.Retired:
			out = append(out, row.Vehicle())
		}
		delete(own, code)
	}
	for _, t := range demand.Builtin() {
		put(t.Code, t)
	}
	slices.Sort(more)
	for _, code := range more {
		if row, ok := own[code]; ok && !row.Retired {
			out = append(out, row.Vehicle())
		}
	}
	s.vehicles = out
	return out
}

// Vehicle is the row as package demand reads it.
func (t Truck) Vehicle() demand.Truck {
	out := demand.Truck{Code: t.Code, Name: t.Name, Class: demand.Class(t.Class), Gross: t.Gross, Lane: t.Lane, LanePoint: t.LanePoint, LaneAlone: t.LaneAlone,
		Load: t.Load, Method: demand.Method(t.Method), OneLane: t.OneLane, Gamma: t.Gamma, Over: t.Over, Source: t.Source, Tag: basis.Tag(t.Tag)}
	for i, load := range t.AxleLoads {
		a := demand.Axle{Load: load}
		if i < len(t.AxleGaps) && i < len(t.GapsMax) {
			a.Gap, a.GapMax = t.AxleGaps[i], t.GapsMax[i]
		}
		out.Axles = append(out.Axles, a)
	}
	return out
}

// capacityBasis are the changed settings that a capacity follows from. Those of the
// loads act through the demand alone, and those of chance, time and rating on no
// capacity at all.
func (s *Scope) capacityBasis() map[basis.Key]float64 {
	out := s.Basis().Changed()
	for k := range out {
		if !ofCapacity(k) {
			delete(out, k)
		}
	}
	return out
}

func ofCapacity(k basis.Key) bool {
	group, _, _ := strings.Cut(string(k), ".")
	return !slices.Contains([]string{"demand", "rating", "chance", "decline", "family", "review"}, group)
}
