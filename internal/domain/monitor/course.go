package monitor

import (
	"encoding/json"
	"fmt"
	"math"

	"endcast/internal/domain/basis"
)

const (
	week = 7 * day
	// monthDays is the mean length of a month.
	monthDays = 30.436875
)

// Point is a span of time in a course.
type Point struct {
	From        int64    `json:"from"`
	N           int      `json:"n"`
	Ratio       float64  `json:"ratio"`       // web over control, median
	Temperature *float64 `json:"temperature"` // median; nil without a thermometer
}

// Course is how web over control went after casting. Rising says that the panel
// takes less and less.
type Course struct {
	Weeks  []Point  `json:"weeks"`
	Months []Point  `json:"months"`
	Slope  Interval `json:"slope"` // part of the median in a month
	Limit  float64  `json:"limit"`
	Rising bool     `json:"rising"` // above the limit, and the interval lies above nothing
	Words  string   `json:"words"`
}

// points gathers the passages after casting in spans counted from casting.
func (j *judge) points(width int64) (out []Point) {
	groups := map[int64][]Seen{}
	last := int64(-1)
	for _, s := range []State{Days, Later} {
		for _, x := range j.seen[s] {
			if x.Ratio == x.Ratio {
				k := floorDiv(x.At-j.ev.Cast, width)
				groups[k], last = append(groups[k], x), max(last, k)
			}
		}
	}
	for k := int64(0); k <= last && len(out) < len(groups); k++ {
		g := groups[k]
		if len(g) == 0 {
			continue
		}
		var q, t []float64
		for _, x := range g {
			q = append(q, x.Ratio)
			if x.Temperature == x.Temperature {
				t = append(t, x.Temperature)
			}
		}
		p := Point{From: j.ev.Cast + k*width, N: len(g), Ratio: Median(q)}
		if len(t) > 0 {
			m := Median(t)
			p.Temperature = &m
		}
		out = append(out, p)
	}
	return out
}

func (j *judge) trend() Course {
	out := Course{Slope: none, Limit: j.b.Value(basis.EngagedTrend), Words: "no trend: nothing was recorded with a control gauge after casting"}
	if j.ev.Cast == 0 || !j.ev.Control {
		return out
	}
	const month = int64(monthDays * float64(day))
	out.Weeks, out.Months = j.points(week), j.points(month)
	if n, least := len(out.Weeks), int(j.b.Value(basis.EngagedTrendWeeks)); n < least {
		if n > 0 {
			out.Words = fmt.Sprintf("no trend: %d weeks were recorded after casting, %d are needed", n, least)
		}
		return out
	}
	var x, y []float64
	for _, p := range out.Weeks {
		x, y = append(x, float64(p.From-j.ev.Cast)/float64(day)/monthDays), append(y, p.Ratio)
	}
	t, mid := TheilSen(x, y), Median(y)
	out.Slope = Interval{Value: t.Slope / mid, Low: t.Low / mid, High: t.High / mid, N: t.N}
	out.Rising = out.Slope.Value > out.Limit && out.Slope.Low > 0
	out.Words = fmt.Sprintf("web over control changes by %+.1f percent a month (%+.1f to %+.1f); at most %+.1f is asked for",
		100*out.Slope.Value, 100*out.Slope.Low, 100*out.Slope.High, 100*out.Limit)
	return out
}

// Drift is where the slip gauge goes between trucks: what a search for passages
// takes off and must not be forgotten.
type Drift struct {
	Slope       Interval `json:"slope"`    // mm in a week, temperature taken out where there is one
	Residual    float64  `json:"residual"` // mm, last day less first, as measured
	Temperature float64  `json:"per_degree"`
	Growing     bool     `json:"growing"` // the interval of the slope lies off zero, and the slope is one that a gauge can tell
	Words       string   `json:"words"`
}

func (j *judge) drift() Drift {
	out := Drift{Slope: none, Words: "no drift of the slip: no slip gauge between trucks"}
	var x, slip, temp []float64
	hot := true
	for _, l := range j.ev.Levels {
		if l.Slip == l.Slip {
			x, slip, temp = append(x, float64(l.Day-j.ev.Levels[0].Day)/float64(week)), append(slip, l.Slip), append(temp, l.Temperature)
			hot = hot && l.Temperature == l.Temperature
		}
	}
	n := len(x)
	if n == 0 {
		return out
	}
	out.Residual = slip[n-1] - slip[0]
	if least := int(j.b.Value(basis.EngagedSlipSlope)); n < least {
		out.Words = fmt.Sprintf("residual slip %+.3f mm over %d days; a drift needs %d", out.Residual, n, least)
		return out
	}
	y := slip
	if hot {
		out.Temperature = partialSlope(temp, x, slip)
		mid := Median(temp)
		y = make([]float64, n)
		for i := range y {
			y[i] = slip[i] - out.Temperature*(temp[i]-mid)
		}
	}
	t := TheilSen(x, y)
	out.Slope = Interval{Value: t.Slope, Low: t.Low, High: t.High, N: n}
	out.Growing = (t.Low > 0 || t.High < 0) && math.Abs(t.Slope) >= j.b.Value(basis.EngagedSlipDrift)
	out.Words = fmt.Sprintf("slip between trucks drifts by %+.4f mm a week (%+.4f to %+.4f)", noMinus(t.Slope), noMinus(t.Low), noMinus(t.High))
	return out
}

