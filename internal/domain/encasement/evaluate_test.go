package encasement_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// end is an invented girder end: a rolled beam 33 in. deep on a 9 in. bearing.
func end() girder.Geometry {
	return girder.Geometry{
		Name: girder.Name{Span: 1, Side: girder.Far, Girder: 2},
		Section: girder.Section{Name: "W33x130", Kind: girder.Rolled, Depth: 33.1 * in, TopFlangeWidth: 11.5 * in, TopFlangeThickness: 0.855 * in,
			FlangeWidth: 11.5 * in, FlangeThickness: 0.855 * in, WebThickness: 0.58 * in, FilletK: 1.56 * in},
		Bearing: girder.Bearing{Kind: girder.Rocker, Start: 3 * in, Length: 9 * in, Width: 11 * in},
		Fy:      33 * units.Ksi, Fu: 60 * units.Ksi,
	}
}

// twoFaced is cols x rows of 3/4 x 4 in. studs on both faces in a tight panel.
func twoFaced(cols, rows int, x0, z0, gauge, pitch float64) encasement.Design {
	d := encasement.Design{StudDiameter: 0.75 * in, StudHeight: 4 * in, StudFu: 65 * units.Ksi, Fc: 18 * units.Ksi}
	for _, f := range []survey.Face{survey.Left, survey.Right} {
		for r := range rows {
			for c := range cols {
				d.Studs = append(d.Studs, encasement.Stud{Mark: fmt.Sprintf("%s-%d-%d", f, r+1, c+1), Row: r + 1, Col: c + 1, Face: f,
					X: units.Length(x0+float64(c)*gauge) * in, Z: units.Length(z0+float64(r)*pitch) * in})
			}
		}
	}
	d.Panel = encasement.Panel{X: units.Length(x0-1.5) * in, Width: units.Length(float64(cols-1)*gauge+3) * in,
		Height: units.Length(z0+float64(rows-1)*pitch+1.5) * in, ThicknessLeft: 5 * in, ThicknessRight: 5 * in}
	return d
}

// good is a layout that passes everything at the end above: 4 x 5 on each face,
// middle on the bearing line at 7.5 in.
func good() encasement.Design { return twoFaced(4, 5, 3, 8, 3, 4.5) }

func steel() encasement.Steel { return encasement.AsNew{Section: end().Section} }

func TestEvaluateByHand(t *testing.T) {
	t.Parallel()
	d, b := good(), basis.Basis{}
	require.NoError(t, d.Validate(end()))
	r := encasement.Evaluate(nil, b, end(), steel(), d, 240*kip, nil)
	for _, c := range r.Checks {
		require.Contains(t, []calc.Verdict{calc.Passes, calc.Informs}, c.Verdict, "%s %v %v %v", c.Key, c.Demand, c.Resistance, c.Limits)
	}
	require.True(t, r.Passes())
	require.Nil(t, r.First())
	at := func(key string) float64 { return r.Check(key).Resistance / float64(kip) }
	require.Equal(t, 40, r.Counted)
	require.InDelta(t, 40, r.Effective, 1e-9)
	require.InDelta(t, 22.53, float64(r.PerStud/kip), 0.006)
	require.InDelta(t, 40*22.53, at(encasement.KeyStuds), 0.2)
	// Foot, both faces: 0.70 x 0.85 x 18 ksi on the panel over the bearing, 9 in.
	// and 0.855 in. of spread at either end, 1.5 to 13.5 in. long, by the least of
	// panel (5), flange beside the web (5.46) and sole plate and bending.
	require.InDelta(t, 0.7*0.85*18*(9+2*0.855)*5*2, at(encasement.KeyFoot), 0.5)
	// Compression: 0.70 x 0.85 x 18 ksi, 5 in. panel, the 12 in. panel width.
	require.InDelta(t, 0.7*0.85*18*5*12*2, at(encasement.KeyCompression), 0.5)
	// Web: 0.58 x 33 ksi on 0.58 x 31.39 in.; strip 5 pitches of 4.5 in.
	require.InDelta(t, 0.58*33*0.58*31.39, at(encasement.KeyWeb), 0.1)
	require.InDelta(t, 0.58*33*0.58*22.5, at(encasement.KeyStrip), 0.1)
	// Stud foot: 0.80 x 2.4 x 0.75 x 0.58 x 60 ksi at each of twenty places.
	require.InDelta(t, 20*0.8*2.4*0.75*0.58*60, at(encasement.KeyStudFoot), 0.5)
	require.Equal(t, encasement.KeyStrip, r.Governs)
	require.InDelta(t, 0.58*33*0.58*22.5, float64(r.Capacity/kip), 0.1)
	require.Equal(t, 11, r.Required) // 240 / 22.53 = 10.65
	require.Nil(t, r.Check(encasement.KeyOneSided))
}

