package family

import (
	"fmt"
	"math"
	"math/bits"
	"math/rand"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

const (
	in  = units.Inch
	kip = units.Kip
)

// end is an invented girder end on a 9 in. bearing.
func end(i int) girder.Geometry {
	return girder.Geometry{
		Name: girder.Name{Span: 1 + i/8, Side: girder.Far, Girder: 1 + i%8},
		Section: girder.Section{Name: "W33x130", Kind: girder.Rolled, Depth: 33.1 * in, TopFlangeWidth: 11.5 * in, TopFlangeThickness: 0.855 * in,
			FlangeWidth: 11.5 * in, FlangeThickness: 0.855 * in, WebThickness: 0.58 * in, FilletK: 1.56 * in},
		Bearing: girder.Bearing{Kind: girder.Rocker, Start: 3 * in, Length: 9 * in, Width: 11 * in},
		Fy:      33 * units.Ksi, Fu: 60 * units.Ksi,
	}
}

// rusted is a survey at 2.5 in. with loss that is deepest at the flange.
func rusted(loss float64) *survey.Survey {
	s := &survey.Survey{}
	high, long := 2+13*math.Pow(loss, 1.2), 5+22*loss
	for _, f := range []survey.Face{survey.Left, survey.Right} {
		for z := 0.5; z < 31; z += 2.5 {
			for x := 0.5; x < 30; x += 2.5 {
				k := loss * math.Exp(-math.Pow(z/high, 2)) * math.Exp(-math.Pow((x-7)/long, 2))
				s.Readings = append(s.Readings, survey.Reading{Face: f, X: units.Length(x) * in, Z: units.Length(z) * in, T: units.Length(0.58*(1-k)) * in})
			}
		}
	}
	t := units.Length(0.855*(1-0.5*loss)) * in
	s.FlangeThickness = &t
	return s
}

// bridge is n ends as different as the ends of one bridge are.
func bridge(r *rand.Rand, n int) []Item {
	out := make([]Item, n)
	for i := range out {
		g := end(i)
		switch r.Intn(5) {
		case 0:
			g.Stiffener = &girder.Stiffener{Pairs: 1, Thickness: 0.625 * in, Width: 5 * in, Clip: in, X: 7.5 * in, Fy: 33 * units.Ksi}
		case 1:
			g.Bearing.Start = 3.25 * in
		case 2:
			g.DiaphragmX = 18 * in
		}
		s := rusted(0.85 * r.Float64())
		if r.Intn(6) == 0 {
			s.Holes = []survey.Hole{{X: 4 * in, Z: 0, Width: 6 * in, Height: 3 * in, Rim: 0.15 * in}}
		}
		st := encasement.Remaining(survey.NewMap(g, s, survey.OptionsFrom(basis.Basis{})), g, s)
		out[i] = Item{Key: g.Name.String(), Geometry: g, Steel: st, Demand: units.Force(80+160*r.Float64()) * kip,
			Materials: encasement.Materials{StudDiameter: 0.75 * in, StudHeight: 4 * in, StudFu: 65 * units.Ksi, Fc: 18 * units.Ksi}}
	}
	return out
}

// optimum is the price of the cheapest way to part the ends, by trying them all.
// Any layout that was made for some of the ends may serve any family where it
// passes. Form sizes are not shared between families.
func optimum(s *set, cost Cost) float64 {
	n := len(s.cells)
	var known []encasement.Design
	for m := 1; m < 1<<n; m++ {
		var sites []*encasement.Site
		var own *encasement.Design
		for i := range n {
			if m>>i&1 == 1 {
				sites, own = append(sites, s.cells[i].site), &s.cells[i].own
			}
		}
		if len(sites) == 1 {
			known = append(known, *own)
		} else if d, ok := encasement.ProposeShared(sites, encasement.MaxStuds); ok {
			known = append(known, d)
		}
	}
	price := make([]float64, 1<<n)
	for m := range price {
		price[m] = math.Inf(1)
	}
	for _, d := range known {
		serves := 0
		for i := range n {
			if s.cells[i].site.Passes(d) {
				serves |= 1 << i
			}
		}
		for m := serves; m > 0; m = (m - 1) & serves {
			c := &cluster{}
			for i := range n {
				if m>>i&1 == 1 {
					c.index = append(c.index, i)
				}
			}
			if s.allAlike(c) {
				price[m] = min(price[m], float64(bits.OnesCount(uint(m)))*priceAt(d, cost)+cost.Design+cost.Form)
			}
		}
	}
	best := make([]float64, 1<<n)
	for m := 1; m < 1<<n; m++ {
		best[m] = math.Inf(1)
		low := m & -m
		for sub := m; sub > 0; sub = (sub - 1) & m {
			if sub&low != 0 {
				best[m] = min(best[m], price[sub]+best[m&^sub])
			}
		}
	}
	return best[1<<n-1]
}

func (s *set) allAlike(c *cluster) bool {
	for _, i := range c.index {
		for _, j := range c.index {
			if i != j && !s.like[i][j] {
				return false
			}
		}
	}
	return true
}

func total(all []*cluster, cost Cost) (v float64) {
	for _, c := range all {
		v += c.price + cost.Design + cost.Form
	}
	return v
}

// Against every way to part up to six ends, on random bridges and prices: within
// three percent in each, and at the optimum in nearly all.
func TestNearTheOptimum(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewSource(11))
	var worst, sum float64
	n, same := 0, 0
	for range 25 {
		cells, _ := prepare(basis.Basis{}, bridge(r, 6))
		cost := CostFrom(basis.Basis{})
		switch r.Intn(3) {
		case 0:
			cost.Design, cost.Form = 5, 3
		case 1:
			cost.Design, cost.Form = 15, 8
		}
		for _, s := range components(basis.Basis{}, cells) {
			if len(s.cells) < 2 {
				continue
			}
			best, got := optimum(s, cost), total(s.group(cost), cost)
			over := got/best - 1
			require.GreaterOrEqual(t, over, -1e-9)
			worst, sum, n = math.Max(worst, over), sum+over, n+1
			if over < 1e-9 {
				same++
			}
		}
	}
	require.Less(t, worst, 0.03, "the doc comment of Group promises this much")
	t.Logf("%d cases of 2 to 6 ends: %d at the optimum, worst %.2f %% over it, mean %.3f %%", n, same, 100*worst, 100*sum/float64(n))
}

func BenchmarkBridge58(b *testing.B) {
	items := bridge(rand.New(rand.NewSource(3)), 58)
	for _, threads := range []int{1, 2} {
		b.Run(fmt.Sprintf("threads=%d", threads), func(b *testing.B) {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(threads))
			b.ReportAllocs()
			for b.Loop() {
				p := Group(basis.Basis{}, items, CostFrom(basis.Basis{}))
				b.ReportMetric(float64(len(p.Families)), "families")
			}
		})
	}
}
