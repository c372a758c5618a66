package resistance_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/published"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/units"
)

// beam is a sound beam end for the rules of a concentrated reaction, in kip and
// inch on the outside.
type beam struct {
	girder.Section
	fy units.Stress
	b  basis.Basis
}

func (x beam) yielding(n float64) float64 {
	l := resistance.Spread(nil, units.Length(n)*inch, x.FilletK, false)
	return float64(resistance.Yielding{Fy: x.fy, Area: units.Area(l * x.WebThickness)}.Factored(nil, x.b)) / kip
}

func (x beam) cripplingCheck(n float64) resistance.Crippling {
	return resistance.Crippling{Depth: x.Depth, Fy: x.fy, Thickness: x.WebThickness, Flange: x.FlangeThickness, FlangeAsBuilt: x.FlangeThickness,
		Bearing: units.Length(n) * inch}
}

func (x beam) crippling(n float64) float64 {
	return float64(x.cripplingCheck(n).Factored(nil, x.b)) / kip
}

// constants are R1 to R6: what the two rules give on their straight branches.
func (x beam) constants() [6]float64 {
	d := float64(x.Depth / inch)
	line := func(f func(float64) float64, a, b float64) (at0, slope float64) {
		slope = (f(b) - f(a)) / (b - a)
		return f(a) - slope*a, slope
	}
	r1, r2 := line(x.yielding, 1, 3)
	r3, r4 := line(x.crippling, 0.05*d, 0.15*d)
	r5, r6 := line(x.crippling, 0.3*d, 0.5*d)
	return [6]float64{r1, r2, r3, r4, r5, r6}
}

func aisc(t testing.TB, name string) beam {
	return beam{shape(t, name), 50 * units.Ksi, with(t, basis.WebPhiCrippling, 0.75)}
}

// Source: AISC Design Examples v16.0, II.D-2, and third-party write-ups of II.A-13
// and II.A-14; testdata/published/bearing.csv.
func TestPublishedBearing(t *testing.T) {
	t.Parallel()
	d2, a13, a14 := aisc(t, "W18X50"), aisc(t, "W21X62"), aisc(t, "W21X68")
	r, r14 := d2.constants(), a14.constants()
	need := func(width, length units.Length) float64 {
		f := resistance.Flange{K: d2.FilletK, Width: width, Length: length, Fy: 50 * units.Ksi, Demand: 90 * units.Kip}
		return float64(f.Needed(nil, d2.b) / inch)
	}
	zero := a13.cripplingCheck(0).Nominal(nil, a13.b)
	got := map[string]float64{
		"D2 phi_R1": r[0], "D2 phi_R2": r[1], "D2 phi_R5": r[4], "D2 phi_R6": r[5],
		"D2 R1_over_1.5": r[0] / 1.5, "D2 R2_over_1.5": r[1] / 1.5, "D2 R5_over_2": r[4] / 0.75 / 2, "D2 R6_over_2": r[5] / 0.75 / 2,
		"D2 N_yielding": (90 - r[0]) / r[1], "D2 N_crippling": (90 - r[4]) / r[5],
		"D2 tf": need(7.5*inch, 10*inch), "D2 plate": need(8*inch, 10*inch),
		"A13 R3": float64(zero) / kip,
		// The resistance with no bearing is 0.40 tw2 times the root.
		"A13 root":       float64(zero) / kip / (0.40 * 0.400 * 0.400),
		"A14 N_yielding": (125 - r14[0]) / r14[1], "A14 N_crippling": (125 - r14[4]) / r14[5],
	}
	y := published.Open(t, "bearing.csv")
	for _, row := range y.Rows {
		key := row.Text("case") + " " + row.Text("item")
		v, ok := got[key]
		require.True(t, ok, key)
		y.Shown(row, "value", v, row.Number("tolerance"))
	}
	y.Done(len(got))
}

func TestBearingConstants(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "bearing_constants.csv")
	for _, row := range y.Rows {
		r := aisc(t, row.Text("shape")).constants()
		for i, col := range []string{"phi_R1", "phi_R2", "phi_R3", "phi_R4", "phi_R5", "phi_R6"} {
			y.Shown(row, col, r[i], 0)
		}
	}
	y.Done(90)
}

func TestCripplingInteriorIsTwiceTheShortEnd(t *testing.T) {
	t.Parallel()
	x := aisc(t, "W33X130")
	end := x.cripplingCheck(5)
	inside := end
	inside.Interior = true
	require.InEpsilon(t, 2*float64(end.Nominal(nil, x.b)), float64(inside.Nominal(nil, x.b)), 1e-12)
	require.InDelta(t, 8+5*1.56, float64(resistance.Spread(nil, 8*inch, 1.56*inch, true)/inch), 1e-12)
}

func drawBeam(r *rapid.T) beam {
	tf := rapid.Float64Range(8, 60).Draw(r, "tf")
	s := girder.Section{Depth: units.Length(rapid.Float64Range(400, 2500).Draw(r, "d")), FlangeThickness: units.Length(tf),
		WebThickness: units.Length(rapid.Float64Range(1, 30).Draw(r, "tw")), FilletK: units.Length(tf + rapid.Float64Range(0, 30).Draw(r, "fillet"))}
	return beam{s, units.Stress(rapid.Float64Range(170, 500).Draw(r, "fy")), basis.Basis{}}
}

