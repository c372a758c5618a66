package drawing

import (
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

func bearingWords(b girder.Bearing) string {
	kind := map[girder.BearingKind]string{girder.Rocker: "Rocker", girder.Bolster: "Bolster", girder.SlidingPlate: "Sliding plate",
		girder.Elastomeric: "Elastomeric pad"}[b.Kind]
	if kind == "" {
		kind = "Bearing"
	}
	if b.Fixed {
		return kind + ", fixed"
	}
	return kind + ", expansion"
}

// support draws the bearing: its length is to scale, its height is a symbol.
func (l *endLayout) support(g girder.Geometry) {
	b := g.Bearing
	tf := sound(float64(g.Section.FlangeThickness), 0)
	if !finite(float64(b.Start)) || !(float64(b.Length) > 0) || !finite(float64(b.Length)) {
		return
	}
	top := l.z(-tf)
	f := span(l.x(float64(b.Start)), top, l.x(float64(b.Start+b.Length)), top+bearingPx)
	l.steel = append(l.steel, bearingShapes(f, b)...)
	mid := f.middle().X
	l.lines = append(l.lines, segment{mid, l.z(0) - 26, mid, f.bottom() + 15, "center"})
	text := label{X: mid + l.flip*(f.W/2+12), Y: f.Y + 39, Text: bearingWords(b), Class: "lbl halo"}
	if l.flip < 0 {
		text.Anchor = "end"
	}
	l.texts = append(l.texts, text)
	for x := f.X - 8; x < f.right()+8; x += 7 {
		l.lines = append(l.lines, segment{x, f.bottom() + 7, x + 6, f.bottom() + 1, "ground"})
	}
	l.lines = append(l.lines, segment{f.X - 10, f.bottom(), f.right() + 10, f.bottom(), "ground-line"})
}

// bearingShapes is the symbol of a bearing inside a frame: sole plate on top,
// masonry plate below, between them what tells the kind.
func bearingShapes(f box, b girder.Bearing) []outline {
	const sole, plate = 7.0, 5.0
	mid, y1, y2 := f.middle().X, f.Y+sole, f.bottom()-plate
	out := []outline{
		{D: box{f.X, f.Y, f.W, sole}.d(), Class: "plate"},
		{D: box{f.X - 4, y2, f.W + 8, plate}.d(), Class: "plate"},
	}
	body := func(d string) { out = append(out, outline{D: d, Class: "plate"}) }
	switch b.Kind {
	case girder.Rocker:
		w := min(f.W*0.42, 26)
		body(new(pen).move(mid-w*0.3, y1).to(mid+w*0.3, y1).to(mid+w, y2-5).op('Q', mid, y2+5, mid-w, y2-5).close().String())
		body(new(pen).circle(mid, y1+6, 3).String())
	case girder.Bolster:
		w := min(f.W/2, 44)
		body(poly(point{mid - w*0.45, y1 + 4}, point{mid + w*0.45, y1 + 4}, point{mid + w, y2}, point{mid - w, y2}))
		if b.Fixed {
			body(new(pen).circle(mid, y1+4, 4).String())
		}
	case girder.SlidingPlate:
		body(box{f.X + 3, y1, f.W - 6, (y2 - y1) * 0.42}.d())
		body(box{f.X - 2, y1 + (y2-y1)*0.42, f.W + 4, (y2 - y1) * 0.58}.d())
		if !b.Fixed {
			y := y1 + (y2-y1)*0.74
			out = append(out, outline{D: new(pen).move(mid-15, y).to(mid+15, y).move(mid-10, y-4).to(mid-15, y).to(mid-10, y+4).
				move(mid+10, y-4).to(mid+15, y).to(mid+10, y+4).String(), Class: "arrow"})
		}
	case girder.Elastomeric:
		out = append(out, outline{D: box{f.X + 2, y1, f.W - 4, y2 - y1}.d(), Class: "pad"})
		for i := 1.0; i < 4; i++ {
			y := y1 + (y2-y1)*i/4
			out = append(out, outline{D: new(pen).move(f.X+2, y).to(f.right()-2, y).String(), Class: "laminate"})
		}
	default:
		body(box{mid - f.W*0.35, y1, f.W * 0.7, y2 - y1}.d())
		out = append(out, outline{D: new(pen).move(mid-f.W*0.35, y1).to(mid+f.W*0.35, y2).String(), Class: "laminate"})
	}
	return out
}

// axes draws the scales of x and z and the origin.
func (l *endLayout) axes(d EndData) {
	unit, word := float64(units.Inch), "in"
	if d.System == units.SI {
		unit, word = 1, "mm"
	}
	web, _ := heights(d.Geometry.Section)
	tf := sound(float64(d.Geometry.Section.FlangeThickness), 0)
	step := niceStep(52 / (l.scale * unit))
	y := l.z(-tf) + bearingPx + 48
	l.lines = append(l.lines, segment{l.x(0), y, l.x(l.far), y, "axis"})
	for v := 0.0; v*unit <= l.far; v += step / 5 {
		x, long := l.x(v*unit), 4.0
		if r := v / step; math.Abs(r-math.Round(r)) < 1e-6 {
			long = 8
			l.texts = append(l.texts, label{X: x, Y: y + 20, Text: trimmed(v), Class: "lbl quiet", Anchor: "middle"})
		}
		l.lines = append(l.lines, segment{x, y, x, y + long, "axis"})
	}
	l.texts = append(l.texts, label{X: (l.x(0) + l.x(l.far)) / 2, Y: y + 36, Text: "x from the end of the girder, " + word, Class: "lbl quiet", Anchor: "middle"})

	title := "Elevation, both faces"
	switch d.View {
	case LeftFace:
		title = "Elevation of the left face"
	case RightFace:
		title = "Elevation of the right face"
	}
	l.texts = append(l.texts, label{X: (l.x(0) + l.x(l.far)) / 2, Y: y + 66, Text: title, Class: "lbl strong", Anchor: "middle"})

	x := l.x(0) - l.flip*26
	out := -l.flip
	l.lines = append(l.lines, segment{x, l.z(0), x, l.z(web), "axis"})
	for v := 0.0; v*unit <= web; v += step / 5 {
		z, long := l.z(v*unit), 4.0
		if r := v / step; math.Abs(r-math.Round(r)) < 1e-6 {
			long = 8
			t := label{X: x + out*11, Y: z + 4, Text: trimmed(v), Class: "lbl quiet", Anchor: "end"}
			if l.flip < 0 {
				t.Anchor = "start"
			}
			l.texts = append(l.texts, t)
		}
		l.lines = append(l.lines, segment{x, z, x + out*long, z, "axis"})
	}
	beside := x - 36
	if l.flip < 0 {
		beside = x + 50 // turned text rises toward the scale
	}
	l.texts = append(l.texts, label{X: beside, Y: (l.z(0) + l.z(web)) / 2, Text: "z above the bottom flange, " + word, Class: "lbl quiet", Anchor: "middle", Turn: -90})

	const r = 5.5
	l.steel = append(l.steel, outline{D: new(pen).circle(l.ox, l.oz, r).String(), Class: "origin"},
		outline{D: new(pen).move(l.ox, l.oz).to(l.ox, l.oz-r).op('A', r, r, 0, 0, 1, l.ox+r, l.oz).to(l.ox-r, l.oz).
			op('A', r, r, 0, 0, 0, l.ox, l.oz+r).close().String(), Class: "solid"})
}

func trimmed(v float64) string { return strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64) }

