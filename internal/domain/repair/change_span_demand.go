package repair

import (
	"fmt"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// SpanDemandIn is the cross section of a span as somebody enters it.
type SpanDemandIn struct {
	Deck          units.Length `json:"deck"`
	EdgeLeft      units.Length `json:"edge_left"`
	EdgeRight     units.Length `json:"edge_right"`
	OverhangLeft  units.Length `json:"overhang_left"`
	OverhangRight units.Length `json:"overhang_right"`
	SkewNear      units.Angle  `json:"skew_near"`
	SkewFar       units.Angle  `json:"skew_far"`
	Lanes         int          `json:"lanes"`
	ModularRatio  float64      `json:"modular_ratio"`
	Haunch        units.Length `json:"haunch"`
	ADTT          *int         `json:"adtt"`
	Source        string       `json:"source"`
	Typed         Typed        `json:"typed"`
}

// EditSpanDemand enters or changes the cross section of a span. The demand of every
// end of it that comes by statics follows.
type EditSpanDemand struct {
	SpanID string       `json:"span_id"`
	Demand SpanDemandIn `json:"demand"`
	// From is the SpanDemandDigest that the edit was made from; empty asks for no
	// comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (EditSpanDemand) Kind() string { return "span.demand" }

// Reach implements Reaching.
func (ch EditSpanDemand) Reach() Reach { return Reach{Span: ch.SpanID} }

// Apply implements Change.
func (ch EditSpanDemand) Apply(s *Scope, c Context) error {
	sp, ok := s.Span(ch.SpanID)
	if !ok {
		return fault.New(fault.NotFound, "the program has no such span")
	}
	in := ch.Demand
	row := SpanDemand{SpanID: sp.ID, ProgramID: s.Program.ID, Deck: in.Deck, EdgeLeft: in.EdgeLeft, EdgeRight: in.EdgeRight, OverhangLeft: in.OverhangLeft,
		OverhangRight: in.OverhangRight, SkewNear: in.SkewNear, SkewFar: in.SkewFar, Lanes: in.Lanes, ModularRatio: in.ModularRatio, Haunch: in.Haunch,
		ADTT: in.ADTT, Source: in.Source, Typed: in.Typed.orNone(), SetBy: c.Actor.ID, SetByName: c.Actor.Name, SetAt: c.Now}
	var bad fault.Invalid
	sourced(&bad, in.Source, "name the drawing or the visit that the cross section comes from")
	refuse(&bad, "", row.shape(sp).Validate())
	within(&bad, "modular_ratio", in.ModularRatio, 0, 30)
	within(&bad, "haunch", float64(in.Haunch), 0, 1000)
	if in.ADTT != nil {
		within(&bad, "adtt", float64(*in.ADTT), 0, 100000)
	}
	if err := bad.Err(); err != nil {
		return err
	}
	if err := from(ch.From, s.SpanDemandDigest(sp.ID), fmt.Sprintf("the cross section of span %d", sp.Number)); err != nil {
		return err
	}
	if was := s.SpanDemand(sp.ID); was != nil {
		*was = row
	} else {
		s.SpanDemands = append(s.SpanDemands, row)
	}
	return s.resolvable()
}

// SpanDemandDigest names the cross section of a span as it stands.
func (s *Scope) SpanDemandDigest(spanID string) string {
	return calc.Digest([]any{spanID, s.SpanDemand(spanID)})
}

// resolvable refuses a scope in which the demand of an end does not come the way
// that was chosen for it.
func (s *Scope) resolvable() error {
	for _, r := range s.Ends {
		if d := r.Factored(s); d.Problem != "" {
			return fault.New(fault.Refused, "the demand of %s would not come out any more: %s", r.End.Name, d.Problem)
		}
	}
	return nil
}

// LoadPartIn is a part of the dead load as somebody enters it. An empty ID adds one;
// a part that is not named stays as it is.
type LoadPartIn struct {
	ID     string       `json:"id,omitempty"`
	Name   string       `json:"name"`
	Bucket string       `json:"bucket"`
	Kind   string       `json:"kind"`
	Value  float64      `json:"value"`
	Where  string       `json:"where"`
	Girder int          `json:"girder"`
	At     units.Length `json:"at"`
	From   string       `json:"from"`
	Retire bool         `json:"retire"`
	Source string       `json:"source"`
	Typed  Typed        `json:"typed"`
}

// EditLoadParts adds parts to the dead load of a span, changes or retires them, all
// or none. The demand of every end of it that comes by statics follows.
type EditLoadParts struct {
	SpanID string       `json:"span_id"`
	Parts  []LoadPartIn `json:"parts"`
	// From is the LoadPartsDigest that the edit was made from; empty asks for no
	// comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (EditLoadParts) Kind() string { return "span.load_parts" }

// Reach implements Reaching.
func (ch EditLoadParts) Reach() Reach { return Reach{Span: ch.SpanID} }

// mostParts bounds the parts of one span. Common practice, no source.
const mostParts = 100

// Apply implements Change.
func (ch EditLoadParts) Apply(s *Scope, c Context) error {
	sp, ok := s.Span(ch.SpanID)
	if !ok {
		return fault.New(fault.NotFound, "the program has no such span")
	}
	d := s.SpanDemand(sp.ID)
	if d == nil {
		return fault.New(fault.Refused, "enter the cross section of span %d first: parts by tributary width follow from it", sp.Number)
	}
	if err := from(ch.From, s.LoadPartsDigest(sp.ID), fmt.Sprintf("the dead load of span %d", sp.Number)); err != nil {
		return err
	}
	var bad fault.Invalid
	if len(ch.Parts) == 0 {
		bad.Add("parts", "", "no part was named")
	}
	have := s.PartsOf(sp.ID)
	last := 0
	for _, x := range have {
		last = max(last, x.Ord)
	}
	shape := d.shape(sp)
	for i, in := range ch.Parts {
		field := fmt.Sprintf("parts[%d].", i)
		row := LoadPart{ID: in.ID, ProgramID: s.Program.ID, SpanID: sp.ID, Name: strings.TrimSpace(in.Name), Bucket: in.Bucket, Kind: in.Kind, Value: in.Value,
			Where: in.Where, Girder: in.Girder, At: in.At, From: in.From, Retired: in.Retire, Source: in.Source, Typed: in.Typed.orNone(),
			SetBy: c.Actor.ID, SetByName: c.Actor.Name, SetAt: c.Now}
		if !in.Retire {
			refuse(&bad, field, row.part().Validate(shape))
		}
		if n := len([]rune(in.Source)); n > longestSource {
			bad.Add(field+"source", in.Source, "has %d characters, at most %d", n, longestSource)
		}
		if in.ID == "" {
			last++
			row.ID, row.Ord = c.NewID(), last
			s.LoadParts = append(s.LoadParts, row)
			continue
		}
		found := false
		for j := range s.LoadParts {
			was := &s.LoadParts[j]
			if was.ID != in.ID || was.SpanID != sp.ID {
				continue
			}
			found = true
			if row.Ord = was.Ord; in.Retire { // what it was stays readable
				row = *was
				row.Retired, row.SetBy, row.SetByName, row.SetAt = true, c.Actor.ID, c.Actor.Name, c.Now
			}
			*was = row
		}
		if !found {
			bad.Add(field+"id", in.ID, "span %d has no such part", sp.Number)
		}
	}
	if n := len(s.PartsOf(sp.ID)); n > mostParts {
		bad.Add("parts", "", "must be at most %d parts, retired ones included, got %d", mostParts, n)
	}
	if err := bad.Err(); err != nil {
		return err
	}
	return s.resolvable()
}

// LoadPartsDigest names the dead load of a span as it stands.
func (s *Scope) LoadPartsDigest(spanID string) string { return calc.Digest(s.PartsOf(spanID)) }

// PartsToStart are the parts that a span's dead load can start from: its deck by the
// unit weight of the design basis, and its girder by a section. Nothing is stored.
func (s *Scope) PartsToStart(spanID, sectionID string) []LoadPartIn {
	var out []LoadPartIn
	b := s.Basis()
	add := func(x demand.Part, source string) {
		out = append(out, LoadPartIn{Name: x.Name, Bucket: string(x.Bucket), Kind: string(x.Kind), Value: x.Value, Where: string(x.Where), Source: source})
	}
	weight := func(k basis.Key) string {
		d, _ := basis.Lookup(k)
		return "unit weight of the design basis: " + d.Name
	}
	if d := s.SpanDemand(spanID); d != nil {
		add(demand.Slab(b, d.Deck), weight(basis.ConcreteWeight))
	}
	if sec, ok := s.Section(sectionID); ok {
		add(demand.Steel(b, sec.steel()), weight(basis.SteelWeight))
	}
	return out
}
