package girder_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

func sound() girder.Geometry {
	e, _ := girder.Lookup("W33X130")
	return girder.Geometry{
		Name: girder.Name{Span: 2, Side: girder.Far, Girder: 3}, Section: e.Section,
		Bearing:   girder.Bearing{Kind: girder.Rocker, Start: 50, Length: 200, Width: 300},
		Stiffener: &girder.Stiffener{Pairs: 1, Width: 120, Thickness: 12, Clip: 25, X: 150, Fy: 228},
		SkewDeg:   20, Fy: 228, Fu: 400, HeldAgainstRoll: true, DiaphragmX: 300,
	}
}

func TestGeometryValidate(t *testing.T) {
	t.Parallel()
	require.Empty(t, sound().Validate())
	nan := math.NaN()
	for field, spoil := range map[string]func(*girder.Geometry){
		"name.span":                func(g *girder.Geometry) { g.Name.Span = 0 },
		"name.side":                func(g *girder.Geometry) { g.Name.Side = "X" },
		"name.girder":              func(g *girder.Geometry) { g.Name.Girder = -4 },
		"section.kind":             func(g *girder.Geometry) { g.Section.Kind = "" },
		"section.depth":            func(g *girder.Geometry) { g.Section.Depth = units.Length(nan) },
		"section.flange_width":     func(g *girder.Geometry) { g.Section.FlangeWidth = -1 },
		"section.flange_thickness": func(g *girder.Geometry) { g.Section.FlangeThickness = g.Section.Depth * 0.6 },
		"section.top_flange_width": func(g *girder.Geometry) { g.Section.TopFlangeWidth = 0 },
		"section.web_thickness":    func(g *girder.Geometry) { g.Section.WebThickness = g.Section.FlangeWidth + 1 },
		"section.fillet_k":         func(g *girder.Geometry) { g.Section.FilletK = g.Section.FlangeThickness / 2 },
		"section.top_flange_thickness": func(g *girder.Geometry) {
			g.Section.TopFlangeThickness = units.Length(math.Inf(1))
		},
		"bearing.kind":        func(g *girder.Geometry) { g.Bearing.Kind = "pillow" },
		"bearing.start":       func(g *girder.Geometry) { g.Bearing.Start = -1 },
		"bearing.length":      func(g *girder.Geometry) { g.Bearing.Length = 0 },
		"bearing.width":       func(g *girder.Geometry) { g.Bearing.Width = units.Length(nan) },
		"stiffener.pairs":     func(g *girder.Geometry) { g.Stiffener.Pairs = 0 },
		"stiffener.width":     func(g *girder.Geometry) { g.Stiffener.Width = 145 },
		"stiffener.thickness": func(g *girder.Geometry) { g.Stiffener.Thickness = -3 },
		"stiffener.clip":      func(g *girder.Geometry) { g.Stiffener.Clip = 120 },
		"stiffener.x":         func(g *girder.Geometry) { g.Stiffener.X = 600 },
		"stiffener.fy":        func(g *girder.Geometry) { g.Stiffener.Fy = 33 },
		"skew":                func(g *girder.Geometry) { g.SkewDeg = 75 },
		"fy":                  func(g *girder.Geometry) { g.Fy = 36 },
		"fu":                  func(g *girder.Geometry) { g.Fu = g.Fy - 1 },
		"diaphragm_x":         func(g *girder.Geometry) { g.DiaphragmX = -1 },
		"end_panel":           func(g *girder.Geometry) { g.EndPanel = units.Length(math.Inf(-1)) },
	} {
		t.Run(field, func(t *testing.T) {
			t.Parallel()
			g := sound()
			spoil(&g)
			ps := g.Validate()
			require.True(t, ps.Of(field), "%v", ps)
			require.ErrorContains(t, ps.Err(), field+": must ")
		})
	}
	require.False(t, girder.Problems(nil).Of("fy"))
	require.NoError(t, girder.Problems(nil).Err())
	require.Greater(t, len(girder.Geometry{}.Validate()), 10)
}
