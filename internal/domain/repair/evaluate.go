package repair

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Inputs is everything that the numbers of an end follow from, and nothing else.
// Its digest names an evaluation: equal inputs, equal numbers.
type Inputs struct {
	Geometry girder.Geometry
	Survey   *survey.Survey
	Design   *encasement.Design
	Rejected []string // marks of studs that do not count, sorted
	Demand   units.Force
	Range    units.Force // reaction of the load that repeats, without factor; zero where it is not known
	Basis    map[basis.Key]float64
	Method   string
	// Procedure turns the survey into what the rules take; nil for the one that ships.
	Procedure *resistance.Procedure
}

// Evaluation is one subject evaluated: its checks, the capacity that governs and
// the digest of its inputs.
type Evaluation struct {
	Digest    string
	Demand    units.Force
	Capacity  units.Force
	Nominal   units.Force // what a rating counts with: Capacity is Phi times Nominal
	Phi       float64
	Verdict   calc.Verdict
	Governing string
	Checks    []calc.Check
	Upper     units.Force // upper end of the modelling band; zero where there is none
	Flags     []string    // what a reader must know beside the numbers
	Studs     StudSummary // of a repair
}

// StudSummary is the count behind a repaired capacity.
type StudSummary struct {
	Designed, Counted, Required int
	Effective                   float64
	PerStud                     units.Force
}

// Passes reports whether every deciding check passes within its limits.
func (e *Evaluation) Passes() bool { return e != nil && e.Verdict == calc.Passes }

// Evaluations is an end in each of its conditions; nil where there is nothing to
// evaluate.
type Evaluations struct {
	AsNew    *Evaluation
	Corroded *Evaluation // by the latest survey
	Repaired *Evaluation // by the design in force, or the latest draft without one
	AsWelded *Evaluation // the same with only the accepted studs
	Loss     float64     // deepest loss of web thickness, 0 to 1
	Digest   string      // over the digests of all
}

// steel is a section as the rules read it.
func (sec Section) steel() girder.Section {
	return girder.Section{Name: sec.Name, Kind: girder.SectionKind(sec.Kind), Depth: sec.Depth, TopFlangeWidth: sec.TopFlangeWidth,
		TopFlangeThickness: sec.TopFlangeThickness, FlangeWidth: sec.FlangeWidth, FlangeThickness: sec.FlangeThickness,
		WebThickness: sec.WebThickness, FilletK: sec.FilletK, Source: sec.Source}
}

// Geometry is the as-built end as the rules read it.
func (r *Record) Geometry(s *Scope) girder.Geometry {
	e := r.End
	sec, _ := s.Section(e.SectionID)
	g := girder.Geometry{
		Name:    girder.Name{Span: e.SpanNo, Side: girder.Side(e.Side), Girder: e.GirderNo},
		Section: sec.steel(),
		Bearing: girder.Bearing{Kind: girder.BearingKind(e.BearingKind), Fixed: e.BearingFixed, Start: e.BearingStart, Length: e.BearingLength, Width: e.BearingWidth},
		SkewDeg: e.Skew, Fy: e.Fy, Fu: e.Fu, HeldAgainstRoll: e.HeldAgainstRoll, DiaphragmX: e.DiaphragmX, EndPanel: e.EndPanel,
	}
	if e.StiffenerPairs > 0 {
		g.Stiffener = &girder.Stiffener{Pairs: e.StiffenerPairs, Width: e.StiffenerWidth, Thickness: e.StiffenerThick, Clip: e.StiffenerClip, X: e.StiffenerX, Fy: e.StiffenerFy}
	}
	return g
}

// SurveyFindings is a survey as the rules read it: readings in force and holes
// not withdrawn. It returns nil for a nil row.
func (r *Record) SurveyFindings(sv *Survey) *survey.Survey {
	if sv == nil {
		return nil
	}
	out := &survey.Survey{FlangeThickness: sv.FlangeThick, StiffenerThickness: sv.StiffenerThick, StiffenerWidth: sv.StiffenerWidth,
		WebDeviation: sv.WebDeviation, WebDetached: sv.WebDetached}
	n := 0
	for i := range r.Readings {
		if r.Readings[i].SurveyID == sv.ID && r.Readings[i].SupersededBy == nil {
			n++
		}
	}
	out.Readings = make([]survey.Reading, 0, n)
	for i := range r.Readings {
		if x := &r.Readings[i]; x.SurveyID == sv.ID && x.SupersededBy == nil {
			out.Readings = append(out.Readings, survey.Reading{Face: survey.Face(x.Face), X: x.X, Z: x.Z, T: x.T, NoAccess: x.NoAccess})
		}
	}
	orderReadings(out.Readings)
	for _, h := range r.Holes {
		if h.SurveyID == sv.ID && !h.Withdrawn {
			out.Holes = append(out.Holes, survey.Hole{X: h.X, Z: h.Z, Width: h.Width, Height: h.Height, Rim: h.Rim})
		}
	}
	return out
}

