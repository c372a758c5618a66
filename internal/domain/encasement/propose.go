package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// Materials is what a proposal may count on.
type Materials struct {
	StudDiameter units.Length
	StudHeight   units.Length
	StudFu       units.Stress
	Fc           units.Stress
}

// Propose lays out the fewest studs, alike on both faces in rows and columns on
// sound web, and round them the smallest panel on the flange that passes every
// deciding check for a factored reaction. The same inputs always give the same
// layout. The proposal is a start for the designer, who reviews and owns it.
//
// The error is a *NoLayout, or a fault that names the field that cannot be so.
func Propose(b basis.Basis, g girder.Geometry, steel Steel, demand units.Force, m Materials) (Design, error) {
	site, err := NewSite(b, g, steel, demand, m)
	if err != nil {
		return Design{}, err
	}
	return site.Propose()
}

// search tries ever more studs up to a number, and for each number the pitches in
// order.
func (q *proposer) search(most int) (Design, bool) {
	wanted := 0.0
	for _, s := range q.sites {
		wanted = max(wanted, s.wanted)
	}
	least := int(math.Ceil(wanted/float64(q.perStud)/2 - 1e-9))
	for n := max(1, least); n <= min(most/2, MaxStuds/2, q.mostPlaces); n++ {
		for _, pitch := range q.pitches {
			if d, ok := q.best(n, pitch); ok {
				d.name()
				return d, true
			}
		}
	}
	return Design{}, false
}

func (m Materials) validate(g girder.Geometry, demand units.Force) error {
	if ps := g.Validate(); len(ps) > 0 {
		return fault.New(fault.Refused, "the geometry of the end has to be put right first: %s", ps[0].Error())
	}
	if !(demand > 0) || math.IsInf(float64(demand), 1) {
		return fault.New(fault.Refused, "the reaction to design for must be more than 0, got %g N", float64(demand))
	}
	d := Design{StudDiameter: m.StudDiameter, StudHeight: m.StudHeight, StudFu: m.StudFu, Fc: m.Fc,
		Panel: Panel{Width: 100, Height: 100, ThicknessLeft: 100}}
	return d.Validate(g)
}

// best is the smallest panel over all layouts of n studs a face at a pitch.
func (q *proposer) best(n int, pitch float64) (Design, bool) {
	var best Design
	volume := math.Inf(1)
	for rows := 1; rows <= n/q.fewest; rows++ {
		if n%rows != 0 || q.zs[0]+float64(rows-1)*pitch > q.zs[len(q.zs)-1]+1e-6 {
			continue
		}
		for start := range q.xs {
			columns, ok := q.columns(start, n/rows)
			if !ok {
				break // later starts have less room
			}
			if !q.strong(columns, rows, pitch) {
				continue
			}
			// Each place of the bottom row, from the lowest up: the panel grows with
			// it, so the first that passes is the smallest.
			for bottom := 0; ; bottom++ {
				if bottom, ok = q.lowest(columns, rows, bottom, pitch); !ok {
					break
				}
				d, v, again := q.fit(q.draw(columns, rows, bottom, pitch), volume)
				if v < volume {
					best, volume = d, v
					best.Studs = append([]Stud(nil), d.Studs...)
				}
				if !again {
					break
				}
			}
		}
	}
	return best, !math.IsInf(volume, 1)
}

// fit puts the smallest panel that passes round the studs. It returns the volume,
// +Inf where none below most passes, and whether studs higher up might still do.
func (q *proposer) fit(d Design, most float64) (Design, float64, bool) {
	found, again := math.Inf(1), false
	var out Design
	asked, sound := false, false // whether the web carries the group
	for _, over := range [...]bool{false, true} {
		if q.overOnly && !over {
			continue
		}
		p, ok := q.enclose(d, over, min(most, found))
		if !ok {
			continue
		}
		again = true
		if !asked {
			asked, sound = true, q.webCarries(d)
		}
		if d.Panel = p; sound && q.passes(d) {
			out, found = d, p.volume()
		}
	}
	return out, found, again && math.IsInf(found, 1)
}

// webCarries asks the web strip beside the group ahead of the other checks: it is
// what most often bars a low place, and quick to ask.
func (q *proposer) webCarries(d Design) bool {
	if q.b.Value(basis.PanelStripDecides) < 0.5 {
		return true
	}
	w := outline(d)
	for i := range q.sites {
		k := (i + q.weakest) % len(q.sites)
		if !q.sites[k].stripHolds(&w, d) {
			q.weakest = k
			return false
		}
	}
	return true
}

// passes reports whether a design passes every deciding check at every end. The
// end that failed last is asked first.
func (q *proposer) passes(d Design) bool {
	for i := range q.sites {
		k := (i + q.hardest) % len(q.sites)
		if !q.sites[k].judge(d).Passes() {
			q.hardest = k
			return false
		}
	}
	return true
}

// Volume is the volume of the panel on both faces, mm3, studs and fillets not
// taken off.
func (p Panel) Volume() units.Volume {
	return units.Volume(p.volume())
}

func (p Panel) volume() float64 {
	return float64(p.Width*p.Height) * float64(p.ThicknessLeft+p.ThicknessRight)
}
