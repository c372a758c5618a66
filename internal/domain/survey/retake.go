package survey

// Retake gives the readings of the survey that the map was made from other
// thicknesses, in their order there; places and holes stay. The map is then the
// same, bit for bit, as one made anew from those readings. As there, a thickness
// above the as-new one counts as the as-new one; one below zero, or no number,
// counts as zero. A slice of another length is a mistake in the program and panics.
func (m *Map) Retake(thickness []float64) {
	if len(m.points) == 0 {
		return
	}
	for i := range m.points {
		p := &m.points[i]
		t := thickness[p.at]
		if !(t > 0) {
			t = 0
		}
		p.t = min(t, m.nominal)
	}
	m.filled = 0
	m.fill(m.reach)
	m.cross()
}
