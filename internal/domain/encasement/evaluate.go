package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// Evaluate checks a design against a factored reaction. accepted tells which
// studs count by their mark; nil counts all, which is the design as drawn. A
// non-nil p asks for sheets: each check then carries its own lines. With a nil p
// nothing is written and the numbers are the same.
//
// The web below the studs is taken as lost: the panel carries the whole
// reaction. A stud on metal thinner than its rule is not counted, and studs that
// are missing never raise the worth of the group above that of the design.
//
// The design is expected to have passed Validate; one that did not gives checks
// that fail, not a panic.
func Evaluate(p *calc.Pad, b basis.Basis, g girder.Geometry, steel Steel, d Design, demand units.Force, accepted func(mark string) bool) Result {
	return evaluate(p, b, g, steel, d, Loads{Demand: demand}, accepted, true)
}

// EvaluateLoads is Evaluate with the live range too, where it is known: the
// fatigue of the hardest worked stud is then shown by both codes.
func EvaluateLoads(p *calc.Pad, b basis.Basis, g girder.Geometry, steel Steel, d Design, l Loads, accepted func(mark string) bool) Result {
	return evaluate(p, b, g, steel, d, l, accepted, true)
}

// evaluate makes the checks; those that only inform where they are asked for.
func evaluate(p *calc.Pad, b basis.Basis, g girder.Geometry, steel Steel, d Design, l Loads, accepted func(mark string) bool, inform bool) Result {
	demand := l.Demand
	if steel == nil {
		steel = AsNew{g.Section}
	}
	w := measure(b, g, steel, d, accepted)
	s := d.stud(b)
	most := 23
	if inform {
		most = 33
	}
	group := StudGroup{Demand: demand, Stud: s, Group: w.group, Ceiling: w.ceiling}
	if w.counted > 0 {
		group.Worst = w.worst
	}
	r := Result{Checks: make([]calc.Check, 0, most), Designed: len(d.Studs), Counted: w.counted,
		PerStud: s.Strength(nil, b).Factored, Effective: group.Effective(nil)}
	r.Checks = append(r.Checks, group.Check(fresh(p), b))
	if w.counted > 0 {
		foot, panel := w.faces(b, g, steel, d, demand)
		r.Checks = append(r.Checks, foot.Check(fresh(p), b), panel.Check(fresh(p), b))
		end := max(w.right+d.StudDiameter, d.Panel.X+d.Panel.Width)
		strip, _ := w.strip(b, g, steel, d)
		r.Checks = append(r.Checks,
			WebBeside{Demand: demand, Fy: g.Fy, Area: steel.WebCut(w.right, end)}.Check(fresh(p), b),
			WebStrip{Demand: demand, Fy: g.Fy, Area: strip}.Check(fresh(p), b),
			StudFoot{Demand: demand, Share: w.footShare, Diameter: d.StudDiameter, Thickness: w.footMetal, Fu: g.Fu}.Check(fresh(p), b))
		if w.beyond[0] > 0 || w.beyond[1] > 0 {
			r.Checks = append(r.Checks, w.panelShear(b, d, demand).Check(fresh(p), b))
		}
		if w.share[0] == 0 || w.share[1] == 0 {
			t := d.Panel.ThicknessLeft
			if w.share[0] == 0 {
				t = d.Panel.ThicknessRight
			}
			r.Checks = append(r.Checks, OneSided{Demand: demand, Stud: s, Web: g.Section.WebThickness, Thickness: t,
				Lever: w.top - w.bottom, Lowest: w.lowest, Peak: w.group.Peak}.Check(fresh(p), b))
		}
	}
	r.details(p, b, g, d, &w)
	if inform {
		r.inform(p, b, g, d, l, &w, s)
	}
	r.settle(demand)
	return r
}

// stud is one stud of the design in its UHPC.
func (d Design) stud(b basis.Basis) stud.Stud {
	return stud.Stud{Diameter: d.StudDiameter, Height: d.StudHeight, Fu: d.StudFu, Fc: d.Fc, Ec: Modulus(nil, b, d.Fc)}
}

