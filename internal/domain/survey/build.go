package survey

import (
	"math"
	"slices"

	"endcast/internal/domain/girder"
)

// endless is an x beyond any girder: the last column of every map.
const endless = 1e6 // mm

// point is a reading as the map uses it; at is its place among the readings.
type point struct {
	z, x, t float64
	at      int
}

// order compares finite numbers.
func order(a, b float64) int {
	if a < b {
		return -1
	}
	if a > b {
		return 1
	}
	return 0
}

func byPlace(a, b point) int {
	if a.z != b.z {
		return order(a.z, b.z)
	}
	return byX(a, b)
}

func byX(a, b point) int {
	if a.x != b.x {
		return order(a.x, b.x)
	}
	return order(a.t, b.t)
}

// NewMap turns the readings and holes of a survey into a map of the web. A nil
// survey gives the web as built. The order of the readings does not matter.
//
// Readings of like height form a row. Along a row, and between rows, thickness
// runs linearly. Beyond the outermost readings the nearest one counts as far as
// Options.Reach; farther out the as-new thickness is assumed, and Unread tells.
// A reading above the as-new thickness counts as the as-new thickness. Values
// that are no numbers are left out; Validate refuses them before.
func NewMap(g girder.Geometry, s *Survey, o Options) *Map {
	m := new(Map)
	m.Reset(g, s, o)
	return m
}

// Reset makes m the map of another survey and reuses its memory.
func (m *Map) Reset(g girder.Geometry, s *Survey, o Options) {
	m.nominal, m.depth = float64(g.Section.WebThickness), float64(g.Section.ClearDepth())
	m.xs, m.zs, m.t = m.xs[:0], m.zs[:0], m.t[:0]
	m.points, m.cells, m.holes, m.rims = m.points[:0], m.cells[:0], m.holes[:0], m.rims[:0]
	m.noAccess, m.filled = 0, 0
	m.readX0, m.readX1, m.readZ0, m.readZ1 = 0, 0, 0, 0
	if s != nil {
		m.collect(s)
		m.pierce(s.Holes)
	}
	if len(m.points) == 0 {
		m.xs = append(m.xs, 0, endless)
		m.zs = append(m.zs, 0, m.depth)
		m.t = append(m.t, m.nominal, m.nominal, m.nominal, m.nominal)
		return
	}
	m.reach = float64(o.Reach)
	m.grid(m.reach, float64(o.Row))
}