// Half of the studs beyond one edge of the bearing: panel shear by hand is
// 0.90 x 0.85 x 0.75 ksi on 5 x 27.5 in. a face, each with a quarter of the force.
func TestPanelShearByHand(t *testing.T) {
	t.Parallel()
	g := end()
	g.Bearing.Start, g.Bearing.Length = 0, 7*in
	r := encasement.Evaluate(nil, basis.Basis{}, g, steel(), good(), 240*kip, nil)
	require.InDelta(t, 0.9*0.85*0.75*5*27.5/0.25, r.Check(encasement.KeyPanelShear).Resistance/float64(kip), 0.1)
	require.Nil(t, encasement.Evaluate(nil, basis.Basis{}, end(), steel(), good(), 240*kip, nil).Check(encasement.KeyPanelShear))
}

// The group of 4 columns and 5 rows at 4 x 4 in. of the published group table:
// elastic worth 12.612 of 20 at 4 in. beside the bearing line.
func TestEvaluateEccentric(t *testing.T) {
	t.Parallel()
	d := twoFaced(4, 5, 3, 8, 4, 4)
	g := end()
	g.Bearing.Start = 3*in + 6*in - 4*in - 4.5*in + 8*in // line 4 in. beyond the middle of the group at 9 in.
	r := encasement.Evaluate(nil, basis.Basis{}, g, steel(), d, 240*kip, nil)
	require.InDelta(t, 2*12.612, r.Effective, 0.002)
}

func TestSheetAndNumberAgree(t *testing.T) {
	t.Parallel()
	half := twoFaced(4, 5, 4, 8, 3, 4.5)
	half.Studs = half.Studs[:20]
	half.Panel.ThicknessRight = 0
	half.StudHeight = 6.5 * in
	for _, d := range []encasement.Design{good(), twoFaced(4, 5, 5, 8, 4, 4), half} {
		quick := encasement.Evaluate(nil, basis.Basis{}, end(), steel(), d, 240*kip, nil)
		sheet := encasement.Evaluate(calc.NewPad(), basis.Basis{}, end(), steel(), d, 240*kip, nil)
		require.Equal(t, quick.Capacity, sheet.Capacity)
		require.Equal(t, quick.Governs, sheet.Governs)
		require.Len(t, sheet.Checks, len(quick.Checks))
		for i, c := range sheet.Checks {
			require.NotEmpty(t, c.Lines, c.Key)
			require.NotEmpty(t, c.Clause.Document, c.Key)
			require.Empty(t, quick.Checks[i].Lines)
			require.Equal(t, quick.Checks[i].Resistance, c.Resistance, c.Key)
			require.Equal(t, quick.Checks[i].Demand, c.Demand, c.Key)
			require.Equal(t, quick.Checks[i].Verdict, c.Verdict, c.Key)
		}
	}
}

