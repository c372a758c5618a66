package uhpc

import (
	"fmt"
	"math"

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
	orderVolume = calc.Define(calc.Def{Symbol: "V_m", Name: "volume to mix", Expr: "V*(1 + k_s) + V_t", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "V", Name: "net volume", Dim: calc.Volume}, {Symbol: "k_s", Name: "spare", Dim: calc.Scalar}, {Symbol: "V_t", Name: "specimens and flow tests", Dim: calc.Volume}}})
	headPressure = calc.Define(calc.Def{Symbol: "p", Name: "pressure at the foot of the form", Expr: "w*h", Dim: calc.Stress,
		Params: []calc.Param{{Symbol: "w", Name: "unit weight", Dim: calc.UnitWeight}, {Symbol: "h", Name: "full liquid head", Dim: calc.Length}},
		Clause: calc.Clause{Document: "full liquid head, Materials 14 (2021) 4767", Tag: basis.Read}})
)

// PanelVolume is the concrete of a panel: its faces less the shanks of the studs.
// Heads and collars are not taken off, and holes through the web are not added:
// the spare of the order covers both. It refuses lengths that are not positive.
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

// Order is what to mix for one casting.
type Order struct {
	Net, Total units.Volume
	Batches    int
	PerBatch   units.Volume
	Bags       int // zero when the yield of a bag is not known
}

// flowMold is the volume of the flow mold: 4 in base, 2.75 in top, 2 in high
// (ASTM C230 cone, dimensions from memory).
const flowMold = math.Pi / 12 * 2 * (4*4 + 4*2.75 + 2.75*2.75) * 25.4 * 25.4 * 25.4

// Amount computes the order for a net volume: the spare of the design basis, the
// specimens and the flow tests are added; it is cut into equal batches that fit
// the mixer, and bags are rounded up per batch, not on the total.
func Amount(p *calc.Pad, net units.Volume, specimens map[Kind]int, flowTests int, mixer, bag units.Volume, b basis.Basis) (Order, error) {
	if !finite(float64(net)) || net <= 0 || !finite(float64(mixer)) || mixer <= 0 {
		return Order{}, fault.New(fault.Refused, "net volume and mixer volume must be above 0, got %s and %s",
			both(units.Volumes, float64(net)), both(units.Volumes, float64(mixer)))
	}
	tests := flowMold * float64(max(0, flowTests))
	for _, i := range kinds { // in the order of the table: a map's order would vary the last bits
		n := max(0, specimens[i.Kind])
		one := math.Pow(float64(i.Width), 2) * float64(i.Height)
		if !i.Cube {
			one *= math.Pi / 4
		}
		tests += float64(n) * one
	}
	o := Order{Net: net}
	o.Total = units.Volume(orderVolume.Eval(p, float64(net), b.Value(basis.SpareVolume), tests))
	n := math.Ceil(float64(o.Total)/float64(mixer) - 1e-9)
	if n > 10000 {
		return Order{}, fault.New(fault.Refused, "the mixer of %s would need %.0f batches, at most 10000", both(units.Volumes, float64(mixer)), n)
	}
	o.Batches = max(1, int(n))
	o.PerBatch = o.Total / units.Volume(o.Batches)
	if bag > 0 {
		o.Bags = o.Batches * int(math.Ceil(float64(o.PerBatch)/float64(bag)-1e-9))
	}
	return o, nil
}

// FormPressure is the pressure at the foot of a form under the full liquid head,
// from the top of the concrete in the feed hopper down. It is the upper bound for
// a mix that levels itself; the form's own design is for a temporary-works
// engineer.
func FormPressure(p *calc.Pad, head units.Length, b basis.Basis) units.Stress {
	const perCubicMillimetre = 1e-6 // kN/m3 to N/mm3
	return units.Stress(headPressure.Eval(p, b.Value(basis.UnitWeightUHPC)*perCubicMillimetre, float64(head)))
}
