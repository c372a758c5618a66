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
	if steel == nil {
		steel = AsNew{g.Section}
	}
	if err := m.validate(g, demand); err != nil {
		return Design{}, err
	}
	// First with metal to spare for what cleaning may still take, so that a design
	// made on a survey through rust has a chance to stand; then with none.
	if spare := units.Length(b.Value(basis.PanelMetalSpare)); spare > 0 {
		q := newProposer(b, g, steel, demand, m, spare)
		if q.hopeless() == "" {
			if d, ok := q.search(); ok {
				return d, nil
			}
		}
	}
	q := newProposer(b, g, steel, demand, m, 0)
	if reason := q.hopeless(); reason != "" {
		return Design{}, q.refuse(reason)
	}
	if d, ok := q.search(); ok {
		return d, nil
	}
	return Design{}, q.refuse("")
}

// search tries ever more studs, and for each number the pitches in order.
func (q *proposer) search() (Design, bool) {
	least := int(math.Ceil(q.wanted/float64(q.perStud)/2 - 1e-9))
	for n := max(1, least); n <= min(MaxStuds/2, q.mostPlaces); n++ {
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
					if Evaluate(nil, q.b, q.g, q.steel, d, q.demand, nil).Passes() {
						best, volume = d, v
						best.Studs = append([]Stud(nil), d.Studs...)
					}
				}
			}
		}
	}
	return best, !math.IsInf(volume, 1)
}

func (p Panel) volume() float64 {
	return float64(p.Width*p.Height) * float64(p.ThicknessLeft+p.ThicknessRight)
}