func (m *Map) collect(s *Survey) {
	for i, r := range s.Readings {
		x, z, t := float64(r.X), float64(r.Z), float64(r.T)
		if r.NoAccess {
			m.noAccess++
			continue
		}
		if finite(x) && finite(z) && t >= 0 {
			m.points = append(m.points, point{z: max(0, min(z, m.depth)), x: max(0, min(x, endless/2)), t: min(t, m.nominal), at: i})
		}
	}
	slices.SortFunc(m.points, byPlace)
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// grid lays columns and rows through the readings and gives every crossing a
// thickness, then carries the map to the edges of the web.
func (m *Map) grid(reach, rowHeight float64) {
	m.rows, m.cols = m.rows[:0], m.cols[:0]
	for i := 0; i < len(m.points); {
		n := i + 1
		for n < len(m.points) && m.points[n].z <= m.points[i].z+rowHeight {
			n++
		}
		row := m.points[i:n]
		z := row[0].z
		if !slices.IsSortedFunc(row, byX) {
			slices.SortFunc(row, byX)
		}
		m.rows = append(m.rows, span{z: z, from: i, to: n})
		m.addColumns(row)
		i = n
	}
	m.cells = resize(m.cells, len(m.cols)*len(m.rows))
	m.fill(reach)
	m.spread(reach)
	m.t = resize(m.t, len(m.xs)*len(m.zs))
	m.cross()
}

// fill gives every crossing of a row and a column of readings its thickness.
func (m *Map) fill(reach float64) {
	nx := len(m.cols)
	for j, r := range m.rows {
		along(m.cells[j*nx:(j+1)*nx], m.cols, m.points[r.from:r.to], reach)
	}
	for i := range nx {
		m.fillColumn(i, reach)
	}
}

// span is one row of readings: its height and its part of the sorted readings.
type span struct {
	z        float64
	from, to int
}

// addColumns merges the places of a row, sorted by x, into the columns.
func (m *Map) addColumns(row []point) {
	j := 0
	for _, p := range row {
		for j < len(m.cols) && m.cols[j] < p.x-place {
			j++
		}
		if j == len(m.cols) || m.cols[j] > p.x+place {
			m.cols = slices.Insert(m.cols, j, p.x)
		}
	}
}

// along gives the columns their thickness from one row of readings: the least of
// the readings at a place, linear between places, constant within reach of the
// outermost, and not a number beyond.
func along(out, cols []float64, row []point, reach float64) {
	first, last := row[0].x, row[len(row)-1].x
	i := 0 // row[:i] lies before the column
	for c, x := range cols {
		if x < first-reach || x > last+reach {
			out[c] = math.NaN()
			continue
		}
		for i < len(row) && row[i].x < x-place {
			i++
		}
		v := math.Inf(1)
		k := i
		for ; k < len(row) && row[k].x <= x+place; k++ {
			v = min(v, row[k].t)
		}
		switch {
		case k > i: // read here
		case i == 0:
			v = least(row, 0, first, 1)
		case i == len(row):
			v = least(row, len(row)-1, last, -1)
		default:
			a, b := row[i-1].x, row[i].x
			v = lerp(least(row, i-1, a, -1), least(row, i, b, 1), (x-a)/(b-a))
		}
		out[c] = v
	}
}

// least is the smallest reading at the place of row[i], looking in one direction.
func least(row []point, i int, x float64, step int) float64 {
	v := row[i].t
	for i += step; i >= 0 && i < len(row) && math.Abs(row[i].x-x) <= place; i += step {
		v = min(v, row[i].t)
	}
	return v
}

// fillColumn gives the crossings that no row covers a thickness from the rows
// above and below that do.
func (m *Map) fillColumn(i int, reach float64) {
	nx := len(m.cols)
	below := -1
	for j := range m.rows {
		at := j*nx + i
		if !math.IsNaN(m.cells[at]) {
			below = j
			continue
		}
		above := j + 1
		for above < len(m.rows) && math.IsNaN(m.cells[above*nx+i]) {
			above++
		}
		z := m.rows[j].z
		switch {
		case below >= 0 && above < len(m.rows):
			zb, za := m.rows[below].z, m.rows[above].z
			m.cells[at] = lerp(m.cells[below*nx+i], m.cells[above*nx+i], (z-zb)/(za-zb))
			below = j
		case below >= 0 && z-m.rows[below].z <= reach:
			m.cells[at] = m.cells[below*nx+i]
		case above < len(m.rows) && m.rows[above].z-z <= reach:
			m.cells[at] = m.cells[above*nx+i]
		default:
			m.cells[at] = m.nominal
			m.filled++
		}
	}
}

// spread carries the crossings to the edges of the web. A doubled column or row
// is a step to the as-new thickness.
func (m *Map) spread(reach float64) {
	nc, nr := len(m.cols), len(m.rows)
	x0, x1 := m.cols[0]-reach, m.cols[nc-1]+reach
	z0, z1 := m.rows[0].z-reach, m.rows[nr-1].z+reach
	m.readX0, m.readX1, m.readZ0, m.readZ1 = max(0, x0), x1, max(0, z0), min(m.depth, z1)

	// Columns: -1 is as-new, others name the column they copy.
	m.fromX, m.fromZ = m.fromX[:0], m.fromZ[:0]
	col := func(x float64, from int) { m.xs, m.fromX = append(m.xs, x), append(m.fromX, from) }
	row := func(z float64, from int) { m.zs, m.fromZ = append(m.zs, z), append(m.fromZ, from) }
	if x0 > 0 {
		col(0, -1)
		col(x0, -1)
		col(x0, 0)
	} else if m.cols[0] > 0 {
		col(0, 0)
	}
	for i, x := range m.cols {
		col(x, i)
	}
	col(x1, nc-1)
	col(x1, -1)
	col(endless, -1)

	if z0 > 0 {
		row(0, -1)
		row(z0, -1)
		row(z0, 0)
	} else if m.rows[0].z > 0 {
		row(0, 0)
	}
	for j, r := range m.rows {
		row(r.z, j)
	}
	if z1 < m.depth {
		row(z1, nr-1)
		row(z1, -1)
		row(m.depth, -1)
	} else if m.rows[nr-1].z < m.depth {
		row(m.depth, nr-1)
	}
	if len(m.zs) == 1 { // one row at the very edge of a web of no depth
		row(m.depth, nr-1)
	}
}

// cross copies the crossings of the readings to those of the whole web.
func (m *Map) cross() {
	nc, at := len(m.cols), 0
	for _, j := range m.fromZ {
		for _, i := range m.fromX {
			v := m.nominal
			if i >= 0 && j >= 0 {
				v = m.cells[j*nc+i]
			}
			m.t[at] = v
			at++
		}
	}
}

func resize(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n)
	}
	return s[:n]
}

// lerp is monotonic in a and b, and exact where they are equal.
func lerp(a, b, w float64) float64 { return a + float64((b-a)*w) }