// DesignOf is a revision as the rules read it.
func (r *Record) DesignOf(d *Design) *encasement.Design {
	if d == nil {
		return nil
	}
	out := &encasement.Design{StudDiameter: d.StudDiameter, StudHeight: d.StudHeight, StudFu: d.StudFu, Fc: d.Fc,
		Panel: encasement.Panel{X: d.PanelX, Z: d.PanelZ, Width: d.PanelWidth, Height: d.PanelHeight, ThicknessLeft: d.PanelLeft, ThicknessRight: d.PanelRight, Gap: d.PanelGap}}
	for _, st := range r.StudsOf(d.ID) {
		out.Studs = append(out.Studs, encasement.Stud{Mark: st.Mark, Row: st.Row, Col: st.Col, X: st.X, Z: st.Z, Face: survey.Face(st.Face)})
	}
	return out
}

func (r *Record) inputs(s *Scope) Inputs {
	d := r.Factored(s)
	return Inputs{Geometry: r.Geometry(s), Demand: d.Factored, Range: d.repeating(s), Basis: s.capacityBasis(), Method: string(calc.MethodVersion), Procedure: s.rules()}
}

// designDigest names exactly what a revision stands on: the end, the latest
// survey, the layout, the demand, the design basis and the method.
func (r *Record) designDigest(s *Scope, d *Design) string {
	in := r.inputs(s)
	in.Survey, in.Design = r.SurveyFindings(r.LatestSurvey()), r.DesignOf(d)
	return in.digests().of(true, true, nil)
}

// DesignDigest is the digest that a reviewer of a revision signs for.
func (r *Record) DesignDigest(s *Scope, d *Design) string { return r.designDigest(s, d) }

// Pads are the sheets that an evaluation is written to; a nil Pads writes none.
// Settings collects which settings of the design basis were read; nil for nobody
// asks.
type Pads struct {
	AsNew, Corroded, Repaired, AsWelded *calc.Pad
	Settings                            map[basis.Key]bool
}

// NewPads returns an empty sheet for each condition.
func NewPads() *Pads {
	return &Pads{calc.NewPad(), calc.NewPad(), calc.NewPad(), calc.NewPad(), map[basis.Key]bool{}}
}

// Evaluate computes the end in each of its conditions and names each result by
// the digest of its inputs. With pads the checks carry the lines of their
// calculation; the numbers are the same without.
func (r *Record) Evaluate(s *Scope, pads *Pads) (Evaluations, error) {
	out, in := r.numbers(s, pads)
	out.name(in, in.digests())
	return out, nil
}

// name gives each result the digest of its inputs.
func (out *Evaluations) name(in Inputs, base parts) {
	all := make([]string, 0, 4)
	name := func(e *Evaluation, survey, design bool, rejected []string) {
		if e == nil {
			return
		}
		e.Digest = base.of(survey, design, rejected)
		all = append(all, e.Digest)
	}
	name(out.AsNew, false, false, nil)
	name(out.Corroded, true, false, nil)
	name(out.Repaired, true, true, nil)
	name(out.AsWelded, true, true, in.Rejected)
	out.Digest = calc.Digest(all)
}

// Numbers is Evaluate without the digests, for work that stores nothing.
func (r *Record) Numbers(s *Scope, pads *Pads) Evaluations {
	out, _ := r.numbers(s, pads)
	return out
}

