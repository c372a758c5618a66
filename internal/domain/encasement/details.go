package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

var (
	pitchClause     = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.10.1.2", Edition: "10th ed., 2024", Tag: basis.SecondHand}
	spacingClause   = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.10.1.3", Edition: "9th ed., 2020", Tag: basis.SecondHand}
	edgeClause      = calc.Clause{Document: "AWS D1.1", Edition: "2015", Tag: basis.Memory}
	roomClause      = calc.Clause{Document: "rule of this program", Tag: basis.Proposal}
	sideCoverClause = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.10.1.3, clear edge", Edition: "9th ed., 2020", Tag: basis.Memory}
)

// details adds the checks of dimensions.
func (r *Result) details(p *calc.Pad, b basis.Basis, g girder.Geometry, d Design, w *layout) {
	dia := d.StudDiameter
	at := func(i int) string {
		if i < len(d.Studs) {
			return d.Studs[i].Mark
		}
		return ""
	}
	if len(d.Studs) > 0 {
		r.Checks = append(r.Checks,
			stud.BaseMetal{Diameter: dia, Thickness: w.metal}.Check(fresh(p), b),
			stud.Shape{Diameter: dia, Height: d.StudHeight}.Check(fresh(p), b),
			Room{Key: KeySpacing, Name: "Least spacing of studs", Diameter: dia, Diameters: b.Value(basis.StudGaugeMin), Have: w.spacing, At: at(w.spaceAt), Clause: spacingClause}.Check(fresh(p), b),
			Room{Key: KeyPitch, Name: "Vertical pitch of studs", Diameter: dia, Diameters: b.Value(basis.StudPitchMin), Have: w.pitch, At: at(w.pitchAt), Clause: pitchClause}.Check(fresh(p), b),
			Room{Key: KeyPitchUsual, Name: "Vertical pitch to the 9th edition", Diameter: dia, Diameters: b.Value(basis.StudPitchUsual), Have: w.pitch, At: at(w.pitchAt), Clause: usualClause, Informs: true}.Check(fresh(p), b),
			Apart{Widest: w.apart, At: at(w.apartAt)}.Check(fresh(p), b))
		r.keepOut(p, b, g, d, w)
	}
	thin := w.thinner(d.Panel)
	r.Checks = append(r.Checks,
		Room{Key: KeySideCover, Name: "Panel beside the studs", Diameter: dia, Plus: units.Length(b.Value(basis.StudSideCover)), Have: w.cover, At: at(w.coverAt), Clause: sideCoverClause}.Check(fresh(p), b),
		Room{Key: KeyTopRoom, Name: "Room over the panel to place UHPC", Floor: units.Length(b.Value(basis.PanelTopRoom)), At: "panel, to the top flange",
			Have: max(0, g.Section.ClearDepth()-d.Panel.Z-d.Panel.Height), Clause: roomClause, Informs: true}.Check(fresh(p), b),
		Thickness{StudHeight: d.StudHeight, Panel: thin}.Check(fresh(p), b),
		Slenderness{Height: max(0, w.bottom-d.Panel.Z), Thickness: thin}.Check(fresh(p), b),
		Seat{Gap: d.Panel.Gap, Above: d.Panel.Z}.Check(fresh(p), b),
		Material{Fc: d.Fc}.Check(fresh(p), b))
}

var usualClause = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.10.1.2", Edition: "to 9th ed., 2020", Tag: basis.Memory}

// thinner is the thinner panel of the faces that have studs, or of both when
// there are no studs.
func (w *layout) thinner(p Panel) units.Length {
	switch {
	case w.drawn[0] && !w.drawn[1]:
		return p.ThicknessLeft
	case w.drawn[1] && !w.drawn[0]:
		return p.ThicknessRight
	default:
		return min(p.ThicknessLeft, p.ThicknessRight)
	}
}