// Each rule fails when, and only when, it is broken.
func TestEveryRuleCanFail(t *testing.T) {
	t.Parallel()
	type change func(*encasement.Design, *girder.Geometry, *corroded)
	for key, spoil := range map[string]change{
		encasement.KeyStuds: func(d *encasement.Design, _ *girder.Geometry, _ *corroded) {
			d.Studs = append(d.Studs[:4:4], d.Studs[20:24]...)
		},
		encasement.KeyFoot: func(_ *encasement.Design, g *girder.Geometry, c *corroded) { c.flange, g.Bearing.Width = 0.2*in, 0 },
		encasement.KeyPanelShear: func(_ *encasement.Design, g *girder.Geometry, _ *corroded) {
			g.Bearing.Start, g.Bearing.Length = 0, 1*in
		},
		encasement.KeyCompression: func(d *encasement.Design, _ *girder.Geometry, _ *corroded) {
			d.Fc = 5 * units.Ksi
			d.Panel.Width = 5 * in
		},
		encasement.KeyWeb:        func(_ *encasement.Design, _ *girder.Geometry, c *corroded) { c.cut = 5000 },
		encasement.KeyStrip:      func(_ *encasement.Design, _ *girder.Geometry, c *corroded) { c.strip = 5 },
		encasement.KeyStudFoot:   func(_ *encasement.Design, g *girder.Geometry, _ *corroded) { g.Fu = 12 * units.Ksi },
		encasement.KeyBaseMetal:  func(_ *encasement.Design, _ *girder.Geometry, c *corroded) { c.thinBelow, c.thin = 9*in, 0.2*in },
		encasement.KeyStudHeight: func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.StudHeight = 2.5 * in },
		encasement.KeySpacing:    func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.Studs[0].X += 0.6 * in },
		encasement.KeyPitch:      func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.Studs[0].Z += 2 * in },
		encasement.KeyApart:      func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.Studs[0].X += 60 * in },
		encasement.KeySteelEdge:  func(_ *encasement.Design, _ *girder.Geometry, c *corroded) { c.hole = 1.2 * in },
		encasement.KeyFlangeRoom: func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.Studs[0].Z = 1.5 * in },
		encasement.KeyStiffener: func(_ *encasement.Design, g *girder.Geometry, _ *corroded) {
			g.Stiffener = &girder.Stiffener{Pairs: 1, Thickness: 0.75 * in, Width: 5 * in, X: 7.5 * in}
		},
		encasement.KeyDiaphragm:   func(_ *encasement.Design, g *girder.Geometry, _ *corroded) { g.DiaphragmX = 15 * in },
		encasement.KeySideCover:   func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.Panel.X += 0.5 * in },
		encasement.KeyThickness:   func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.Panel.ThicknessLeft = 4.9 * in },
		encasement.KeySlenderness: func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.Panel.ThicknessRight = 0.7 * in },
		encasement.KeySeat:        func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.Panel.Gap = in / 16 },
		encasement.KeyMaterial:    func(d *encasement.Design, _ *girder.Geometry, _ *corroded) { d.Fc = 14 * units.Ksi },
	} {
		d, g := good(), end()
		c := &corroded{Steel: steel()}
		require.True(t, encasement.Evaluate(nil, basis.Basis{}, g, c, d, 240*kip, nil).Passes())
		spoil(&d, &g, c)
		r := encasement.Evaluate(nil, basis.Basis{}, g, c, d, 240*kip, nil)
		require.NotNil(t, r.Check(key), key)
		want := calc.Fails
		if key == encasement.KeyMaterial {
			want = calc.Outside
		}
		require.Equal(t, want, r.Check(key).Verdict, key)
		require.False(t, r.Passes(), key)
		require.NotNil(t, r.First())
	}
}

// corroded is steel with single losses for the test of each rule.
type corroded struct {
	encasement.Steel
	flange, thin, thinBelow, hole, strip units.Length
	cut                                  units.Area
}

func (c *corroded) Around(x, z, r units.Length) units.Length {
	if z-r < c.thinBelow {
		return c.thin
	}
	return c.Steel.Around(x, z, r)
}

func (c *corroded) HoleDistance(x, z units.Length) units.Length {
	if c.hole > 0 {
		return c.hole
	}
	return c.Steel.HoleDistance(x, z)
}

func (c *corroded) Thickness(x, z units.Length) units.Length {
	if c.strip > 0 {
		return c.strip
	}
	return c.Steel.Thickness(x, z)
}

func (c *corroded) WebCut(a, b units.Length) units.Area {
	if c.cut > 0 {
		return c.cut
	}
	return c.Steel.WebCut(a, b)
}

func (c *corroded) Flange() units.Length {
	if c.flange > 0 {
		return c.flange
	}
	return c.Steel.Flange()
}

func TestGapTakesTheCapacity(t *testing.T) {
	t.Parallel()
	d := good()
	d.Panel.Gap = in / 16
	r := encasement.Evaluate(nil, basis.Basis{}, end(), steel(), d, 240*kip, nil)
	require.Zero(t, r.Capacity)
	require.Equal(t, encasement.KeySeat, r.Governs)
	d = good()
	d.Panel.Z = 2 * in
	require.Zero(t, encasement.Evaluate(nil, basis.Basis{}, end(), steel(), d, 240*kip, nil).Capacity)
}

