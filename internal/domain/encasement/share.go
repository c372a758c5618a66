package encasement

import (
	"errors"
	"math"
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// Loading is what the load-share model is run with.
type Loading struct {
	Total units.Force // factored reaction
	// Service is the reaction in service, for Foresee; zero stands for Total.
	Service units.Force
	Before  units.Force // part of it in the web when the panel hardened
	WebCap  units.Force // residual strength of the corroded web; zero for none
}

// LawShare is the share under one law of load and slip.
type LawShare struct {
	Law     string
	Service Staged // web acting, in stages; zero where it found no balance
	Lost    Share  // whole reaction with the web path lost
	Err     error  // where one of the two found no balance
}

// Prediction is the load share that a design leads one to expect, from three
// laws of load and slip, since none is confirmed for UHPC. It is information: the
// design rests on Evaluate. A monitored repair is compared with Low and High.
type Prediction struct {
	Laws      []LawShare
	Low, High float64      // panel's part of what was added after hardening
	Peak      units.Force  // largest force on one stud with the web lost
	Slip      units.Length // largest slip with the web lost
	WebBase   units.Stiffness
	PanelBase units.Stiffness
	Checks    []calc.Check
}

// ErrNoShare is returned where no stud counts or no law found a balance.
var ErrNoShare = errors.New("load share: no law of load and slip found a balance")

var (
	shareClause = calc.Clause{Document: "row model of load share", Tag: basis.Proposal}
	webSpring   = calc.Define(calc.Def{Symbol: "k_wb", Name: "web below the studs", Expr: "E_s*b_w/q_w", Dim: calc.Stiffness, Clause: shareClause,
		Params: []calc.Param{{Symbol: "E_s", Name: "modulus of steel", Dim: calc.Stress}, {Symbol: "b_w", Name: "web over the bearing", Dim: calc.Length},
			{Symbol: "q_w", Name: "height over thickness, summed over the height", Dim: calc.Scalar}}})
	panelSpring = calc.Define(calc.Def{Symbol: "k_pb", Name: "panel below the studs", Expr: "E_c*A_b/h_b", Dim: calc.Stiffness, Clause: shareClause,
		Params: []calc.Param{{Symbol: "E_c", Name: "modulus of the UHPC", Dim: calc.Stress}, {Symbol: "A_b", Name: "area that bears", Dim: calc.Area},
			{Symbol: "h_b", Name: "panel below the studs", Dim: calc.Length}}})
	shrinkGap = calc.Define(calc.Def{Symbol: "g", Name: "gap with shrinkage", Expr: "g_0 + eps*h_b", Dim: calc.Length, Clause: shareClause,
		Params: []calc.Param{{Symbol: "g_0", Name: "gap as built", Dim: calc.Length}, {Symbol: "eps", Name: "free shrinkage", Dim: calc.Scalar},
			{Symbol: "h_b", Name: "panel below the studs", Dim: calc.Length}}})
)

// Predict runs the load-share model of a design. The arguments are those of
// Evaluate.
func Predict(p *calc.Pad, b basis.Basis, g girder.Geometry, steel Steel, d Design, load Loading, accepted func(mark string) bool) (Prediction, error) {
	if steel == nil {
		steel = AsNew{g.Section}
	}
	w := measure(b, g, steel, d, accepted)
	if w.counted == 0 {
		return Prediction{}, ErrNoShare
	}
	q := fresh(p)
	m, out := w.rowModel(q, b, g, steel, d, load)
	strength := d.stud(b).Strength(nil, b)
	laws := shareLaws(b, strength.Nominal)
	var solver rowSolver
	out.Low, out.High = math.Inf(1), math.Inf(-1)
	for _, l := range laws {
		m.Law = l.law
		lost := m
		lost.WebBase, lost.WebCap = 0, 0
		r := LawShare{Law: l.name}
		var err1, err2 error
		r.Service, err1 = solver.staged(m, load.Before)
		r.Lost, err2 = solver.solve(lost)
		r.Err = errors.Join(err1, err2)
		if err1 == nil {
			out.Low, out.High = min(out.Low, r.Service.Fraction), max(out.High, r.Service.Fraction)
		}
		if err2 == nil {
			out.Peak, out.Slip = max(out.Peak, r.Lost.Peak), max(out.Slip, r.Lost.SlipTop, r.Lost.SlipFoot)
		}
		out.Laws = append(out.Laws, r)
	}
	if math.IsInf(out.Low, 1) {
		return out, ErrNoShare
	}
	out.inform(q, p, b, g, d, load, &w, strength)
	return out, nil
}

// shareLaw is a law of load and slip with its name.
type shareLaw struct {
	name string
	law  stud.Law
}

// shareLaws are the three laws that the share is run with, since none is
// confirmed for UHPC.
func shareLaws(b basis.Basis, qu units.Force) [3]shareLaw {
	curve, _ := stud.NewCurveLaw(stud.OllgaardSlutterFisher, qu)
	fit, _ := stud.NewCurveLaw(stud.FHWAFit, qu)
	return [...]shareLaw{{stud.OllgaardSlutterFisher.Name, curve}, {stud.FHWAFit.Name, fit},
		{"straight, twice the usual stiffness", stud.LinearLaw{K: units.Stiffness(2 * b.Value(basis.StudStiffnessPerMM) * float64(qu))}}}
}

// inform adds the checks that show the prediction. None decides.
func (out *Prediction) inform(q, p *calc.Pad, b basis.Basis, g girder.Geometry, d Design, load Loading, w *layout, s stud.Strength) {
	q.Given("share_low", "least share of the panel under three laws", calc.Percent, out.Low, "row model")
	q.Given("share_high", "largest share of the panel", calc.Percent, out.High, "row model")
	out.Checks = append(out.Checks,
		calc.Finish(calc.Check{Key: KeyShare, Name: "Hardest worked stud in the row model, web path lost", Group: repair, Demand: float64(out.Peak),
			Resistance: float64(s.Factored), Dim: calc.Force, Verdict: calc.Informs, Clause: shareClause, Lines: q.Lines()}),
		calc.Finish(calc.Check{Key: KeySlip, Name: "Slip in the row model, web path lost", Group: repair, Demand: float64(out.Slip),
			Resistance: b.Value(basis.StudSlipCap), Dim: calc.Length, Verdict: calc.Informs, Clause: shareClause}))
	if c, ok := w.centerCheck(fresh(p), b, g, d, load.Total, s.Factored); ok {
		out.Checks = append(out.Checks, c)
	}
}

// rowModel turns a design into rows and springs.
func (w *layout) rowModel(p *calc.Pad, b basis.Basis, g girder.Geometry, steel Steel, d Design, load Loading) (RowModel, Prediction) {
	zs := w.heights(d)
	m := RowModel{WebCap: load.WebCap}
	last := 0.0
	for _, z := range zs {
		if n := len(m.Rows); n > 0 && last-z < float64(d.StudDiameter)/2 {
			m.Rows[n-1].Studs++
			continue
		} else if n > 0 {
			m.Pitch = append(m.Pitch, units.Length(last-z))
		}
		m.Rows = append(m.Rows, Row{Studs: 1})
		last = z
	}
	m.Rows[0].Load = load.Total

	es, ec := b.Value(basis.PanelSteelModulus), float64(Modulus(p, b, d.Fc))
	below := max(1, float64(w.bottom-d.Panel.Z))
	width := float64(d.Panel.Width)
	m.WebEA = units.Force(es * width * max(0.1, w.meanWeb(steel)))
	m.PanelEA = units.Force(ec * width * float64(d.Panel.ThicknessLeft+d.Panel.ThicknessRight))
	if r := webBelow(g, steel, w.bottom); !math.IsInf(r, 1) {
		m.WebBase = units.Stiffness(webSpring.Eval(p, es, float64(g.Bearing.Length), r))
	}
	area := 0.0
	contact := contactLength(b, g, steel.Flange(), d.Panel)
	for _, t := range [2]units.Length{d.Panel.ThicknessLeft, d.Panel.ThicknessRight} {
		area += float64(contact) * float64(min(t, (g.Section.FlangeWidth-g.Section.WebThickness)/2))
	}
	m.PanelBase = units.Stiffness(panelSpring.Eval(p, ec, area, below))
	m.Gap = units.Length(shrinkGap.Eval(p, float64(d.Panel.Gap), b.Value(basis.PanelShrinkage), below))
	return m, Prediction{WebBase: m.WebBase, PanelBase: m.PanelBase}
}

// samples is the number of places in each direction at which the web is read
// for its stiffness.
const samples = 8

// meanWeb is the mean thickness of web at the group.
func (w *layout) meanWeb(steel Steel) float64 {
	sum := 0.0
	for i := range samples {
		for j := range samples {
			x := w.left + (w.right-w.left)*units.Length(i)/(samples-1)
			z := w.bottom + (w.top-w.bottom)*units.Length(j)/(samples-1)
			sum += float64(steel.Thickness(x, z))
		}
	}
	return sum / (samples * samples)
}

// webBelow is height over mean thickness of the web between flange and studs
// over the bearing, summed layer by layer: layers give way one after the other.
// +Inf where a layer is gone.
func webBelow(g girder.Geometry, steel Steel, height units.Length) float64 {
	layer := height / samples
	sum := 0.0
	for j := range samples {
		t := 0.0
		for i := range samples {
			x := g.Bearing.Start + g.Bearing.Length*(units.Length(i)+0.5)/samples
			t += float64(steel.Thickness(x, layer*(units.Length(j)+0.5))) / samples
		}
		if !(t > 0) {
			return math.Inf(1)
		}
		sum += float64(layer) / t
	}
	return sum
}

// heights are the heights of the studs that count, from the top.
func (w *layout) heights(d Design) []float64 {
	zs := make([]float64, 0, w.counted)
	for i := range d.Studs {
		if w.counts.has(i) {
			zs = append(zs, float64(d.Studs[i].Z))
		}
	}
	slices.Sort(zs)
	slices.Reverse(zs)
	return zs
}
