package resistance_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Each state that the rules were not made for puts the checks that it touches
// outside their limits, in words with numbers, whether or not stiffeners carry the
// reaction; the checks that it does not touch stay as they are.
func TestLimitsReachTheChecksTheyTouch(t *testing.T) {
	t.Parallel()
	spoils := map[string]struct {
		do     func(g *girder.Geometry, s *survey.Survey)
		words  string
		shear  bool // touches shear
		plates bool // touches the ends of the stiffeners
	}{
		"deviation":    {func(g *girder.Geometry, s *survey.Survey) { s.WebDeviation = 8 }, "out of plumb", true, false},
		"web_detached": {func(g *girder.Geometry, s *survey.Survey) { s.WebDetached = 30 }, "attached to the flange", true, false},
		"long_hole": {func(g *girder.Geometry, s *survey.Survey) {
			s.Holes = []survey.Hole{{X: 20, Z: 0, Width: 110, Height: 10}}
		}, "longest hole along the flange", true, false},
		"flange_lost": {func(g *girder.Geometry, s *survey.Survey) { t := units.Length(5); s.FlangeThickness = &t }, "bottom flange left", false, true},
		"flange_gone": {func(g *girder.Geometry, s *survey.Survey) { t := units.Length(0); s.FlangeThickness = &t }, "some bottom flange", false, true},
		"not_held":    {func(g *girder.Geometry, s *survey.Survey) { g.HeldAgainstRoll, g.Stiffener = false, nil }, "held against roll", false, false},
	}
	for key, spoil := range spoils {
		for _, with := range []string{"web", "plates"} {
			t.Run(key+" "+with, func(t *testing.T) {
				t.Parallel()
				g := end(t, "W33X130", 33, 8)
				if with == "plates" {
					g = stiffened(t)
				}
				s := uniform(g, 14)
				spoil.do(&g, s)
				r := resistance.Evaluate(nil, basis.Basis{}, g, s, 1)
				require.True(t, flagged(r, key))
				deciding := "web.yielding"
				if r.Stiffened {
					deciding = "stiffener.axial"
				}
				outside := func(name string, want bool) {
					c, ok := r.Check(name)
					require.True(t, ok)
					if !want {
						require.NotEqual(t, calc.Outside, c.Verdict, name)
						return
					}
					require.Equal(t, calc.Outside, c.Verdict, name)
					var texts []string
					for _, l := range c.Limits {
						require.False(t, l.Met)
						texts = append(texts, l.Text)
					}
					require.Contains(t, strings.Join(texts, "; "), spoil.words)
				}
				outside(deciding, true)
				outside("web.shear", spoil.shear)
				if r.Stiffened {
					outside("stiffener.bearing", spoil.plates)
				}
				require.Contains(t, []calc.Verdict{calc.Outside, calc.Fails}, calc.Overall(r.Checks))
			})
		}
	}
}

func TestSomeFlangeLeftIsWithinTheRules(t *testing.T) {
	t.Parallel()
	g := end(t, "W33X130", 33, 8)
	s := uniform(g, 14)
	tf := g.Section.FlangeThickness * 0.25
	s.FlangeThickness = &tf
	r := resistance.Evaluate(nil, basis.Basis{}, g, s, 1)
	require.False(t, flagged(r, "flange_lost"))
	c, _ := r.Check("web.crippling")
	require.Equal(t, calc.Passes, c.Verdict)
	c, _ = resistance.Evaluate(calc.NewPad(), basis.Basis{}, g, s, 1).Check("web.crippling")
	found := false
	for _, l := range c.Limits {
		found = found || l.Met && strings.Contains(l.Text, "bottom flange left over the one as built is 0.25, at least 0.25")
	}
	require.True(t, found, "a sheet says the limit also where it is met")
}
