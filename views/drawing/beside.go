package drawing

import (
	"math"

	"endcast/internal/domain/units"
)

// BesideData is what strength sensors in the concrete said, over the forecast by
// maturity and broken specimens. X are days since the casting.
type BesideData struct {
	ID       string
	System   units.System
	Sensors  []Series // names and points
	Forecast []Point
	Band     []Spread
	Sets     []Point
	Levels   []Rule
}

func (d BesideData) line() LineData {
	l := LineData{ID: d.ID, Title: "Strength by sensor, forecast and specimens", XLabel: "age in days, by its square root", YLabel: "strength", Kind: units.Stresses, System: d.System,
		Ages: true, Zero: true, Height: 340, Levels: d.Levels}
	root := func(list []Point) []Point {
		out := make([]Point, len(list))
		for i, p := range list {
			out[i] = Point{math.Sqrt(max(p.X, 0)), p.Y}
		}
		return out
	}
	for _, s := range d.Sensors {
		l.Series = append(l.Series, Series{Name: s.Name, Points: root(s.Points)})
	}
	f := Series{Name: "forecast", Points: root(d.Forecast), Dashed: true}
	for _, b := range d.Band {
		f.Band = append(f.Band, Spread{math.Sqrt(max(b.X, 0)), b.Lo, b.Hi})
	}
	if len(f.Points) > 0 {
		l.Series = append(l.Series, f)
	}
	if len(d.Sets) > 0 {
		l.Series = append(l.Series, Series{Name: "broken sets", Points: parted(root(d.Sets)), Dots: true})
	}
	return l
}
