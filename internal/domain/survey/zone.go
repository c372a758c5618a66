package survey

import (
	"math"
	"slices"

	"endcast/internal/domain/units"
)

// Zone is what is left of the web above a bearing.
type Zone struct {
	LeastArea units.Area   // smallest horizontal section
	LeastZ    units.Length // where it lies
	Mean      units.Length // mean thickness of the zone; holes count as none
	Height    units.Length // height that the mean is taken over
}

// Zone looks at the web from x0 to x1. The smallest horizontal section is looked
// for from the flange up to the height top. The mean is that of the worst zone
// from the flange up to some height between least and top, so that the deepest
// band of loss is always within it.
func (m *Map) Zone(x0, x1, least, top units.Length) Zone {
	a, b := max(0, float64(x0)), min(float64(x1), endless)
	zTop := max(0, min(float64(max(top, least)), m.depth))
	zLeast := max(0, min(float64(least), zTop))
	if !(b > a) || !(zTop > 0) {
		return Zone{}
	}
	var rowBuf, cutBuf, eventBuf [64]float64
	rows := rowBuf[:0]
	for j := range m.zs {
		rows = append(rows, m.rowArea(j, a, b))
	}
	// cuts holds, hole by hole, what the hole takes from each row of the grid.
	cuts := cutBuf[:0]
	events := append(eventBuf[:0], 0, zLeast, zTop)
	for _, z := range m.zs {
		if z > 0 && z < zTop {
			events = append(events, z)
		}
	}
	for _, h := range m.holes {
		ha, hb := max(a, h.x0), min(b, h.x1)
		for j := range m.zs {
			cut := 0.0
			if hb > ha {
				cut = m.rowArea(j, ha, hb)
			}
			cuts = append(cuts, cut)
		}
		events = append(events, min(h.z0, zTop), min(h.z1, zTop))
	}
	slices.Sort(events)

	out := Zone{LeastArea: units.Area(math.Inf(1)), Mean: units.Length(math.Inf(1))}
	sum, seg := 0.0, 0
	length := b - a
	for k := 0; k+1 < len(events); k++ {
		e0, e1 := events[k], events[k+1]
		if !(e1 > e0) {
			continue
		}
		for seg+2 < len(m.zs) && m.zs[seg+1] <= e0 {
			seg++
		}
		w0, w1 := part(m.zs[seg], m.zs[seg+1], e0), part(m.zs[seg], m.zs[seg+1], e1)
		low, high := rows[seg], rows[seg+1]
		for i, h := range m.holes {
			if h.z0 <= e0 && h.z1 >= e1 {
				low -= cuts[i*len(m.zs)+seg]
				high -= cuts[i*len(m.zs)+seg+1]
			}
		}
		a0, a1 := max(0, lerp(low, high, w0)), max(0, lerp(low, high, w1))
		if a0 < float64(out.LeastArea) {
			out.LeastArea, out.LeastZ = units.Area(a0), units.Length(e0)
		}
		if a1 < float64(out.LeastArea) {
			out.LeastArea, out.LeastZ = units.Area(a1), units.Length(e1)
		}
		before := sum
		sum += float64((a0 + a1) / 2 * (e1 - e0))
		if e1 < zLeast {
			continue
		}
		out.take(sum/(length*e1), e1)
		// Where the section grows again, the mean is least where it equals the
		// section: z2 = e0^2 + 2 (before - a0 e0) / slope.
		if slope := (a1 - a0) / (e1 - e0); slope > 0 && e0 >= zLeast {
			if z := math.Sqrt(float64(e0*e0) + 2*(before-float64(a0*e0))/slope); z > e0 && z < e1 {
				dz := z - e0
				out.take((before+float64(a0*dz)+float64(slope*dz*dz/2))/(length*z), z)
			}
		}
	}
	return out
}

func (z *Zone) take(mean, height float64) {
	if mean < float64(z.Mean) {
		z.Mean, z.Height = units.Length(mean), units.Length(height)
	}
}

// rowArea is the horizontal section of the metal along row j, from a to b.
func (m *Map) rowArea(j int, a, b float64) float64 {
	row := m.t[j*len(m.xs) : (j+1)*len(m.xs)]
	sum := 0.0
	for i := 0; i+1 < len(row); i++ {
		x0, x1 := m.xs[i], m.xs[i+1]
		if x1 <= a {
			continue
		}
		if x0 >= b {
			break
		}
		t0, t1 := row[i], row[i+1]
		if x0 < a || x1 > b {
			l, r := max(x0, a), min(x1, b)
			t0, t1 = lerp(row[i], row[i+1], part(x0, x1, l)), lerp(row[i], row[i+1], part(x0, x1, r))
			x0, x1 = l, r
		}
		sum += float64((t0 + t1) / 2 * (x1 - x0))
	}
	return sum
}
