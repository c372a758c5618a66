package casting

import (
	"math"
	"strconv"
)

// Chart draws strength over age: what was broken, what waits, and the limits.
type Chart struct {
	Title, Unit string
	Points      []Point
	Means       []Mean
	Waiting     []Tick
	Limits      []LimitLine
	AgeTicks    []Tick
	ValueTicks  []Tick
}

// Point is one broken specimen. Held ones are drawn hollow, field-cured ones as
// squares.
type Point struct {
	X, Y        float64
	Held, Field bool
}

// Mean is the mean of a set that counts.
type Mean struct {
	X, Y float64
	Text string
}

// Tick is a place on an axis.
type Tick struct {
	At   float64
	Text string
}

// LimitLine is a limit across the drawing, from an age on.
type LimitLine struct {
	From, Y float64
	Text    string
}

// The frame of the drawing in its own units.
const (
	ChartLeft, ChartRight = 52.0, 596.0
	ChartTop, ChartBottom = 16.0, 268.0
)

// AgeAt is where an age in days stands when the axis ends at most days. The axis
// is by the square root of the age: the first days, which decide, get the room.
func AgeAt(days, most float64) float64 {
	return ChartLeft + (ChartRight-ChartLeft)*math.Sqrt(math.Max(days, 0)/most)
}

// ValueAt is where a strength stands when the axis ends at most.
func ValueAt(value, most float64) float64 {
	return ChartBottom - (ChartBottom-ChartTop)*math.Min(math.Max(value/most, 0), 1)
}

func at(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

func square(p Point) string {
	return "M" + at(p.X-4) + " " + at(p.Y-4) + "h8v8h-8z"
}

func diamond(x float64) string {
	return "M" + at(x) + " " + at(ChartBottom-5) + "l5 5-5 5-5-5z"
}

// besideMean is where the figure of a mean stands: to its right, or to its left
// where the frame ends.
func besideMean(m Mean) float64 {
	if m.X > ChartRight-60 {
		return m.X - 16
	}
	return m.X + 16
}

func anchorOf(m Mean) string {
	if m.X > ChartRight-60 {
		return "end"
	}
	return "start"
}