// keepOut adds the checks of room to steel edges, flanges, stiffeners and the
// diaphragm.
func (r *Result) keepOut(p *calc.Pad, b basis.Basis, g girder.Geometry, d Design, w *layout) {
	k := newKeepOut(b, g, d.StudDiameter, d.StudHeight)
	flange, stiff, dia := units.Length(inf), units.Length(inf), units.Length(inf)
	var flangeAt, stiffAt, diaAt int
	for i := range d.Studs {
		s := &d.Studs[i]
		if v := k.toFlange(s.Z); v < flange {
			flange, flangeAt = v, i
		}
		if v := k.toStiffener(s.X); v < stiff {
			stiff, stiffAt = v, i
		}
		if v := k.toDiaphragm(s.X); v < dia {
			dia, diaAt = v, i
		}
	}
	r.Checks = append(r.Checks,
		Room{Key: KeySteelEdge, Name: "Studs to holes and the girder end", Diameter: d.StudDiameter, Diameters: 1, Plus: k.edge, Floor: k.preferred,
			Have: w.hole, At: d.Studs[w.holeAt].Mark, Clause: edgeClause}.Check(fresh(p), b),
		Room{Key: KeyFlangeRoom, Name: "Room for the gun at the flanges", Diameter: d.StudDiameter, Diameters: 1, Plus: k.edge, Floor: k.preferred,
			Have: flange, At: d.Studs[flangeAt].Mark, Clause: roomClause}.Check(fresh(p), b),
		Room{Key: KeyStiffener, Name: "Room for the gun at the stiffeners", Diameter: d.StudDiameter, Diameters: 1, Plus: k.edge + k.gun,
			Have: stiff, At: d.Studs[stiffAt].Mark, Clause: roomClause}.Check(fresh(p), b),
		Room{Key: KeyDiaphragm, Name: "Studs to the end diaphragm", Diameter: d.StudDiameter, Floor: k.frame,
			Have: dia, At: d.Studs[diaAt].Mark, Clause: roomClause}.Check(fresh(p), b))
	if c, ok := skewRoom(b, g, d); ok {
		r.Checks = append(r.Checks, c.Check(fresh(p), b))
	}
}

// keepOut holds the distances that studs keep from the steel around them.
type keepOut struct {
	edge, preferred, gun, frame   units.Length
	fillet, depth                 units.Length
	stiffener, half, diaphragm    units.Length
	hasStiffener, hasDiaphragm    bool
	nearEdge, nearStiff, diameter units.Length
	lean                          units.Length // what a skewed diaphragm takes off the room, where that decides
}

func newKeepOut(b basis.Basis, g girder.Geometry, diameter, height units.Length) keepOut {
	k := keepOut{
		edge: units.Length(b.Value(basis.StudSteelEdge)), preferred: units.Length(b.Value(basis.StudSteelEdgePreferred)),
		gun: units.Length(b.Value(basis.StudGunClearance)), frame: units.Length(b.Value(basis.StudDiaphragmClearance)),
		fillet: max(0, g.Section.FilletK-g.Section.FlangeThickness), depth: g.Section.ClearDepth(), diameter: diameter,
	}
	k.nearEdge = max(diameter+k.edge, k.preferred)
	k.nearStiff = diameter + k.edge + k.gun
	if s := g.Stiffener; s != nil {
		k.hasStiffener, k.stiffener, k.half = true, s.X, s.Thickness/2
		if s.Pairs > 1 {
			// How far apart the pairs of a set stand is not recorded: they are
			// taken to be spread over the bearing.
			k.half = max(k.half, g.Bearing.Length/2)
		}
	}
	k.hasDiaphragm, k.diaphragm = g.DiaphragmX > 0, g.DiaphragmX
	if b.Value(basis.StudSkewDecides) >= 0.5 {
		k.lean = skewReach(b, height) * units.Length(math.Tan(math.Abs(float64(g.SkewDeg))*math.Pi/180))
	}
	return k
}

// toFlange is the distance of a stud to the toe of the bottom fillet or to the
// top flange.
func (k keepOut) toFlange(z units.Length) units.Length { return min(z-k.fillet, k.depth-z) }

// toStiffener is the distance of a stud to the face of the stiffeners.
func (k keepOut) toStiffener(x units.Length) units.Length {
	if !k.hasStiffener {
		return units.Length(inf)
	}
	return units.Length(math.Abs(float64(x-k.stiffener))) - k.half
}

// toDiaphragm is the distance of a stud to the line of the end diaphragm.
func (k keepOut) toDiaphragm(x units.Length) units.Length {
	if !k.hasDiaphragm {
		return units.Length(inf)
	}
	return units.Length(math.Abs(float64(x - k.diaphragm)))
}

// allows reports whether a stud may stand at a place as far as flanges,
// stiffeners, the diaphragm and the girder end go.
func (k keepOut) allows(x, z units.Length) bool {
	const slack = 1 - calc.Slack
	return x >= k.nearEdge*slack && k.toFlange(z) >= k.nearEdge*slack && k.toStiffener(x) >= k.nearStiff*slack && k.toDiaphragm(x)-k.lean >= k.frame*slack
}
