package drawing

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// face places the ends of one bearing line. Marks stand back from the line along
// their girder by a fixed distance, so that the two faces of a support never
// touch; across the bridge they are at their true place.
func (p *planLayout) face(d PlanData, b bridge, s *strip, at spot, ends []PlanEnd) face {
	sup := d.Supports[at.support]
	f := face{words: ends[0].Name.Reading(nameOf(sup))}
	away := 1.0
	index := at.support
	if at.side == girder.Far {
		away, index = -1, at.support-1
	}
	if p.bars {
		f.bar = s.bar(p.scale, b, at, ends, away, sup)
		f.bar.said = f.words + ": " + f.bar.said
		return f
	}
	names := (b.station[index+1]-b.station[index])*p.scale >= nameRoom+2*p.setback
	for _, e := range ends {
		q := s.place(p.scale, b, at.support, b.across(index, e.Name.Girder))
		m := mark{end: e, x: q.X + away*p.setback, y: q.Y, said: said(e, nameOf(sup))}
		if names {
			anchor := "start"
			if away < 0 {
				anchor = "end"
			}
			m.name = label{X: m.x + away*(markReach*p.size+3), Y: m.y + 3.8, Text: e.Name.String(), Class: "end-name halo", Anchor: anchor}
		}
		f.marks = append(f.marks, m)
	}
	return f
}

func nameOf(s Support) string {
	if s.Name != "" {
		return s.Name
	}
	return s.Code
}

// bar stacks the ends of a bearing line by phase.
func (s *strip) bar(scale float64, b bridge, at spot, ends []PlanEnd, away float64, sup Support) *bar {
	x := s.x0 + b.station[at.support]*scale + away*barSetback
	out := &bar{box: box{x - barWidth/2, s.y - barHalf + 14, barWidth, 2*barHalf - 20}, href: sup.AheadHref}
	if at.side == girder.Far {
		out.href = sup.BackHref
	}
	var by [phaseCount]int
	for _, e := range ends {
		by[e.Phase.known()]++
	}
	var words []string
	y := out.box.Y
	for p := phaseCount; p > 0; p-- { // closed on top, as a level that rises
		c := by[p-1]
		if c == 0 {
			continue
		}
		part := barPart{phase: p - 1, count: c, box: box{out.box.X, y, barWidth, out.box.H * float64(c) / float64(len(ends))}}
		if part.box.H >= 12 {
			part.text = (p - 1).Letter() + " " + strconv.Itoa(c)
		}
		y = part.box.bottom()
		out.parts = append(out.parts, part)
		words = append(words, strconv.Itoa(c)+" "+(p-1).String())
	}
	out.said = strings.Join(words, ", ")
	out.total = label{X: x, Y: out.box.Y - 4, Text: strconv.Itoa(len(ends)), Class: "lbl halo", Anchor: "middle"}
	return out
}

// nearest is the least distance between the middles of two marks.
func (p *planLayout) nearest() float64 {
	least := math.Inf(1)
	for _, s := range p.strips {
		var all []mark
		for _, f := range s.faces {
			all = append(all, f.marks...)
		}
		for i, a := range all {
			for _, c := range all[i+1:] {
				least = min(least, math.Hypot(a.x-c.x, a.y-c.y))
			}
		}
	}
	return least
}

// head draws the arrow to north, the arrow ahead and the scale bar.
func (p *planLayout) head(d PlanData) {
	const y = 26.0
	x := planSide + 10
	a := float64(d.North) * math.Pi / 180
	if !finite(a) {
		a = 0
	}
	turned := func(r, t float64) point {
		return point{x + r*math.Cos(a+t), y + r*math.Sin(a+t)}
	}
	tip, left, right, tail := turned(20, 0), turned(15, 2.6), turned(15, -2.6), turned(6, math.Pi)
	p.shapes = append(p.shapes,
		outline{D: new(pen).circle(x, y, 15).String(), Class: "bubble"},
		outline{D: poly(tip, left, tail), Class: "north-full"},
		outline{D: poly(tip, tail, right), Class: "north-half"})
	n := turned(28, 0)
	p.texts = append(p.texts, label{X: n.X, Y: n.Y + 4.5, Text: "N", Class: "code", Anchor: "middle"})

	ax := planSide + 92
	p.texts = append(p.texts, label{X: ax, Y: y + 4, Text: "Ahead station", Class: "lbl"})
	end := ax + wide("Ahead station", 12) + 56
	p.lines = append(p.lines, segment{end - 48, y, end, y, "dim"})
	p.shapes = append(p.shapes, outline{D: poly(point{end + 2, y}, point{end - 9, y - 3.2}, point{end - 9, y + 3.2}), Class: "solid"})
	p.scaleBar(d.System, y)
}

// scaleBar draws four equal parts of a round length, in turn full and empty.
func (p *planLayout) scaleBar(sys units.System, y float64) {
	unit, word := float64(units.Foot), " ft"
	if sys == units.SI {
		unit, word = 1000, " m"
	}
	part := niceStep(45 / (p.scale * unit))
	w := part * unit * p.scale
	x := p.width - planSide - 4*w - 24
	if p.bars {
		p.texts = append(p.texts, label{X: x - 10, Y: y + 5, Text: "along the bridge", Class: "lbl quiet", Anchor: "end"})
	}
	for i := range 4 {
		class := "scale-full"
		if i%2 == 1 {
			class = "scale-half"
		}
		p.shapes = append(p.shapes, outline{D: box{x + float64(i)*w, y - 2, w, 6}.d(), Class: class})
	}
	for _, i := range []int{0, 1, 2, 4} {
		text := strconv.FormatFloat(float64(i)*part, 'g', -1, 64)
		if i == 4 {
			text += word
		}
		p.texts = append(p.texts, label{X: x + float64(i)*w, Y: y - 7, Text: text, Class: "lbl quiet", Anchor: "middle"})
	}
}

func describePlan(d PlanData, p planLayout) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Plan to scale of %d spans on %d supports, ahead station to the right, left side of the bridge on top. ",
		len(d.Spans), len(d.Supports))
	if len(p.strips) > 1 {
		fmt.Fprintf(&b, "Drawn in %d strips. ", len(p.strips))
	}
	what := "One mark stands for each of %d girder ends:"
	if p.bars {
		what = "Bars on each bearing line count %d girder ends:"
	}
	fmt.Fprintf(&b, what, len(d.Ends))
	sep := " "
	for _, c := range p.legend.phases {
		if c.count > 0 {
			fmt.Fprintf(&b, "%s%d %s", sep, c.count, c.phase)
			sep = ", "
		}
	}
	b.WriteString(".")
	return b.String()
}

// sized scales a mark about its place.
func sized(size float64) string {
	if size == 1 {
		return ""
	}
	return " scale(" + n(size) + ")"
}
