package outlook

import (
	"cmp"
	"math"
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Where the scatter between readings comes from.
const (
	mapFromReadings = "readings"
	mapFromSetting  = "setting"
	mapFromNothing  = "none"
)

// methodOf is how one reading was taken: across the web with a caliper, or as the
// survey says. A survey that does not say counts as ultrasonic.
func methodOf(s *survey.Survey, face survey.Face) survey.Method {
	switch {
	case s.Method == survey.PitGauge || s.Method == survey.Caliper:
		return s.Method
	case face == survey.Through:
		return survey.Caliper
	default:
		return survey.Ultrasonic
	}
}

// repeatability is the standard deviation of one reading, in mm.
func repeatability(b basis.Basis, m survey.Method) float64 {
	switch m {
	case survey.Caliper:
		return b.Value(basis.ChanceCaliper)
	case survey.PitGauge:
		return b.Value(basis.ChancePitGauge)
	default:
		return b.Value(basis.ChanceUltrasonic)
	}
}

// scatterOf takes the scatter of an end from the basis and from its readings.
func scatterOf(b basis.Basis, pr resistance.Procedure, g girder.Geometry, s *survey.Survey) Scatter {
	c := Scatter{
		YieldMean: b.Value(basis.ChanceYieldMean), YieldScatter: b.Value(basis.ChanceYieldScatter),
		ModelMean: b.Value(basis.ChanceModelMean), ModelScatter: b.Value(basis.ChanceModelScatter),
		MapFrom: mapFromNothing,
	}
	if s == nil {
		return c
	}
	most := plateMethod(s)
	c.Method, c.Reading = string(most), repeatability(b, most)
	c.Calibration = b.Value(basis.ChanceCalibration)
	c.BiasLow = b.Value(basis.ChanceBiasLow)
	c.BiasHigh = max(c.BiasLow, b.Value(basis.ChanceBiasHigh))
	c.Map, c.MapFrom = b.Value(basis.ChanceMapScatter), mapFromSetting
	if b.Value(basis.ChanceMapEstimate) >= 0.5 {
		between, n := betweenReadings(b, pr, g, s)
		if c.MapReadings = n; n >= int(b.Value(basis.ChanceMapFewest)) {
			c.Map, c.MapFrom = between, mapFromReadings
		}
	}
	return c
}

// plateMethod is how most of the readings were taken; the plates beside the web,
// of which the survey has one thickness each, count as read alike.
func plateMethod(s *survey.Survey) survey.Method {
	caliper, other := 0, methodOf(s, survey.Left)
	for _, r := range s.Readings {
		if methodOf(s, r.Face) == survey.Caliper {
			caliper++
		}
	}
	if 2*caliper > len(s.Readings) {
		return survey.Caliper
	}
	return other
}

// betweenReadings estimates by how much a reading misses the mean of the steel that
// it stands for: how far readings in the zone above the bearing lie off the straight
// line through their neighbors of the same row and face, less the error of reading.
// It returns the standard deviation in mm and the number of readings that told it.
// A curved profile counts as scatter, which is on the safe side.
func betweenReadings(b basis.Basis, pr resistance.Procedure, g girder.Geometry, s *survey.Survey) (float64, int) {
	x0, x1, top := pr.Watched(g)
	var rs []survey.Reading
	for _, r := range s.Readings {
		if !r.NoAccess && r.Z <= top {
			rs = append(rs, r)
		}
	}
	rowHeight := units.Length(b.Value(basis.SurveyRow))
	slices.SortFunc(rs, func(p, q survey.Reading) int {
		return cmp.Or(cmp.Compare(p.Face, q.Face), cmp.Compare(p.Z, q.Z), cmp.Compare(p.X, q.X))
	})
	sum, n := 0.0, 0
	for i := 0; i < len(rs); {
		j := i + 1
		for j < len(rs) && rs[j].Face == rs[i].Face && rs[j].Z <= rs[i].Z+rowHeight {
			j++
		}
		row := rs[i:j]
		slices.SortStableFunc(row, func(p, q survey.Reading) int { return cmp.Compare(p.X, q.X) })
		for k := 1; k+1 < len(row); k++ {
			a, m, c := row[k-1], row[k], row[k+1]
			if m.X < x0 || m.X > x1 || !(a.X < m.X && m.X < c.X) {
				continue
			}
			w := float64((m.X - a.X) / (c.X - a.X))
			off := float64(m.T) - float64((1-w)*float64(a.T)) - float64(w*float64(c.T))
			v := float64(off*off) / (1 + float64((1-w)*(1-w)) + float64(w*w))
			e := repeatability(b, methodOf(s, m.Face))
			sum += v - float64(e*e)
			n++
		}
		i = j
	}
	if n == 0 {
		return 0, 0
	}
	return math.Sqrt(max(0, sum/float64(n))), n
}
