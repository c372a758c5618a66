package family

import (
	"math"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/units"
)

// shareForms gives families the panel size of another where the UHPC that adds
// costs less than the form it saves, the most saving first. The studs stay.
func shareForms(all []*cluster, cost Cost) {
	for {
		var best *cluster
		var design encasement.Design
		saves := 1e-9
		for _, a := range all {
			if count(all, FormOf(a.layout)) > 1 {
				continue // its size stays in use
			}
			tried := map[Form]bool{FormOf(a.layout): true}
			for _, b := range all {
				f := FormOf(b.layout)
				if tried[f] {
					continue
				}
				tried[f] = true
				extra := float64(len(a.cells)) * (float64(f.Width*f.Height)*float64(f.Left+f.Right) - a.volume) * cost.UHPC
				if s := cost.Form - extra; s > saves {
					if d, ok := a.inForm(f); ok {
						best, design, saves = a, d, s
					}
				}
			}
		}
		if best == nil {
			return
		}
		best.take(design, cost)
	}
}

func count(all []*cluster, f Form) (n int) {
	for _, c := range all {
		if FormOf(c.layout) == f {
			n++
		}
	}
	return n
}

// inForm is the layout in a panel of another size, put along the girder where it
// passes at every end, the place nearest to the present one first.
func (c *cluster) inForm(f Form) (encasement.Design, bool) {
	d := c.layout
	if d.Panel.Z != 0 {
		return d, false
	}
	from, to := math.Inf(1), 0.0
	for _, s := range d.Studs {
		from, to = min(from, float64(s.X)), max(to, float64(s.X))
	}
	was := d.Panel.X
	d.Panel.Width, d.Panel.Height, d.Panel.ThicknessLeft, d.Panel.ThicknessRight = f.Width, f.Height, f.Left, f.Right
	const step = float64(units.Inch) / 2
	for k := 0; k <= int(float64(f.Width)/step); k++ {
		for _, x := range [...]float64{float64(was) - float64(k)*step, float64(was) + float64(k)*step} {
			if x < 0 || x > from || x+float64(f.Width) < to {
				continue
			}
			if d.Panel.X = units.Length(x); c.passes(d) {
				return d, true
			}
		}
	}
	return d, false
}
