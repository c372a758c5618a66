package resistance

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Trial computes the capacity of one end again and again for steel of other
// thickness and strength, at the places that one survey read. Map, reduction and
// checks are those of Evaluate; what the thickness does not change (the grid of the
// map, holes, where the reaction stands) is worked out once. It allocates nothing
// in Capacity, and must not be used by two goroutines at once.
type Trial struct {
	pr    Procedure
	b     basis.Basis
	g     girder.Geometry
	plate girder.Stiffener // of g, its own copy
	fy    units.Stress     // on record
	fys   units.Stress
	m     survey.Map
	frame Reduced
	base  State
}

// State is the steel of one trial.
type State struct {
	Web            []float64    // mm, in the order of the readings of the survey
	Flange         units.Length // bottom flange
	Stiffener      units.Length // thickness
	StiffenerWidth units.Length
	Yield          float64 // yield strength over the one on record
	StiffenerYield float64 // the same of the stiffeners
}

// Trial prepares trials of an end. The geometry and the survey must have been
// validated; a nil survey has no readings to change.
func (pr Procedure) Trial(b basis.Basis, g girder.Geometry, s *survey.Survey) *Trial {
	t := &Trial{pr: pr, b: b, g: g, fy: g.Fy}
	if g.Stiffener != nil {
		t.plate, t.fys = *g.Stiffener, g.Stiffener.Fy
		t.g.Stiffener = &t.plate
	}
	t.m.Reset(g, s, survey.OptionsFrom(b))
	t.frame = pr.frame(b, t.g, &t.m)
	left := remainingOf(g, s)
	t.base = State{Flange: left.flange, Stiffener: left.stiffener, StiffenerWidth: left.width, Yield: 1, StiffenerYield: 1}
	if s != nil {
		t.base.Web = make([]float64, len(s.Readings))
		for i, r := range s.Readings {
			t.base.Web[i] = float64(r.T)
		}
	}
	return t
}

// Base is a copy of the steel as the survey read it, to be changed.
func (t *Trial) Base() State {
	out := t.base
	out.Web = append([]float64(nil), t.base.Web...)
	return out
}

// Capacity is the capacity that Evaluate gives for such steel, and the one with
// the mean of the zone in place of the worst row. No plate counts thicker than as
// built, as there.
func (t *Trial) Capacity(x *State) (capacity, upper units.Force) {
	t.g.Fy = t.fy * units.Stress(x.Yield)
	t.plate.Fy = t.fys * units.Stress(x.StiffenerYield)
	t.m.Retake(x.Web)
	r := t.frame
	left := remaining{flange: max(0, min(x.Flange, t.g.Section.FlangeThickness))}
	if t.g.Stiffener != nil {
		left.stiffener = max(0, min(x.Stiffener, t.plate.Thickness))
		left.width = max(0, min(x.StiffenerWidth, t.plate.Width))
	}
	t.pr.measure(&r, t.b, t.g, &t.m, left)
	set := t.pr.checks(t.b, t.g, r, 0)
	yielding, shear := set.yielding.Factored(nil, t.b), set.shear.Factored(nil, t.b)
	web := min(yielding, set.crippling.Factored(nil, t.b))
	band := min(yielding, set.band.Factored(nil, t.b))
	if r.Plates {
		plates, _ := set.column(t.b)
		band = max(band, plates)
		if plates >= web {
			web = plates
		}
	}
	return min(web, shear), min(band, shear)
}
