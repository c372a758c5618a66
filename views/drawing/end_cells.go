package drawing

import (
	"math"
	"slices"

	"endcast/internal/domain/survey"
)

// cell is the part of the web that one reading speaks for, in mm.
type cell struct {
	x, z           float64 // of the reading
	x1, z1, x2, z2 float64
	t              float64 // remaining thickness
	blind          bool    // could not be read
}

// samePlace is how far apart two readings may be, in mm, and still be of one
// place or one row: a probe is half an inch across.
const samePlace = 10.0

// cells divides the web among the readings. Readings that stand in rows part
// half-way between the rows, and within a row half-way between its readings: on a
// regular grid these are the cells of the grid, and rows of differing pitch give
// courses like those of a wall. A gap much wider than the usual pitch stays blank:
// nobody read there. Readings that stand in no rows are gathered in squares, each
// with the least reading in it. Where several readings fall on one place the least
// counts.
func cells(readings []survey.Reading, v View, web box) []cell {
	var pts []cell
	for _, r := range readings {
		x, z, t := float64(r.X), float64(r.Z), float64(r.T)
		if !finite(x, z) || x < web.X-1 || x > web.right()+1 || z < web.Y-1 || z > web.bottom()+1 {
			continue
		}
		if v == LeftFace && r.Face == survey.Right || v == RightFace && r.Face == survey.Left {
			continue
		}
		pts = append(pts, cell{x: x, z: z, t: t, blind: r.NoAccess || !finite(t) || t < 0})
	}
	rows := inRows(pts)
	if count := float64(len(pts)); float64(len(rows)*columns(pts)) > 3*count && float64(len(rows)) > 1.6*math.Sqrt(count)+1 {
		return inSquares(pts, web)
	}
	heights := bounds(rows, func(r []cell) float64 {
		sum := 0.0
		for _, c := range r {
			sum += c.z
		}
		return sum / float64(len(r))
	}, web.Y, web.bottom())
	var out []cell
	for i, row := range rows {
		cols := merge(row)
		widths := bounds(cols, func(c cell) float64 { return c.x }, web.X, web.right())
		for j, c := range cols {
			c.z1, c.z2 = heights[i][0], heights[i][1]
			c.x1, c.x2 = widths[j][0], widths[j][1]
			out = append(out, c)
		}
	}
	return out
}

// inSquares gathers scattered readings in squares of such a size that each would
// hold one if they were spread evenly, and not less than 2 in.
func inSquares(pts []cell, web box) []cell {
	lo, hi := point{math.Inf(1), math.Inf(1)}, point{math.Inf(-1), math.Inf(-1)}
	for _, c := range pts {
		lo, hi = point{min(lo.X, c.x), min(lo.Y, c.z)}, point{max(hi.X, c.x), max(hi.Y, c.z)}
	}
	pitch := max(50.8, math.Sqrt((hi.X-lo.X)*(hi.Y-lo.Y)/float64(len(pts))))
	type square struct{ i, j int }
	at := map[square]int{}
	var out []cell
	for _, c := range pts {
		q := square{int(c.x / pitch), int(c.z / pitch)}
		c.x1, c.x2 = max(web.X, float64(q.i)*pitch), min(web.right(), float64(q.i+1)*pitch)
		c.z1, c.z2 = max(web.Y, float64(q.j)*pitch), min(web.bottom(), float64(q.j+1)*pitch)
		k, ok := at[q]
		switch {
		case !ok:
			at[q] = len(out)
			out = append(out, c)
		case out[k].blind || !c.blind && c.t < out[k].t:
			out[k] = c
		}
	}
	return out
}

// inRows sorts readings into rows from the bottom up.
func inRows(pts []cell) [][]cell {
	slices.SortStableFunc(pts, func(a, b cell) int {
		switch {
		case a.z < b.z:
			return -1
		case a.z > b.z:
			return 1
		}
		return 0
	})
	var rows [][]cell
	for i, c := range pts {
		if i > 0 && c.z-rows[len(rows)-1][0].z <= samePlace {
			rows[len(rows)-1] = append(rows[len(rows)-1], c)
			continue
		}
		rows = append(rows, []cell{c})
	}
	return rows
}

// columns counts the different x of readings.
func columns(pts []cell) int {
	xs := make([]float64, len(pts))
	for i, c := range pts {
		xs[i] = c.x
	}
	slices.Sort(xs)
	count, last := 0, math.Inf(-1)
	for _, x := range xs {
		if x-last > samePlace {
			count++
			last = x
		}
	}
	return count
}

// merge sorts a row by x and joins readings of one place, keeping the least.
func merge(row []cell) []cell {
	slices.SortStableFunc(row, func(a, b cell) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	var out []cell
	for _, c := range row {
		if k := len(out) - 1; k >= 0 && c.x-out[k].x <= samePlace {
			if out[k].blind || !c.blind && c.t < out[k].t {
				c.x, c.z = out[k].x, out[k].z
				out[k] = c
			}
			continue
		}
		out = append(out, c)
	}
	return out
}

// farthest is how far a reading speaks to either side at the most, in mm, where
// its neighbors are further than the usual pitch: 3 in, since grids are read at 2
// to 3 in low down and coarser above. Common practice, no source.
const farthest = 76.2

// bounds gives each of some sorted places its stretch between lo and hi: half-way
// to its neighbors, and no further than the usual pitch or the farthest a reading
// speaks. Outer stretches reach as far outward as inward.
func bounds[T any](list []T, place func(T) float64, lo, hi float64) [][2]float64 {
	out := make([][2]float64, len(list))
	if len(list) == 0 {
		return out
	}
	var pitches []float64
	for i := 1; i < len(list); i++ {
		pitches = append(pitches, place(list[i])-place(list[i-1]))
	}
	slices.Sort(pitches)
	usual := 50.0 // a lone reading speaks for 2 in round it
	if len(pitches) > 0 {
		usual = pitches[len(pitches)/2]
	}
	most := max(usual, farthest)
	for i, v := range list {
		p := place(v)
		back, ahead := usual/2, usual/2
		if i > 0 {
			back = min((p-place(list[i-1]))/2, most)
		}
		if i < len(list)-1 {
			ahead = min((place(list[i+1])-p)/2, most)
		}
		if i == 0 && len(list) > 1 {
			back = ahead
		}
		if i == len(list)-1 && len(list) > 1 {
			ahead = back
		}
		out[i] = [2]float64{max(lo, p-back), min(hi, p+ahead)}
	}
	return out
}

// band is the loss band of a remaining thickness, 0 for sound to 4 for the worst.
func band(t, asNew float64, limits [4]float64) int {
	if limits == [4]float64{} {
		limits = DefaultBands
	}
	if !(asNew > 0) {
		return 0
	}
	share := t / asNew
	for i, l := range limits {
		if share >= l-1e-9 {
			return i
		}
	}
	return len(limits)
}
