package resistance_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Each check that may govern hands out its nominal resistance and its factor.
func TestNominalOfTheGoverningCheck(t *testing.T) {
	t.Parallel()
	web, plates := end(t, "W33X130", 33, 8), stiffened(t)
	thin := stiffened(t)
	thin.Stiffener.Thickness = 0.6 * inch
	slender := uniform(plates, 5)
	for _, c := range []struct {
		governs string
		g       girder.Geometry
		s       *survey.Survey
		b       basis.Basis
		phi     float64
	}{
		{"web.crippling", web, uniform(web, 10), basis.Basis{}, 0.80},
		{"web.yielding", web, nil, with(t, basis.WebPhiYielding, 0.7), 0.7},
		{"web.shear", plates, slender, with(t, basis.ShearPhi, 0.9), 0.9},
		{"stiffener.bearing", thin, nil, with(t, basis.StiffenerPhiBearing, 0.95), 0.95},
		{"stiffener.axial", plates, nil, with(t, basis.StiffenerPhiAxial, 0.6), 0.6},
	} {
		r := resistance.Evaluate(nil, c.b, c.g, c.s, 100*units.Kip)
		require.Equal(t, c.governs, r.Governing)
		require.Equal(t, c.phi, r.Phi, c.governs)
		require.InEpsilon(t, float64(r.Capacity), c.phi*float64(r.Nominal), 1e-12, c.governs)
	}
	pr := resistance.Default(basis.Basis{})
	pr.Crippling = resistance.Factors{Sound: 0.5, Holed: 0.5}
	r := pr.Evaluate(nil, basis.Basis{}, web, uniform(web, 10), 1)
	require.Equal(t, "web.crippling", r.Governing)
	require.InEpsilon(t, float64(r.Capacity), 0.8*float64(r.Nominal), 1e-12, "the factor of the procedure stays in the nominal resistance")
}
