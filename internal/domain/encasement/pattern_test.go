package encasement_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

func TestPatternByHand(t *testing.T) {
	t.Parallel()
	p := encasement.Pattern{Rows: 2, Columns: 2, X: 4 * in, Z: 6 * in, PitchX: 3 * in, PitchZ: 5 * in, Left: true, Right: true}
	got, err := p.Studs()
	require.NoError(t, err)
	require.Len(t, got, 8)
	require.Equal(t, encasement.Stud{Mark: "L-2-2", Row: 2, Col: 2, X: 7 * in, Z: 11 * in, Face: survey.Left}, got[3])
	require.Equal(t, encasement.Stud{Mark: "R-1-1", Row: 1, Col: 1, X: 4 * in, Z: 6 * in, Face: survey.Right}, got[4])
	one, err := encasement.Pattern{Rows: 1, Columns: 1, Right: true}.Studs()
	require.NoError(t, err, "one stud needs no pitch and may stand at the origin")
	require.Len(t, one, 1)
}

func TestPatternRefuses(t *testing.T) {
	t.Parallel()
	good := encasement.Pattern{Rows: 3, Columns: 2, X: 1, Z: 1, PitchX: 1, PitchZ: 1, Left: true}
	for field, bend := range map[string]func(*encasement.Pattern){
		"rows":    func(p *encasement.Pattern) { p.Rows = 0 },
		"columns": func(p *encasement.Pattern) { p.Columns = encasement.MaxStuds + 1 },
		"x":       func(p *encasement.Pattern) { p.X = -1 },
		"z":       func(p *encasement.Pattern) { p.Z = -1 },
		"pitch_x": func(p *encasement.Pattern) { p.PitchX = 0 },
		"pitch_z": func(p *encasement.Pattern) { p.PitchZ = -2 },
		"faces":   func(p *encasement.Pattern) { p.Left = false },
	} {
		p := good
		bend(&p)
		_, err := p.Studs()
		var v *fault.Invalid
		require.ErrorAs(t, err, &v, field)
		require.NotNil(t, v.Of(field), "%s: %v", field, err)
	}
	p := good
	p.Rows, p.Columns, p.Right = 20, 20, true
	_, err := p.Studs()
	require.ErrorContains(t, err, "at most 400")
}

// The pattern that was laid out is read back from its studs.
func TestPatternIsReadBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.Float64Range(1, 500)
		p := encasement.Pattern{Rows: rapid.IntRange(1, 8).Draw(t, "rows"), Columns: rapid.IntRange(1, 8).Draw(t, "columns"),
			X: units.Length(length.Draw(t, "x")), Z: units.Length(length.Draw(t, "z")), Left: rapid.Bool().Draw(t, "left")}
		p.Right = !p.Left || rapid.Bool().Draw(t, "right")
		if p.Columns > 1 {
			p.PitchX = units.Length(length.Draw(t, "px"))
		}
		if p.Rows > 1 {
			p.PitchZ = units.Length(length.Draw(t, "pz"))
		}
		studs, err := p.Studs()
		require.NoError(t, err)
		marks := map[string]bool{}
		for _, s := range studs {
			require.False(t, marks[s.Mark], "marks are unique")
			marks[s.Mark] = true
		}
		got := encasement.PatternOf(studs)
		require.InDelta(t, float64(p.PitchX), float64(got.PitchX), 1e-9)
		require.InDelta(t, float64(p.PitchZ), float64(got.PitchZ), 1e-9)
		got.PitchX, got.PitchZ = p.PitchX, p.PitchZ
		require.Equal(t, p, got)
	})
	require.Zero(t, encasement.PatternOf(nil))
}

func TestCompareByHand(t *testing.T) {
	t.Parallel()
	was, is := good(), good()
	require.True(t, encasement.Compare(was, is).None())

	is.Panel.Width += in
	is.Fc = 20 * units.Ksi
	is.Studs[0].X += in / 2
	is.Studs[0].Z -= in
	is.Studs[1].Face = survey.Right
	is.Studs[2].Mark = "new"
	d := encasement.Compare(was, is)
	require.Len(t, d.Quantities, 2)
	require.Equal(t, "fc", d.Quantities[0].Key)
	require.InDelta(t, float64(18*units.Ksi), d.Quantities[0].Was, 1e-9)
	require.Equal(t, "panel_width", d.Quantities[1].Key)
	require.InDelta(t, 25.4, d.Quantities[1].Is-d.Quantities[1].Was, 1e-9)

	require.Len(t, d.Studs, 4)
	require.True(t, d.Studs[0].Moved())
	require.InDelta(t, 12.7, float64(d.Studs[0].Dx), 1e-9)
	require.InDelta(t, -25.4, float64(d.Studs[0].Dz), 1e-9)
	require.True(t, d.Studs[1].FaceChanged)
	require.True(t, d.Studs[2].Added())
	require.True(t, d.Studs[3].Removed())
	require.Equal(t, was.Studs[2].Mark, d.Studs[3].Mark)
}

// A change seen from the other side is the same change turned round.
func TestCompareIsSymmetric(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := good(), good()
		for i := range b.Studs {
			switch rapid.IntRange(0, 3).Draw(t, "kind") {
			case 0:
				b.Studs[i].X += units.Length(rapid.Float64Range(1, 50).Draw(t, "dx"))
			case 1:
				b.Studs[i].Mark += "b"
			}
		}
		there, back := encasement.Compare(a, b), encasement.Compare(b, a)
		require.Len(t, back.Studs, len(there.Studs))
		count := func(d encasement.Difference) (moved, added, removed int) {
			for _, c := range d.Studs {
				switch {
				case c.Moved():
					moved++
				case c.Added():
					added++
				case c.Removed():
					removed++
				}
			}
			return
		}
		m1, a1, r1 := count(there)
		m2, a2, r2 := count(back)
		require.Equal(t, []int{m1, a1, r1}, []int{m2, r2, a2})
	})
}
