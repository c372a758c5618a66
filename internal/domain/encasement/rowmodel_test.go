package encasement_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/published"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

const (
	in      = units.Inch
	kip     = units.Kip
	kipInch = float64(units.Kip) / float64(units.Inch) // N/mm in one kip/in.
)

// rows makes m rows of n studs at a pitch, loaded at the top; inches and kips.
func rows(m, n int, pitch, load float64) encasement.RowModel {
	out := encasement.RowModel{Rows: make([]encasement.Row, m), Pitch: make([]units.Length, m-1)}
	for i := range out.Rows {
		out.Rows[i].Studs = n
	}
	out.Rows[0].Load = units.Force(load) * kip
	for i := range out.Pitch {
		out.Pitch[i] = units.Length(pitch) * in
	}
	return out
}

func perInch(k float64) units.Stiffness { return units.Stiffness(k * kipInch) }

func stiffRows() encasement.RowModel {
	m := rows(5, 4, 3, 100)
	m.Law = stud.LinearLaw{K: perInch(1000)}
	m.WebEA, m.PanelEA = 1e10*kip, 1e10*kip
	m.WebBase, m.PanelBase = perInch(1500), perInch(8000)
	return m
}

// fine is one connector a row with a stiffness that makes k_s kip/in./in., each
// base spring in series with half a pitch of its bar.
func fine(m int, webBase, panelBase float64) encasement.RowModel {
	const l, ks, eaw, eap = 20.0, 600.0, 29000 * 6.0, 6489 * 60.0
	p := l / float64(m)
	out := rows(m, 1, p, 100)
	out.Law = stud.LinearLaw{K: perInch(ks * p)}
	out.WebEA, out.PanelEA = eaw*kip, eap*kip
	half := func(k, ea float64) units.Stiffness { return perInch(1 / (1/k + p/(2*ea))) }
	if webBase > 0 {
		out.WebBase = half(webBase, eaw)
	}
	out.PanelBase = half(panelBase, eap)
	return out
}

func TestShareAgainstClosedForms(t *testing.T) {
	t.Parallel()
	stiff := stiffRows()
	two := rows(5, 4, 3, 100)
	two.Law = stud.LinearLaw{K: perInch(1e9)}
	two.WebEA, two.PanelEA = 29000*6*kip, 6489*60*kip
	two.WebBase, two.PanelBase = perInch(1500), perInch(8000)
	gap := stiff
	gap.Gap = 0.02 * in

	type answer map[string]float64
	read := func(m encasement.RowModel) answer {
		s, err := m.Solve()
		require.NoError(t, err)
		require.InDelta(t, 0, s.Closure, 1e-6)
		return answer{"share": s.Fraction, "slip": float64(s.SlipTop / in), "slip_top": float64(s.SlipTop / in),
			"slip_bottom": float64(s.SlipFoot / in), "panel": float64(s.Panel / kip), "web": float64(s.Web / kip),
			"top_row": float64(s.Rows[0] / kip), "bottom_row": float64(s.Rows[len(s.Rows)-1] / kip)}
	}
	staged, err := stiff.SolveStaged(40 * kip)
	require.NoError(t, err)
	got := map[string]answer{
		"1": read(stiff), "2": read(two), "4": read(gap),
		"3a": read(fine(100, 1500, 8000)), "3b": read(fine(100, 0, 8000)), "3c": read(fine(100, 400, math.Inf(1))),
		"5": {"panel": float64(staged.Panel / kip), "web": float64(staged.WebTotal / kip), "slip": float64(staged.SlipTop / in)},
	}
	y := published.Open(t, "share_checks.csv")
	for _, r := range y.Rows {
		y.Within(r, "value", got[r.Text("case")][r.Text("quantity")], r.Number("tolerance"))
	}
	y.Done(18)

	// Two springs in parallel, and a bar on a continuous connection, to more
	// digits than the table.
	kp := 1 / (1/20000.0 + 1/8000.0)
	require.InDelta(t, kp/(kp+1500), got["1"]["share"], 1e-7)
	require.InDelta(t, (100-30)*kp/(kp+1500), got["4"]["panel"], 2e-4)
	require.Less(t, math.Abs(got["3a"]["slip_top"]-0.009672), 0.00006)
}

func example(law stud.Law) encasement.RowModel {
	m := rows(5, 8, 4, 250)
	m.Law = law
	m.WebEA, m.PanelEA = 232000*kip, 830592*kip
	m.WebBase, m.PanelBase = perInch(11600), perInch(103824)
	return m
}

func curveLaw(t require.TestingT, c stud.Curve, qu units.Force) stud.Law {
	l, ok := stud.NewCurveLaw(c, qu)
	require.True(t, ok)
	return l
}

