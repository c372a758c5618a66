package survey

import (
	"cmp"
	"slices"

	"endcast/internal/domain/units"
)

// pierce takes the holes over, clipped to the web, and cuts overlapping ones into
// parts that do not overlap, so that no metal is taken away twice.
func (m *Map) pierce(holes []Hole) {
	for _, h := range holes {
		x, z, w, ht := float64(h.X), float64(h.Z), float64(h.Width), float64(h.Height)
		if !finite(x) || !finite(z) || !finite(w) || !finite(ht) {
			continue
		}
		r := rect{x0: max(0, x), z0: max(0, z), x1: min(x+w, endless), z1: min(z+ht, m.depth)}
		if !(r.x1 > r.x0 && r.z1 > r.z0) {
			continue
		}
		if rim := float64(h.Rim); rim > 0 {
			r.rim = min(rim, m.nominal)
		}
		m.rims = append(m.rims, r)
	}
	slices.SortFunc(m.rims, func(a, b rect) int {
		return cmp.Or(cmp.Compare(a.x0, b.x0), cmp.Compare(a.z0, b.z0), cmp.Compare(a.x1, b.x1), cmp.Compare(a.z1, b.z1), cmp.Compare(a.rim, b.rim))
	})
	for i, a := range m.rims {
		for _, b := range m.rims[i+1:] {
			if a.x0 < b.x1 && b.x0 < a.x1 && a.z0 < b.z1 && b.z0 < a.z1 {
				m.slabs()
				return
			}
		}
	}
	m.holes = append(m.holes, m.rims...)
}

// slabs cuts all holes at every edge in x and joins what overlaps in z.
func (m *Map) slabs() {
	var edges []float64
	for _, h := range m.rims {
		edges = append(edges, h.x0, h.x1)
	}
	slices.Sort(edges)
	for i := 0; i+1 < len(edges); i++ {
		x0, x1 := edges[i], edges[i+1]
		if x1 <= x0 {
			continue
		}
		var in []rect
		for _, h := range m.rims {
			if h.x0 <= x0 && h.x1 >= x1 {
				in = append(in, rect{x0: x0, z0: h.z0, x1: x1, z1: h.z1})
			}
		}
		slices.SortFunc(in, func(a, b rect) int { return cmp.Or(cmp.Compare(a.z0, b.z0), cmp.Compare(a.z1, b.z1)) })
		for k, h := range in {
			if last := len(m.holes) - 1; k > 0 && h.z0 <= m.holes[last].z1 {
				m.holes[last].z1 = max(m.holes[last].z1, h.z1)
			} else {
				m.holes = append(m.holes, h)
			}
		}
	}
}

// Row is what holes do to the lowest row of the web.
type Row struct {
	InBearing units.Length // width of holes over the bearing
	Longest   units.Length // longest hole, also beyond the bearing
}

// LowestRow looks at the holes that begin below the given height, over the
// bearing from x0 to x1. Holes that touch or overlap along x count as one.
func (m *Map) LowestRow(x0, x1, height units.Length) Row {
	var out Row
	var from, to float64
	open := false
	closeRun := func() {
		if !open {
			return
		}
		out.Longest = max(out.Longest, units.Length(to-from))
		out.InBearing += units.Length(max(0, min(to, float64(x1))-max(from, float64(x0))))
	}
	for _, h := range m.rims { // sorted by x0
		if h.z0 >= float64(height) {
			continue
		}
		if open && h.x0 <= to {
			to = max(to, h.x1)
			continue
		}
		closeRun()
		from, to, open = h.x0, h.x1, true
	}
	closeRun()
	return out
}
