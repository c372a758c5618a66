package resistance

import (
	"math"
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Result is what an end can carry.
type Result struct {
	Checks []calc.Check // group "corroded"
	Flags  []Flag       // what the reader must know beside the numbers

	Capacity  units.Force // least factored resistance of the checks that decide
	Governing string      // key of that check
	// Nominal is the resistance of the governing check without its factor Phi, but
	// with the factor of the procedure: Capacity is Phi times Nominal. A rating puts
	// condition and system factors of its own on it.
	Nominal        units.Force
	Phi            float64
	AsBuilt        units.Force // the same for the end without loss
	AsBuiltGoverns string
	Unstiffened    units.Force  // least resistance of the web alone, without its stiffeners
	BandUpper      units.Force  // as Capacity, with the zone mean in place of the worst row
	Stiffened      bool         // stiffeners carry the reaction
	PatchSlender   float64      // slenderness of the European rule
	BearingCounted units.Length // width of the bearing that the flange can use
	Reduced        Reduced
	Procedure      Procedure
}

// Remaining is Capacity over AsBuilt, zero where the end as built carries nothing.
func (r Result) Remaining() float64 {
	if !(r.AsBuilt > 0) {
		return 0
	}
	return float64(r.Capacity / r.AsBuilt)
}

// Evaluate runs every check of a corroded end against a demand, with the
// procedure that ships. A nil survey gives the end as built. Geometry and survey
// must have been validated. With a pad, every check carries its sheet and the pad
// holds what they start from.
func Evaluate(p *calc.Pad, b basis.Basis, g girder.Geometry, s *survey.Survey, demand units.Force) Result {
	return Default(b).Evaluate(p, b, g, s, demand)
}

// Evaluate is the function Evaluate with another procedure.
//
// Bearing stiffeners decide where they carry at least what the web carries alone.
// Where corrosion has left less of them, or nothing that reaches the flange, the
// web decides; both results are shown either way.
func (pr Procedure) Evaluate(p *calc.Pad, b basis.Basis, g girder.Geometry, s *survey.Survey, demand units.Force) Result {
	r := pr.Reduce(b, g, s)
	if p != nil {
		pr.givens(p, g, s, r)
	}
	set := pr.checks(b, g, r, demand)
	patch, slender := set.patch.check(p, b)
	flags, end, web := pr.flags(b, g, s, r, slender, p != nil)
	conditions := slices.Concat(end, web)
	set.yielding.Conditions, set.crippling.Conditions, set.axial.Conditions = conditions, conditions, conditions
	set.bearing.Conditions, set.shear.Conditions = end, web

	out := Result{Flags: flags, Reduced: r, PatchSlender: slender, Procedure: pr}
	out.Checks = make([]calc.Check, 0, 9)
	yielding, crippling := set.yielding.Check(p, b), set.crippling.Check(p, b)
	band, shear := set.band.Check(p, b), set.shear.Check(p, b)
	alone := min(yielding.Resistance, crippling.Resistance)
	out.Unstiffened = units.Force(min(alone, shear.Resistance))
	upper := min(yielding.Resistance, band.Resistance)
	var bearing, axial calc.Check
	if g.Stiffener != nil {
		bearing, axial = set.bearing.Check(p, b), set.axial.Check(p, b)
		plates := min(bearing.Resistance, axial.Resistance)
		if r.Plates {
			upper = max(upper, plates)
		}
		if out.Stiffened = r.Plates && plates >= alone; out.Stiffened {
			yielding.Verdict, crippling.Verdict = calc.Informs, calc.Informs
		} else {
			bearing.Verdict, axial.Verdict = calc.Informs, calc.Informs
			if r.Plates {
				out.Flags = append(out.Flags, Flag{Key: "stiffener_weak", Text: "the bearing stiffeners carry less than the web alone: the end counts as unstiffened"})
			}
		}
	}
	out.BandUpper = units.Force(min(upper, shear.Resistance))
	out.Checks = append(out.Checks, yielding, crippling, band, patch, shear)
	if g.Stiffener != nil {
		out.Checks = append(out.Checks, bearing, axial, set.width.Check(p, b))
	}
	flange, counted := set.flange.check(p, b)
	out.Checks = append(out.Checks, flange)
	if out.BearingCounted = counted; counted < set.flange.Width {
		out.Flags = append(out.Flags, Flag{Key: "flange_thin", Text: "the bottom flange that is left spreads the reaction over " +
			percent(float64(counted/set.flange.Width)) + " of the width of the bearing: look at the bearing itself"})
	}
	out.Capacity, out.Governing = least(out.Checks)
	out.Nominal, out.Phi = set.nominal(b, out.Governing)
	out.AsBuilt, out.AsBuiltGoverns = pr.asBuilt(b, g)
	return out
}

// Check returns the check with the given key.
func (r Result) Check(key string) (calc.Check, bool) {
	for _, c := range r.Checks {
		if c.Key == key {
			return c, true
		}
	}
	return calc.Check{}, false
}

// least finds the smallest resistance among the checks that decide; one that is
// not a number makes the capacity unknown.
func least(checks []calc.Check) (units.Force, string) {
	at := -1
	for i, c := range checks {
		if math.IsNaN(c.Resistance) && c.Verdict != calc.Informs {
			return units.Force(c.Resistance), c.Key
		}
		if c.Verdict != calc.Informs && (at < 0 || c.Resistance < checks[at].Resistance) {
			at = i
		}
	}
	return units.Force(checks[at].Resistance), checks[at].Key
}

// checkSet is every check of one end with its inputs.
type checkSet struct {
	yielding  Yielding
	crippling Crippling
	band      Crippling
	patch     Patch
	shear     Shear
	bearing   StiffenerBearing
	axial     StiffenerAxial
	width     StiffenerWidth
	flange    Flange
}

// checks hands the reduced numbers to the checks.
func (pr Procedure) checks(b basis.Basis, g girder.Geometry, r Reduced, demand units.Force) checkSet {
	sec, brg, holed := g.Section, g.Bearing, r.HoleWidth > 0
	set := checkSet{
		yielding: Yielding{Fy: g.Fy, Area: r.YieldArea, Bearing: brg.Length, K: sec.FilletK, KLeft: r.K, Interior: r.Interior, Demand: demand, Alpha: pr.Yielding.of(holed)},
		crippling: Crippling{Depth: sec.Depth, Fy: g.Fy, Thickness: r.Counted, Reading: pr.Averaging.words(), Flange: r.Flange, FlangeAsBuilt: r.FlangeAsBuilt, Bearing: r.Bearing,
			Interior: interior(float64(r.X), float64(sec.Depth), 0.5) || g.HeldAgainstRoll && b.Value(basis.WebInteriorWhenHeld) >= 0.5,
			Demand:   demand, Alpha: pr.Crippling.of(holed)},
		patch: Patch{Depth: sec.ClearDepth(), Thickness: r.Counted, Flange: r.Flange, FlangeWidth: sec.FlangeWidth, Fy: g.Fy,
			Bearing: r.Bearing, Start: brg.Start, Demand: demand},
		shear: Shear{Depth: sec.ClearDepth(), Fy: g.Fy, Cut: r.Panel.LeastCut, Thickness: r.Panel.Mean, Panel: g.EndPanel, Demand: demand},
		flange: Flange{Thickness: r.Flange, K: r.K, Width: min(brg.Width, sec.FlangeWidth), Length: brg.Length, Fy: g.Fy,
			Demand: demand},
	}
	set.band = set.crippling
	set.band.Band, set.band.Thickness, set.band.Reading = true, max(r.ZoneMean, r.Counted), ZoneMean.words()
	if st := g.Stiffener; st != nil {
		set.bearing = StiffenerBearing{Plates: 2 * st.Pairs, Width: r.PlateWidth, Thickness: r.PlateThickness, Clip: st.Clip, Fy: st.Fy, Demand: demand}
		set.axial = StiffenerAxial{Plates: 2 * st.Pairs, Width: r.PlateWidth, Thickness: r.PlateThickness, Fy: st.Fy, FyWeb: g.Fy,
			WebLeast: r.StripLeast, WebMean: r.StripMean, WebDepth: sec.ClearDepth(), X: st.X, Demand: demand}
		set.width = StiffenerWidth{Width: r.PlateWidth, Thickness: r.PlateThickness, Fy: st.Fy}
	}
	return set
}

// asBuilt is the capacity of the end without loss, with the same procedure.
func (pr Procedure) asBuilt(b basis.Basis, g girder.Geometry) (units.Force, string) {
	r := pr.Reduce(b, g, nil)
	set := pr.checks(b, g, r, 0)
	return set.capacity(b, r.Plates)
}

// capacity is the least resistance among the checks that decide, without a sheet:
// the same as Evaluate finds.
func (set *checkSet) capacity(b basis.Basis, plates bool) (units.Force, string) {
	best, key := set.yielding.Factored(nil, b), "web.yielding"
	if f := set.crippling.Factored(nil, b); f < best {
		best, key = f, "web.crippling"
	}
	if plates {
		if f, which := set.column(b); f >= best {
			best, key = f, which
		}
	}
	if f := set.shear.Factored(nil, b); f < best {
		best, key = f, "web.shear"
	}
	return best, key
}

// nominal is the resistance of a check that may decide without its factor, and
// the factor.
func (set *checkSet) nominal(b basis.Basis, key string) (units.Force, float64) {
	times := func(alpha float64, f units.Force) units.Force {
		if alpha == 0 {
			return f
		}
		return units.Force(alpha) * f
	}
	switch key {
	case "web.yielding":
		return times(set.yielding.Alpha, set.yielding.Nominal(nil)), b.Value(basis.WebPhiYielding)
	case "web.crippling":
		return times(set.crippling.Alpha, set.crippling.Nominal(nil, b)), b.Value(basis.WebPhiCrippling)
	case "web.shear":
		return set.shear.Nominal(nil, b), b.Value(basis.ShearPhi)
	case "stiffener.bearing":
		return set.bearing.Nominal(nil, b), b.Value(basis.StiffenerPhiBearing)
	default:
		return set.axial.Column(nil, b).Nominal, b.Value(basis.StiffenerPhiAxial)
	}
}

// column is the lesser of the two resistances of the bearing stiffeners.
func (set *checkSet) column(b basis.Basis) (units.Force, string) {
	plates, which := set.bearing.Factored(nil, b), "stiffener.bearing"
	if f := set.axial.Factored(nil, b); f < plates {
		plates, which = f, "stiffener.axial"
	}
	return plates, which
}

// givens records what all checks start from.
func (pr Procedure) givens(p *calc.Pad, g girder.Geometry, s *survey.Survey, r Reduced) {
	origin := "as built"
	if s != nil {
		origin = "thickness map of the survey"
	}
	drawn := "section"
	if g.Section.Source != "" {
		drawn = g.Section.Source
	}
	p.Note("Procedure: " + pr.Name + ", " + pr.Body + ", edition " + pr.Edition + " (" + string(pr.Tag) + ")")
	p.Given("d", "depth of the section", calc.Length, float64(g.Section.Depth), drawn)
	p.Given("D", "web depth between flanges", calc.Length, float64(g.Section.ClearDepth()), drawn)
	p.Given("t_w", "web thickness as built", calc.Length, float64(g.Section.WebThickness), drawn)
	p.Given("t_f", "bottom flange thickness", calc.Length, float64(r.Flange), origin)
	p.Given("k", "flange face to web toe of the fillet", calc.Length, float64(r.K), origin)
	p.Given("N", "bearing length", calc.Length, float64(g.Bearing.Length), "end as built")
	p.Given("F_yw", "yield strength", calc.Stress, float64(g.Fy), "end as built")
	p.Given("L", "length of web over the bearing", calc.Length, float64(r.Average), "spread as built")
	p.Given("A_w", "smallest horizontal section", calc.Area, float64(r.YieldArea), origin)
	p.Given("t_row", "mean thickness of the worst row", calc.Length, float64(r.RowMean), origin)
	p.Given("t_zone", "mean thickness of the zone", calc.Length, float64(r.ZoneMean), origin)
	p.Given("w_h", "holes in the lowest row inside the bearing", calc.Length, float64(r.HoleWidth), origin)
	p.Given("A_v", "smallest upright section of the end panel", calc.Area, float64(r.Panel.LeastCut), origin)
	p.Given("t_v", "mean thickness of the end panel", calc.Length, float64(r.Panel.Mean), origin)
}