func TestThinMetalDoesNotCount(t *testing.T) {
	t.Parallel()
	c := &corroded{Steel: steel(), thin: 0.25 * in, thinBelow: 8 * in}
	r := encasement.Evaluate(nil, basis.Basis{}, end(), c, good(), 240*kip, nil)
	require.Equal(t, 40, r.Designed)
	require.Equal(t, 32, r.Counted)
	require.Equal(t, calc.Fails, r.Check(encasement.KeyBaseMetal).Verdict)
}

func TestOneSidedPanel(t *testing.T) {
	t.Parallel()
	d := good()
	d.Studs = d.Studs[:20]
	d.Panel.ThicknessRight = 0
	r := encasement.Evaluate(nil, basis.Basis{}, end(), steel(), d, 100*kip, nil)
	c := r.Check(encasement.KeyOneSided)
	require.NotNil(t, c)
	require.Equal(t, calc.Outside, c.Verdict, "h/d of 5.3 is too short for tension")
	// By hand: each of four studs pulls R (0.58 + 5)/(2 x 18 x 4), each of twenty
	// shears R/20; 0.75 and 0.65 of 65 ksi on 0.4418 in2.
	a := math.Pi * 0.75 * 0.75 / 4 * 65
	use := math.Pow((0.58+5)/(2*18*4)/(0.75*a), 5.0/3) + math.Pow(1.0/20/(0.65*a), 5.0/3)
	require.InDelta(t, math.Pow(use, -0.6), c.Resistance/float64(kip), 0.01)

	d.StudHeight, d.Panel.ThicknessLeft = 6.1*in, 7.5*in
	c = encasement.Evaluate(nil, basis.Basis{}, end(), steel(), d, 100*kip, nil).Check(encasement.KeyOneSided)
	require.Equal(t, calc.Passes, c.Verdict)

	row := twoFaced(4, 1, 3, 8, 3, 4.5)
	row.Studs = row.Studs[:4]
	row.Panel.ThicknessRight = 0
	c = encasement.Evaluate(nil, basis.Basis{}, end(), steel(), row, 10*kip, nil).Check(encasement.KeyOneSided)
	require.Equal(t, calc.Fails, c.Verdict, "one row has no lever")
}

func TestEvaluateNeverPanics(t *testing.T) {
	t.Parallel()
	nan := units.Length(math.NaN())
	for name, d := range map[string]encasement.Design{
		"empty":    {},
		"no studs": {StudDiameter: 19, StudHeight: 100, StudFu: 450, Fc: 124, Panel: good().Panel},
		"nan":      {StudDiameter: nan, StudHeight: nan, Studs: []encasement.Stud{{X: nan, Z: nan}}, Panel: encasement.Panel{Width: nan}},
		"one":      {StudDiameter: 19, StudHeight: 100, StudFu: 450, Fc: 124, Panel: good().Panel, Studs: good().Studs[:1]},
	} {
		for _, p := range []*calc.Pad{nil, calc.NewPad()} {
			r := encasement.Evaluate(p, basis.Basis{}, end(), nil, d, 240*kip, nil)
			require.False(t, r.Passes(), name)
			require.Zero(t, r.Capacity, name)
		}
	}
	none := encasement.Evaluate(nil, basis.Basis{}, end(), steel(), good(), 240*kip, func(string) bool { return false })
	require.Zero(t, none.Capacity)
	require.Equal(t, calc.Fails, none.Check(encasement.KeyStuds).Verdict)
	require.False(t, encasement.Evaluate(nil, basis.Basis{}, end(), steel(), good(), units.Force(math.NaN()), nil).Passes())
}

