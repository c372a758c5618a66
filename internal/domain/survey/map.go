package survey

import (
	"math"

	"endcast/internal/domain/units"
)

// Map is the remaining thickness of the web at every place, and the holes in it:
// a grid with linear thickness between its crossings, so that every integral
// below is exact for the map. It is safe for several readers at once.
//
// More loss at any reading, or more of a hole, never makes a property better.
type Map struct {
	nominal, depth float64

	// The grid: columns, rows and row by row the thickness at each crossing. Two
	// equal columns or rows are a step.
	xs, zs, t []float64

	holes []rect // without overlap
	rims  []rect // as surveyed, with rim
	cells []float64
	whole []float64
	cols  []float64
	rows  []span

	points       []point
	fromX, fromZ []int

	readX0, readX1, readZ0, readZ1 float64
	noAccess, filled               int
	reach                          float64
}

// rect is a hole, from its lower near to its upper far corner.
type rect struct{ x0, z0, x1, z1, rim float64 }

// Unread reports whether some of the given part of the web lies out of reach of
// every reading, so that the as-new thickness was assumed there.
func (m *Map) Unread(x0, x1, z0, z1 units.Length) bool {
	return len(m.points) == 0 || m.filled > 0 ||
		float64(x0) < m.readX0 || float64(x1) > m.readX1 || float64(z0) < m.readZ0 || float64(z1) > m.readZ1
}

// NoAccess is the number of places that could not be read.
func (m *Map) NoAccess() int { return m.noAccess }

// Count is the number of readings in a part of the web.
func (m *Map) Count(x0, x1, z0, z1 units.Length) int {
	n := 0
	for _, p := range m.points {
		if p.x >= float64(x0) && p.x <= float64(x1) && p.z >= float64(z0) && p.z <= float64(z1) {
			n++
		}
	}
	return n
}

// Nominal is the as-new thickness.
func (m *Map) Nominal() units.Length { return units.Length(m.nominal) }

// Grid calls f for every crossing of the map, row by row from the flange up. It
// is for drawing: the last column lies beyond the girder.
func (m *Map) Grid(f func(x, z, t units.Length)) {
	for j, z := range m.zs {
		for i, x := range m.xs {
			f(units.Length(x), units.Length(z), units.Length(m.t[j*len(m.xs)+i]))
		}
	}
}

// Thickness is the remaining thickness at a place, zero in a hole and as at the
// nearest edge outside the web. On a step the smaller side counts.
func (m *Map) Thickness(x, z units.Length) units.Length {
	if m.HoleDistance(x, z) == 0 {
		return 0
	}
	return units.Length(m.metal(float64(x), float64(z)))
}

// metal is the thickness of the map without its holes.
func (m *Map) metal(x, z float64) float64 {
	x, z = max(0, min(x, endless)), max(0, min(z, m.depth))
	v := math.Inf(1)
	for j := 0; j+1 < len(m.zs); j++ {
		if z < m.zs[j] || z > m.zs[j+1] {
			continue
		}
		for i := 0; i+1 < len(m.xs); i++ {
			if x < m.xs[i] || x > m.xs[i+1] {
				continue
			}
			at := j*len(m.xs) + i
			wx, wz := part(m.xs[i], m.xs[i+1], x), part(m.zs[j], m.zs[j+1], z)
			low, high := lerp(m.t[at], m.t[at+1], wx), lerp(m.t[at+len(m.xs)], m.t[at+len(m.xs)+1], wx)
			v = min(v, lerp(low, high, wz))
		}
	}
	return v
}

// part is where x lies between a and b, from 0 to 1; 0 on a step.
func part(a, b, x float64) float64 {
	if b <= a {
		return 0
	}
	return (x - a) / (b - a)
}

// Least is the smallest thickness anywhere on the map, rims of holes included;
// zero when there is a hole.
func (m *Map) Least() units.Length {
	if len(m.rims) > 0 {
		return 0
	}
	v := m.nominal
	for _, t := range m.t {
		v = min(v, t)
	}
	return units.Length(v)
}

// Around is the smallest thickness of the metal within a distance of a place,
// zero when the place itself is in a hole. It looks at the square around the
// circle, which is on the safe side. The rim of a hole in reach counts where it
// was read; how near the hole is, HoleDistance tells.
func (m *Map) Around(x, z, radius units.Length) units.Length {
	cx, cz, r := float64(x), float64(z), float64(radius)
	v := math.Inf(1)
	for _, h := range m.rims {
		d := h.distance(cx, cz)
		if d == 0 {
			return 0
		}
		if h.rim > 0 && d <= r {
			v = min(v, h.rim)
		}
	}
	x0, x1 := cx-r, cx+r
	z0, z1 := cz-r, cz+r
	// Between crossings the map is linear along x and along z, so its least value
	// on a rectangle stands at a crossing, on an edge at a grid line, or in a corner.
	for _, cornerX := range [2]float64{x0, x1} {
		for _, cornerZ := range [2]float64{z0, z1} {
			v = min(v, m.metal(cornerX, cornerZ))
		}
	}
	for i, gx := range m.xs {
		if gx < x0 || gx > x1 {
			continue
		}
		v = min(v, m.metal(gx, z0), m.metal(gx, z1))
		for j, gz := range m.zs {
			if gz >= z0 && gz <= z1 {
				v = min(v, m.t[j*len(m.xs)+i])
			}
		}
	}
	for _, gz := range m.zs {
		if gz >= z0 && gz <= z1 {
			v = min(v, m.metal(x0, gz), m.metal(x1, gz))
		}
	}
	return units.Length(v)
}

// HoleDistance is the clear distance from a place to the nearest hole: zero in
// it, infinite when there is none.
func (m *Map) HoleDistance(x, z units.Length) units.Length {
	d := math.Inf(1)
	for _, h := range m.rims {
		d = min(d, h.distance(float64(x), float64(z)))
	}
	return units.Length(d)
}

func (h rect) distance(x, z float64) float64 {
	dx := max(h.x0-x, x-h.x1, 0)
	dz := max(h.z0-z, z-h.z1, 0)
	return math.Hypot(dx, dz)
}
