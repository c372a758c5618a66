package stud_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/published"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// EN ISO 13918 type SD.
func TestNominalCollar(t *testing.T) {
	t.Parallel()
	c := published.Open(t, "stud_collar_sizes.csv")
	for _, r := range c.Rows {
		w, h := stud.NominalCollar(units.Length(r.Number("d_mm")))
		c.Within(r, "collar_d_mm", float64(w), 0)
		c.Within(r, "collar_h_mm", float64(h), 0)
	}
	c.Done(12)
	w, h := stud.NominalCollar(0.875 * units.Inch) // 22.2 mm
	require.Equal(t, [2]units.Length{29, 6}, [2]units.Length{w, h})
}

// ACI 318-19 17.7.3.
func TestPryOut(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	c := published.Open(t, "stud_pryout.csv")
	for _, r := range c.Rows {
		s := stud.Stud{Diameter: units.Length(r.Number("d_in")) * units.Inch, Height: units.Length(r.Number("h_in")) * units.Inch,
			Fc: units.Stress(r.Number("fc_psi")/1000) * units.Ksi}
		c.Within(r, "kip", kips(stud.PryOut{Stud: s}.Resistance(nil, b)), 0.0006)
		p := calc.NewPad()
		got := stud.PryOut{Stud: s}.Check(p, b)
		require.Equal(t, calc.Informs, got.Verdict)
		require.NotEmpty(t, got.Limits)
	}
	c.Done(4)
	require.Zero(t, stud.PryOut{Stud: stud.Stud{Diameter: 20, Height: 5}}.Resistance(nil, b))
}

// A gap seen at six o'clock lies on the side that bears, see the table of shares.
func TestGapShare(t *testing.T) {
	t.Parallel()
	const d = 20.0
	arc := func(deg float64) units.Length { return units.Length(math.Pi * d * deg / 360) }
	for _, c := range []struct {
		deg   float64
		clock int
		want  float64
	}{{60, 6, 0.5}, {90, 6, 0.293}, {30, 3, 0.983}, {30, 9, 0.983}, {180, 12, 1}, {180, 6, 0}} {
		require.InDelta(t, c.want, stud.GapShare(d, stud.Gap{Clock: c.clock, Length: arc(c.deg)}), 0.0006, "%v", c)
	}
	require.Zero(t, stud.GapShare(0, stud.Gap{Clock: 6, Length: 1}))
}

func TestOtherStandardsInform(t *testing.T) {
	t.Parallel()
	none := func() *calc.Pad { return nil }
	for v, keys := range map[float64][]string{1: {"stud.aisc", "stud.en1994"}, 2: {"stud.aashto", "stud.en1994"}, 3: {"stud.aashto", "stud.aisc"}} {
		b, err := basis.Basis{}.With(basis.StudStandard, v)
		require.NoError(t, err)
		var got []string
		for _, c := range uhpc(0.875, 65).Others(b, 1000, none) {
			require.Equal(t, calc.Informs, c.Verdict)
			require.Positive(t, c.Resistance)
			got = append(got, c.Key)
			if c.Key == "stud.aisc" {
				require.Contains(t, c.Limits[0].Text, "stud diameter", "the component rule ends at 3/4 in.")
			}
		}
		require.Equal(t, keys, got)
	}
}

// d/3 and d/1.5 of the table of base metal.
func TestThinWeb(t *testing.T) {
	t.Parallel()
	for _, r := range published.Rows(t, "stud_base_metal.csv") {
		d := units.Length(r.Number("d_in")) * units.Inch
		for col, rule := range map[string]stud.ThinRule{"over_3": stud.ByAWS, "over_1_5": stud.ByTension} {
			got := stud.ThinWeb{Diameter: d, Thickness: d / 2.5, Rule: rule}.Check(nil, basis.Basis{})
			require.InDelta(t, r.Number(col), got.Demand/inch, 0.00051, col)
			require.Equal(t, calc.Informs, got.Verdict)
		}
	}
}

// What the tests do not cover is said beside them, with their own numbers.
func TestWordsMatchTheTable(t *testing.T) {
	t.Parallel()
	require.Len(t, published.Rows(t, "stud_pushout.csv"), 16)
	for _, w := range []string{"sixteen", "54 to 66 MPa", "do not cover UHPC", "short studs", "upright web", "repeated load"} {
		require.True(t, strings.Contains(stud.PushOutWords, w), w)
	}
	require.InDelta(t, 54, float64(7.8*units.Ksi), 0.5)
	require.InDelta(t, 66, float64(9.6*units.Ksi), 0.5)
	require.Contains(t, stud.PartialCollarWords, "our proposal")
}

func TestFatigueByBothCodes(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	a := stud.Fatigue{Diameter: 19, Range: 1000, Cycles: 2e6, By: stud.ByAASHTO}.Check(nil, b)
	e := stud.Fatigue{Diameter: 19, Range: 1000, Cycles: 2e6, By: stud.ByEN}.Check(nil, b)
	require.Equal(t, []string{"stud.fatigue_aashto", "stud.fatigue_en1994"}, []string{a.Key, e.Key})
	require.Equal(t, calc.Informs, a.Verdict)
	// 90 MPa on the shank at two million cycles (EN 1993-1-9): 25.52 kN.
	require.InDelta(t, 25.52, e.Resistance/1000, 0.006)
	require.InDelta(t, (34.5-4.28*math.Log10(2e6))*math.Pow(19/25.4, 2), a.Resistance/float64(units.Kip), 1e-6)
}