// Property: both end branches meet at N/d = 0.2, and resistance grows with web
// thickness and bearing length.
func TestBearingRulesAreContinuousAndMonotonic(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		x := drawBeam(r)
		n := 0.2 * float64(x.Depth/inch)
		require.InEpsilon(r, x.crippling(n*(1-1e-9)), x.crippling(n*(1+1e-9)), 1e-7)
		n *= rapid.Float64Range(0, 5).Draw(r, "n")
		longer := n + rapid.Float64Range(0.01, 10).Draw(r, "longer")
		require.Greater(r, x.crippling(longer), x.crippling(n))
		require.Greater(r, x.yielding(longer), x.yielding(n))
		thicker := x
		thicker.WebThickness *= units.Length(rapid.Float64Range(1.0001, 3).Draw(r, "thicker"))
		require.Greater(r, thicker.crippling(n), x.crippling(n))
		require.Greater(r, thicker.yielding(n), x.yielding(n))
	})
}

// Property: the raw rule is not monotonic in the flange, the check is, and it is
// never above the rule at either end.
func TestThinnerFlangeNeverHelps(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		x := drawBeam(r)
		c := x.cripplingCheck(rapid.Float64Range(0, 20).Draw(r, "n"))
		whole := c.Nominal(nil, x.b)
		c.Flange *= units.Length(rapid.Float64Range(0.01, 1).Draw(r, "left"))
		some := c.Nominal(nil, x.b)
		plain := c
		plain.FlangeAsBuilt = plain.Flange
		require.LessOrEqual(r, float64(some), float64(whole))
		require.LessOrEqual(r, float64(some), float64(plain.Nominal(nil, x.b)))
		c.Flange *= units.Length(rapid.Float64Range(0.01, 1).Draw(r, "left then"))
		require.LessOrEqual(r, float64(c.Nominal(nil, x.b)), float64(some)*(1+1e-12))
	})
	// With q = 0.8 a flange thinner than 1/0.73 of the web starts to gain.
	x := aisc(t, "W33X130")
	c := x.cripplingCheck(0.25 * 33.1)
	c.Flange, c.FlangeAsBuilt = x.WebThickness*0.9, x.WebThickness*0.9
	thin := c.Nominal(nil, x.b)
	c.Flange, c.FlangeAsBuilt = x.WebThickness*0.8, x.WebThickness*0.8
	require.Greater(t, float64(c.Nominal(nil, x.b)), float64(thin), "the rule itself")
	c.FlangeAsBuilt = x.WebThickness * 0.9
	require.LessOrEqual(t, float64(c.Nominal(nil, x.b)), float64(thin), "the check")
}

// Exponents of tw and N, W33X130, Fy 33, N 8 (recomputed): crippling takes over as
// the web thins, and bearing length matters less.
func TestSensitivity(t *testing.T) {
	t.Parallel()
	for loss, want := range map[float64][2]float64{0: {1.95, 0.38}, 0.25: {1.83, 0.27}, 0.5: {1.70, 0.17}, 0.7: {1.60, 0.08}} {
		x := beam{shape(t, "W33X130"), 33 * units.Ksi, basis.Basis{}}
		x.WebThickness *= units.Length(1 - loss)
		const h = 1e-4
		thicker := x
		thicker.WebThickness *= 1 + h
		require.InDelta(t, want[0], math.Log(thicker.crippling(8)/x.crippling(8))/math.Log(1+h), 0.006, "tw at loss %g", loss)
		require.InDelta(t, want[1], math.Log(x.crippling(8*(1+h))/x.crippling(8))/math.Log(1+h), 0.006, "N at loss %g", loss)
	}
}

func TestNothingLeftResistsNothing(t *testing.T) {
	t.Parallel()
	x := aisc(t, "W33X130")
	c := x.cripplingCheck(8)
	c.Demand, c.Thickness = 1, 0
	got := c.Check(calc.NewPad(), x.b)
	require.Zero(t, got.Resistance)
	require.Equal(t, calc.Fails, got.Verdict)
	require.NotEmpty(t, got.Lines)
	c = x.cripplingCheck(8)
	c.Flange = 0
	require.Zero(t, c.Nominal(nil, x.b))
}

func TestFlangeCounted(t *testing.T) {
	t.Parallel()
	f := resistance.Flange{Thickness: 0.57 * inch, K: 0.972 * inch, Width: 8 * inch, Length: 10 * inch, Fy: 50 * units.Ksi, Demand: 90 * units.Kip}
	w := f.Counted(nil, basis.Basis{})
	require.Less(t, float64(w), float64(f.Width))
	f.Width = w
	require.InEpsilon(t, float64(f.Thickness), float64(f.Needed(nil, basis.Basis{})), 1e-9, "the width that counts needs just what is left")
	f.Thickness = inch
	require.Equal(t, w, f.Counted(nil, basis.Basis{}))
	f.Demand = 0
	require.Zero(t, f.Needed(nil, basis.Basis{}))
	f.Thickness, f.Demand, f.Width = 0, 90*units.Kip, 8*inch
	require.InEpsilon(t, 2*0.972, float64(f.Counted(nil, basis.Basis{})/inch), 1e-9, "no flange: the width between the fillets")
}
