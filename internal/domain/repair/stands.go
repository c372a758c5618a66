package repair

import (
	"math"
	"slices"
	"strconv"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// StandFact is one thing that a decision on a design stands on, as it was at that
// moment. It is a quantity or a text, and Sum is the digest of all that it speaks for.
type StandFact struct {
	Key   string   `json:"key"` // "survey.least", "check.interface"
	Name  string   `json:"name"`
	Unit  string   `json:"unit,omitempty"` // kind of quantity, empty for a text
	Value *float64 `json:"value,omitempty"`
	Text  string   `json:"text,omitempty"`
	Sum   string   `json:"sum"`
}

// Format is the value for a reader.
func (f StandFact) Format(sys units.System) string {
	if f.Value == nil {
		return f.Text
	}
	if kind, ok := units.KindNamed(f.Unit); ok && kind != units.Numbers {
		return kind.Format(*f.Value, sys, -1)
	}
	return units.Significant(*f.Value, 4)
}

type standing struct{ list []StandFact }

func (l *standing) text(key, name, v string, sum any) {
	l.list = append(l.list, StandFact{Key: key, Name: name, Text: v, Sum: calc.Digest(sum)})
}

func (l *standing) quantity(key, name string, unit units.Kind, v float64) {
	l.sized(key, name, unit, v, v)
}

// sized is quantity with what else the value speaks for. What is no number is told in
// words, since no file holds one.
func (l *standing) sized(key, name string, unit units.Kind, v float64, sum any) {
	f := StandFact{Key: key, Name: name, Unit: unit.Name(), Value: &v, Sum: calc.Digest(sum)}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		f.Value, f.Text, f.Sum = nil, "without limit", calc.Digest("without limit")
	}
	l.list = append(l.list, f)
}

// StandsOn lists what a revision stands on now, with what follows from it: the steel
// as surveyed, the layout, the end, its demand, the design basis, the rules, and the
// outcome of every check.
func (r *Record) StandsOn(s *Scope, d *Design) []StandFact { return r.standsOn(s, d, nil) }

// standsOn is StandsOn for one who has the evaluation of the revision already.
func (r *Record) standsOn(s *Scope, d *Design, ev *Evaluation) []StandFact {
	in := r.inputs(s)
	in.Survey, in.Design = r.SurveyFindings(r.LatestSurvey()), r.DesignOf(d)
	if ev == nil {
		ev = repaired(in, s.Basis(), steelOf(s.Basis(), in.Geometry, in.Survey), nil)
	}
	return r.standsOnSurvey(s, d, in, r.LatestSurvey(), ev)
}

// standsOnSurvey is standsOn for inputs on a survey that need not be the latest.
func (r *Record) standsOnSurvey(s *Scope, d *Design, in Inputs, sv *Survey, ev *Evaluation) []StandFact {
	l := &standing{}
	l.steel(sv, in.Survey)
	l.text("layout", "Layout", strconv.Itoa(len(in.Design.Studs))+" studs, revision "+strconv.Itoa(d.Revision), in.Design)
	l.end(r.End, in)
	l.quantity("demand", "Demand", units.Forces, float64(in.Demand))
	if in.Range > 0 {
		l.quantity("demand.range", "Reaction that repeats", units.Forces, float64(in.Range))
	}
	l.rules(in)
	if p := s.InForce(); p != nil {
		l.text("procedure", "Procedure for corroded ends", p.Title(), *in.Procedure)
	} else {
		l.text("procedure", "Procedure for corroded ends", "that of the program", "")
	}
	l.text("method", "Method of calculation", in.Method, in.Method)
	l.outcome(ev)
	return l.list
}

