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
			bottom, ok := q.lowest(columns, rows, pitch)
			if !ok {
				continue
			}
			d := q.draw(columns, rows, bottom, pitch)
			for _, over := range [...]bool{false, true} {
				if q.overOnly && !over {
					continue
				}
				p, ok := q.enclose(d, over)
				if v := p.volume(); ok && v < volume*(1-1e-9) {
					d.Panel = p
					if q.passes(d) {
						best, volume = d, v
						best.Studs = append([]Stud(nil), d.Studs...)
					}
				}
			}
		}
	}
	return best, !math.IsInf(volume, 1)
}

// passes reports whether a design passes every deciding check at every end. The
// end that failed last is asked first.
func (q *proposer) passes(d Design) bool {
	for i := range q.sites {
		k := (i + q.hardest) % len(q.sites)
		if !q.sites[k].Evaluate(d).Passes() {
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
