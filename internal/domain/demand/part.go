package demand

import (
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// Bucket is the kind of dead load, which decides its factor.
type Bucket string

// Buckets.
const (
	DC1 Bucket = "dc1" // carried by the steel alone: girder, deck, forms, cross-frames
	DC2 Bucket = "dc2" // added later: barriers, railings, sidewalks
	DW  Bucket = "dw"  // wearing surface and utilities
)

// Buckets lists the buckets in order.
func Buckets() []Bucket { return []Bucket{DC1, DC2, DW} }

// Words is the bucket for a reader.
func (k Bucket) Words() string {
	switch k {
	case DC1:
		return "structure"
	case DC2:
		return "attachments"
	case DW:
		return "wearing surface and utilities"
	}
	return "unknown"
}

// Kind is how a part is spread.
type Kind string

// Kinds of part, with the unit of Value.
const (
	Line  Kind = "line"  // N/mm along the girder, over the whole span
	Point Kind = "point" // N at one place along the girder
	Area  Kind = "area"  // N/mm2 of deck
)

// Where says which girders carry a part and how much of it each.
type Where string

// Ways to carry a part. For an area the width that counts is that of the deck or,
// for the bucket DW, of the roadway between curbs.
const (
	// Each: every girder carries Value in full. Not for an area.
	Each Where = "each"
	// Shared: Value is the whole part, and all girders carry it equally.
	Shared Where = "shared"
	// Tributary: each girder carries the width half way to its neighbors and, on the
	// outside, to the edge. A line or a point is that of one bay between girders:
	// an interior girder carries a whole one, an exterior girder half.
	Tributary Where = "tributary"
	// Exterior: each exterior girder carries Value in full. Not for an area.
	Exterior Where = "exterior"
	// One: the girder named carries Value in full. Not for an area.
	One Where = "one"
)

// Part is one part of the dead load.
type Part struct {
	Name   string  `json:"name"`
	Bucket Bucket  `json:"bucket"`
	Kind   Kind    `json:"kind"`
	Value  float64 `json:"value"` // N/mm, N or N/mm2 by Kind
	Where  Where   `json:"where"`
	Girder int     `json:"girder,omitzero"` // for One
	// At is the distance of a point from the bearing line toward the span; zero is on
	// the bearing. It counts from the end that is looked at unless From names a side.
	At units.Length `json:"at,omitzero"`
	// From is the end that At is measured from; empty for a point that stands alike
	// at both ends, such as the end cross-frame.
	From girder.Side `json:"from,omitzero"`
}

// heaviest catches a wrong unit; zero for an unknown kind. Common practice, no source.
func (k Kind) heaviest() float64 {
	switch k {
	case Line:
		return 1000
	case Point:
		return 1e7
	case Area:
		return 1
	}
	return 0
}

// Validate refuses a part that cannot be carried by the span. The error is a
// *fault.Invalid that lists every field with its limit.
func (x Part) Validate(s Span) error {
	var v refusals
	if strings.TrimSpace(x.Name) == "" || len(x.Name) > longestText {
		v.Add("name", "", "must be 1 to %d characters, got %d", longestText, len(x.Name))
	}
	if x.Bucket.Words() == "unknown" {
		v.Add("bucket", string(x.Bucket), "must be dc1, dc2 or dw, got %q", string(x.Bucket))
	}
	if most := x.Kind.heaviest(); most == 0 {
		v.Add("kind", string(x.Kind), "must be line, point or area, got %q", string(x.Kind))
	} else {
		v.find(x.Value >= 0 && x.Value <= most, "value", x.Value, x.Kind.limit(), most)
	}
	switch x.Where {
	case Shared, Tributary:
	case Each, Exterior, One:
		if x.Kind == Area {
			v.Add("where", string(x.Where), "must be shared or tributary for an area, got %q", string(x.Where))
		}
	default:
		v.Add("where", string(x.Where), "must be each, shared, tributary, exterior or one, got %q", string(x.Where))
	}
	if x.Where == One {
		v.find(x.Girder >= 1 && x.Girder <= s.Girders, "girder", float64(x.Girder), "be from 1 to #", float64(s.Girders))
	}
	at, span := float64(x.At), float64(s.Length)
	if x.Kind == Point {
		v.find(at >= -mostBeyond && at <= span+mostBeyond, "at", at, "lie on the girder, from # mm to # mm", -mostBeyond, span+mostBeyond)
		if x.From != "" && x.From != girder.Near && x.From != girder.Far {
			v.Add("from", string(x.From), "must be N, F or empty, got %q", string(x.From))
		}
	} else {
		v.find(at == 0, "at", at, "be 0 for a load that is no point")
	}
	return v.Err()
}

func (k Kind) limit() string {
	switch k {
	case Line:
		return "be from 0 to # N/mm"
	case Point:
		return "be from 0 to # N"
	}
	return "be from 0 to # N/mm2"
}

// Slab is the part of a concrete deck of the given thickness, by tributary width.
func Slab(b basis.Basis, thickness units.Length) Part {
	return Part{Name: "Concrete deck", Bucket: DC1, Kind: Area, Where: Tributary, Value: float64(thickness) * b.Value(basis.ConcreteWeight)}
}

// Steel is the part of the girders' own weight, the section with an allowance for
// its small plates.
func Steel(b basis.Basis, s girder.Section) Part {
	return Part{Name: "Steel girder " + s.Name, Bucket: DC1, Kind: Line, Where: Each,
		Value: float64(s.Area()) * b.Value(basis.SteelWeight) * b.Value(basis.SteelDetails)}
}