func TestShareNonlinearExample(t *testing.T) {
	t.Parallel()
	laws := map[string]stud.Law{
		"osf": curveLaw(t, stud.OllgaardSlutterFisher, 28.7*kip), "fhwa": curveLaw(t, stud.FHWAFit, 28.7*kip),
		"linear1000": stud.LinearLaw{K: perInch(1000)}, "linear2000": stud.LinearLaw{K: perInch(2000)},
	}
	y := published.Open(t, "share_nonlinear.csv")
	for _, r := range y.Rows {
		m := example(laws[r.Text("law")])
		if r.Text("web_lost") == "1" {
			m.WebBase = 0
		}
		s, err := m.Solve()
		require.NoError(t, err)
		require.InDelta(t, 0, s.Closure, 1e-6)
		y.Within(r, "share", s.Fraction, 0.000051)
		y.Within(r, "peak", float64(s.Peak/kip), 0.00051)
		y.Within(r, "slip_top", float64(s.SlipTop/in), 0.0000051)
		y.Within(r, "slip_bottom", float64(s.SlipFoot/in), 0.0000051)
		for i, key := range []string{"row1", "row2", "row3", "row4", "row5"} {
			y.Within(r, key, float64(s.Rows[i]/kip), 0.0051)
		}
	}
	y.Done(54)

	// A gap of 1/16 in. switches the panel off at this load.
	m := example(laws["osf"])
	m.Gap = in / 16
	s, err := m.Solve()
	require.NoError(t, err)
	require.InDelta(t, 0, s.Fraction, 1e-6)
}

func TestShareCapAndStage(t *testing.T) {
	t.Parallel()
	m := stiffRows()
	m.WebCap = 15 * kip
	s, err := m.Solve()
	require.NoError(t, err)
	require.InDelta(t, 15, float64(s.Web/kip), 0.01)
	require.InDelta(t, 85, float64(s.Panel/kip), 0.01)

	_, err = m.SolveStaged(15 * kip)
	require.ErrorIs(t, err, encasement.ErrWebHeldTooMuch)
	st, err := m.SolveStaged(10 * kip)
	require.NoError(t, err)
	require.InDelta(t, 15, float64(st.WebTotal/kip), 0.01)

	load, err := example(curveLaw(t, stud.FHWAFit, 28.7*kip)).LoadAtSlip(2, 28.7*kip)
	require.NoError(t, err)
	at := example(curveLaw(t, stud.FHWAFit, 28.7*kip))
	at.WebBase, at.Rows[0].Load = 0, load
	s, err = at.Solve()
	require.NoError(t, err)
	require.InDelta(t, 2, float64(s.SlipTop), 1e-3)
}

func TestShareRefusesBadInput(t *testing.T) {
	t.Parallel()
	bad := map[string]func(*encasement.RowModel){
		"no rows":        func(m *encasement.RowModel) { m.Rows = nil },
		"pitches":        func(m *encasement.RowModel) { m.Pitch = m.Pitch[1:] },
		"no law":         func(m *encasement.RowModel) { m.Law = nil },
		"zero pitch":     func(m *encasement.RowModel) { m.Pitch[1] = 0 },
		"negative studs": func(m *encasement.RowModel) { m.Rows[1].Studs = -1 },
		"nan load":       func(m *encasement.RowModel) { m.Rows[1].Load = units.Force(math.NaN()) },
		"no web":         func(m *encasement.RowModel) { m.WebEA = 0 },
		"nan base":       func(m *encasement.RowModel) { m.WebBase = units.Stiffness(math.NaN()) },
		"negative gap":   func(m *encasement.RowModel) { m.Gap = -1 },
	}
	for name, spoil := range bad {
		m := stiffRows()
		spoil(&m)
		_, err := m.Solve()
		require.ErrorIs(t, err, encasement.ErrShareInput, name)
	}
	_, ok := stud.NewCurveLaw(stud.Bilinear, 1)
	require.False(t, ok)
}

// What goes in comes out, the panel never takes more than the load or less than
// nothing, and a stiffer seat under the panel never gives it less.
func TestShareProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := rows(rapid.IntRange(1, 12).Draw(t, "rows"), rapid.IntRange(1, 10).Draw(t, "studs"),
			rapid.Float64Range(2, 8).Draw(t, "pitch"), rapid.Float64Range(1, 300).Draw(t, "load"))
		k := rapid.Float64Range(100, 4000).Draw(t, "k")
		m.WebEA = units.Force(rapid.Float64Range(1e4, 1e6).Draw(t, "web")) * kip
		m.PanelEA = units.Force(rapid.Float64Range(1e4, 1e6).Draw(t, "panel")) * kip
		m.WebBase = perInch(rapid.Float64Range(0, 1e5).Draw(t, "web base"))
		m.PanelBase = perInch(rapid.Float64Range(1e3, 1e6).Draw(t, "panel base"))
		m.Law = stud.LinearLaw{K: perInch(k)}
		s, err := m.Solve()
		require.NoError(t, err)
		require.InDelta(t, 0, s.Closure, 1e-6)
		require.True(t, s.Fraction >= -1e-7 && s.Fraction <= 1+1e-7, "fraction %g", s.Fraction)
		seat := m
		seat.PanelBase *= 2
		stiffer, err := seat.Solve()
		require.NoError(t, err)
		require.GreaterOrEqual(t, stiffer.Fraction, s.Fraction-1e-7)

		// Where a single row is strong enough for the whole load there must
		// always be a balance, and no stud carries more than its strength.
		qu := 1.1 * s.Load / units.Force(m.Rows[0].Studs)
		m.Law = curveLaw(t, stud.FHWAFit, qu)
		c, err := m.Solve()
		require.NoError(t, err)
		require.InDelta(t, 0, c.Closure, 1e-6)
		require.LessOrEqual(t, c.Peak, qu)
	})
}

func BenchmarkRowModel(b *testing.B) {
	m := example(curveLaw(b, stud.FHWAFit, 28.7*kip))
	b.ReportAllocs()
	for b.Loop() {
		_, _ = m.Solve()
	}
}