// fresh is a new sheet for one check when sheets are asked for.
func fresh(p *calc.Pad) *calc.Pad {
	if p == nil {
		return nil
	}
	return calc.NewPad()
}

// faces picks, for bearing and for compression, the face that allows the
// smaller reaction.
func (w *layout) faces(b basis.Basis, g girder.Geometry, steel Steel, d Design, demand units.Force) (Foot, Compression) {
	var foot Foot
	var panel Compression
	leastFoot, leastPanel := math.Inf(1), math.Inf(1)
	flange := steel.Flange()
	contact := contactLength(b, g, flange, d.Panel)
	width := w.workingWidth(b, g, d)
	overhang := (g.Section.FlangeWidth - g.Section.WebThickness) / 2
	supported := max(0, min(overhang, (g.Bearing.Width-g.Section.WebThickness)/2))
	for i, t := range [2]units.Length{d.Panel.ThicknessLeft, d.Panel.ThicknessRight} {
		if w.share[i] == 0 {
			continue
		}
		f := Foot{Demand: demand, Share: w.share[i], Fc: d.Fc, Contact: contact, Thickness: t, Overhang: overhang, Supported: supported,
			Flange: flange, FlangeYield: g.Fy}
		if v := f.Resistance(nil, b); v < leastFoot {
			foot, leastFoot = f, v
		}
		c := Compression{Demand: demand, Share: w.share[i], Fc: d.Fc, Thickness: t, Width: width}
		if v := c.Resistance(nil, b); v < leastPanel {
			panel, leastPanel = c, v
		}
	}
	return foot, panel
}

// panelShear picks the face whose panel allows the smaller reaction in shear.
func (w *layout) panelShear(b basis.Basis, d Design, demand units.Force) PanelShear {
	var out PanelShear
	least := math.Inf(1)
	for i, t := range [2]units.Length{d.Panel.ThicknessLeft, d.Panel.ThicknessRight} {
		if w.beyond[i] == 0 {
			continue
		}
		c := PanelShear{Demand: demand, Share: w.beyond[i], Thickness: t, Height: d.Panel.Height}
		if v := c.Resistance(nil, b); v < least {
			out, least = c, v
		}
	}
	return out
}

// contactLength is how much of the panel foot stands over the bearing, with the
// spread through the flange.
func contactLength(b basis.Basis, g girder.Geometry, flange units.Length, p Panel) units.Length {
	spread := units.Length(b.Value(basis.PanelFootSpread)) * max(0, flange)
	from := max(p.X, g.Bearing.Start-spread)
	to := min(p.X+p.Width, g.Bearing.Start+g.Bearing.Length+spread)
	return max(0, to-from)
}

// workingWidth is the width of panel in compression: in the panel, in the spread
// of the group down to the foot and in the spread of the bearing up to the group.
func (w *layout) workingWidth(b basis.Basis, g girder.Geometry, d Design) units.Length {
	spread := units.Length(b.Value(basis.PanelSpread)) * max(0, w.bottom-d.Panel.Z)
	half := d.StudDiameter / 2
	from := max(d.Panel.X, w.left-half-spread, g.Bearing.Start-spread)
	to := min(d.Panel.X+d.Panel.Width, w.right+half+spread, g.Bearing.Start+g.Bearing.Length+spread)
	return max(0, to-from)
}

// stripSamples is how many places the strip beside the group is read at.
const stripSamples = 5

// strip is the upright section of the web beside the group, as high as the group
// and half a pitch more at either end, and how high it is.
func (w *layout) strip(b basis.Basis, g girder.Geometry, steel Steel, d Design) (units.Area, units.Length) {
	pitch := w.pitch
	if math.IsInf(float64(pitch), 1) {
		pitch = units.Length(b.Value(basis.StudPitchMin)) * d.StudDiameter
	}
	from, to := max(0, w.bottom-pitch/2), min(g.Section.ClearDepth(), w.top+pitch/2)
	var sum units.Length
	for i := range stripSamples {
		z := w.bottom + (w.top-w.bottom)*units.Length(i)/(stripSamples-1)
		sum += steel.Thickness(w.right+d.StudDiameter, z)
	}
	height := max(0, to-from)
	return units.Area(sum/stripSamples) * units.Area(height), height
}
