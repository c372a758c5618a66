package encasement

import (
	"math"
	"slices"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Pattern is a regular layout: rows and columns of studs at even pitches, alike on
// the faces named. X, Z is the place of the stud nearest to the girder end in the
// lowest row.
type Pattern struct {
	Rows, Columns  int
	X, Z           units.Length
	PitchX, PitchZ units.Length
	Left, Right    bool
}

// Studs lays the pattern out, the left face first, row by row from the bottom up.
// It refuses a pattern that is none, naming the fields rows, columns, x, z,
// pitch_x, pitch_z and faces.
func (p Pattern) Studs() ([]Stud, error) {
	var bad fault.Invalid
	faces := p.faces()
	if len(faces) == 0 {
		bad.Add("faces", "", "name at least one face")
	}
	for _, c := range []struct {
		field string
		n     int
	}{{"rows", p.Rows}, {"columns", p.Columns}} {
		if c.n < 1 || c.n > MaxStuds {
			bad.Add(c.field, "", "must lie from 1 to %d, got %d", MaxStuds, c.n)
		}
	}
	if n := p.Rows * p.Columns * len(faces); bad.Err() == nil && n > MaxStuds {
		bad.Add("rows", "", "make %d studs with the columns and faces, at most %d are taken", n, MaxStuds)
	}
	for _, c := range []struct {
		field string
		v     units.Length
		more  bool // than one row or column, so that the pitch counts
	}{{"x", p.X, false}, {"z", p.Z, false}, {"pitch_x", p.PitchX, p.Columns > 1}, {"pitch_z", p.PitchZ, p.Rows > 1}} {
		v := float64(c.v)
		switch {
		case c.more && !(v > 0) || math.IsInf(v, 0):
			bad.Add(c.field, "", "must be more than 0 mm, got %g", v)
		case !(v >= 0):
			bad.Add(c.field, "", "must be at least 0 mm, got %g", v)
		}
	}
	if err := bad.Err(); err != nil {
		return nil, err
	}
	d := Design{Studs: make([]Stud, 0, p.Rows*p.Columns*len(faces))}
	for _, f := range faces {
		for r := range p.Rows {
			for c := range p.Columns {
				d.Studs = append(d.Studs, Stud{Row: r + 1, Col: c + 1, Face: f,
					X: p.X + units.Length(c)*p.PitchX, Z: p.Z + units.Length(r)*p.PitchZ})
			}
		}
	}
	d.name()
	return d.Studs, nil
}

func (p Pattern) faces() []survey.Face {
	var out []survey.Face
	if p.Left {
		out = append(out, survey.Left)
	}
	if p.Right {
		out = append(out, survey.Right)
	}
	return out
}

// PatternOf is the pattern that comes nearest to some studs: their extent, their
// counts and the mean pitches. The zero Pattern stands for no studs.
func PatternOf(studs []Stud) Pattern {
	if len(studs) == 0 {
		return Pattern{}
	}
	var p Pattern
	xs, zs := make([]float64, len(studs)), make([]float64, len(studs))
	for i, s := range studs {
		xs[i], zs[i] = float64(s.X), float64(s.Z)
		p.Rows, p.Columns = max(p.Rows, s.Row), max(p.Columns, s.Col)
		p.Left = p.Left || s.Face == survey.Left
		p.Right = p.Right || s.Face == survey.Right
	}
	p.X, p.Z = units.Length(slices.Min(xs)), units.Length(slices.Min(zs))
	if p.Columns > 1 {
		p.PitchX = (units.Length(slices.Max(xs)) - p.X) / units.Length(p.Columns-1)
	}
	if p.Rows > 1 {
		p.PitchZ = (units.Length(slices.Max(zs)) - p.Z) / units.Length(p.Rows-1)
	}
	return p
}
