package encasement

import (
	"math"

	"endcast/internal/domain/units"
)

// sameLength is how far apart two lengths may be, in mm, and still be one: less
// than a tape shows, more than the noise of converting units.
const sameLength = 0.005

// StudChange is one stud that two designs do not share: moved when both have it,
// added when only the later has it, removed when only the earlier has it.
type StudChange struct {
	Mark        string
	Was, Is     *Stud
	Dx, Dz      units.Length // of a moved stud
	FaceChanged bool
}

// Moved, Added and Removed tell which of the three a change is.
func (c StudChange) Moved() bool   { return c.Was != nil && c.Is != nil }
func (c StudChange) Added() bool   { return c.Was == nil }
func (c StudChange) Removed() bool { return c.Is == nil }

// Quantity is a value of a design apart from the places of studs.
type Quantity struct {
	Key, Name string
	Kind      units.Kind
	Was, Is   float64
}

// Difference is what makes one design another.
type Difference struct {
	Studs      []StudChange // in the order of the later design, removed ones last
	Quantities []Quantity   // of panel and materials
}

// None reports whether the designs are alike.
func (d Difference) None() bool { return len(d.Studs) == 0 && len(d.Quantities) == 0 }

// Renamed pairs the marks of added studs with those of removed ones at the same place of
// the same face: studs that only got another mark.
func (d Difference) Renamed() map[string]string {
	out, taken := map[string]string{}, map[string]bool{}
	for _, is := range d.Studs {
		for _, was := range d.Studs {
			if is.Added() && was.Removed() && !taken[was.Mark] && was.Was.Face == is.Is.Face &&
				!apart(float64(was.Was.X), float64(is.Is.X)) && !apart(float64(was.Was.Z), float64(is.Is.Z)) {
				out[is.Mark], taken[was.Mark] = was.Mark, true
				break
			}
		}
	}
	return out
}

// Compare finds what changed from one design to another. Studs are matched by
// their marks; a stud that only got another mark, row or column is told as removed
// and added.
func Compare(was, is Design) Difference {
	var out Difference
	old := make(map[string]*Stud, len(was.Studs))
	for i := range was.Studs {
		old[was.Studs[i].Mark] = &was.Studs[i]
	}
	for i := range is.Studs {
		s := &is.Studs[i]
		o := old[s.Mark]
		delete(old, s.Mark)
		switch {
		case o == nil:
			out.Studs = append(out.Studs, StudChange{Mark: s.Mark, Is: s})
		case o.Face != s.Face || apart(float64(o.X), float64(s.X)) || apart(float64(o.Z), float64(s.Z)):
			out.Studs = append(out.Studs, StudChange{Mark: s.Mark, Was: o, Is: s, Dx: s.X - o.X, Dz: s.Z - o.Z, FaceChanged: o.Face != s.Face})
		}
	}
	for i := range was.Studs {
		if o := &was.Studs[i]; old[o.Mark] == o {
			out.Studs = append(out.Studs, StudChange{Mark: o.Mark, Was: o})
		}
	}
	a, b := was.quantities(), is.quantities()
	for i, q := range b {
		if apart(a[i].Is, q.Is) {
			q.Was = a[i].Is
			out.Quantities = append(out.Quantities, q)
		}
	}
	return out
}

func (d Design) quantities() []Quantity {
	p := d.Panel
	return []Quantity{
		{Key: "stud_diameter", Name: "Stud diameter", Kind: units.Lengths, Is: float64(d.StudDiameter)},
		{Key: "stud_height", Name: "Stud height", Kind: units.Lengths, Is: float64(d.StudHeight)},
		{Key: "stud_fu", Name: "Stud tensile strength", Kind: units.Stresses, Is: float64(d.StudFu)},
		{Key: "fc", Name: "UHPC strength", Kind: units.Stresses, Is: float64(d.Fc)},
		{Key: "panel_x", Name: "Panel, from the girder end", Kind: units.Lengths, Is: float64(p.X)},
		{Key: "panel_z", Name: "Panel, above the flange", Kind: units.Lengths, Is: float64(p.Z)},
		{Key: "panel_width", Name: "Panel width", Kind: units.Lengths, Is: float64(p.Width)},
		{Key: "panel_height", Name: "Panel height", Kind: units.Lengths, Is: float64(p.Height)},
		{Key: "panel_left", Name: "Panel thickness, left face", Kind: units.Lengths, Is: float64(p.ThicknessLeft)},
		{Key: "panel_right", Name: "Panel thickness, right face", Kind: units.Lengths, Is: float64(p.ThicknessRight)},
		{Key: "panel_gap", Name: "Gap under the panel", Kind: units.Lengths, Is: float64(p.Gap)},
	}
}

func apart(a, b float64) bool { return !(math.Abs(a-b) <= sameLength) }
