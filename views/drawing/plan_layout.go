package drawing

import (
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// planLayout is the plan with every place computed.
type planLayout struct {
	id            string
	width, height float64
	scale         float64 // pixels a mm along the bridge
	hit           float64 // radius of the hit area of a mark
	setback       float64 // middle of a mark from its bearing line
	size          float64 // of a mark, 1 for usual
	bars          bool
	strips        []strip
	lines         []segment
	shapes        []outline
	texts         []label
	unplaced      []PlanEnd
	legend        planLegend
	desc          string
}

// strip is a length of the bridge between two supports.
type strip struct {
	from, to int
	x0       float64 // where station 0 would lie
	y        float64 // middle of the deck
	half     float64 // half of the deck, in pixels
	across   float64 // pixels a mm across the bridge
	lines    []segment
	shapes   []outline
	texts    []label
	faces    []face
	lettered float64 // width of the name written last
}

// face is one bearing line seen from one side, with its ends or their bar.
type face struct {
	words string // "Pier 2, back face"
	marks []mark
	bar   *bar
}

type mark struct {
	end  PlanEnd
	x, y float64
	said string
	name label
}

// bar stands for the ends of a bearing line where there are too many for marks.
type bar struct {
	box   box
	href  string
	said  string
	parts []barPart
	total label
}

type barPart struct {
	phase Phase
	count int
	box   box
	text  string // letter and count, "" where there is no room
}

// layPlan computes the plan.
func layPlan(d PlanData) planLayout {
	p := planLayout{id: ident(d.ID, "plan"), legend: legendOf(d.Ends), bars: len(d.Ends) > mostMarks}
	b := measure(d)
	if p.bars {
		clear(b.tan) // bars stand square; the skew is written beside the support
	}
	width := d.Width
	if !(width >= 320) || !finite(width) {
		width = planWidth
	}
	if len(b.spans) == 0 {
		p.unplaced, p.width, p.height = d.Ends, width, planHead
		p.desc = "No span has been entered yet."
		return p
	}
	target := max(d.Target, leastTarget)
	if d.Target == 0 {
		target = planTarget
	}
	p.setback = max(markSetback, target/2)
	p.size = max(1, min(largestMark, target/planTarget))
	var cuts []int
	p.scale, cuts = b.fit(width-2*planSide, target, p.setback, p.bars)
	p.width = leastPlan
	by, unplaced := p.sort(d, b)
	p.unplaced = unplaced
	y := planHead
	for i := range len(cuts) - 1 {
		s := p.lay(d, b, cuts[i], cuts[i+1], y, by)
		y = s.y + s.half + planFoot + stripGap
		p.strips = append(p.strips, s)
		before, after := b.reach(s.from, s.to)
		p.width = max(p.width, (b.station[s.to]-b.station[s.from]+before+after)*p.scale+2*planSide)
	}
	p.height = y - stripGap
	p.hit = min(comfortable, p.nearest()) / 2
	p.head(d)
	p.desc = describePlan(d, p)
	return p
}

// spot is a bearing line seen from one side.
type spot struct {
	support int
	side    girder.Side
}

// sort puts ends on their bearing lines; what fits on none is returned apart.
func (p *planLayout) sort(d PlanData, b bridge) (map[spot][]PlanEnd, []PlanEnd) {
	index := map[int]int{}
	for i, s := range b.spans {
		index[s.Number] = i
	}
	by := map[spot][]PlanEnd{}
	var unplaced []PlanEnd
	for _, e := range d.Ends {
		i, ok := index[e.Name.Span]
		if !ok || e.Name.Girder < 1 || e.Name.Girder > b.spans[i].Girders || e.Name.Side != girder.Near && e.Name.Side != girder.Far {
			unplaced = append(unplaced, e)
			continue
		}
		at := spot{i, girder.Near}
		if e.Name.Side == girder.Far {
			at = spot{i + 1, girder.Far}
		}
		by[at] = append(by[at], e)
	}
	return by, unplaced
}

// lay draws one strip whose upper edge lies at top.
func (p *planLayout) lay(d PlanData, b bridge, from, to int, top float64, by map[spot][]PlanEnd) strip {
	before, _ := b.reach(from, to)
	s := strip{from: from, to: to, across: p.scale, half: b.half * p.scale}
	if p.bars {
		s.half = max(s.half, barHalf)
		s.across = s.half / b.half
	}
	s.y = top + planTop + s.half
	s.x0 = planSide + (before-b.station[from])*p.scale
	for i := from; i < to; i++ {
		s.span(p.scale, b, i, d.System)
	}
	for i := from; i <= to; i++ {
		s.support(p.scale, d, b, i)
	}
	s.stations(p.scale, b, d.System)
	for i := from; i <= to; i++ {
		for _, side := range []girder.Side{girder.Far, girder.Near} {
			ends := by[spot{i, side}]
			if len(ends) == 0 || side == girder.Far && i == from || side == girder.Near && i == to {
				continue
			}
			s.faces = append(s.faces, p.face(d, b, &s, spot{i, side}, ends))
		}
	}
	return s
}

// place is where a point of the bridge lies on the sheet.
func (s *strip) place(scale float64, b bridge, support int, across float64) point {
	return point{s.x0 + b.at(support, across)*scale, s.y + across*s.across}
}

// span draws the deck, the girder lines and the dimension of one span.
func (s *strip) span(scale float64, b bridge, i int, sys units.System) {
	h := b.deck(i)
	a1, a2 := s.place(scale, b, i, -h), s.place(scale, b, i, h)
	c1, c2 := s.place(scale, b, i+1, -h), s.place(scale, b, i+1, h)
	s.shapes = append(s.shapes, outline{D: poly(a1, c1, c2, a2), Class: "deck"})
	s.lines = append(s.lines, segment{a1.X, a1.Y, c1.X, c1.Y, "edge"}, segment{a2.X, a2.Y, c2.X, c2.Y, "edge"})
	for g := 1; g <= b.spans[i].Girders; g++ {
		if b.pitch(i)*s.across < 3 {
			break // closer lines would only make a gray field
		}
		y := b.across(i, g)
		a, c := s.place(scale, b, i, y), s.place(scale, b, i+1, y)
		if i == 0 || !b.spans[i-1].Continuous {
			a.X += 3.5
		}
		if !b.spans[i].Continuous {
			c.X -= 3.5
		}
		s.lines = append(s.lines, segment{a.X, a.Y, c.X, c.Y, "girder"})
	}
	y := s.y + s.half + 24
	x1, x2 := s.x0+b.station[i]*scale, s.x0+b.station[i+1]*scale
	sp := b.spans[i]
	text := "Span " + strconv.Itoa(sp.Number) + " · " + units.Spans.Format(b.station[i+1]-b.station[i], sys, 1)
	long := text + " · " + strconv.Itoa(sp.Girders) + " girders @ " + units.Spans.Format(b.pitch(i), sys, 2)
	if wide(long, 11.5)+30 < x2-x1 {
		text = long
	} else if wide(text, 11.5)+16 > x2-x1 {
		text = strconv.Itoa(sp.Number)
	}
	s.dim(x1, x2, y, text)
}

// dim is a dimension between two stations, with slashes at its ends.
func (s *strip) dim(x1, x2, y float64, text string) {
	s.lines = append(s.lines, segment{x1, y, x2, y, "dim"}, slash(x1, y), slash(x2, y))
	s.texts = append(s.texts, label{X: (x1 + x2) / 2, Y: y + 4, Text: text, Class: "lbl halo", Anchor: "middle"})
}

func slash(x, y float64) segment { return segment{x - 3.5, y + 3.5, x + 3.5, y - 3.5, "slash"} }

// support draws a bearing line with its bubble and names.
func (s *strip) support(scale float64, d PlanData, b bridge, i int) {
	sup := d.Supports[i]
	over := 13 / s.across // the line stands out of the deck by 13 pixels
	a, c := s.place(scale, b, i, -b.half-over), s.place(scale, b, i, b.half+over)
	s.lines = append(s.lines, segment{a.X, a.Y, c.X, c.Y, "bearing-line"})
	joint := i == 0 || i == len(b.spans) || !b.spans[i-1].Continuous
	if joint {
		h := b.deck(min(i, len(b.spans)-1))
		a1, c1 := s.place(scale, b, i, -h), s.place(scale, b, i, h)
		s.lines = append(s.lines, segment{a1.X, a1.Y, c1.X, c1.Y, "joint"})
	}
	y := a.Y - bubbleRadius
	s.shapes = append(s.shapes, outline{D: new(pen).circle(a.X, y, bubbleRadius).String(), Class: "bubble"})
	s.texts = append(s.texts, label{X: a.X, Y: y + 4, Text: clip(sup.Code, 4), Class: "code", Anchor: "middle"})
	name := clip(sup.Name, 24)
	if !joint {
		name += ", no joint"
	}
	under := []string{station(b.station[i], d.System)}
	if t := d.Supports[i].Skew; t != 0 {
		under = append(under, "skew "+units.Angles.Format(float64(t), d.System, 0))
	}
	if i > 0 && i == s.from || i < len(b.spans) && i == s.to {
		under = append(under, "match line")
	}
	s.title(scale, b, i, a, name, under)
}

// title letters the name of a support beside its bubble, as much of it as fits
// before the next bubble. The last of a strip is lettered on its left, in what
// its neighbor has left.
func (s *strip) title(scale float64, b bridge, i int, top point, name string, under []string) {
	x, anchor := top.X+bubbleRadius+6, "start"
	room := math.Inf(1)
	gap := func(i int) float64 {
		over := -b.half - 13/s.across
		return (b.at(i+1, over)-b.at(i, over))*scale - 2*bubbleRadius - 18
	}
	switch {
	case i == s.to && i > s.from:
		x, anchor, room = top.X-bubbleRadius-6, "end", gap(i-1)-s.lettered
	case i < s.to:
		room = gap(i)
	}
	s.lettered = 0
	y := top.Y - bubbleRadius
	write := func(text, class string, size, dy float64) bool {
		w := wide(text, size)
		if w > room || text == "" {
			return false
		}
		s.texts = append(s.texts, label{X: x, Y: y + dy, Text: text, Class: class, Anchor: anchor})
		s.lettered = max(s.lettered, w+10)
		return true
	}
	write(name, "lbl strong", 12.5, -2)
	for k := len(under); k > 0; k-- {
		if write(strings.Join(under[:k], " · "), "lbl quiet", 11, 11) {
			break
		}
	}
}

// stations draws the station line under the deck with its ticks.
func (s *strip) stations(scale float64, b bridge, sys units.System) {
	y := s.y + s.half + 48
	x1, x2 := s.x0+b.station[s.from]*scale, s.x0+b.station[s.to]*scale
	s.lines = append(s.lines, segment{x1, y, x2, y, "axis"})
	unit := float64(units.Foot)
	steps := []float64{10, 50, 100, 500, 1000, 5000}
	if sys == units.SI {
		unit = 1000
		steps = []float64{2, 10, 20, 100, 200, 1000}
	}
	minor := steps[len(steps)-1] * unit
	major := minor * 5
	for i := range len(steps) - 1 {
		if steps[i+1]*unit*scale >= 78 {
			minor, major = steps[i]*unit, steps[i+1]*unit
			break
		}
	}
	first := math.Ceil(b.station[s.from]/minor - 1e-9)
	for k := first; k*minor <= b.station[s.to]+1e-6; k++ {
		at := k * minor
		x := s.x0 + at*scale
		ratio := at / major
		if math.Abs(ratio-math.Round(ratio)) > 1e-6 {
			s.lines = append(s.lines, segment{x, y, x, y + 4, "axis"})
			continue
		}
		s.lines = append(s.lines, segment{x, y, x, y + 8, "axis"})
		s.texts = append(s.texts, label{X: x, Y: y + 20, Text: station(at, sys), Class: "lbl quiet", Anchor: "middle"})
	}
}

// station writes a station the way of the trade: full stations of 100 ft or 1 km,
// a plus, the rest.
func station(v float64, sys units.System) string {
	full, unit, digits := 100.0, float64(units.Foot), 2
	if sys == units.SI {
		full, unit, digits = 1000, 1000, 3
	}
	x := math.Round(v / unit)
	sign := ""
	if x < 0 {
		sign, x = "−", -x
	}
	rest := strconv.Itoa(int(math.Mod(x, full)))
	for len(rest) < digits {
		rest = "0" + rest
	}
	return sign + strconv.Itoa(int(x/full)) + "+" + rest
}
