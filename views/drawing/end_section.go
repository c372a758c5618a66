package drawing

import (
	"math"
	"slices"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// sectionLayout is the cut A-A through a column of studs, looking ahead station.
type sectionLayout struct {
	cx     float64 // middle of the web
	at     float64 // x of the cut, mm
	panels []outline
	steel  []outline
	studs  []outline
	lines  []segment
	texts  []label
}

// sectionWidth is the room in mm that the cut takes.
func sectionWidth(d EndData) float64 {
	s, p := d.Geometry.Section, d.Design.Panel
	w := max(sound(float64(s.FlangeWidth), 250), sound(float64(s.TopFlangeWidth), 0))
	half := sound(float64(s.WebThickness), 0)/2 + max(sound(float64(p.ThicknessLeft), 0), sound(float64(p.ThicknessRight), 0))
	return max(w, 2*half) + 20
}

// cutAt is the column of studs nearest to the middle of the bearing; without
// studs the middle of the bearing itself.
func cutAt(d EndData) float64 {
	b := d.Geometry.Bearing
	mid := float64(b.Start) + float64(b.Length)/2
	if !finite(mid) {
		mid = 100
	}
	best := math.Inf(1)
	for _, s := range d.Design.Studs {
		if x := float64(s.X); finite(x) && math.Abs(x-mid) < math.Abs(best-mid) {
			best = x
		}
	}
	if finite(best) {
		return best
	}
	return mid
}

// cut draws the section beside the elevation and marks its place there.
func (l *endLayout) cut(d EndData) {
	if d.Design == nil {
		return
	}
	s, v := d.Geometry.Section, d.Design
	c := &sectionLayout{at: cutAt(d)}
	width := sectionWidth(d)
	c.cx = endMargin + endAhead + l.far*l.scale + sectionGap + width*l.scale/2
	across := func(y float64) float64 { return c.cx + y*l.scale }
	web, top := heights(s)
	tf, tw := sound(float64(s.FlangeThickness), 0), sound(float64(s.WebThickness), 10)
	rect := func(y1, z1, y2, z2 float64) box { return span(across(y1), l.z(z1), across(y2), l.z(z2)) }

	left, right := sound(float64(v.Panel.ThicknessLeft), 0), sound(float64(v.Panel.ThicknessRight), 0)
	z1, z2 := float64(v.Panel.Z), float64(v.Panel.Z+v.Panel.Height)
	solid := finite(z1, z2) && z2 > z1
	for _, side := range []struct{ sign, t float64 }{{-1, left}, {1, right}} {
		if solid && side.t > 0 {
			c.panels = append(c.panels, outline{D: rect(side.sign*tw/2, z1, side.sign*(tw/2+side.t), z2).d(), Class: "panel-cut", Fill: "url(#" + l.id + "-concrete)"})
		}
	}
	bf, bt := sound(float64(s.FlangeWidth), 250), sound(float64(s.TopFlangeWidth), sound(float64(s.FlangeWidth), 250))
	c.steel = append(c.steel,
		outline{D: rect(-bf/2, -tf, bf/2, 0).d(), Class: "cut"},
		outline{D: rect(-bt/2, web, bt/2, top).d(), Class: "cut"},
		outline{D: rect(-tw/2, 0, tw/2, web).d(), Class: "as-new"})
	c.steel = append(c.steel, l.profile(c.at, tw, web, across)...)
	for _, st := range v.Studs {
		if x := float64(st.X); math.Abs(x-c.at) < 1 && finite(float64(st.Z)) {
			c.studs = append(c.studs, studSide(st, v, tw, l.scale, across, l.z))
		}
	}
	f := box{across(-sound(float64(d.Geometry.Bearing.Width), bf) / 2), l.z(-tf), sound(float64(d.Geometry.Bearing.Width), bf) * l.scale, bearingPx}
	c.steel = append(c.steel, outline{D: box{f.X, f.Y, f.W, 7}.d(), Class: "plate"},
		outline{D: box{f.X + f.W*0.08, f.Y + 7, f.W * 0.84, f.H - 12}.d(), Class: "plate"},
		outline{D: box{f.X - 4, f.bottom() - 5, f.W + 8, 5}.d(), Class: "plate"})
	c.lines = append(c.lines, segment{c.cx, l.z(top) - 16, c.cx, f.bottom() + 12, "center"})
	l.section = c
	l.sectionTexts(d, c, f, left, right, tw, z1, z2, solid)
}

func (l *endLayout) sectionTexts(d EndData, c *sectionLayout, f box, left, right, tw, z1, z2 float64, solid bool) {
	across := func(y float64) float64 { return c.cx + y*l.scale }
	_, top := heights(d.Geometry.Section)
	if solid {
		marks := distinct([]float64{-tw/2 - left, -tw / 2, tw / 2, tw/2 + right}, 0.1)
		l.chainAcross(chain(marks, d.System), l.z(top)-26, l.z(top)-8, across)
		half := sectionWidth(d) / 2
		l.chainUp(chain(distinct([]float64{0, z1, z2}, 0.5), d.System), across(half)+22, across(max(right+tw/2, 0))+6)
	}
	y := f.bottom() + 26
	say := func(text, class string) {
		c.texts = append(c.texts, label{X: c.cx, Y: y, Text: text, Class: class, Anchor: "middle"})
		y += 15
	}
	way := "looking ahead station"
	say("Section A–A", "lbl strong")
	say(way+", at x = "+measureText(c.at, d.System), "lbl quiet")
	v := d.Design
	if len(v.Studs) > 0 {
		say("studs "+measureText(float64(v.StudDiameter), d.System)+" × "+measureText(float64(v.StudHeight), d.System), "lbl quiet")
	}
	if v.Panel.Gap > 0 {
		say("gap under the foot "+measureText(float64(v.Panel.Gap), d.System), "lbl quiet")
	}
	c.texts = append(c.texts,
		label{X: across(-tw/2-max(left, 40)) + 4, Y: l.z(max(z2, 0)) - 6, Text: "L", Class: "code halo", Anchor: "start"},
		label{X: across(tw/2+max(right, 40)) - 4, Y: l.z(max(z2, 0)) - 6, Text: "R", Class: "code halo", Anchor: "end"})
	// The cutting plane on the elevation: heavy strokes with arrows in the
	// direction of view, which is away from a near end and toward a far one.
	x, dir := l.x(c.at), l.flip
	if d.Geometry.Name.Side == "F" {
		dir = -dir
	}
	tf := sound(float64(d.Geometry.Section.FlangeThickness), 0)
	for _, s := range []struct{ y1, y2, arrow float64 }{{l.z(top) - 2, l.z(top) - 14, l.z(top) - 13}, {l.z(-tf) + 2, l.z(-tf) + 16, l.z(-tf) + 15}} {
		l.lines = append(l.lines, segment{x, s.y1, x, s.y2, "plane"})
		l.steel = append(l.steel, outline{D: poly(point{x, s.arrow - 3.5}, point{x + dir*9, s.arrow}, point{x, s.arrow + 3.5}), Class: "solid"})
		l.texts = append(l.texts, label{X: x + dir*16, Y: s.arrow + 4.5, Text: "A", Class: "code halo", Anchor: "middle"})
	}
}

// profile is the web as it is left at the cut: what is lost is taken evenly from
// both faces, because a reading tells the metal left and not from which face it went.
func (l *endLayout) profile(at, tw, web float64, across func(float64) float64) []outline {
	type part struct{ z1, z2, t float64 }
	var parts []part
	for _, c := range l.cells {
		if !c.blind && c.x1 <= at && at < c.x2 && c.z2 > c.z1 {
			parts = append(parts, part{c.z1, c.z2, min(max(c.t, 0), tw)})
		}
	}
	slices.SortFunc(parts, func(a, b part) int {
		if a.z1 < b.z1 {
			return -1
		}
		return 1
	})
	var full []part
	z := 0.0
	for _, p := range parts {
		if p.z1 > z+0.5 {
			full = append(full, part{z, p.z1, tw})
		}
		full = append(full, part{max(p.z1, z), p.z2, p.t})
		z = p.z2
	}
	if z < web-0.5 {
		full = append(full, part{z, web, tw})
	}
	var out []outline
	for _, p := range full {
		if p.t > 0 && p.z2 > p.z1 {
			out = append(out, outline{D: span(across(-p.t/2), l.z(p.z1), across(p.t/2), l.z(p.z2)).d(), Class: "cut"})
		}
	}
	return out
}

// studSide is a stud seen from the side: shank, head, collar. The head of a headed
// stud is about 1.6 diameters wide and 0.4 deep (from memory); here it is a symbol.
func studSide(s encasement.Stud, v *encasement.Design, tw, scale float64, across, up func(float64) float64) outline {
	d, h := sound(float64(v.StudDiameter), 19), sound(float64(v.StudHeight), 100)
	sign := 1.0
	if s.Face == survey.Left {
		sign = -1
	}
	y := func(out float64) float64 { return across(sign * (tw/2 + out)) }
	z := up(float64(s.Z))
	shank, head, collar := d/2*scale, 0.8*d*scale, 0.66*d*scale
	class := "stud-side"
	p := new(pen).move(y(0), z-collar).to(y(0.2*d), z-collar).to(y(0.2*d), z-shank).to(y(h-0.4*d), z-shank).to(y(h-0.4*d), z-head).
		to(y(h), z-head).to(y(h), z+head).to(y(h-0.4*d), z+head).to(y(h-0.4*d), z+shank).to(y(0.2*d), z+shank).to(y(0.2*d), z+collar).to(y(0), z+collar).close()
	return outline{D: p.String(), Class: class}
}

// unitNote names the unit of all figures of the drawing.
func unitNote(sys units.System) string {
	if sys == units.SI {
		return "Dimensions and thicknesses in millimeters."
	}
	return "Dimensions and thicknesses in inches."
}
