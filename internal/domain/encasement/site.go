package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// Site is one end that a layout is looked for at: its steel, the reaction it has
// to carry and the materials. It remembers what it has read of the steel, so that
// one end can be tried together with many others. A Site serves one goroutine at
// a time.
type Site struct {
	b      basis.Basis
	g      girder.Geometry
	steel  Steel
	demand units.Force
	m      Materials

	keep   keepOut
	line   float64 // bearing line
	wanted float64 // of the stud group, N: the reaction and the reserve of studs
	step   float64 // grid, mm
	reach  units.Length
	nx, nz int          // places of the grid along and up
	spare  units.Length // metal beyond the rule that a layout here leaves
	metal  []float64    // least metal at each place, -1 too near a hole, NaN not read yet
}

// NewSite prepares an end. The error is a fault that names the field that cannot
// be so.
func NewSite(b basis.Basis, g girder.Geometry, steel Steel, demand units.Force, m Materials) (*Site, error) {
	if steel == nil {
		steel = AsNew{g.Section}
	}
	if err := m.validate(g, demand); err != nil {
		return nil, err
	}
	s := &Site{b: b, g: g, steel: steel, demand: demand, m: m, keep: newKeepOut(b, g, m.StudDiameter, m.StudHeight),
		line:   float64(g.Bearing.Start + g.Bearing.Length/2),
		wanted: float64(demand) * (1 + b.Value(basis.PanelStudReserve)),
		step:   b.Value(basis.PanelGrid), reach: units.Length(b.Value(basis.StudFootRadius)) * m.StudDiameter}
	s.nx, s.nz = int(s.far()/s.step)+2, int(float64(s.keep.depth)/s.step)+2
	s.metal = make([]float64, s.nx*s.nz)
	for i := range s.metal {
		s.metal[i] = math.NaN()
	}
	return s, nil
}

// far is how far along the web places are looked for.
func (s *Site) far() float64 {
	return float64(s.g.Bearing.Start + s.g.Bearing.Length + s.g.Section.ClearDepth())
}

// metalAt is the least metal under a stud at a place of the grid, -1 too near to
// a hole.
func (s *Site) metalAt(at gridPlace) float64 {
	m := &s.metal[at.kz*s.nx+at.kx]
	if math.IsNaN(*m) {
		*m = -1
		if x, z := units.Length(at.x), units.Length(at.z); calc.AtLeast(float64(s.steel.HoleDistance(x, z)), float64(s.keep.nearEdge)) {
			*m = float64(s.steel.Around(x, z, s.reach))
		}
	}
	return *m
}

// gridPlace is a place of the grid and its count of steps along and up.
type gridPlace struct {
	x, z   float64
	kx, kz int
}

// Propose is the layout of this end alone, see Propose. It settles how much metal
// to spare a layout shared with other ends has to leave here: as much as the own
// layout leaves.
func (s *Site) Propose() (Design, error) {
	d, q, reason := s.find()
	if q == nil {
		return d, nil
	}
	return Design{}, q.refuse(reason)
}

// find looks for the layout of this end alone. Where there is none it returns the
// last proposer and, where it was plain, the reason.
func (s *Site) find() (Design, *proposer, string) {
	sites := []*Site{s}
	// First with metal to spare for what cleaning may still take, so that a design
	// made on a survey through rust has a chance to stand; then with none.
	if s.spare = units.Length(s.b.Value(basis.PanelMetalSpare)); s.spare > 0 {
		q := newProposer(s.b, sites)
		if q.hopeless() == "" {
			if d, ok := q.search(MaxStuds); ok {
				return d, nil, ""
			}
		}
	}
	s.spare = 0
	q := newProposer(s.b, sites)
	if reason := q.hopeless(); reason != "" {
		return Design{}, q, reason
	}
	if d, ok := q.search(MaxStuds); ok {
		return d, nil, ""
	}
	return Design{}, q, ""
}

// Adopt takes a layout that somebody made as the own one of this end and reports
// whether it passes here; the metal it leaves to spare is settled as in Propose.
func (s *Site) Adopt(d Design) bool {
	s.spare = units.Length(s.b.Value(basis.PanelMetalSpare))
	if !s.leaves(d) {
		s.spare = 0
	}
	return s.Passes(d)
}

// Passes reports whether a layout is one that can be, counts on the materials of
// this end and passes every deciding check here, with the metal to spare that the
// own layout leaves.
func (s *Site) Passes(d Design) bool {
	m := Materials{StudDiameter: d.StudDiameter, StudHeight: d.StudHeight, StudFu: d.StudFu, Fc: d.Fc}
	return m == s.m && d.Validate(s.g) == nil && s.leaves(d) && s.judge(d).Passes()
}

// Evaluate is Evaluate at this end, every stud counted.
func (s *Site) Evaluate(d Design) Result {
	return Evaluate(nil, s.b, s.g, s.steel, d, s.demand, nil)
}

// judge is Evaluate without what only informs.
func (s *Site) judge(d Design) Result {
	return evaluate(nil, s.b, s.g, s.steel, d, Loads{Demand: s.demand}, nil, false)
}

// leaves reports whether every stud, and the strip of web beside the group, keeps
// the metal to spare.
func (s *Site) leaves(d Design) bool {
	if s.spare == 0 {
		return true
	}
	need := float64(stud.BaseMetal{Diameter: s.m.StudDiameter}.Needed(nil, s.b)+s.spare) * (1 - calc.Slack)
	for i := range d.Studs {
		if float64(s.steel.Around(d.Studs[i].X, d.Studs[i].Z, s.reach)) < need {
			return false
		}
	}
	w := outline(d)
	return len(d.Studs) == 0 || s.b.Value(basis.PanelStripDecides) < 0.5 || s.stripHolds(&w, d)
}

// stripHolds reports whether the strip of web beside a group carries the reaction
// with the metal to spare gone.
func (s *Site) stripHolds(w *layout, d Design) bool {
	area, height := w.strip(s.b, s.g, s.steel, d)
	area = max(0, area-units.Area(height)*units.Area(s.spare))
	return WebStrip{Demand: s.demand, Fy: s.g.Fy, Area: area}.Check(nil, s.b).Verdict != calc.Fails
}

// outline is the extent of all studs of a design and the least pitch of rows.
func outline(d Design) layout {
	w := layout{left: units.Length(inf), right: units.Length(-inf), bottom: units.Length(inf), top: units.Length(-inf), pitch: units.Length(inf)}
	for i := range d.Studs {
		s := &d.Studs[i]
		w.left, w.right, w.bottom, w.top = min(w.left, s.X), max(w.right, s.X), min(w.bottom, s.Z), max(w.top, s.Z)
	}
	for i := range d.Studs {
		if dz := d.Studs[i].Z - w.bottom; dz > d.StudDiameter/2 {
			w.pitch = min(w.pitch, dz)
		}
	}
	return w
}

// ProposeShared lays out one group of studs and one panel that pass every
// deciding check at every one of some ends and leave each the metal to spare that
// its own layout leaves: the fewest studs, at most so many, then the smallest
// panel. It reports false where there is no such layout or where the ends count
// on different materials.
func ProposeShared(sites []*Site, most int) (Design, bool) {
	if len(sites) == 0 {
		return Design{}, false
	}
	for _, s := range sites[1:] {
		if s.m != sites[0].m {
			return Design{}, false
		}
	}
	return newProposer(sites[0].b, sites).search(most)
}
