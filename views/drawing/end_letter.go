package drawing

import (
	"math"
	"slices"
)

// Sizes of small lettering in pixels.
const (
	figureSize = 10.0
	capital    = 7.4 // height of a figure at that size
)

// letter finds places for the marks of studs and for the figures of cells, where
// they cover neither a stud nor a hole nor each other: a draftsman moves a figure
// into the free corner of its cell. A mark that finds no place is left out (it
// stays in the stud's title); a figure takes the least crowded place of its cell.
func (l *endLayout) letter() {
	var taken []box
	for _, s := range slices.Concat(l.studs, l.behind) {
		r := s.r + 1.5
		if s.status == Rejected {
			r = s.r*1.25 + 1
		}
		taken = append(taken, box{s.x - r, s.y - r, 2 * r, 2 * r})
	}
	taken = append(taken, l.gaps...)
	crowded := l.crowded()
	first, top := math.Inf(1), math.Inf(1)
	for _, s := range l.studs {
		first, top = min(first, l.flip*s.x), min(top, s.y)
	}
	// What became of a stud is lettered first and never left out.
	for _, list := range [][]drawnStud{l.studs, l.behind} {
		for i := range list {
			if s := &list[i]; s.mark.Text != "" && (s.single || s.moved) {
				b, _ := freest(s.spots(), taken)
				s.mark.X, s.mark.Y = b.X-s.x, b.bottom()-s.y
				taken = append(taken, b)
			}
		}
	}
	for i := range l.studs {
		s := &l.studs[i]
		if s.mark.Text == "" || s.single || s.moved {
			continue
		}
		if crowded && l.flip*s.x > first+1 && s.y > top+1 {
			s.mark.Text = "" // the first of its row and of its column tell it
			continue
		}
		b, crowd := freest(s.spots(), taken)
		if crowd > 0 {
			s.mark.Text = ""
			continue
		}
		s.mark.X, s.mark.Y = b.X-s.x, b.bottom()-s.y
		taken = append(taken, b)
	}
	for i := range l.cells {
		c := &l.cells[i]
		if c.text.Text == "" {
			continue
		}
		w := wide(c.text.Text, figureSize)
		b, _ := freest(inside(c.box, w), taken)
		c.text = label{X: b.X + w/2, Y: b.bottom(), Text: c.text.Text, Class: "thick", Anchor: "middle"}
		taken = append(taken, b)
	}
}

// spots are places for the mark of a stud, round it.
func (s drawnStud) spots() []box {
	w, ring := wide(s.mark.Text, figureSize), s.r+5
	return []box{
		{s.x + ring, s.y - ring - capital/2, w, capital},
		{s.x + ring, s.y + ring - capital, w, capital},
		{s.x - ring - w, s.y - ring - capital/2, w, capital},
		{s.x - ring - w, s.y + ring - capital, w, capital},
		{s.x - w/2, s.y + ring + 1, w, capital},
		{s.x - w/2, s.y - ring - 1 - capital, w, capital},
	}
}

// crowded reports whether cells are too small to hold a figure beside a stud and
// its mark.
func (l *endLayout) crowded() bool {
	small := 0
	for _, c := range l.cells {
		if c.text.Text != "" && (c.box.W < 36 || c.box.H < 24) {
			small++
		}
	}
	return 4*small > len(l.cells)
}

// inside lists places for a figure in a cell: the middle first, then the middles
// of its sides, then its corners.
func inside(c box, w float64) []box {
	const pad = 2.5
	mid := c.middle()
	x := []float64{mid.X - w/2, min(c.X+pad, mid.X-w/2), max(c.right()-pad-w, mid.X-w/2)}
	y := []float64{mid.Y - capital/2, min(c.Y+pad, mid.Y-capital/2), max(c.bottom()-pad-capital, mid.Y-capital/2)}
	out := make([]box, 0, 9)
	for _, at := range [][2]int{{0, 0}, {0, 1}, {0, 2}, {1, 0}, {2, 0}, {1, 1}, {2, 1}, {1, 2}, {2, 2}} {
		out = append(out, box{x[at[0]], y[at[1]], w, capital})
	}
	return out
}

// freest returns the first place that covers nothing, or the one that covers least.
func freest(spots, taken []box) (best box, crowd float64) {
	crowd = math.Inf(1)
	for _, s := range spots {
		sum := 0.0
		for _, t := range taken {
			sum += overlap(s, t)
		}
		if sum < crowd {
			best, crowd = s, sum
		}
		if sum == 0 {
			break
		}
	}
	return best, crowd
}

// overlap is the area that two boxes share.
func overlap(a, b box) float64 {
	w := min(a.right(), b.right()) - max(a.X, b.X)
	h := min(a.bottom(), b.bottom()) - max(a.Y, b.Y)
	if w <= 0 || h <= 0 {
		return 0
	}
	return w * h
}

// cross is a diagonal cross about the origin, upright one along the axes.
func cross(r float64) string {
	return new(pen).move(-r, -r).to(r, r).move(r, -r).to(-r, r).String()
}

func upright(r float64) string {
	return new(pen).move(-r, 0).to(r, 0).move(0, -r).to(0, r).String()
}

// diamond stands on its corner about the origin.
func diamond(r float64) string { return poly(point{0, -r}, point{r, 0}, point{0, r}, point{-r, 0}) }

// beads are four dots on a ring: an accepted stud on the face behind.
func beads(r float64) string {
	p, d := new(pen), r*math.Sqrt2/2
	for _, q := range []point{{d, d}, {-d, d}, {-d, -d}, {d, -d}} {
		p.circle(q.X, q.Y, 2)
	}
	return p.String()
}
