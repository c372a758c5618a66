package drawing

import (
	"math"
	"slices"
	"strings"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// endLayout is the elevation of an end with every place computed.
type endLayout struct {
	id, title, desc string
	width, height   float64
	scale           float64 // pixels a mm
	ox, oz          float64 // pixel of the origin: girder end, top of the bottom flange
	flip            float64 // 1, or -1 where the end lies on the right
	far             float64 // x in mm to which the girder is drawn

	steel, hatched []outline
	cells          []drawnCell
	holes          []outline
	gaps           []box // holes and lines that lettering keeps off
	lines          []segment
	texts          []label
	studs          []drawnStud
	behind         []drawnStud
	frames         []panelFrame
	pins           []drawnPin
	section        *sectionLayout
	bands          []bandKey
	statuses       []StudStatus // that occur
}

// x and z turn mm into pixels.
func (l *endLayout) x(v float64) float64 { return l.ox + l.flip*v*l.scale }
func (l *endLayout) z(v float64) float64 { return l.oz - v*l.scale }

func (l *endLayout) box(x1, z1, x2, z2 float64) box {
	return span(l.x(x1), l.z(z1), l.x(x2), l.z(z2))
}

type drawnCell struct {
	cell
	box  box
	band int
	text label
}

type drawnStud struct {
	stud   encasement.Stud
	x, y   float64
	r      float64
	status StudStatus
	hidden bool // on the face behind
	single bool // the other revision has no stud of this mark
	moved  bool // the other revision has it elsewhere
	said   string
	mark   label
}

// panelFrame is the outline of a panel with its measures for a script.
type panelFrame struct {
	box        box
	class      string
	x, z, w, h float64
}

type bandKey struct {
	band  int
	words string
}

// layEnd computes the elevation.
func layEnd(d EndData) endLayout {
	g := d.Geometry
	l := endLayout{id: ident(d.ID, "end"), flip: 1, title: d.Title}
	if d.TrueView && flipped(g.Name, d.View) {
		l.flip = -1
	}
	if l.title == "" {
		l.title = "Elevation of " + g.Name.String()
		if d.Support != "" {
			l.title += ", " + g.Name.Reading(d.Support)
		}
	}
	l.size(d)
	l.girder(d)
	l.loss(d)
	l.place(d)
	l.letter()
	l.panel(d.Overlay, "panel-ghost", false)
	l.panel(d.Design, "panel-line", true)
	l.support(g)
	l.axes(d)
	l.dimension(d)
	l.cut(d)
	l.stick(d.Pins)
	l.desc = describeEnd(d, l)
	return l
}

// size chooses the scale: the whole end with its section fits the width, and the
// girder is no taller than endTall.
func (l *endLayout) size(d EndData) {
	g := d.Geometry
	depth := sound(float64(g.Section.Depth), 800)
	far := 0.8 * depth
	reach := func(v units.Length) {
		if finite(float64(v)) {
			far = max(far, min(float64(v), 6*depth))
		}
	}
	reach(g.Bearing.Start + g.Bearing.Length)
	reach(g.DiaphragmX)
	if g.Stiffener != nil {
		reach(g.Stiffener.X + g.Stiffener.Thickness)
	}
	if d.Survey != nil {
		for _, r := range d.Survey.Readings {
			reach(r.X + 40)
		}
		for _, h := range d.Survey.Holes {
			reach(h.X + h.Width)
		}
	}
	for _, v := range []*encasement.Design{d.Design, d.Overlay} {
		if v == nil {
			continue
		}
		reach(v.Panel.X + v.Panel.Width)
		for _, s := range v.Studs {
			reach(s.X)
		}
	}
	l.far = far + 0.09*depth
	width := d.Width
	if !(width >= 320) || !finite(width) {
		width = endWidth
	}
	wide, fixed := l.far, endMargin+endAhead
	if d.Design != nil {
		wide += sectionWidth(d)
		fixed += sectionGap + sectionEnd
	}
	l.scale = min((width-fixed)/wide, endTall/depth)
	l.ox = endMargin
	if l.flip < 0 {
		l.ox = endAhead + l.far*l.scale
	}
	tf := sound(float64(g.Section.FlangeThickness), 0)
	l.oz = endTop + (depth-tf)*l.scale
	l.height = l.oz + tf*l.scale + bearingPx + endFoot
	l.width = fixed + wide*l.scale
}

// sound returns v where it is a positive number, and the other value where not.
func sound(v, otherwise float64) float64 {
	if v > 0 && finite(v) {
		return v
	}
	return otherwise
}

// heights of the web and the flanges above the origin.
func heights(s girder.Section) (web, top float64) {
	depth := sound(float64(s.Depth), 800)
	tf, tt := sound(float64(s.FlangeThickness), 0), sound(float64(s.TopFlangeThickness), 0)
	return depth - tf - tt, depth - tf
}

// girder draws web, flanges, stiffeners and the diaphragm.
func (l *endLayout) girder(d EndData) {
	g := d.Geometry
	web, top := heights(g.Section)
	tf := sound(float64(g.Section.FlangeThickness), 0)
	l.steel = append(l.steel,
		outline{D: l.box(0, 0, l.far, web).d(), Class: "web"},
		outline{D: l.box(0, -tf, l.far, 0).d(), Class: "flange"},
		outline{D: l.box(0, web, l.far, top).d(), Class: "flange"})
	// The break: the girder goes on.
	x, s := l.x(l.far), 5.0
	zig := new(pen).move(x, l.z(top)-12).to(x, l.z(web*0.56)).to(x-s, l.z(web*0.56)+5).to(x+s, l.z(web*0.56)+11).
		to(x, l.z(web*0.56)+16).to(x, l.z(-tf)+12)
	l.steel = append(l.steel, outline{D: zig.String(), Class: "break"})
	if st := g.Stiffener; st != nil && finite(float64(st.X)) {
		pairs, t := max(1, min(st.Pairs, 6)), sound(float64(st.Thickness), 10)
		pitch := max(4*t, 50) // spacing of several pairs is not on record
		for i := range pairs {
			mid := float64(st.X) + (float64(i)-float64(pairs-1)/2)*pitch
			l.steel = append(l.steel, outline{D: l.box(mid-t/2, 0, mid+t/2, web).d(), Class: "stiffener"})
		}
	}
	if dx := float64(g.DiaphragmX); dx > 0 && finite(dx) {
		l.lines = append(l.lines, segment{l.x(dx), l.z(web), l.x(dx), l.z(0), "diaphragm"})
		l.gaps = append(l.gaps, span(l.x(dx)-1, l.z(web), l.x(dx)+1, l.z(0)))
		l.texts = append(l.texts, label{X: l.x(dx) - 4, Y: l.z(web) + 8, Text: "End diaphragm", Class: "lbl quiet halo", Anchor: "end", Turn: -90})
	}
}

// loss draws the readings as cells and the holes.
func (l *endLayout) loss(d EndData) {
	if d.Survey == nil {
		return
	}
	web, _ := heights(d.Geometry.Section)
	tw := float64(d.Geometry.Section.WebThickness)
	list := cells(d.Survey.Readings, d.View, box{0, 0, l.far, web})
	figure := fitFigures(list, l.scale, d.System)
	for _, c := range list {
		dc := drawnCell{cell: c, box: l.box(c.x1, c.z1, c.x2, c.z2), band: band(c.t, tw, d.Bands)}
		switch {
		case c.blind:
			dc.band = -1
			dc.text.Text = "n/a"
		case figure != nil && dc.box.H >= 9:
			if text := figure(c.t); wide(text, figureSize)+1 <= dc.box.W {
				dc.text.Text = text
			}
		}
		l.cells = append(l.cells, dc)
	}
	for _, h := range d.Survey.Holes {
		x, z, w, t := float64(h.X), float64(h.Z), float64(h.Width), float64(h.Height)
		if !finite(x, z, w, t) {
			continue
		}
		b := l.box(x, z, x+w, z+t)
		l.gaps = append(l.gaps, b)
		l.holes = append(l.holes, outline{D: b.d(), Class: "hole"},
			outline{D: new(pen).move(b.X, b.Y).to(b.right(), b.bottom()).move(b.X, b.bottom()).to(b.right(), b.Y).String(), Class: "hole-cross"})
	}
	l.bands = bandKeys(d)
}

// fitFigures chooses one way to print all thicknesses, as exact as the narrower
// cells allow; nil where no figure would be legible.
func fitFigures(list []cell, scale float64, sys units.System) func(float64) string {
	if len(list) == 0 {
		return nil
	}
	widths := make([]float64, len(list))
	for i, c := range list {
		widths[i] = (c.x2 - c.x1) * scale
	}
	slices.Sort(widths)
	room := widths[len(widths)/4]
	digits := []int{3, 2}
	if sys == units.SI {
		digits = []int{1, 0}
	}
	for _, n := range digits {
		f := func(t float64) string {
			s := units.Lengths.Figure(t, sys, n)
			if sys != units.SI {
				s = strings.TrimPrefix(s, "0") // .312, as lettered on a drawing
			}
			return s
		}
		if wide(f(8.8*1.26), figureSize)+2 <= room {
			return f
		}
	}
	return nil
}

func bandKeys(d EndData) []bandKey {
	limits := d.Bands
	if limits == [4]float64{} {
		limits = DefaultBands
	}
	pc := func(v float64) string { return units.Percents.Figure(v, d.System, 0) }
	out := []bandKey{{0, "at least " + pc(limits[0]) + " % left"}}
	for i := 1; i < 4; i++ {
		out = append(out, bandKey{i, pc(limits[i]) + " to " + pc(limits[i-1]) + " %"})
	}
	return append(out, bandKey{4, "less than " + pc(limits[3]) + " %"})
}

// panel draws the outline of a panel, hatched along its border.
func (l *endLayout) panel(v *encasement.Design, class string, hatch bool) {
	if v == nil {
		return
	}
	p := v.Panel
	x, z, w, h := float64(p.X), float64(p.Z), float64(p.Width), float64(p.Height)
	if !(w > 0) || !(h > 0) || !finite(x, z, w, h) {
		return
	}
	b := l.box(x, z, x+w, z+h)
	if hatch {
		const rim = 7.0
		in := box{b.X + rim, b.Y + rim, max(b.W-2*rim, 0), max(b.H-2*rim, 0)}
		l.hatched = append(l.hatched, outline{D: b.d() + in.d(), Class: "panel-rim", Fill: "url(#" + l.id + "-panel)"})
	}
	l.frames = append(l.frames, panelFrame{b, class, x, z, w, h})
}

// shows reports whether a face is drawn in a view, and whether it lies behind.
func shows(v View, f survey.Face) (drawn, hidden bool) {
	switch v {
	case LeftFace:
		return f == survey.Left, false
	case RightFace:
		return f == survey.Right, false
	}
	return true, f == survey.Right
}

// place draws the studs, and behind them those of the other revision.
func (l *endLayout) place(d EndData) {
	if d.Design != nil {
		l.studs = l.set(d, d.Design)
	}
	if d.Overlay == nil {
		return
	}
	l.behind = l.set(d, d.Overlay)
	old := map[string]int{}
	for i := range l.behind {
		l.behind[i].single = true
		old[l.behind[i].stud.Mark] = i
	}
	for i := range l.studs {
		s := &l.studs[i]
		k, ok := old[s.stud.Mark]
		s.single = !ok
		if !ok {
			continue
		}
		o := &l.behind[k]
		o.single = false
		if math.Hypot(float64(s.stud.X-o.stud.X), float64(s.stud.Z-o.stud.Z)) <= sameplace && s.stud.Face == o.stud.Face {
			continue
		}
		s.moved, o.moved = true, true
		if math.Hypot(s.x-o.x, s.y-o.y) > 1 {
			l.lines = append(l.lines, segment{o.x, o.y, s.x, s.y, "moved"})
		}
	}
	for i := range l.studs {
		s := &l.studs[i]
		switch {
		case s.single:
			s.sign(l.studs, "+", "new since "+overlayName(d))
		case s.moved:
			s.sign(l.studs, "→", "moved since "+overlayName(d))
		}
	}
	for i := range l.behind {
		o := &l.behind[i]
		switch {
		case o.single:
			o.sign(l.behind, "×", "removed since "+overlayName(d))
		case o.moved:
			o.mark.Text, o.said = "", o.stud.Mark+", where "+overlayName(d)+" has it"
		default:
			o.mark.Text = ""
		}
	}
}

// sameplace is how far apart two places may be, in mm, and still be one: less than a
// tape shows.
const sameplace = 0.005

// sign puts what became of a stud before its mark, and in its words. One on the right
// face is lettered only where no stud in front of it tells the same.
func (s *drawnStud) sign(list []drawnStud, sign, words string) {
	s.said += ", " + words
	s.mark = label{Text: sign + shortMark(s.stud), Class: "stud-mark stud-change halo"}
	if !s.hidden {
		return
	}
	s.mark.Text = sign + s.stud.Mark
	for _, o := range list {
		if !o.hidden && o.single == s.single && o.moved == s.moved && math.Hypot(o.x-s.x, o.y-s.y) <= 1 {
			s.mark.Text = ""
		}
	}
}

func overlayName(d EndData) string {
	if d.OverlayRevision != "" {
		return "revision " + d.OverlayRevision
	}
	return "the other revision"
}

// tally counts the studs of an overlay by what became of them.
func (l endLayout) tally() (kept, moved, added, removed int) {
	for _, s := range l.studs {
		switch {
		case s.single:
			added++
		case s.moved:
			moved++
		default:
			kept++
		}
	}
	for _, s := range l.behind {
		if s.single {
			removed++
		}
	}
	return kept, moved, added, removed
}

func (l *endLayout) set(d EndData, v *encasement.Design) []drawnStud {
	var out []drawnStud
	r := max(sound(float64(v.StudDiameter), 19)/2*l.scale, 4)
	seen := map[StudStatus]bool{}
	for _, s := range v.Studs {
		drawn, hidden := shows(d.View, s.Face)
		if !drawn || !finite(float64(s.X), float64(s.Z)) {
			continue
		}
		st := drawnStud{stud: s, x: l.x(float64(s.X)), y: l.z(float64(s.Z)), r: r, hidden: hidden}
		if d.Status != nil {
			st.status = NotInspected
			if given, ok := d.Status[s.Mark]; ok {
				st.status = given
			}
		}
		if hidden {
			st.r += 3.5 // a ring round the stud in front, where both stand at one place
		}
		if !hidden && len(s.Mark) <= 8 { // those of an overlay are lettered on either face, see place
			st.mark = label{Text: shortMark(s), Class: "stud-mark halo"}
		}
		st.said = s.Mark + ", " + units.Length(s.X).Format(d.System, 2) + " from the end, " + units.Length(s.Z).Format(d.System, 2) + " up, " + st.status.Words()
		if v == d.Design && !seen[st.status] {
			seen[st.status] = true
			l.statuses = append(l.statuses, st.status)
		}
		out = append(out, st)
	}
	return out
}

// shortMark is the mark without its face, which the drawing tells already.
func shortMark(s encasement.Stud) string {
	rest, ok := strings.CutPrefix(s.Mark, string(s.Face)+"-")
	if !ok {
		return s.Mark
	}
	return rest
}