// dimension draws the chains of dimensions round the elevation.
func (l *endLayout) dimension(d EndData) {
	g := d.Geometry
	_, top := heights(g.Section)
	tf := sound(float64(g.Section.FlangeThickness), 0)
	b := g.Bearing
	if start, length := float64(b.Start), float64(b.Length); finite(start, length) && start >= 0 && length > 0 {
		l.chainAcross(chain(distinct([]float64{0, start, start + length}, 0.5), d.System), l.z(-tf)+bearingPx+26, l.z(-tf)+bearingPx+9, l.x)
	}
	side := l.x(l.far) + l.flip*8
	l.chainUp([]link{{-tf, top, measureText(top+tf, d.System)}}, l.x(l.far)+l.flip*82, side)
	if d.Design == nil {
		return
	}
	var xs, zs []float64
	for _, s := range d.Design.Studs {
		if drawn, _ := shows(d.View, s.Face); drawn && finite(float64(s.X), float64(s.Z)) {
			xs, zs = append(xs, float64(s.X)), append(zs, float64(s.Z))
		}
	}
	xs, zs = distinct(xs, 1), distinct(zs, 1)
	p := d.Design.Panel
	right, up := float64(p.X+p.Width), float64(p.Z+p.Height)
	if !finite(right, up) || p.Width <= 0 || p.Height <= 0 {
		right, up = 0, 0
	} else {
		l.chainAcross(chain(distinct([]float64{0, float64(p.X), right}, 0.5), d.System), l.z(top)-52, l.z(top)-8, l.x)
		l.chainUp(chain(distinct([]float64{0, float64(p.Z), up}, 0.5), d.System), l.x(l.far)+l.flip*54, side)
	}
	if len(xs) <= mostDims {
		l.chainAcross(edged(0, xs, right, d.System), l.z(top)-26, l.z(top)-8, l.x)
	}
	if len(zs) <= mostDims {
		l.chainUp(edged(0, zs, up, d.System), l.x(l.far)+l.flip*26, side)
	}
}

// describeEnd says in words what the drawing shows.
func describeEnd(d EndData, l endLayout) string {
	var b strings.Builder
	g := d.Geometry
	b.WriteString("Elevation to scale. " + g.Section.Name)
	if g.Section.Name != "" {
		b.WriteString(", ")
	}
	b.WriteString("depth " + units.Length(g.Section.Depth).Format(d.System, 2) + ", web " + units.Length(g.Section.WebThickness).Format(d.System, 3) +
		". " + bearingWords(g.Bearing) + " bearing. ")
	least, where := math.Inf(1), cell{}
	for _, c := range l.cells {
		if !c.blind && c.t < least {
			least, where = c.t, c.cell
		}
	}
	if finite(least) {
		b.WriteString(strconv.Itoa(len(l.cells)) + " readings; least web " + units.Length(least).Format(d.System, 3) + " at x " +
			units.Length(where.x).Format(d.System, 2) + ", z " + units.Length(where.z).Format(d.System, 2) + ". ")
	}
	if d.Survey != nil && len(d.Survey.Holes) > 0 {
		b.WriteString(strconv.Itoa(len(d.Survey.Holes)) + " holes. ")
	}
	if d.Design != nil {
		p := d.Design.Panel
		b.WriteString(strconv.Itoa(len(d.Design.Studs)) + " studs, panel " + p.Width.Format(d.System, 2) + " wide and " + p.Height.Format(d.System, 2) + " high.")
	}
	return strings.TrimSpace(b.String())
}
