package survey

import (
	"math"
	"slices"

	"endcast/internal/domain/units"
)

// Panel is what is left of the web between two upright lines.
type Panel struct {
	LeastCut units.Area   // smallest upright section
	LeastX   units.Length // where it lies
	Mean     units.Length // mean thickness; holes count as none
}

// Panel looks at the whole depth of the web from x0 to x1.
func (m *Map) Panel(x0, x1 units.Length) Panel {
	a, b := max(0, float64(x0)), min(float64(x1), endless)
	if !(b > a) || !(m.depth > 0) {
		return Panel{}
	}
	var eventBuf [128]float64
	events := append(eventBuf[:0], a, b)
	for _, x := range m.xs {
		if x > a && x < b {
			events = append(events, x)
		}
	}
	for _, h := range m.holes {
		if h.x0 > a && h.x0 < b {
			events = append(events, h.x0)
		}
		if h.x1 > a && h.x1 < b {
			events = append(events, h.x1)
		}
	}
	slices.Sort(events)
	out := Panel{LeastCut: units.Area(math.Inf(1))}
	sum, seg := 0.0, 0
	whole := m.uprights(a, b) // upright sections at the columns
	for k := 0; k+1 < len(events); k++ {
		e0, e1 := events[k], events[k+1]
		if !(e1 > e0) {
			continue
		}
		for seg+2 < len(m.xs) && m.xs[seg+1] <= e0 {
			seg++
		}
		cutLow, cutHigh := whole[seg], whole[seg+1]
		for _, h := range m.holes {
			if h.x0 <= e0 && h.x1 >= e1 {
				cutLow -= m.columnArea(seg, h.z0, h.z1)
				cutHigh -= m.columnArea(seg+1, h.z0, h.z1)
			}
		}
		a0 := max(0, lerp(cutLow, cutHigh, part(m.xs[seg], m.xs[seg+1], e0)))
		a1 := max(0, lerp(cutLow, cutHigh, part(m.xs[seg], m.xs[seg+1], e1)))
		if a0 < float64(out.LeastCut) {
			out.LeastCut, out.LeastX = units.Area(a0), units.Length(e0)
		}
		if a1 < float64(out.LeastCut) {
			out.LeastCut, out.LeastX = units.Area(a1), units.Length(e1)
		}
		sum += float64((a0 + a1) / 2 * (e1 - e0))
	}
	out.Mean = units.Length(sum / (m.depth * (b - a)))
	return out
}

// uprights is the upright section of the metal, over the whole depth, along every
// column that a cut between a and b needs.
func (m *Map) uprights(a, b float64) []float64 {
	nx := len(m.xs)
	m.whole = resize(m.whole, nx)
	from, to := 0, nx
	for from+2 < nx && m.xs[from+1] <= a {
		from++
	}
	for to-2 > from && m.xs[to-2] >= b {
		to--
	}
	out := m.whole[from:to]
	clear(out)
	for j := 0; j+1 < len(m.zs); j++ {
		dz := m.zs[j+1] - m.zs[j]
		low := m.t[j*nx+from : j*nx+to]
		high := m.t[(j+1)*nx+from : (j+1)*nx+to]
		for i := range out {
			out[i] += float64((low[i] + high[i]) / 2 * dz)
		}
	}
	return m.whole
}

// columnArea is the upright section of the metal along column i, from a to b.
func (m *Map) columnArea(i int, a, b float64) float64 {
	sum, nx := 0.0, len(m.xs)
	for j := 0; j+1 < len(m.zs); j++ {
		z0, z1 := m.zs[j], m.zs[j+1]
		if z1 <= a {
			continue
		}
		if z0 >= b {
			break
		}
		t0, t1 := m.t[j*nx+i], m.t[(j+1)*nx+i]
		if z0 < a || z1 > b {
			l, r := max(z0, a), min(z1, b)
			t0, t1 = lerp(t0, t1, part(z0, z1, l)), lerp(t0, t1, part(z0, z1, r))
			z0, z1 = l, r
		}
		sum += float64((t0 + t1) / 2 * (z1 - z0))
	}
	return sum
}
