package loads

import "math"

// AxleData is a train of axles for its drawing; lengths and forces in any units that
// agree among themselves.
type AxleData struct {
	ID, Name string
	Loads    []float64
	Gaps     []float64 // to the axle before; zero for the first
	Figures  []string  // the loads as printed
	GapTexts []string  // the gaps as printed; "" for the first
	Longest  float64   // wheelbase that fills the width: drawings on one page share it
	Heaviest float64   // axle load that fills the height
	Desc     string
	Lane     string // the lane load as printed; "" for none
}

// Axles draws a train of axles from the side, first axle on the left: an arrow a
// load, its length to scale, and the gaps to scale between them.
func Axles(d AxleData) Figure {
	const left, right, road, high = 26.0, 26.0, 92.0, 62.0
	f := Figure{ID: d.ID, Title: "Axles of " + d.Name, Desc: d.Desc, Width: 440, Height: 112}
	scale := (f.Width - left - right) / math.Max(d.Longest, 1)
	x := left
	var at []float64
	for i := range d.Loads {
		if i > 0 {
			x += d.Gaps[i] * scale
		}
		at = append(at, x)
	}
	end := f.Width - right
	if len(at) > 0 {
		end = at[len(at)-1]
	}
	if d.Lane != "" {
		f.rect("lane-load", left-18, road-5, f.Width-left-right+36, 5)
	}
	f.line("edge", left-18, road, math.Max(end+18, 60), road)
	f.level(d, at, road, high)
	y := road + 20
	last := -1.0
	for i := 1; i < len(at); i++ {
		f.line("dim", at[i-1], y, at[i], y)
		f.line("dim slash", at[i]-3, y+3, at[i]+3, y-3)
		if i == 1 {
			f.line("dim slash", at[0]-3, y+3, at[0]+3, y-3)
		}
		mid := (at[i-1] + at[i]) / 2
		room := 6.2 * float64(len([]rune(d.GapTexts[i])))
		if mid-room/2 > last {
			f.label("quiet", "middle", mid, y+14, d.GapTexts[i])
			last = mid + room/2 + 3
		}
	}
	f.Height = y + 20
	return f
}

// level draws the arrows with their figures; a figure that would touch the one
// before stands a line higher.
func (f *Figure) level(d AxleData, at []float64, road, high float64) {
	last, raised := math.Inf(-1), false
	for i, x := range at {
		top := road - math.Max(high*d.Loads[i]/math.Max(d.Heaviest, 1), 10)
		f.down("axle", x, top, road)
		f.circle("wheel", x, road+5, 4.5)
		room := 6.8 * float64(len([]rune(d.Figures[i])))
		y := top - 4
		if x-room/2 < last && !raised {
			y, raised = y-13, true
		} else {
			raised = false
		}
		f.label("lbl halo", "middle", x, y, d.Figures[i])
		last = math.Max(last, x+room/2)
	}
}
