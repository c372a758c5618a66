package resistance_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/published"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/units"
)

// Source: hand-derived tests of EN 1993-1-5 clause 6 in public code, agreed by a
// second code base; testdata/published/patch.csv.
func TestPublishedPatch(t *testing.T) {
	t.Parallel()
	b := with(t, basis.SteelModulus, 210000.0)
	y := published.Open(t, "patch.csv")
	for _, row := range y.Rows {
		c := resistance.Patch{Depth: 428, Thickness: units.Length(row.Number("tw")), Flange: 16, FlangeWidth: 191.3, Fy: 275,
			Bearing: units.Length(row.Number("bearing")), Demand: 100e3}
		r, lambda := c.Resistance(nil, b)
		y.Shown(row, "frd", float64(r)/1000, 1e-4)
		y.Shown(row, "lambda", lambda, 1e-4)
		if row.Text("k_f") == "0" {
			continue
		}
		got := map[string]float64{}
		check := c.Check(calc.NewPad(), b)
		for _, l := range check.Lines {
			got[l.Symbol] = l.Value
		}
		require.Equal(t, calc.Informs, check.Verdict)
		y.Shown(row, "k_f", got["k_F"], 1e-4)
		y.Shown(row, "f_cr", got["F_cr"]/1000, 1e-4)
		y.Shown(row, "l_y", got["l_y"], 1e-4)
		y.Shown(row, "chi", got["chi_F"], 1e-4)
	}
	y.Done(14)
	r, _ := resistance.Patch{Depth: 428, Flange: 16}.Resistance(nil, b)
	require.Zero(t, r)
}

// Source: FHWA NHI-04-041 and FHWA Steel Bridge Design Handbook, from memory;
// testdata/published/shear.csv.
func TestPublishedShear(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "shear.csv")
	for _, row := range y.Rows {
		b := with(t, basis.ShearStocky, row.Number("c1"), basis.ShearSlender, row.Number("c2"), basis.ShearElastic, row.Number("c3"))
		d, tw := units.Length(row.Number("depth"))*inch, units.Length(row.Number("tw"))*inch
		c := resistance.Shear{Depth: d, Fy: units.Stress(row.Number("fy")) * units.Ksi, Cut: units.Area(d * tw), Thickness: tw,
			Panel: units.Length(row.Number("panel")) * inch}
		vn := float64(c.Nominal(nil, b)) / kip
		y.Shown(row, "vn", vn, 1e-4)
		if row.Text("c") != "0" {
			y.Shown(row, "c", c.Ratio(nil, b), 1e-4)
		}
		if row.Text("c3") == "1.52" { // the same by naming the edition
			require.Equal(t, c.Nominal(nil, b), c.Nominal(nil, with(t, basis.ShearFirst, 1.0)), row)
		}
		if row.Text("printed_vn") != "0" {
			y.Shown(row, "printed_vn", vn, 0.003)
		}
		if row.Text("panel") != "0" {
			for _, l := range c.Check(calc.NewPad(), b).Lines {
				if l.Symbol == "k" {
					y.Shown(row, "k", l.Value, 1e-4)
				}
			}
		}
	}
	y.Done(17)
}

func TestShearBranches(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	// Limits of D/tw at k = 5 (recomputed): Fy 33: 74.2 and 92.8; Fy 50: 60.3 and 75.4.
	for fy, limit := range map[units.Stress][2]float64{33: {74.2, 92.8}, 50: {60.3, 75.4}} {
		ratio := func(s float64) float64 {
			return resistance.Shear{Depth: 1000, Fy: fy * units.Ksi, Thickness: units.Length(1000 / s)}.Ratio(nil, b)
		}
		require.Equal(t, 1.0, ratio(limit[0]-0.06))
		require.Less(t, ratio(limit[0]+0.06), 1.0)
		require.InDelta(t, 0.8000, ratio(limit[1]-0.06), 0.0011)
		require.Greater(t, ratio(limit[1]+0.06), 0.799)
	}
	// An end panel longer than 1.5 D counts as unstiffened.
	c := resistance.Shear{Depth: 1000, Fy: 345, Cut: 8000, Thickness: 8, Panel: 1500}
	stiff := c.Ratio(nil, b)
	c.Panel = 1501
	require.Less(t, c.Ratio(nil, b), stiff)
	plain := c
	plain.Panel = 0
	require.Equal(t, plain.Ratio(nil, b), c.Ratio(nil, b))
	require.Zero(t, resistance.Shear{Depth: 1000, Fy: 345}.Nominal(nil, b))
}

