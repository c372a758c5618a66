package uhpc

import (
	"fmt"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

var (
	faceVolume = calc.Define(calc.Def{Symbol: "V_g", Name: "volume within the form", Expr: "W*H*(t_L + t_R)", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "W", Name: "width of the panel", Dim: calc.Length}, {Symbol: "H", Name: "height of the panel", Dim: calc.Length},
			{Symbol: "t_L", Name: "thickness, left face", Dim: calc.Length}, {Symbol: "t_R", Name: "thickness, right face", Dim: calc.Length}}})
	studVolume = calc.Define(calc.Def{Symbol: "V_s", Name: "volume of the studs, shanks only", Expr: "n*pi*d^2/4*h", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "n", Name: "studs", Dim: calc.Scalar}, {Symbol: "d", Name: "stud diameter", Dim: calc.Length}, {Symbol: "h", Name: "stud height", Dim: calc.Length}}})
	netVolume = calc.Define(calc.Def{Symbol: "V", Name: "net volume", Expr: "V_g - V_s", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "V_g", Name: "volume within the form", Dim: calc.Volume}, {Symbol: "V_s", Name: "volume of the studs", Dim: calc.Volume}}})
	holeVolume = calc.Define(calc.Def{Symbol: "V_h", Name: "holes through the web that fill", Expr: "A_h*t_w", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "A_h", Name: "area of the holes within the panel", Dim: calc.Area}, {Symbol: "t_w", Name: "web thickness", Dim: calc.Length}}})
	headPressure = calc.Define(calc.Def{Symbol: "p", Name: "pressure at the foot of the form", Expr: "w*h", Dim: calc.Stress,
		Params: []calc.Param{{Symbol: "w", Name: "unit weight", Dim: calc.UnitWeight}, {Symbol: "h", Name: "full liquid head", Dim: calc.Length}},
		Clause: calc.Clause{Document: "full liquid head, Materials 14 (2021) 4767", Tag: basis.Read}})
)

// PanelVolume is the concrete of a panel: its faces less the shanks of the studs.
// Heads and collars are not taken off: the spare of the order covers them. Holes
// through the web are added by HoleVolume. It refuses lengths that are not positive.
func PanelVolume(p *calc.Pad, d encasement.Design) (units.Volume, error) {
	v := &fault.Invalid{}
	need := func(field string, x units.Length, zero bool) {
		if !finite(float64(x)) || x < 0 || x == 0 && !zero {
			v.Add(field, fmt.Sprint(float64(x)), "%s must be above 0, got %s", field, both(units.Lengths, float64(x)))
		}
	}
	need("panel width", d.Panel.Width, false)
	need("panel height", d.Panel.Height, false)
	need("panel thickness, left", d.Panel.ThicknessLeft, true)
	need("panel thickness, right", d.Panel.ThicknessRight, true)
	if d.Panel.ThicknessLeft+d.Panel.ThicknessRight == 0 {
		v.Add("panel thickness", "0", "at least one face needs a thickness")
	}
	if len(d.Studs) > 0 {
		need("stud diameter", d.StudDiameter, false)
		need("stud height", d.StudHeight, false)
	}
	if err := v.Err(); err != nil {
		return 0, err
	}
	gross := faceVolume.Eval(p, float64(d.Panel.Width), float64(d.Panel.Height), float64(d.Panel.ThicknessLeft), float64(d.Panel.ThicknessRight))
	studs := studVolume.Eval(p, float64(len(d.Studs)), float64(d.StudDiameter), float64(d.StudHeight))
	net := netVolume.Eval(p, gross, studs)
	if net <= 0 {
		return 0, fault.New(fault.Refused, "the studs take up more than the panel: %s of %s",
			both(units.Volumes, studs), both(units.Volumes, gross))
	}
	return units.Volume(net), nil
}

// HoleVolume is the concrete that fills holes through the web between the two
// faces, over the thickness of the web as built.
func HoleVolume(p *calc.Pad, holes units.Area, web units.Length) (units.Volume, error) {
	if !finite(float64(holes)) || !finite(float64(web)) || holes < 0 || web < 0 {
		return 0, fault.New(fault.Refused, "area of holes and thickness of the web cannot be below 0, got %s and %s",
			both(units.Areas, float64(holes)), both(units.Lengths, float64(web)))
	}
	if holes == 0 {
		return 0, nil
	}
	return units.Volume(holeVolume.Eval(p, float64(holes), float64(web))), nil
}

// FormPressure is the pressure at the foot of a form under the full liquid head,
// from the top of the concrete in the feed hopper down. It is the upper bound for
// a mix that levels itself; the form's own design is for a temporary-works
// engineer.
func FormPressure(p *calc.Pad, head units.Length, b basis.Basis) units.Stress {
	return units.Stress(headPressure.Eval(p, unitWeight(b), float64(head)))
}
