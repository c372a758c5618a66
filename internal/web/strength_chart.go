package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
)

// limitAt is a line across a control chart.
type limitAt struct {
	text  string
	value units.Stress
}

// plot is a control chart on its way to the page.
type plot struct {
	c     *castReader
	n     int // tests
	low   float64
	high  float64
	chart casting.ControlChart
}

// controlCharts draws the four charts of a series.
func (c *castReader) controlCharts(id string, s uhpc.Series, specified units.Stress, a uhpc.Acceptance) []casting.ControlChart {
	n := len(s.Tests)
	ch := s.Charts
	floor := units.Stress(c.basis.Value(basis.SingleOfSpecified)) * specified
	low := map[int]bool{}
	for _, i := range a.Low {
		low[i] = true
	}
	limits := []limitAt{{"specified", specified}, {"single, least", floor}}
	if n > 1 {
		limits = append(limits, limitAt{"required average", s.Required})
	}
	running := append([]uhpc.ChartPoint(nil), ch.Means.Points...)
	for i := range running {
		running[i].Beyond = low[i]
	}
	out := []casting.ControlChart{c.control(id+"-running", "Tests and their mean of three", "Dots are tests, the line is the mean of three consecutive tests, triangles are low.", n, running, ch.Running.Points, limits)}
	if n < 2 {
		return out
	}
	m := ch.Means.Points[0]
	out = append(out, c.control(id+"-means", "Individuals", "Each test against what chance makes of this production, from the moving range.", n, ch.Means.Points, nil,
		[]limitAt{{"upper limit", m.High}, {"mean", ch.Means.Center}, {"lower limit", m.Low}}))
	out = append(out, c.control(id+"-moving", "Moving range", "Difference of each test from the one before.", n, ch.Moving.Points, nil,
		[]limitAt{{"upper limit", ch.Moving.Points[0].High}, {"mean", ch.Moving.Center}}))
	if len(ch.Ranges.Points) > 0 {
		x := c.control(id+"-ranges", "Range within a test", "Spread of the specimens of each test: the work of the laboratory.", n, ch.Ranges.Points, nil, []limitAt{{"mean", ch.Ranges.Center}})
		out = append(out, x)
	}
	return out
}

// control draws points, a line and limits. Limits that differ from point to point,
// as those of ranges of sets of unlike size, follow the points.
func (c *castReader) control(id, title, lead string, n int, points, line []uhpc.ChartPoint, limits []limitAt) casting.ControlChart {
	p := plot{c: c, n: n, low: math.Inf(1), high: math.Inf(-1),
		chart: casting.ControlChart{ID: id, Title: title, Lead: lead, Unit: units.Stresses.Label(c.sys)}}
	steps := len(limits) == 1
	for _, x := range points {
		p.reach(x.Value)
		if steps {
			p.reach(x.High)
		}
	}
	for _, l := range limits {
		p.reach(l.value)
	}
	pad := 0.08 * (p.high - p.low)
	if pad == 0 {
		pad = 1
	}
	p.low, p.high = math.Max(0, p.low-pad), p.high+pad
	p.ticks()
	for _, x := range points {
		p.chart.Dots = append(p.chart.Dots, casting.Dot{X: p.x(x.Test), Y: p.y(x.Value), Low: x.Beyond})
	}
	p.chart.Line = p.path(line, func(x uhpc.ChartPoint) units.Stress { return x.Value })
	if steps && len(points) > 0 {
		high := func(x uhpc.ChartPoint) units.Stress { return x.High }
		p.chart.Steps = append(p.chart.Steps, casting.Step{Path: p.path(points, high), Text: "upper limit " + c.strengthFigure(points[len(points)-1].High), Y: p.y(points[len(points)-1].High)})
	}
	for _, l := range limits {
		p.chart.Lines = append(p.chart.Lines, casting.LimitLine{From: p.y(l.value), Y: p.y(l.value), Text: l.text + " " + c.strengthFigure(l.value)})
	}
	apart(p.chart.Lines)
	return p.chart
}

// apart moves the texts of lines that lie close so that none covers another.
func apart(lines []casting.LimitLine) {
	const least = 13
	for range lines {
		for i := range lines {
			for j := range lines {
				if i != j && lines[i].From <= lines[j].From && lines[j].From-lines[i].From < least && (lines[i].From < lines[j].From || i < j) {
					lines[j].From = lines[i].From + least
				}
			}
		}
	}
}

func (p *plot) reach(v units.Stress) {
	x := units.Stresses.Shown(p.c.sys, float64(v))
	p.low, p.high = math.Min(p.low, x), math.Max(p.high, x)
}

func (p *plot) x(test int) float64 {
	return casting.ControlLeft + (casting.ControlRight-casting.ControlLeft)*(float64(test)+0.5)/float64(max(1, p.n))
}

func (p *plot) y(v units.Stress) float64 { return p.yOf(units.Stresses.Shown(p.c.sys, float64(v))) }

func (p *plot) yOf(shown float64) float64 {
	return casting.ControlBottom - (casting.ControlBottom-casting.ControlTop)*(shown-p.low)/(p.high-p.low)
}

func (p *plot) path(points []uhpc.ChartPoint, of func(uhpc.ChartPoint) units.Stress) string {
	var b strings.Builder
	for i, x := range points {
		letter := "L"
		if i == 0 {
			letter = "M"
		}
		fmt.Fprintf(&b, "%s%.1f %.1f", letter, p.x(x.Test), p.y(of(x)))
	}
	return b.String()
}

// ticks puts four or five round values on the axis, and numbers of tests under it.
func (p *plot) ticks() {
	step := math.Pow(10, math.Floor(math.Log10((p.high-p.low)/4)))
	for _, k := range []float64{2, 5, 10} {
		if (p.high-p.low)/step > 5 {
			step = k * math.Pow(10, math.Floor(math.Log10((p.high-p.low)/4)))
		}
	}
	decimals := max(0, -int(math.Floor(math.Log10(step))))
	for v := math.Ceil(p.low/step) * step; v <= p.high; v += step {
		p.chart.Ticks = append(p.chart.Ticks, casting.Tick{At: p.yOf(v), Text: strconv.FormatFloat(v, 'f', decimals, 64)})
	}
	every := max(1, (p.n+11)/12)
	for i := 0; i < p.n; i += every {
		p.chart.Labels = append(p.chart.Labels, casting.Tick{At: p.x(i), Text: strconv.Itoa(i + 1)})
	}
}