// Whatever is lost, the repaired capacity never rises above the design's; and
// the order in which studs are listed is nothing.
func TestEvaluateProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := twoFaced(rapid.IntRange(1, 6).Draw(t, "cols"), rapid.IntRange(1, 6).Draw(t, "rows"), rapid.Float64Range(2, 12).Draw(t, "x0"),
			rapid.Float64Range(2, 12).Draw(t, "z0"), rapid.Float64Range(2, 6).Draw(t, "gauge"), rapid.Float64Range(2, 6).Draw(t, "pitch"))
		lost := map[string]bool{}
		for _, s := range d.Studs {
			lost[s.Mark] = rapid.Bool().Draw(t, s.Mark)
		}
		eval := func(d encasement.Design, ok func(string) bool) encasement.Result {
			return encasement.Evaluate(nil, basis.Basis{}, end(), steel(), d, 240*kip, ok)
		}
		full := eval(d, nil)
		less := eval(d, func(m string) bool { return !lost[m] })
		require.LessOrEqual(t, less.Check(encasement.KeyStuds).Resistance, full.Check(encasement.KeyStuds).Resistance*(1+1e-9))
		require.LessOrEqual(t, less.Counted, full.Counted)

		other := d
		other.Studs = rapid.Permutation(d.Studs).Draw(t, "order")
		again := eval(other, nil)
		require.InEpsilon(t, 1+float64(full.Capacity), 1+float64(again.Capacity), 1e-9)
		for i, c := range full.Checks {
			require.Equal(t, c.Verdict, again.Checks[i].Verdict, c.Key)
		}

		// Thinner metal never helps.
		thin := encasement.Evaluate(nil, basis.Basis{}, end(), &corroded{Steel: steel(), strip: 0.3 * in, cut: 8000, flange: 0.4 * in}, d, 240*kip, nil)
		require.LessOrEqual(t, thin.Capacity, full.Capacity)
		// A demand beyond the capacity fails something, one within it no strength check.
		if full.Capacity > 0 {
			r := encasement.Evaluate(nil, basis.Basis{}, end(), steel(), d, full.Capacity*1.001, nil)
			require.False(t, r.Passes())
		}
	})
}

func TestValidateDesign(t *testing.T) {
	t.Parallel()
	require.NoError(t, good().Validate(end()))
	nan := units.Length(math.NaN())
	for field, spoil := range map[string]func(*encasement.Design){
		"stud_diameter":         func(d *encasement.Design) { d.StudDiameter = 0 },
		"stud_height":           func(d *encasement.Design) { d.StudHeight = nan },
		"stud_fu":               func(d *encasement.Design) { d.StudFu = -450 },
		"fc":                    func(d *encasement.Design) { d.Fc = units.Stress(math.Inf(1)) },
		"studs":                 func(d *encasement.Design) { d.Studs = make([]encasement.Stud, 401) },
		"studs[2].mark":         func(d *encasement.Design) { d.Studs[1].Mark = d.Studs[0].Mark },
		"studs[3].mark":         func(d *encasement.Design) { d.Studs[2].Mark = "" },
		"studs[2].x":            func(d *encasement.Design) { d.Studs[1].X, d.Studs[1].Z = d.Studs[0].X, d.Studs[0].Z },
		"studs[1].x":            func(d *encasement.Design) { d.Studs[0].X = -1 },
		"studs[1].z":            func(d *encasement.Design) { d.Studs[0].Z = 40 * in },
		"studs[4].z":            func(d *encasement.Design) { d.Studs[3].Z = nan },
		"studs[1].face":         func(d *encasement.Design) { d.Studs[0].Face = survey.Through },
		"studs[1].row":          func(d *encasement.Design) { d.Studs[0].Row = 0 },
		"panel.x":               func(d *encasement.Design) { d.Panel.X = -1 },
		"panel.z":               func(d *encasement.Design) { d.Panel.Z = nan },
		"panel.width":           func(d *encasement.Design) { d.Panel.Width = 0 },
		"panel.height":          func(d *encasement.Design) { d.Panel.Height = 40 * in },
		"panel.thickness_left":  func(d *encasement.Design) { d.Panel.ThicknessLeft, d.Panel.ThicknessRight = 0, 0 },
		"panel.thickness_right": func(d *encasement.Design) { d.Panel.ThicknessRight = -1 },
		"panel.gap":             func(d *encasement.Design) { d.Panel.Gap = nan },
	} {
		d := good()
		spoil(&d)
		err := d.Validate(end())
		require.ErrorIs(t, err, fault.Fields, field)
		var v *fault.Invalid
		require.ErrorAs(t, err, &v)
		require.NotNil(t, v.Of(field), "%s: %v", field, err)
		require.Contains(t, v.Of(field).Reason, "must")
	}
}

func BenchmarkEvaluate40(b *testing.B) {
	d, g, st, bs := good(), end(), steel(), basis.Basis{}
	b.ReportAllocs()
	for b.Loop() {
		_ = encasement.Evaluate(nil, bs, g, st, d, 240*kip, nil)
	}
}

func BenchmarkEvaluate40Sheet(b *testing.B) {
	d, g, st, bs := good(), end(), steel(), basis.Basis{}
	b.ReportAllocs()
	for b.Loop() {
		_ = encasement.Evaluate(calc.NewPad(), bs, g, st, d, 240*kip, nil)
	}
}
