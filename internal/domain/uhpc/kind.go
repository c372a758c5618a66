package uhpc

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// Kind is the shape and size of a specimen.
type Kind string

// Kinds of specimen.
const (
	Cylinder2x4 Kind = "cyl_2x4" // known so that it can be refused by name
	Cylinder3x6 Kind = "cyl_3x6"
	Cylinder4x8 Kind = "cyl_4x8"
	Cube2in     Kind = "cube_2in"
	Cube50      Kind = "cube_50"
	Cube70      Kind = "cube_70"
	Cube100     Kind = "cube_100"
)

// KindInfo describes a kind.
type KindInfo struct {
	Kind Kind
	Name string
	Cube bool
	// Width is the nominal diameter or side, Height the nominal height.
	Width, Height units.Length
	// Factor is the setting that converts to a 3 x 6 in cylinder; empty is 1.
	Factor basis.Key
	// Refused says why results of this kind are not taken, empty if they are.
	Refused string
	// Note is shown beside the kind.
	Note string
}

// Which kinds stand in for the reference cylinder: ACI Materials Journal 105-M68
// (2008) accepts the 76 mm cylinder and the 70.7 and 100 mm cubes in place of the
// 102 mm cylinder; the 51 mm cylinder and cube are not on its list.
var kinds = []KindInfo{
	{Kind: Cylinder3x6, Name: "3 x 6 in cylinder", Width: 3 * units.Inch, Height: 6 * units.Inch, Note: "reference"},
	{Kind: Cylinder4x8, Name: "4 x 8 in cylinder", Width: 4 * units.Inch, Height: 8 * units.Inch, Factor: basis.FactorCylinder4x8,
		Note: "at the strength of this material it exceeds many testing machines"},
	{Kind: Cube70, Name: "70.7 mm cube", Cube: true, Width: 70.7, Height: 70.7, Factor: basis.FactorCube70},
	{Kind: Cube100, Name: "100 mm cube", Cube: true, Width: 100, Height: 100, Factor: basis.FactorCube100},
	{Kind: Cube50, Name: "50 mm cube", Cube: true, Width: 50, Height: 50, Factor: basis.FactorCube50,
		Note: "only where the contract names it"},
	{Kind: Cube2in, Name: "2 in cube", Cube: true, Width: 2 * units.Inch, Height: 2 * units.Inch, Factor: basis.FactorCube2in,
		Note: "only where the contract names it"},
	{Kind: Cylinder2x4, Name: "2 x 4 in cylinder", Width: 2 * units.Inch, Height: 4 * units.Inch,
		Refused: "not an accepted replacement for the 3 x 6 in cylinder (ACI Materials Journal 105-M68, by omission)"},
}

// Kinds lists the kinds, the usual one first and the refused ones last.
func Kinds() []KindInfo { return append([]KindInfo(nil), kinds...) }

// Info returns the description of a kind, and false if it is unknown.
func (k Kind) Info() (KindInfo, bool) {
	for _, i := range kinds {
		if i.Kind == k {
			return i, true
		}
	}
	return KindInfo{}, false
}

// FactorIn returns the conversion factor of a kind to the 3 x 6 in cylinder with
// the setting it comes from. The reference itself is 1, read in its source.
func (i KindInfo) FactorIn(b basis.Basis) (factor float64, source string, tag basis.Tag) {
	if i.Factor == "" {
		return 1, "ACI Materials Journal 105-M68 (2008)", basis.Read
	}
	d, _ := basis.Lookup(i.Factor)
	return b.Value(i.Factor), d.Source, d.Tag
}

// Cure tells what a specimen stands for. Sets of different cure are never mixed:
// standard curing serves acceptance, field and match curing serve release.
// Source: ASTM C31/C31M-24b, scope and use.
type Cure string

// Cures.
const (
	StandardCure Cure = "standard"
	FieldCure    Cure = "field"
	MatchCure    Cure = "match"
)

// Known reports whether c is one of the cures.
func (c Cure) Known() bool { return c == StandardCure || c == FieldCure || c == MatchCure }

// Duty is the part a laboratory plays; one laboratory outside the agency may play
// one only on a project (23 CFR 637.209, edition of 2003).
type Duty string

// Duties.
const (
	QualityControl Duty = "quality_control"
	Verification   Duty = "verification"
	Assurance      Duty = "independent_assurance"
	Dispute        Duty = "dispute"
)

// Known reports whether d is one of the duties.
func (d Duty) Known() bool {
	switch d {
	case QualityControl, Verification, Assurance, Dispute:
		return true
	}
	return false
}