func (l *standing) steel(row *Survey, sv *survey.Survey) {
	if row == nil {
		l.text("survey", "Survey", "none", nil)
		return
	}
	l.text("survey", "Survey", "survey "+strconv.Itoa(row.Number), sv)
	least, blind := math.Inf(1), 0
	for _, x := range sv.Readings {
		if x.NoAccess {
			blind++
			continue
		}
		least = min(least, float64(x.T))
	}
	l.sized("survey.least", "Least remaining thickness", units.Lengths, least, sv.Readings)
	l.quantity("survey.readings", "Readings", units.Numbers, float64(len(sv.Readings)))
	l.quantity("survey.blind", "Places without access", units.Numbers, float64(blind))
	largest := 0.0
	for _, h := range sv.Holes {
		largest = max(largest, float64(h.Width), float64(h.Height))
	}
	l.sized("survey.holes", "Holes through the web", units.Numbers, float64(len(sv.Holes)), sv.Holes)
	l.quantity("survey.hole_size", "Largest measure of a hole", units.Lengths, largest)
	for _, x := range []struct {
		key, name string
		v         *units.Length
	}{{"survey.flange", "Bottom flange thickness left", sv.FlangeThickness}, {"survey.stiffener_thickness", "Stiffener thickness left", sv.StiffenerThickness},
		{"survey.stiffener_width", "Stiffener width left", sv.StiffenerWidth}} {
		if x.v == nil {
			l.text(x.key, x.name, "not measured", nil)
		} else {
			l.quantity(x.key, x.name, units.Lengths, float64(*x.v))
		}
	}
	l.quantity("survey.deviation", "Web out of plane", units.Lengths, float64(sv.WebDeviation))
	l.quantity("survey.detached", "Web detached from the flange", units.Lengths, float64(sv.WebDetached))
}

func (l *standing) end(e End, in Inputs) {
	g := in.Geometry
	l.text("end.section", "Section", g.Section.Name, g.Section)
	l.quantity("end.fy", "Yield strength", units.Stresses, float64(e.Fy))
	l.quantity("end.fu", "Tensile strength", units.Stresses, float64(e.Fu))
	l.text("end.bearing", "Bearing", e.BearingKind, []any{e.BearingKind, e.BearingFixed})
	l.quantity("end.bearing_start", "Bearing, from the girder end", units.Lengths, float64(e.BearingStart))
	l.quantity("end.bearing_length", "Bearing length", units.Lengths, float64(e.BearingLength))
	l.quantity("end.bearing_width", "Bearing width", units.Lengths, float64(e.BearingWidth))
	l.text("end.held", "Held against roll", map[bool]string{true: "yes", false: "no"}[e.HeldAgainstRoll], e.HeldAgainstRoll)
	l.quantity("end.diaphragm", "End diaphragm, from the girder end", units.Lengths, float64(e.DiaphragmX))
	l.quantity("end.panel", "To the first intermediate stiffener", units.Lengths, float64(e.EndPanel))
	l.quantity("end.skew", "Skew", units.Angles, float64(e.Skew))
	if g.Stiffener == nil {
		l.text("end.stiffener", "Bearing stiffeners", "none", nil)
		return
	}
	l.text("end.stiffener", "Bearing stiffeners", strconv.Itoa(e.StiffenerPairs)+" pairs", *g.Stiffener)
}

// rules lists the settings of the design basis that differ from what ships.
func (l *standing) rules(in Inputs) {
	l.text("basis", "Design basis", strconv.Itoa(len(in.Basis))+" settings of the owner's own", in.Basis)
	keys := make([]string, 0, len(in.Basis))
	for k := range in.Basis {
		keys = append(keys, string(k))
	}
	slices.Sort(keys)
	for _, k := range keys {
		d, ok := basis.Lookup(basis.Key(k))
		if !ok {
			continue
		}
		kind, ok := units.KindNamed(string(d.Unit))
		if !ok {
			kind = units.Numbers
		}
		l.quantity("basis."+k, "Design basis: "+d.Name, kind, in.Basis[basis.Key(k)])
	}
}

func (l *standing) outcome(ev *Evaluation) {
	l.quantity("result.capacity", "Repaired capacity", units.Forces, float64(ev.Capacity))
	l.text("result.verdict", "Verdict", ev.Verdict.Key(), ev.Verdict.Key())
	l.text("result.governs", "Decided by", ev.Governing, ev.Governing)
	seen := map[string]int{}
	for _, c := range ev.Checks {
		if c.Verdict == calc.Informs {
			continue
		}
		key := "check." + c.Key
		if seen[key]++; seen[key] > 1 {
			key += "." + strconv.Itoa(seen[key])
		}
		l.sized(key, c.Name, units.Numbers, c.Ratio, []any{c.Ratio, c.Verdict.Key()})
		// A check outside the limits of its method, or one that fails for another reason
		// than its ratio, is not told by the ratio.
		l.list[len(l.list)-1].Text = c.Verdict.Key()
	}
}
