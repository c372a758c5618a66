package family

import (
	"fmt"
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// Unlike is what keeps two ends from sharing a layout before any is tried, one
// line for each difference; empty for ends that are alike.
func Unlike(b basis.Basis, x, y Item) []string {
	var out []string
	limits := likeness(b)
	if x.Materials != y.Materials {
		out = append(out, "they count on different studs or UHPC")
	}
	g, h := x.Geometry, y.Geometry
	if (g.Stiffener == nil) != (h.Stiffener == nil) {
		out = append(out, "only one has bearing stiffeners")
	} else if g.Stiffener != nil && g.Stiffener.Pairs != h.Stiffener.Pairs {
		out = append(out, fmt.Sprintf("%d and %d pairs of bearing stiffeners", g.Stiffener.Pairs, h.Stiffener.Pairs))
	}
	if (g.DiaphragmX > 0) != (h.DiaphragmX > 0) {
		out = append(out, "only one has an end diaphragm")
	}
	u, v := traits(g), traits(h)
	for i, t := range traitNames {
		if t.present && (u[i] == 0 || v[i] == 0) {
			continue // said above
		}
		if d := math.Abs(u[i] - v[i]); d > limits[t.limit]*(1+1e-9) {
			if t.limit == bySkew {
				out = append(out, fmt.Sprintf("%s differs by %.1f degrees, at most %.1f", t.name, d, limits[t.limit]))
				continue
			}
			out = append(out, fmt.Sprintf("%s differs by %s, at most %s", t.name, both(d), both(limits[t.limit])))
		}
	}
	return out
}

// alike is Unlike without the words.
func alike(limits [4]float64, x, y *cell) bool {
	g, h := &x.item.Geometry, &y.item.Geometry
	if x.item.Materials != y.item.Materials || (g.Stiffener == nil) != (h.Stiffener == nil) || (g.DiaphragmX > 0) != (h.DiaphragmX > 0) {
		return false
	}
	if g.Stiffener != nil && g.Stiffener.Pairs != h.Stiffener.Pairs {
		return false
	}
	u, v := traits(*g), traits(*h)
	for i, t := range traitNames {
		if math.Abs(u[i]-v[i]) > limits[t.limit]*(1+1e-9) {
			return false
		}
	}
	return true
}

const (
	byDimension = iota
	byThickness
	byPlace
	bySkew
)

func likeness(b basis.Basis) [4]float64 {
	return [4]float64{b.Value(basis.FamilyDimension), b.Value(basis.FamilyThickness), b.Value(basis.FamilyPlace), b.Value(basis.FamilySkew)}
}

var traitNames = [...]struct {
	name    string
	limit   int
	present bool // zero says that there is none
}{
	{"depth between the flanges", byDimension, false}, {"bottom flange width", byDimension, false}, {"bearing length", byDimension, false}, {"bearing width", byDimension, false},
	{"web thickness as new", byThickness, false}, {"flange thickness as new", byThickness, false},
	{"start of the bearing", byPlace, false}, {"place of the stiffeners", byPlace, true}, {"place of the diaphragm", byPlace, true},
	{"skew", bySkew, false},
}

func traits(g girder.Geometry) [len(traitNames)]float64 {
	stiffener := units.Length(0)
	if g.Stiffener != nil {
		stiffener = g.Stiffener.X
	}
	return [...]float64{float64(g.Section.ClearDepth()), float64(g.Section.FlangeWidth), float64(g.Bearing.Length), float64(g.Bearing.Width),
		float64(g.Section.WebThickness), float64(g.Section.FlangeThickness), float64(g.Bearing.Start), float64(stiffener), float64(g.DiaphragmX), float64(g.SkewDeg)}
}

func both(mm float64) string {
	l := units.Length(mm)
	return fmt.Sprintf("%.4g in. (%.4g mm)", float64(l/units.Inch), mm)
}

// components parts the ends into sets that have no likeness with each other.
func components(b basis.Basis, cells []*cell) []*set {
	limits := likeness(b)
	n := len(cells)
	like := make([][]bool, n)
	for i := range like {
		like[i] = make([]bool, n)
	}
	for i := range cells {
		for j := i + 1; j < n; j++ {
			like[i][j] = alike(limits, cells[i], cells[j])
			like[j][i] = like[i][j]
		}
	}
	var out []*set
	seen := make([]bool, n)
	for i := range cells {
		if seen[i] {
			continue
		}
		s := &set{}
		index := []int{i}
		seen[i] = true
		for k := 0; k < len(index); k++ {
			for j := range cells {
				if like[index[k]][j] && !seen[j] {
					seen[j] = true
					index = append(index, j)
				}
			}
		}
		for _, k := range index {
			s.cells = append(s.cells, cells[k])
			row := make([]bool, len(index))
			for m, j := range index {
				row[m] = like[k][j]
			}
			s.like = append(s.like, row)
		}
		out = append(out, s)
	}
	return out
}
