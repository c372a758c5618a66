package drawing

import (
	"math"
	"slices"

	"endcast/internal/domain/units"
)

// TodayData is what an end carries while its panel hardens: expected, with its band,
// beside what is proven and what is asked. Forces in N, times in days after the
// casting.
type TodayData struct {
	ID       string
	System   units.System
	Measured []Point  // by readings of temperature
	Ahead    []Point  // by a temperature assumed ahead
	Band     []Spread // about both
	Proven   []Point  // steps: what breaks have proven counts from their day on
	Demand   float64
	Hours    []Rule // now, and when limits are expected
}

func (d TodayData) line() LineData {
	l := LineData{ID: d.ID, Title: "Capacity while the panel hardens", XLabel: "days after the casting", YLabel: "capacity", Kind: units.Forces, System: d.System, Zero: true, Height: 320, Dates: d.Hours}
	l.Series = []Series{{Name: "proven", Points: d.Proven, Step: true}, {Name: "expected", Points: d.Ahead, Dashed: true, Band: d.Band},
		{Name: "", Points: d.Measured, Dashed: true}}
	if d.Demand > 0 {
		l.Levels = []Rule{{At: d.Demand, Text: "demand " + units.Forces.Format(d.Demand, d.System, -1)}}
	}
	return l
}

// CurveData is a strength curve: the sets it was fitted to, the laws tried, and the
// one that is kept. Strengths in MPa, ages in days.
type CurveData struct {
	ID     string
	System units.System
	Sets   []Point
	Laws   []CurveLaw
	Levels []Rule
}

// CurveLaw is one law, from the first to the last age that it is used for.
type CurveLaw struct {
	Name   string
	Kept   bool
	Points []Point
	Band   []Spread
}

// line draws ages by their square root: the first days, which decide, get the room.
func (d CurveData) line() LineData {
	d.Laws = slices.Clone(d.Laws)
	l := LineData{ID: d.ID, Title: "Strength by age", XLabel: "age in days, by its square root", YLabel: "strength", Kind: units.Stresses, System: d.System, Ages: true, Zero: true, Height: 360, Levels: d.Levels}
	root := func(list []Point) []Point {
		out := make([]Point, len(list))
		for i, p := range list {
			out[i] = Point{math.Sqrt(max(p.X, 0)), p.Y}
		}
		return out
	}
	// The first line is drawn solid: the law that is kept.
	slices.SortStableFunc(d.Laws, func(a, b CurveLaw) int { return order(b.Kept) - order(a.Kept) })
	for _, x := range d.Laws {
		s := Series{Name: x.Name, Points: root(x.Points), Dashed: !x.Kept}
		for _, b := range x.Band {
			s.Band = append(s.Band, Spread{math.Sqrt(max(b.X, 0)), b.Lo, b.Hi})
		}
		l.Series = append(l.Series, s)
	}
	l.Series = append(l.Series, Series{Name: "sets", Points: parted(root(d.Sets)), Dots: true})
	return l
}

func order(first bool) int {
	if first {
		return 1
	}
	return 0
}

// parted puts a gap between points, so that no line joins them.
func parted(list []Point) []Point {
	var out []Point
	for _, p := range list {
		out = append(out, p, Point{math.NaN(), math.NaN()})
	}
	return out
}