// numbers evaluates, and returns the inputs of the last condition.
func (r *Record) numbers(s *Scope, pads *Pads) (Evaluations, Inputs) {
	if pads == nil {
		pads = &Pads{}
	}
	var out Evaluations
	in := r.inputs(s)
	b := s.Basis().Watched(pads.Settings)
	out.AsNew = corroded(in, b, pads.AsNew)
	if sv := r.LatestSurvey(); sv != nil {
		in.Survey = r.SurveyFindings(sv)
		out.Corroded = corroded(in, b, pads.Corroded)
		out.Loss = deepestLoss(in.Survey, in.Geometry.Section.WebThickness)
	}
	d := r.DesignInForce()
	if d == nil {
		return out, in
	}
	in.Design = r.DesignOf(d)
	steel := steelOf(b, in.Geometry, in.Survey)
	out.Repaired = repaired(in, b, steel, pads.Repaired)
	if found := r.LatestCollars(d.ID); len(found) > 0 {
		for _, st := range in.Design.Studs {
			if c, ok := found[st.Mark]; ok && !CollarCounts(c.Outcome) {
				in.Rejected = append(in.Rejected, st.Mark)
			}
		}
		out.AsWelded = repaired(in, b, steel, pads.AsWelded)
	}
	return out, in
}

// parts are the digests of the pieces of Inputs. A digest of Inputs is made of
// them, so that each piece is written out once however many results it enters.
type parts struct{ Fixed, Survey, Design string }

func (in Inputs) digests() parts {
	p := parts{Fixed: calc.Digest(struct {
		Geometry girder.Geometry
		Demand   units.Force
		Basis    map[basis.Key]float64
		Method   string
	}{in.Geometry, in.Demand, in.Basis, in.Method})}
	if in.Procedure != nil {
		// Only then, so that the digests of results by the procedure that ships stay
		// what they were before there was a choice.
		p.Fixed = calc.Digest([]any{p.Fixed, *in.Procedure})
	}
	if in.Range > 0 {
		p.Fixed = calc.Digest([]any{p.Fixed, "range", in.Range})
	}
	if in.Survey != nil {
		p.Survey = calc.Digest(in.Survey)
	}
	if in.Design != nil {
		p.Design = calc.Digest(in.Design)
	}
	return p
}

func (p parts) of(survey, design bool, rejected []string) string {
	if !survey {
		p.Survey = ""
	}
	if !design {
		p.Design = ""
	}
	return calc.Digest(struct {
		Parts    parts
		Rejected []string
	}{p, rejected})
}

// EvaluateDraft evaluates a layout that is not stored, for the design page.
func (r *Record) EvaluateDraft(s *Scope, d encasement.Design, p *calc.Pad) *Evaluation {
	in := r.inputs(s)
	in.Survey, in.Design = r.SurveyFindings(r.LatestSurvey()), &d
	return repaired(in, s.Basis(), steelOf(s.Basis(), in.Geometry, in.Survey), p)
}

// EvaluateSurvey evaluates findings that are not stored, for the survey page.
func (r *Record) EvaluateSurvey(s *Scope, sv survey.Survey, p *calc.Pad) *Evaluation {
	in := r.inputs(s)
	in.Survey = &sv
	return corroded(in, s.Basis(), p)
}

func (r *Record) evaluateDesign(s *Scope, d *Design, p *calc.Pad) (*Evaluation, error) {
	in := r.inputs(s)
	in.Survey, in.Design = r.SurveyFindings(r.LatestSurvey()), r.DesignOf(d)
	return repaired(in, s.Basis(), steelOf(s.Basis(), in.Geometry, in.Survey), p), nil
}

// conclude finds the verdict over all deciding checks: a check that does not
// pass decides before one outside its limits, and that before one that passes.
// Governing is the name of the check that sets the capacity, or of the first that
// does not pass, which is what must be mended first.
func conclude(demand units.Force, checks []calc.Check, governs string) *Evaluation {
	e := &Evaluation{Demand: demand, Checks: checks, Verdict: calc.Informs}
	failing := false
	for i := range checks {
		c := &checks[i]
		if c.Key == governs && !failing {
			e.Governing = c.Name
		}
		if c.Verdict == calc.Informs {
			continue
		}
		if severity(c.Verdict) > severity(e.Verdict) {
			e.Verdict = c.Verdict
		}
		if c.Verdict == calc.Fails && c.Group == "detail" && !failing {
			e.Governing, failing = c.Name, true
		}
	}
	return e
}

func severity(v calc.Verdict) int {
	switch v {
	case calc.Fails:
		return 3
	case calc.Outside:
		return 2
	case calc.Passes:
		return 1
	}
	return 0
}