// Source: FHWA NHI-04-041 geometry from memory, AISC 360-22 J10.8 and J7; testdata/published/stiffener.csv.
func TestStiffenerVectors(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "stiffener.csv")
	for _, row := range y.Rows {
		v := func(k string) float64 { return row.Number(k) }
		in := func(k string) units.Length { return units.Length(v(k)) * inch }
		b := with(t, basis.StiffenerStrip, v("strip"), basis.StiffenerBearing, v("bearing"))
		fy := units.Stress(v("fy")) * units.Ksi
		col := resistance.StiffenerAxial{Plates: 2, Width: in("bt"), Thickness: in("tp"), Fy: fy, FyWeb: fy, WebLeast: in("tw"), WebMean: in("tw"),
			WebDepth: in("depth"), X: 1000}.Column(nil, b)
		bearing := resistance.StiffenerBearing{Plates: 2, Width: in("bt"), Thickness: in("tp"), Clip: in("clip"), Fy: fy}
		const in2, in4 = 25.4 * 25.4, 25.4 * 25.4 * 25.4 * 25.4
		y.Shown(row, "width_limit", float64(resistance.StiffenerWidth{Thickness: in("tp"), Fy: fy}.Limit(nil, b)/inch), 0)
		y.Shown(row, "rn_bearing", float64(bearing.Nominal(nil, b))/kip, 0)
		y.Shown(row, "area", float64(col.Area)/in2, 0)
		if row.Text("inertia") != "0" {
			y.Shown(row, "inertia", float64(col.Inertia)/in4, 0)
		}
		y.Shown(row, "radius", float64(col.Radius()/inch), 0)
		y.Shown(row, "rn_axial", float64(col.Nominal)/kip, 0)
	}
	y.Done(23)
}

func TestStiffenerColumnBranches(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	c := resistance.StiffenerAxial{Plates: 2, Width: 100, Thickness: 12, Fy: 250, FyWeb: 250, WebLeast: 10, WebMean: 10, WebDepth: 1000, X: 500}
	sound := c.Column(nil, b)
	// At P_o/P_e = 2.25 the branches give 0.38995 and 0.38978 of P_o.
	at := func(ratio float64) float64 {
		po := float64(sound.Area) * 250
		slender := c
		slender.WebDepth = units.Length(1000 * 0.75 / 0.75 * sqrt(ratio*elastic(sound, 750)/po))
		return float64(slender.Column(nil, b).Nominal) / po
	}
	require.InDelta(t, 0.38995, at(2.2499), 0.0001)
	require.InDelta(t, 0.38978, at(2.2501), 0.0001)
	weak := c
	weak.FyWeb = 125
	require.InDelta(t, float64(sound.Area)-9*10*10, float64(weak.Column(nil, b).Area), 1e-6, "a weaker web counts with half the strip")
	edge := c
	edge.X = 30
	require.InDelta(t, float64(sound.Area)-(90-30)*10, float64(edge.Column(nil, b).Area), 1e-6, "the girder end cuts the strip")
	wide := c
	wide.Width = 300
	require.InDelta(t, 0.48*12*sqrt(199947.9615/250), float64(wide.Column(nil, b).Counted), 1e-3)
	gone := c
	gone.Thickness, gone.WebLeast, gone.WebMean = 0, 0, 0
	require.Zero(t, gone.Column(nil, b).Nominal)
	require.Zero(t, resistance.StiffenerBearing{Plates: 2, Width: 20, Clip: 25, Thickness: 10, Fy: 250}.Nominal(nil, b))
}
