package survey_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

func length(v float64) *units.Length { l := units.Length(v); return &l }

func TestValidate(t *testing.T) {
	t.Parallel()
	good := func() *survey.Survey {
		return &survey.Survey{
			Readings: []survey.Reading{{Face: survey.Left, X: 100, Z: 50, T: 7}, {Face: survey.Right, X: 100, Z: 50, T: 10.9},
				{Face: survey.Left, X: 100, Z: 90, T: units.Length(math.NaN()), NoAccess: true}},
			Holes:           []survey.Hole{{X: 100, Z: 0, Width: 20, Height: 30}},
			FlangeThickness: length(18), WebDeviation: 3,
		}
	}
	require.NoError(t, survey.Validate(end(), nil, basis.Basis{}))
	require.NoError(t, survey.Validate(end(), good(), basis.Basis{}))
	nan, inf := units.Length(math.NaN()), units.Length(math.Inf(1))
	for field, spoil := range map[string]func(*survey.Survey){
		"readings.0.t":        func(s *survey.Survey) { s.Readings[0].T = 11.1 },
		"readings.1.t":        func(s *survey.Survey) { s.Readings[1].T = nan },
		"readings.0.x":        func(s *survey.Survey) { s.Readings[0].X = -2 },
		"readings.1.x":        func(s *survey.Survey) { s.Readings[1].X = 20000 },
		"readings.0.z":        func(s *survey.Survey) { s.Readings[0].Z = 1010 },
		"readings.2.z":        func(s *survey.Survey) { s.Readings[2].Z = nan },
		"readings.0.face":     func(s *survey.Survey) { s.Readings[0].Face = "B" },
		"readings.1":          func(s *survey.Survey) { s.Readings[1].Face = survey.Left },
		"readings":            func(s *survey.Survey) { s.Readings = make([]survey.Reading, survey.MostReadings+1) },
		"holes":               func(s *survey.Survey) { s.Holes = make([]survey.Hole, survey.MostHoles+1) },
		"holes.0.width":       func(s *survey.Survey) { s.Holes[0].Width = 0 },
		"holes.0.height":      func(s *survey.Survey) { s.Holes[0].Height = 1200 },
		"holes.0.x":           func(s *survey.Survey) { s.Holes[0].X = inf },
		"holes.0.z":           func(s *survey.Survey) { s.Holes[0].Z = -1 },
		"holes.0.rim":         func(s *survey.Survey) { s.Holes[0].Rim = 14 },
		"flange_thickness":    func(s *survey.Survey) { s.FlangeThickness = length(-1) },
		"stiffener_thickness": func(s *survey.Survey) { s.StiffenerThickness = length(5) },
		"stiffener_width":     func(s *survey.Survey) { s.StiffenerWidth = length(5) },
		"web_deviation":       func(s *survey.Survey) { s.WebDeviation = -1 },
		"web_detached":        func(s *survey.Survey) { s.WebDetached = inf },
	} {
		t.Run(field, func(t *testing.T) {
			t.Parallel()
			s := good()
			spoil(s)
			err := survey.Validate(end(), s, basis.Basis{})
			var v *fault.Invalid
			require.ErrorAs(t, err, &v)
			require.NotNil(t, v.Of(field), "%v", err)
		})
	}
	g := end()
	g.Stiffener = &girder.Stiffener{Pairs: 1, Width: 120, Thickness: 12}
	s := good()
	s.StiffenerThickness, s.StiffenerWidth = length(0), length(133)
	err := survey.Validate(g, s, basis.Basis{})
	require.ErrorContains(t, err, "stiffener_width: must lie from 0 to 132 mm")
	require.NotContains(t, err.Error(), "stiffener_thickness")
}
