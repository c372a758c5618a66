package demand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

const (
	kip = units.Kip
	ft  = units.Foot
	in  = units.Inch
	klf = float64(units.Kip / units.Force(units.Foot)) // N/mm
	ksf = float64(units.Kip) / float64(units.Foot*units.Foot)
)

// plain is a span of five girders without skew, in range of every formula.
func plain() demand.Span {
	return demand.Span{Length: 80 * ft, Girders: 5, Spacing: 8 * ft, Deck: 8 * in, EdgeLeft: 2 * ft, EdgeRight: 2 * ft,
		OverhangLeft: 3.5 * ft, OverhangRight: 3.5 * ft, Stiffness: 500000 * units.Inertia(in*in*in*in)}
}

func end(g int, side girder.Side) demand.End { return demand.End{Girder: g, Side: side} }

func input() demand.Input {
	s := plain()
	return demand.Input{Span: s, End: demand.End{Girder: 2, Side: girder.Near, Beyond: 9 * in}, Trucks: demand.Builtin(), Parts: []demand.Part{
		demand.Slab(basis.Basis{}, 8.5*in),
		demand.Steel(basis.Basis{}, plate()),
		{Name: "Cross-frames", Bucket: demand.DC1, Kind: demand.Point, Value: float64(0.6 * kip), Where: demand.Tributary, At: 20 * ft, From: girder.Near},
		{Name: "End cross-frame", Bucket: demand.DC1, Kind: demand.Point, Value: float64(0.9 * kip), Where: demand.Tributary},
		{Name: "Barriers", Bucket: demand.DC2, Kind: demand.Line, Value: 0.9 * klf, Where: demand.Shared},
		{Name: "Wearing surface", Bucket: demand.DW, Kind: demand.Area, Value: 0.025 * ksf, Where: demand.Shared},
	}}
}

func plate() girder.Section {
	return girder.Section{Name: "plate girder", Kind: girder.BuiltUp, Depth: 50 * in, TopFlangeWidth: 14 * in, TopFlangeThickness: 0.75 * in,
		FlangeWidth: 16 * in, FlangeThickness: 1 * in, WebThickness: 0.4375 * in, FilletK: 1.25 * in}
}

func rating(l demand.Loads, s demand.Span) demand.RatingInput {
	return demand.RatingInput{Nominal: 260 * kip, Phi: 0.8, Loads: l, Trucks: demand.Builtin(), Span: s.Length, Condition: demand.Fair}
}

func TestOneEndFromPartsToRatings(t *testing.T) {
	t.Parallel()
	x := input()
	b := basis.Basis{}
	p := calc.NewPad()
	l, err := demand.Reactions(p, b, x)
	require.NoError(t, err)
	require.NoError(t, l.Validate())
	require.True(t, l.DC1.Known && l.DC2.Known && l.DW.Known)
	require.NotEmpty(t, p.Lines())
	silent, err := demand.Reactions(nil, b, x)
	require.NoError(t, err)
	require.Equal(t, l, silent, "the sheet changes no number")

	q := calc.NewPad()
	list := demand.Rate(q, b, rating(l, x.Span))
	for _, r := range list {
		require.True(t, r.Known, r.Vehicle)
		require.Empty(t, r.Missing)
		require.NotEmpty(t, r.Lines)
		last := r.Lines[len(r.Lines)-1]
		if last.Symbol == "RF" {
			require.InDelta(t, r.RF, last.Value, 0)
		}
	}
	again := demand.Rate(nil, b, rating(l, x.Span))
	require.Len(t, again, len(list))
	for i := range again {
		list[i].Lines = nil
		require.Equal(t, list[i], again[i])
	}
	for _, m := range []demand.Method{demand.LRFR, demand.LoadFactor} {
		u := demand.Factored(p, b, l, m, "")
		require.Empty(t, u.Missing)
		require.Greater(t, u.Force, l.DC1.Force)
		s := demand.Screen(b, m, list)
		require.NotEqual(t, demand.StageUnknown, s.Stage)
		t.Logf("%s: %.1f kip; %s", m, float64(u.Force/kip), s.Words)
	}
	for _, r := range list {
		t.Logf("%-11s %-10s %-11s RF %.3f %s", r.Method, r.Level, r.Vehicle, r.RF, r.Verdict)
	}
}
