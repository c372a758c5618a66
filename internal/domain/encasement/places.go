package encasement

import (
	"math"
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// proposer holds what does not change while layouts are tried.
type proposer struct {
	b       basis.Basis
	sites   []*Site // one, or several that are to share a layout
	panels  []*Site // those of them that can decide how thick the panel is
	lines   []lineNeed
	hardest int // the site that failed last
	weakest int // the site whose web failed last
	m       Materials
	perStud units.Force

	step       float64   // grid, mm
	xs, zs     []float64 // where studs may stand, as far as steel around them goes
	kx, kz     []int     // steps of the grid to each
	sound      []int8    // whether the metal at (x, z) is good: 0 not asked, 1 yes, -1 no
	gauge      float64
	pitches    []float64 // in the order of preference
	mostPlaces int
	metal      units.Length // needed, without what an end wants to spare
	depth      units.Length // of the shallowest web
	cover      float64      // panel beside the middle of a stud
	thickest   float64      // panel
	cast       float64      // thinnest panel that can be cast over the studs
	slender    float64      // height under the studs over thickness, at most
	fewest     int          // columns
	overOnly   bool         // the panel has to reach over the whole bearing

	footAt     [2]units.Length // place and width of the panel that footNeeds is for
	footNeeds  float64
	columnsBuf []int
	pointsBuf  []stud.Point
	drawn      Design
}

func newProposer(b basis.Basis, sites []*Site) *proposer {
	m := sites[0].m
	d := Design{StudDiameter: m.StudDiameter, StudHeight: m.StudHeight, StudFu: m.StudFu, Fc: m.Fc}
	q := &proposer{b: b, sites: sites, m: m, perStud: d.stud(b).Strength(nil, b).Factored, step: b.Value(basis.PanelGrid),
		metal:  stud.BaseMetal{Diameter: m.StudDiameter}.Needed(nil, b),
		fewest: max(1, int(math.Round(b.Value(basis.PanelColumnsMin)))), overOnly: b.Value(basis.PanelOverBearing) >= 0.5, drawn: d}
	q.reduce()
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
	q.cover = dia/2 + b.Value(basis.StudSideCover)
	q.thickest, q.slender = b.Value(basis.PanelThicknessMax), b.Value(basis.PanelSlenderness)
	q.cast = float64(Thickness{StudHeight: m.StudHeight}.Needed(nil, b))
	cover := units.Length(q.cover)
	far := math.Inf(1)
	q.depth = units.Length(inf)
	for _, s := range sites {
		far, q.depth = min(far, s.far()), min(q.depth, s.keep.depth)
	}
	allowed := func(x, z units.Length) bool {
		for _, s := range sites {
			if !s.keep.allows(x, z) {
				return false
			}
		}
		return true
	}
	k := 1
	for x := q.step; x <= far; x += q.step {
		if l := units.Length(x); l >= cover && allowed(l, q.depth/2) {
			q.xs, q.kx = append(q.xs, x), append(q.kx, k)
		}
		k++
	}
	middle := units.Length(far) // a place that only flanges can bar
	if len(q.xs) > 0 {
		middle = units.Length(q.xs[0])
	}
	k = 1
	for z := q.step; z <= float64(q.depth); z += q.step {
		if l := units.Length(z); l >= cover && l+cover <= q.depth*(1+1e-9) && allowed(middle, l) {
			q.zs, q.kz = append(q.zs, z), append(q.kz, k)
		}
		k++
	}
	q.sound = make([]int8, len(q.xs)*len(q.zs))
	q.mostPlaces = q.most()
	return q
}

// lineNeed is what the stud group has to be worth about one bearing line.
type lineNeed struct{ line, length, wanted float64 }

// reduce leaves out what other ends ask for as well: of ends alike in section and
// bearing the one with less load and no thinner flange never decides the panel,
// and of those on one bearing line the greatest load decides the studs.
func (q *proposer) reduce() {
	for i, s := range q.sites {
		covered := false
		for j, o := range q.sites {
			if i == j || s.g.Section != o.g.Section || s.g.Bearing != o.g.Bearing || s.g.Fy != o.g.Fy || o.demand < s.demand || o.steel.Flange() > s.steel.Flange() {
				continue
			}
			equal := o.demand == s.demand && o.steel.Flange() == s.steel.Flange()
			covered = covered || !equal || j < i
		}
		if !covered {
			q.panels = append(q.panels, s)
		}
		length, found := float64(s.g.Bearing.Length), false
		for k := range q.lines {
			if l := &q.lines[k]; l.line == s.line && l.length == length {
				l.wanted, found = max(l.wanted, s.wanted), true
			}
		}
		if !found {
			q.lines = append(q.lines, lineNeed{s.line, length, s.wanted})
		}
	}
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
		*s = 1
		at := gridPlace{x: q.xs[i], z: q.zs[j], kx: q.kx[i], kz: q.kz[j]}
		for _, site := range q.sites {
			if !calc.AtLeast(site.metalAt(at), float64(q.metal+site.spare)) {
				*s = -1
				break
			}
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
	for _, l := range q.lines {
		e := stud.NewElastic(points, stud.Down(l.line))
		// A group whose middle is not over the bearing is not proposed: the method
		// finds it equilibrium, but at the price of a large moment.
		if math.Abs(e.CX-l.line) > l.length/2 {
			return false
		}
		if 2*e.Effective()*float64(q.perStud) < l.wanted*(1-calc.Slack) {
			return false
		}
	}
	return true
}

// lowest is the lowest place of the bottom row, from one on, at which every stud
// stands on sound web.
func (q *proposer) lowest(columns []int, rows, from int, pitch float64) (int, bool) {
	k := int(math.Round(pitch / q.step))
	for j := from; j+(rows-1)*k < len(q.zs); j++ {
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
