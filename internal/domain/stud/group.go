package stud

import "math"

// Point is a place on the web: X along the girder, Z upward, in mm.
type Point struct{ X, Z float64 }

// Pull is the line of a force on a group: through the point (X, Z), along the
// unit vector (UX, UZ).
type Pull struct{ X, Z, UX, UZ float64 }

// Down is a downward force on the vertical line x.
func Down(x float64) Pull { return Pull{X: x, UZ: -1} }

// Group is the elastic property set of a group: count, centroid and polar
// moment about it, in mm2.
type Group struct {
	N      int
	CX, CZ float64
	J      float64
}

// NewGroup measures a group of studs. Two studs back to back are two points at
// one place.
func NewGroup(pts []Point) Group {
	g := Group{N: len(pts)}
	if g.N == 0 {
		return g
	}
	for _, p := range pts {
		g.CX += p.X
		g.CZ += p.Z
	}
	g.CX /= float64(g.N)
	g.CZ /= float64(g.N)
	for _, p := range pts {
		dx, dz := p.X-g.CX, p.Z-g.CZ
		g.J += dx*dx + dz*dz
	}
	return g
}

// moment is the moment of a unit pull about the centroid, counterclockwise
// positive, in mm.
func (g Group) moment(l Pull) float64 {
	return (l.X-g.CX)*l.UZ - (l.Z-g.CZ)*l.UX
}

// noLever is the lever arm below which a pull counts as through the centroid:
// 1e-12 in., in mm.
const noLever = 25.4e-12

// Elastic is the elastic share of every stud in a unit force.
type Elastic struct {
	Group
	Pull
	M    float64 // moment of the unit force about the centroid, mm
	Peak float64 // largest share; the group is worth 1/Peak studs
	At   int     // index of the stud with the largest share
}

// Share is the magnitude of the force on a stud at p from a unit force on the
// group: the direct part plus the part that grows with distance from the
// centroid (elastic vector method, AISC Manual Part 7).
func (e *Elastic) Share(p Point) float64 {
	rx, rz := e.vector(p)
	return math.Sqrt(rx*rx + rz*rz)
}

func (e *Elastic) vector(p Point) (rx, rz float64) {
	n := float64(e.N)
	rx, rz = e.UX/n, e.UZ/n
	if e.J > 0 {
		k := e.M / e.J
		rx -= k * (p.Z - e.CZ)
		rz += k * (p.X - e.CX)
	}
	return rx, rz
}

// Effective is the number of studs, each at full strength, that the group is
// worth; zero when the group cannot carry the force at all.
func (e *Elastic) Effective() float64 {
	if e.Peak == 0 || math.IsInf(e.Peak, 1) {
		return 0
	}
	return 1 / e.Peak
}

// NewElastic distributes a unit pull over a group by the elastic vector method.
// A group with no extent (one stud, or one pair back to back) under a pull with
// a lever arm has no equilibrium: Effective is then zero.
func NewElastic(pts []Point, l Pull) Elastic {
	e := Elastic{Group: NewGroup(pts), Pull: l}
	if e.N == 0 {
		e.Peak = math.Inf(1)
		return e
	}
	e.M = e.moment(l)
	// Rounding of the centroid leaves a lever of this order where there is
	// none: it must not turn a concentric pair into a mechanism.
	if math.Abs(e.M) < 1e-9 {
		e.M = 0
	}
	if e.J < 1e-9 && e.M != 0 {
		e.Peak = math.Inf(1)
		return e
	}
	peak2 := -1.0
	for i, p := range pts {
		rx, rz := e.vector(p)
		if r2 := rx*rx + rz*rz; r2 > peak2 {
			peak2, e.At = r2, i
		}
	}
	e.Peak = math.Sqrt(peak2)
	return e
}