// noMinus takes the sign off what rounds to nothing in four decimals.
func noMinus(v float64) float64 {
	if math.Abs(v) < 0.5e-4 {
		return 0
	}
	return v
}

// partialSlope is the slope of y over a in the least squares of y over a and b; 0
// where a tells nothing that b does not.
func partialSlope(a, b, y []float64) float64 {
	ma, _ := MeanDeviation(a)
	mb, _ := MeanDeviation(b)
	my, _ := MeanDeviation(y)
	var aa, ab, bb, ay, by float64
	for i := range y {
		da, db, dy := a[i]-ma, b[i]-mb, y[i]-my
		aa, ab, bb, ay, by = aa+da*da, ab+da*db, bb+db*db, ay+da*dy, by+db*dy
	}
	det := aa*bb - ab*ab
	if !(det > 1e-9*aa*bb) {
		return 0
	}
	return (ay*bb - by*ab) / det
}

// findings lists what an engineer should look into.
func (j *judge) findings(out Judgment) (f []Finding) {
	add := func(key, format string, args ...any) {
		f = append(f, Finding{Key: key, Words: fmt.Sprintf(format, args...)})
	}
	if out.Trend.Rising {
		add("trend", "the repair loses hold: %s", out.Trend.Words)
	}
	if out.Slip.Growing {
		add("slip_drift", "%s", out.Slip.Words)
	}
	gauges, apart := j.b.Value(basis.EngagedGauges), j.b.Value(basis.EngagedDisagree)
	for _, c := range out.Against {
		s := j.sum[c.After]
		if d := j.ev.DesignSlip; d > 0 && s.Slip.N > 0 && s.Slip.Value > float64(d) {
			add("slip", "%s: slip under a truck is %.3f mm in the middle, the design allows %.3f mm", c.After, s.Slip.Value, float64(d))
		}
		if c.Ratio.N > 0 && s.Share.N > 0 && math.Abs(c.Ratio.Value-(1-s.Share.Value)) > gauges {
			add("gauges", "%s: the web keeps %.2f of its strain while the panel carries %.2f; both should add up to 1 within %.2f: look at gauges and stiffnesses", c.After, c.Ratio.Value, s.Share.Value, gauges)
		}
		if p := j.ev.Foreseen; p != nil {
			if g := Outside(s.Share, p.ShareLow, p.ShareHigh); g > apart {
				add("share", "%s: measured load share %s lies %.2f outside the %.2f to %.2f foreseen", c.After, s.Share, g, p.ShareLow, p.ShareHigh)
			}
			if g := Outside(c.Reduction, p.ReductionLow, p.ReductionHigh); g > apart {
				add("reduction", "%s: web strain fell by %s, %.2f outside the %.2f to %.2f foreseen", c.After, c.Reduction, g, p.ReductionLow, p.ReductionHigh)
			}
		}
	}
	return f
}

// Outside is how far an interval lies from a band; 0 where they touch or nothing is
// known.
func Outside(i Interval, low, high float64) float64 {
	if !i.known() {
		return 0
	}
	return max(0, low-i.High, i.Low-high)
}

// MarshalJSON writes null for an end that is not known or infinite.
func (i Interval) MarshalJSON() ([]byte, error) {
	return json.Marshal(jsonInterval{finite(i.Value), finite(i.Low), finite(i.High), i.N, i.Blocks})
}

// UnmarshalJSON reads what MarshalJSON writes; null is NaN.
func (i *Interval) UnmarshalJSON(text []byte) error {
	var v jsonInterval
	if err := json.Unmarshal(text, &v); err != nil {
		return err
	}
	*i = Interval{Value: number(v.Value), Low: number(v.Low), High: number(v.High), N: v.N, Blocks: v.Blocks}
	return nil
}

type jsonInterval struct {
	Value  *float64 `json:"value"`
	Low    *float64 `json:"low"`
	High   *float64 `json:"high"`
	N      int      `json:"n"`
	Blocks int      `json:"blocks"`
}

func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func number(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
