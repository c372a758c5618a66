package survey

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// MostReadings and MostHoles bound one survey, so that a wrong import cannot
// stall the recomputation of an end.
const (
	MostReadings = 5000
	MostHoles    = 100
)

// Validate refuses findings that cannot be true of the end: metal where there was
// none, places outside the web, two readings of one place from one face, values
// that are no numbers. It returns a *fault.Invalid with a field for each finding,
// such as readings.3.t, or nil. A nil survey is valid.
func Validate(g girder.Geometry, s *Survey, b basis.Basis) error {
	if s == nil {
		return nil
	}
	v := validator{depth: float64(g.Section.ClearDepth()), over: b.Value(basis.SurveyAboveNominal)}
	v.far = 10 * float64(g.Section.Depth)
	if v.count("readings", len(s.Readings), MostReadings) {
		v.readings(g, s.Readings)
	}
	if v.count("holes", len(s.Holes), MostHoles) {
		for i, h := range s.Holes {
			v.hole(g, "holes."+strconv.Itoa(i), h)
		}
	}
	v.remaining("flange_thickness", s.FlangeThickness, g.Section.FlangeThickness)
	if st := g.Stiffener; st != nil {
		v.remaining("stiffener_thickness", s.StiffenerThickness, st.Thickness)
		v.remaining("stiffener_width", s.StiffenerWidth, st.Width)
	} else {
		if s.StiffenerThickness != nil {
			v.bad.Add("stiffener_thickness", "", "the end has no bearing stiffeners")
		}
		if s.StiffenerWidth != nil {
			v.bad.Add("stiffener_width", "", "the end has no bearing stiffeners")
		}
	}
	v.within("web_deviation", float64(s.WebDeviation), 0, v.depth/4)
	v.within("web_detached", float64(s.WebDetached), 0, v.far)
	return v.bad.Err()
}

type validator struct {
	bad        fault.Invalid
	depth, far float64 // limits of Z and X
	over       float64
}

func (v *validator) count(field string, n, most int) bool {
	if n > most {
		v.bad.Add(field, strconv.Itoa(n), "must be at most %d, got %d", most, n)
	}
	return n <= most
}

// within refuses a value outside the limits; half a millimetre beyond is rounding.
func (v *validator) within(field string, x, lo, hi float64) {
	const rounding = 0.5
	if !(x >= lo-1e-9 && x <= hi+rounding) || math.IsInf(x, 0) {
		v.bad.Add(field, text(x), "must lie from %s to %s mm, got %s", text(lo), text(hi), text(x))
	}
}

// size refuses a hole without extent, and one that does not end on the web.
func (v *validator) size(field string, x, room float64) {
	if !(x > 0) {
		v.bad.Add(field, text(x), "must be more than 0, got %s", text(x))
		return
	}
	v.within(field, x, 0, max(0, room))
}

func text(x float64) string { return strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64) }

// thickness refuses more metal than the section had when new.
func (v *validator) thickness(field string, t, nominal float64) {
	if hi := float64(nominal * v.over); !(t >= 0 && t <= hi) {
		v.bad.Add(field, text(t), "must lie from 0 to %s mm, which is %s of the as-new %s mm, got %s: measure again, or correct the section",
			text(hi), text(v.over), text(nominal), text(t))
	}
}

func (v *validator) remaining(field string, t *units.Length, nominal units.Length) {
	if t != nil {
		v.thickness(field, float64(*t), float64(nominal))
	}
}

func (v *validator) readings(g girder.Geometry, rs []Reading) {
	for i, r := range rs {
		field := "readings." + strconv.Itoa(i)
		if r.Face != Left && r.Face != Right && r.Face != Through {
			v.bad.Add(field+".face", string(r.Face), "must be L, R or T")
		}
		v.within(field+".x", float64(r.X), 0, v.far)
		v.within(field+".z", float64(r.Z), 0, v.depth)
		if !r.NoAccess {
			v.thickness(field+".t", float64(r.T), float64(g.Section.WebThickness))
		}
	}
	order := make([]int, len(rs))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		a, b := rs[i], rs[j]
		return cmp.Or(cmp.Compare(a.Face, b.Face), cmp.Compare(a.X, b.X), cmp.Compare(a.Z, b.Z), cmp.Compare(i, j))
	})
	for k := 1; k < len(order); k++ {
		i, j := order[k-1], order[k]
		if a, b := rs[i], rs[j]; a.Face == b.Face && a.X == b.X && a.Z == b.Z {
			v.bad.Add(fmt.Sprintf("readings.%d", j), "", "reads the same place on face %s as reading %d: x %s mm, z %s mm",
				b.Face, i+1, text(float64(b.X)), text(float64(b.Z)))
		}
	}
}

func (v *validator) hole(g girder.Geometry, field string, h Hole) {
	v.within(field+".x", float64(h.X), 0, v.far)
	v.within(field+".z", float64(h.Z), 0, v.depth)
	v.size(field+".width", float64(h.Width), v.far-float64(h.X))
	v.size(field+".height", float64(h.Height), v.depth-float64(h.Z))
	v.thickness(field+".rim", float64(h.Rim), float64(g.Section.WebThickness))
}
