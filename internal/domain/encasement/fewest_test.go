package encasement_test

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// No regular group of fewer studs passes, whatever its place, gauge and pitch, in
// a panel as thick as may be: every one on a grid of an inch is tried.
func TestNoFewerStudsPass(t *testing.T) {
	t.Parallel()
	b, err := basis.Basis{}.With(basis.PanelGrid, 25.4)
	require.NoError(t, err)
	b, err = b.With(basis.PanelMetalSpare, 0)
	require.NoError(t, err)
	tried := 0
	// A fixed few of the 250 random ends that it once held for: trying all takes long.
	r := rand.New(rand.NewSource(17))
	for range 60 {
		g := end()
		if r.Intn(2) == 0 {
			g.Stiffener = &girder.Stiffener{Pairs: 1, Thickness: 0.625 * in, Width: 5 * in, Clip: in, X: 7.5 * in, Fy: 33 * units.Ksi}
		}
		if r.Intn(2) == 0 {
			g.DiaphragmX = units.Length(12+r.Intn(9)) * in
		}
		s := rusted(0.8 * r.Float64())
		if r.Intn(2) == 0 {
			s.Holes = []survey.Hole{{X: units.Length(2+r.Intn(11)) * in, Z: 0, Width: 4 * in, Height: 4 * in, Rim: 0.15 * in}}
		}
		st := encasement.Remaining(survey.NewMap(g, s, survey.OptionsFrom(b)), g, s)
		demand := units.Force(60+140*r.Float64()) * kip
		d, err := encasement.Propose(b, g, st, demand, materials())
		if err != nil {
			continue
		}
		n, demands := len(d.Studs)/2-1, float64(demand/kip)
		for rows := 1; rows <= n/2; rows++ {
			for cols := 2; cols*rows <= n; cols++ {
				if float64(2*cols*rows)*22.54 < demands {
					continue
				}
				for gauge := 3.0; gauge <= 9; gauge++ {
					for x := 2.0; x+float64(cols-1)*gauge <= 24; x++ {
						// What a proposal may do at all: its middle stands over the bearing.
						if math.Abs(x+float64(cols-1)*gauge/2-7.5) > 4.5 {
							continue
						}
						for pitch := 3.0; pitch <= 9; pitch++ {
							for z := 2.0; z+float64(rows-1)*pitch <= 29; z++ {
								f := twoFaced(cols, rows, x, z, gauge, pitch)
								left, right := min(f.Panel.X, 3*in), max(f.Panel.X+f.Panel.Width, 12*in)
								f.Panel.X, f.Panel.Width = left, right-left
								f.Panel.ThicknessLeft, f.Panel.ThicknessRight = 12*in, 12*in
								tried++
								if encasement.Evaluate(nil, b, g, st, f, demand, nil).Passes() {
									t.Fatalf("%d studs proposed for %v kip, %d pass: %d x %d from %g, %g at %g x %g (proposed %+v)", len(d.Studs), demands, 2*cols*rows, cols, rows, x, z, gauge, pitch, d.Studs[:len(d.Studs)/2])
								}
							}
							if rows == 1 {
								break
							}
						}
					}
				}
			}
		}
	}
	require.Positive(t, tried)
	t.Logf("%d groups of fewer studs tried", tried)
}
