package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// layout is what the checks need to know of the places of studs.
type layout struct {
	counted int
	counts  marked       // which studs count
	group   stud.Elastic // of the counted studs
	worst   stud.Point
	ceiling float64 // worth of the group as designed, zero when all count

	left, right, bottom, top units.Length // extent of the counted studs
	lowest                   int          // counted studs in the lowest row
	share                    [2]float64   // part of the counted studs on the left and on the right face
	beyond                   [2]float64   // part of them on a face beyond one edge of the bearing, the greater
	drawn                    [2]bool      // faces that have studs in the design

	footShare float64      // reaction carried at the place that is worst for the web,
	footMetal units.Length // and the metal there

	metal   units.Length // least metal under any designed stud
	metalAt int
	spacing units.Length // least distance of two studs on a face
	spaceAt int
	pitch   units.Length // least vertical distance of two studs in a column
	pitchAt int
	apart   units.Length // largest distance of a stud to its nearest neighbor
	apartAt int
	hole    units.Length // least distance to a hole or the girder end
	holeAt  int
	cover   units.Length // least panel beside a shank
	coverAt int
}

// place is one stud of the design.
type place struct {
	x, z   float64
	t      float64 // metal
	share  float64 // of the reaction, zero when the stud does not count
	near   float64 // squared distance of the nearest stud on the face
	patch  float64 // reaction on the patch of web, both faces
	right  bool
	counts bool
}

const usualStuds = 64

var inf = math.Inf(1)

// measure looks at every stud once and at every pair once.
func measure(b basis.Basis, g girder.Geometry, steel Steel, d Design, accepted func(string) bool) layout {
	n := len(d.Studs)
	w := layout{metal: units.Length(inf), spacing: units.Length(inf), pitch: units.Length(inf), hole: units.Length(inf), cover: units.Length(inf)}
	if n == 0 {
		w.group = stud.NewElastic(nil, stud.Pull{})
		return w
	}
	// Most designs fit these two; only larger ones allocate.
	var placeBuf [usualStuds]place
	var pointBuf [usualStuds]stud.Point
	places, points := placeBuf[:], pointBuf[:0]
	if n > usualStuds {
		places, points = make([]place, n), make([]stud.Point, 0, n)
	}
	places = places[:n]
	need := float64(stud.BaseMetal{Diameter: d.StudDiameter}.Needed(nil, b)) * (1 - calc.Slack)
	reach := units.Length(b.Value(basis.StudFootRadius)) * d.StudDiameter
	for i := range d.Studs {
		s := &d.Studs[i]
		t := steel.Around(s.X, s.Z, reach)
		places[i] = place{x: float64(s.X), z: float64(s.Z), t: float64(t), near: inf, right: s.Face == survey.Right}
		if places[i].right {
			w.drawn[1] = true
		} else {
			w.drawn[0] = true
		}
		if t < w.metal {
			w.metal, w.metalAt = t, i
		}
		if h := min(s.X, steel.HoleDistance(s.X, s.Z)); h < w.hole {
			w.hole, w.holeAt = h, i
		}
		if c := min(s.X-d.Panel.X, d.Panel.X+d.Panel.Width-s.X, d.Panel.Z+d.Panel.Height-s.Z, s.Z-d.Panel.Z) - d.StudDiameter/2; c < w.cover {
			w.cover, w.coverAt = c, i
		}
		if float64(t) >= need && (accepted == nil || accepted(s.Mark)) {
			places[i].counts = true
			w.counts.add(i)
			points = append(points, stud.Point{X: places[i].x, Z: places[i].z})
		}
	}
	w.counted = len(points)
	line := stud.Down(float64(g.Bearing.Start + g.Bearing.Length/2))
	w.group = stud.NewElastic(points, line)
	if w.counted > 0 {
		w.worst = points[w.group.At]
	}
	if w.counted < n {
		all := make([]stud.Point, n)
		for i := range places {
			all[i] = stud.Point{X: places[i].x, Z: places[i].z}
		}
		designed := stud.NewElastic(all, line)
		w.ceiling = designed.Effective()
	}
	spread := units.Length(b.Value(basis.PanelFootSpread)) * max(0, steel.Flange())
	w.extent(places, float64(d.StudDiameter), float64(g.Bearing.Start-spread), float64(g.Bearing.Start+g.Bearing.Length+spread))
	w.pairs(places, float64(d.StudDiameter))
	w.patches(places)
	return w
}

// extent finds the extent of the counted studs and their shares, and what part
// stands outside the bearing, which reaches from one x to another.
func (w *layout) extent(places []place, d, from, to float64) {
	left, right, bottom, top := inf, -inf, inf, -inf
	var side, before, after [2]int
	for i := range places {
		q := &places[i]
		if !q.counts {
			continue
		}
		left, right = min(left, q.x), max(right, q.x)
		bottom, top = min(bottom, q.z), max(top, q.z)
		q.share = w.group.Share(stud.Point{X: q.x, Z: q.z})
		q.patch = q.share
		face := 0
		if q.right {
			face = 1
		}
		side[face]++
		if q.x < from {
			before[face]++
		} else if q.x > to {
			after[face]++
		}
	}
	if w.counted == 0 {
		return
	}
	w.left, w.right, w.bottom, w.top = units.Length(left), units.Length(right), units.Length(bottom), units.Length(top)
	for i := range side {
		w.share[i] = float64(side[i]) / float64(w.counted)
		w.beyond[i] = float64(max(before[i], after[i])) / float64(w.counted)
	}
	for i := range places {
		if places[i].counts && places[i].z-bottom < d/2 {
			w.lowest++
		}
	}
}

// pairs finds the least distances. Studs of two faces whose feet overlap work on
// one patch of web.
func (w *layout) pairs(places []place, d float64) {
	least, pitch := inf, inf
	d2 := d * d
	for i := range places {
		a := &places[i]
		for j := i + 1; j < len(places); j++ {
			q := &places[j]
			dx, dz := a.x-q.x, a.z-q.z
			r := float64(dx*dx) + float64(dz*dz)
			if a.right != q.right {
				if r < d2 {
					a.patch += q.share
					q.patch += a.share
				}
				continue
			}
			if r < a.near {
				a.near = r
			}
			if r < q.near {
				q.near = r
			}
			if dx < d && dx > -d {
				if dz = math.Abs(dz); dz < pitch {
					pitch, w.pitchAt = dz, j
				}
			}
		}
		if a.near < least {
			least, w.spaceAt = a.near, i
		}
		if a.near > float64(w.apart) && a.near < inf {
			w.apart, w.apartAt = units.Length(a.near), i
		}
	}
	w.spacing, w.pitch = units.Length(math.Sqrt(least)), units.Length(pitch)
	w.apart = units.Length(math.Sqrt(float64(w.apart)))
}

// patches finds the place whose web is worked hardest for its thickness.
func (w *layout) patches(places []place) {
	worst := -1.0
	for i := range places {
		q := &places[i]
		if !q.counts || !(q.patch > 0) {
			continue
		}
		if v := q.patch / q.t; v > worst {
			worst, w.footShare, w.footMetal = v, q.patch, units.Length(q.t)
		}
	}
}
