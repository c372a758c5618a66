package uhpc

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Part is one constituent of the mix of record.
type Part struct {
	Key     basis.Key
	Symbol  string
	Name    string
	Dry     bool    // comes in the bag
	Density float64 // kg/mm3, of placed material
}

// Parts lists the mix of record in the order of its table: the dry parts of the
// bag first. The defaults are FHWA-HRT-13-060, Table 1; none is a supplier's.
func Parts(b basis.Basis) []Part {
	list := []Part{
		{Key: basis.MixCement, Symbol: "g_ce", Name: "cement", Dry: true},
		{Key: basis.MixSand, Symbol: "g_sa", Name: "fine sand", Dry: true},
		{Key: basis.MixSilicaFume, Symbol: "g_sf", Name: "silica fume", Dry: true},
		{Key: basis.MixQuartz, Symbol: "g_qz", Name: "ground quartz", Dry: true},
		{Key: basis.MixWater, Symbol: "g_w", Name: "water"},
		{Key: basis.MixReducer, Symbol: "g_wr", Name: "water reducer"},
		{Key: basis.MixAccelerator, Symbol: "g_ac", Name: "accelerator"},
		{Key: basis.MixFiber, Symbol: "g_f", Name: "steel fiber"},
	}
	for i := range list {
		list[i].Density = b.Value(list[i].Key)
	}
	return list
}

// MixDensity is the mass of all parts in a volume of placed material, in kg/mm3.
func MixDensity(b basis.Basis) float64 {
	sum := 0.0
	for _, x := range Parts(b) {
		sum += x.Density
	}
	return sum
}

var (
	dryDensity = calc.Define(calc.Def{Symbol: "g_dry", Name: "dry premix", Expr: "g_ce + g_sa + g_sf + g_qz", Dim: calc.Density,
		Params: []calc.Param{{Symbol: "g_ce", Name: "cement", Dim: calc.Density}, {Symbol: "g_sa", Name: "fine sand", Dim: calc.Density},
			{Symbol: "g_sf", Name: "silica fume", Dim: calc.Density}, {Symbol: "g_qz", Name: "ground quartz", Dim: calc.Density}},
		Clause: calc.Clause{Document: "mix of record", Tag: basis.Read}})
	bagVolume = calc.Define(calc.Def{Symbol: "V_bag", Name: "volume that a bag makes", Expr: "m_bag/g_dry", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "m_bag", Name: "dry premix in a bag", Dim: calc.Mass}, {Symbol: "g_dry", Name: "dry premix", Dim: calc.Density}}})
	partMass = calc.Define(calc.Def{Symbol: "m", Name: "mass of a part in a batch", Expr: "g*V_b", Dim: calc.Mass,
		Params: []calc.Param{{Symbol: "g", Name: "part in the mix", Dim: calc.Density}, {Symbol: "V_b", Name: "volume of the batch", Dim: calc.Volume}}})
	fiberDensity = calc.Define(calc.Def{Symbol: "g_f", Name: "fiber by its share of the volume", Expr: "r_f*d_s", Dim: calc.Density,
		Params: []calc.Param{{Symbol: "r_f", Name: "share of the volume", Dim: calc.Percent}, {Symbol: "d_s", Name: "density of the fiber's steel", Dim: calc.Density}}})
	fiberShare = calc.Define(calc.Def{Symbol: "r_f", Name: "fiber in the volume", Expr: "g_f/d_s", Dim: calc.Percent,
		Params: []calc.Param{{Symbol: "g_f", Name: "fiber in the mix", Dim: calc.Density}, {Symbol: "d_s", Name: "density of the fiber's steel", Dim: calc.Density}}})
)

// FiberOf is the mass of fiber in a volume of material, in kg/mm3, for a share of
// the volume (0.02 for 2 %).
func FiberOf(p *calc.Pad, share float64, b basis.Basis) float64 {
	return fiberDensity.Eval(p, share, b.Value(basis.FiberDensity))
}

// FiberShare is the share of the volume that a mass of fiber in a volume of
// material takes; the mass is in kg/mm3.
func FiberShare(p *calc.Pad, density float64, b basis.Basis) float64 {
	return fiberShare.Eval(p, density, b.Value(basis.FiberDensity))
}

// Yield is the volume that one bag makes: the data sheet's, or what the dry parts
// of the mix of record say. It is zero when the mix has no dry part.
func Yield(p *calc.Pad, b basis.Basis) units.Volume {
	if v := b.Value(basis.BagYield); v > 0 {
		p.Given("V_bag", "volume that a bag makes", calc.Volume, v, origin(basis.BagYield))
		return units.Volume(v)
	}
	parts := Parts(b)
	var dry []float64
	for _, x := range parts[:4] {
		p.Given(x.Symbol, x.Name+" in the mix", calc.Density, x.Density, origin(x.Key))
		dry = append(dry, x.Density)
	}
	sum := dryDensity.Eval(p, dry...)
	if !(sum > 0) {
		return 0
	}
	p.Given("m_bag", "dry premix in a bag", calc.Mass, b.Value(basis.BagMass), origin(basis.BagMass))
	return units.Volume(bagVolume.Eval(p, b.Value(basis.BagMass), sum))
}

// origin is where a setting comes from, for the sheet.
func origin(k basis.Key) string {
	d, _ := basis.Lookup(k)
	return "design basis: " + d.Source + " (" + string(d.Tag) + ")"
}

// up rounds a count up; a hair of rounding error does not ask for one more. A count
// that nothing could be stays a large one: a number too great for an int would come
// out negative, and pass for small.
func up(x float64) int {
	if !(x < math.MaxInt32) {
		return math.MaxInt32
	}
	return int(math.Ceil(x - 1e-9))
}
