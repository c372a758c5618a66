package encasement

import (
	"math"
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// proposer holds what does not change while layouts are tried.
type proposer struct {
	b       basis.Basis
	g       girder.Geometry
	steel   Steel
	demand  units.Force
	m       Materials
	perStud units.Force
	keep    keepOut

	step       float64   // grid, mm
	xs, zs     []float64 // where studs may stand, as far as steel around them goes
	sound      []int8    // whether the metal at (x, z) is good: 0 not asked, 1 yes, -1 no
	gauge      float64
	pitches    []float64 // in the order of preference
	mostPlaces int
	metal      units.Length // needed
	reach      units.Length
	line       float64 // bearing line
	wanted     float64 // of the stud group, N: the reaction and the reserve of studs
	fewest     int     // columns
	overOnly   bool    // the panel has to reach over the whole bearing

	columnsBuf []int
	pointsBuf  []stud.Point
	drawn      Design
}

func newProposer(b basis.Basis, g girder.Geometry, steel Steel, demand units.Force, m Materials, spare units.Length) *proposer {
	d := Design{StudDiameter: m.StudDiameter, StudHeight: m.StudHeight, StudFu: m.StudFu, Fc: m.Fc}
	q := &proposer{b: b, g: g, steel: steel, demand: demand, m: m, perStud: d.stud(b).Strength(nil, b).Factored,
		keep: newKeepOut(b, g, m.StudDiameter), step: b.Value(basis.PanelGrid),
		metal: stud.BaseMetal{Diameter: m.StudDiameter}.Needed(nil, b) + spare, reach: units.Length(b.Value(basis.StudFootRadius)) * m.StudDiameter,
		line: float64(g.Bearing.Start + g.Bearing.Length/2), wanted: float64(demand) * (1 + b.Value(basis.PanelStudReserve)),
		fewest: max(1, int(math.Round(b.Value(basis.PanelColumnsMin)))), overOnly: b.Value(basis.PanelOverBearing) >= 0.5, drawn: d}
	dia := float64(m.StudDiameter)
	least := max(b.Value(basis.StudGaugeMin), b.Value(basis.StudPitchMin)) * dia
	q.gauge = q.up(b.Value(basis.StudGaugeMin) * dia)
	usual := q.up(max(b.Value(basis.StudPitchUsual)*dia, least))
	q.pitches = []float64{usual}
	if tight := q.up(least); tight < usual {
		q.pitches = append(q.pitches, tight)
	}
	// Wider rows use fewer studs where the web beside the group governs.
	for p := usual + 2*q.step; p <= 2*usual && p <= b.Value(basis.StudPitchMax); p += 2 * q.step {
		q.pitches = append(q.pitches, p)
	}
	// The panel has to cover the studs on every side without leaving the girder.
	cover := units.Length(dia/2 + b.Value(basis.StudSideCover))
	depth := g.Section.ClearDepth()
	far := float64(g.Bearing.Start + g.Bearing.Length + depth)
	for x := q.step; x <= far; x += q.step {
		if l := units.Length(x); l >= cover && q.keep.allows(l, depth/2) {
			q.xs = append(q.xs, x)
		}
	}
	middle := units.Length(far) // a place that only flanges can bar
	if len(q.xs) > 0 {
		middle = units.Length(q.xs[0])
	}
	for z := q.step; z <= float64(depth); z += q.step {
		if l := units.Length(z); l >= cover && l+cover <= depth*(1+1e-9) && q.keep.allows(middle, l) {
			q.zs = append(q.zs, z)
		}
	}
	q.sound = make([]int8, len(q.xs)*len(q.zs))
	q.mostPlaces = q.most()
	return q
}

// up rounds a length up to the grid.
func (q *proposer) up(l float64) float64 { return math.Ceil(l/q.step-1e-9) * q.step }

// most is an upper limit of places on one face.
func (q *proposer) most() int {
	if len(q.xs) == 0 || len(q.zs) == 0 {
		return 0
	}
	tight := slices.Min(q.pitches)
	return q.fits(q.xs, q.gauge) * q.fits(q.zs, tight)
}

// fits is how many of the places, at least a distance apart, can be taken.
func (q *proposer) fits(at []float64, apart float64) int {
	n, last := 0, math.Inf(-1)
	for _, v := range at {
		if v-last >= apart-1e-6 {
			n, last = n+1, v
		}
	}
	return n
}

// good reports whether the metal at a place of the grid carries a stud.
func (q *proposer) good(i, j int) bool {
	s := &q.sound[j*len(q.xs)+i]
	if *s == 0 {
		*s = -1
		x, z := units.Length(q.xs[i]), units.Length(q.zs[j])
		if q.steel.HoleDistance(x, z) >= q.keep.nearEdge && q.steel.Around(x, z, q.reach) >= q.metal {
			*s = 1
		}
	}
	return *s > 0
}

// columns takes cols places along the web from a start on, each the first at
// least a gauge away, so that a row steps over a stiffener. It returns indexes,
// valid until the next call.
func (q *proposer) columns(start, cols int) ([]int, bool) {
	out := q.columnsBuf[:0]
	for i := start; i < len(q.xs) && len(out) < cols; i++ {
		if len(out) == 0 || q.xs[i]-q.xs[out[len(out)-1]] >= q.gauge-1e-6 {
			out = append(out, i)
		}
	}
	q.columnsBuf = out
	return out, len(out) == cols
}

// strong reports whether a grid of studs is worth enough, before places on the
// web are looked for.
func (q *proposer) strong(columns []int, rows int, pitch float64) bool {
	points := q.pointsBuf[:0]
	for r := range rows {
		for _, i := range columns {
			points = append(points, stud.Point{X: q.xs[i], Z: float64(r) * pitch})
		}
	}
	q.pointsBuf = points
	e := stud.NewElastic(points, stud.Down(q.line))
	// A group whose middle is not over the bearing is not proposed: the method
	// finds it equilibrium, but at the price of a large moment.
	if math.Abs(e.CX-q.line) > float64(q.g.Bearing.Length)/2 {
		return false
	}
	return 2*e.Effective()*float64(q.perStud) >= q.wanted*(1-1e-9)
}

// lowest is the lowest place of the bottom row at which every stud stands on
// sound web.
func (q *proposer) lowest(columns []int, rows int, pitch float64) (int, bool) {
	k := int(math.Round(pitch / q.step))
	for j := 0; j+(rows-1)*k < len(q.zs); j++ {
		if q.allGood(columns, rows, j, k) {
			return j, true
		}
	}
	return 0, false
}

func (q *proposer) allGood(columns []int, rows, j, k int) bool {
	for r := range rows {
		for _, i := range columns {
			if !q.good(i, j+r*k) {
				return false
			}
		}
	}
	return true
}
