package tablet

import (
	"fmt"
	"math"
	"strconv"
)

// ShiftPoint is one shift of the chart of rejects: its rate and the rates between
// which chance alone would leave it, as parts of one.
type ShiftPoint struct {
	Label       string // the day, 2006-01-02
	Rate        float64
	Least, Most float64
	Signal      int8 // -1 fewer than chance, 1 more
	Says        string
}

// ShiftChart is the reject rate of the shifts in the order of time.
type ShiftChart struct {
	Points []ShiftPoint
	Common float64 // of all shifts together
	Says   string  // the chart in words
	Left   int     // earlier shifts that are not drawn
}

// The sheet of the chart, in its own units.
const (
	chartW, chartH           = 720.0, 260.0
	chartLeft, chartRight    = 52.0, 12.0
	chartTop, chartBottom    = 14.0, 40.0
	chartMarkSize, chartHalf = 5.5, 9.0
)

// top is the rate at the upper edge: the greatest that is drawn, up to whole steps.
func (c ShiftChart) top() float64 {
	most := c.Common
	for _, p := range c.Points {
		most = max(most, p.Rate, p.Most)
	}
	step := c.step(most)
	return min(1, math.Ceil(most/step)*step)
}

func (c ShiftChart) step(most float64) float64 {
	for _, s := range []float64{0.01, 0.02, 0.05, 0.1, 0.2} {
		if most/s <= 6 {
			return s
		}
	}
	return 0.25
}

func (c ShiftChart) x(i int) float64 {
	return chartLeft + (chartW-chartLeft-chartRight)*(float64(i)+0.5)/float64(len(c.Points))
}

func (c ShiftChart) y(rate float64) float64 {
	return chartTop + (chartH-chartTop-chartBottom)*(1-rate/max(c.top(), 1e-9))
}

func at(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

func (c ShiftChart) ticks() []float64 {
	var out []float64
	step := c.step(c.top())
	for k := 0; float64(k)*step <= c.top()*(1+1e-9); k++ {
		out = append(out, float64(k)*step)
	}
	return out
}

// labelled says whether a shift has room for its name.
func (c ShiftChart) labelled(i int) bool {
	every := int(math.Ceil(float64(len(c.Points)) / 10))
	return i%every == 0
}

// limits is the span of chance at a shift: a bar with its two ends.
func (c ShiftChart) limits(i int) string {
	p := c.Points[i]
	x, lo, hi := c.x(i), c.y(p.Least), c.y(p.Most)
	return fmt.Sprintf("M%s %sV%sM%s %sh%sM%s %sh%s", at(x), at(lo), at(hi), at(x-chartHalf), at(lo), at(2*chartHalf), at(x-chartHalf), at(hi), at(2*chartHalf))
}

// mark is the shape of a shift: a circle within chance, a square above, a triangle
// below, so that none is told by color alone.
func (c ShiftChart) mark(i int) string {
	p := c.Points[i]
	x, y, s := c.x(i), c.y(p.Rate), chartMarkSize
	switch {
	case p.Signal > 0:
		return fmt.Sprintf("M%s %sh%sv%sh%sz", at(x-s), at(y-s), at(2*s), at(2*s), at(-2*s))
	case p.Signal < 0:
		return fmt.Sprintf("M%s %sl%s %sh%sz", at(x), at(y-s), at(s), at(2*s), at(-2*s))
	}
	return fmt.Sprintf("M%s %sa%s %s 0 1 0 %s 0a%s %s 0 1 0 %s 0z", at(x-s), at(y), at(s), at(s), at(2*s), at(s), at(s), at(-2*s))
}
