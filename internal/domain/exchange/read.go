package exchange

import (
	"slices"
	"strings"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Read reads a bridge, or surveys of a known one, from files: one workbook, one
// zip of text tables, or text tables. It returns everything or, with a *Problems
// error, nothing.
func Read(files []File, opt Options) (Bridge, error) {
	ps := &Problems{}
	gs := grids(files, ps)
	if ps.Total == 0 && len(gs) == 0 {
		ps.add(Problem{Table: "import", Limit: "no file was given"})
	}
	if ps.Total > 0 {
		return Bridge{}, ps.err()
	}
	b := builder{ps: ps, opt: opt}
	// In the order of the schema, whatever the order of the files: a table refers
	// only to those before it.
	for _, t := range tables {
		for i := range gs {
			if gs[i].name == t.name {
				b.table(t, &gs[i])
			}
		}
	}
	b.check()
	if err := ps.err(); err != nil {
		return Bridge{}, err
	}
	return b.bridge, nil
}

// builder gathers the rows; the row that each thing came from is kept so that a
// problem found later can still name its cell.
type builder struct {
	bridge Bridge
	ps     *Problems
	opt    Options

	supports, spans, sections, ends, surveys []*row
	readings, holes                          map[int][]*row // by survey
	survey                                   map[surveyKey]int
	read                                     map[int]bool // surveys that have a reading, good or bad
	lost                                     bool         // a row whose survey is not known
}

type surveyKey struct {
	end    girder.Name
	number int
}

func (b *builder) table(t table, g *grid) {
	h, rows, ok := head(t, *g, b.opt, b.ps)
	if !ok {
		return
	}
	for _, gr := range rows {
		r := &row{t: t, h: h, g: g, opt: b.opt, ps: b.ps, cells: gr.cells, n: gr.number}
		r.beyond()
		switch t.name {
		case TableSupports:
			b.bridge.Supports = append(b.bridge.Supports, readSupport(r))
			b.supports = append(b.supports, r)
		case TableSpans:
			b.bridge.Spans = append(b.bridge.Spans, readSpan(r))
			b.spans = append(b.spans, r)
		case TableSections:
			b.bridge.Sections = append(b.bridge.Sections, readSection(r))
			b.sections = append(b.sections, r)
		case TableEnds:
			b.bridge.Ends = append(b.bridge.Ends, readEnd(r))
			b.ends = append(b.ends, r)
		case TableSurveys:
			b.addSurvey(r)
		case TableReadings:
			b.addReading(r)
		case TableHoles:
			b.addHole(r)
		}
	}
}

// beyond refuses cells outside the header: what has no name would be lost.
func (r *row) beyond() {
	named := map[int]bool{}
	for _, i := range r.h.at {
		named[i] = true
	}
	for i, c := range r.cells {
		if strings.TrimSpace(c) != "" && !named[i] {
			r.bad = true
			r.ps.add(Problem{Table: r.t.name, Row: r.n, Value: c, Limit: "stands in a column that has no name in the header"})
			return
		}
	}
}

func readSupport(r *row) Support {
	s := Support{Code: r.text("code", true), Name: r.text("name", true), Station: r.length("station", false)}
	s.Typed = r.typed
	return s
}

// mostSpan bounds a span, to catch a wrong unit.
const mostSpan = 2_000_000 // mm

func readSpan(r *row) Span {
	s := Span{Number: r.whole("number", true, 1, 999), Length: r.length("length", true), Girders: r.whole("girders", true, 1, 99),
		Spacing: r.length("spacing", true), From: r.text("from_support", true), To: r.text("to_support", true), Continuous: r.yes("continuous"), Note: r.text("note", false)}
	if r.cell("length") != "" && !r.bad && !(s.Length > 0 && s.Length <= mostSpan) {
		r.refuse("length", "must be more than 0 and at most 2000 m (6562 ft)")
	}
	if r.cell("spacing") != "" && !r.bad && !(s.Spacing > 0 && s.Spacing <= 50_000) {
		r.refuse("spacing", "must be more than 0 and at most 50 m (164 ft)")
	}
	s.Typed = r.typed
	return s
}

func readSection(r *row) Section {
	s := Section{}
	name := r.text("name", true)
	dims := []string{"d", "bf", "tf", "tf_top", "bf_top", "tw", "k"}
	bare := true
	for _, d := range dims {
		bare = bare && r.cell(d) == ""
	}
	if bare {
		// A name of the library stands for its dimensions.
		if entry, ok := girder.Lookup(name); ok {
			s.Section = entry.Section
			return s
		}
	}
	s.Name, s.Kind, s.Source = name, girder.SectionKind(r.choice("kind", false)), r.text("source", false)
	if s.Kind == "" {
		s.Kind = girder.Rolled
	}
	s.Depth, s.FlangeWidth, s.FlangeThickness = r.length("d", true), r.length("bf", true), r.length("tf", true)
	s.WebThickness, s.FilletK = r.length("tw", true), r.length("k", true)
	top := func(name, bottom string, value units.Length) units.Length {
		if l := r.optional(name); l != nil {
			return *l
		}
		if t, ok := r.typed[bottom]; ok {
			r.typed[name] = t
		}
		return value
	}
	s.TopFlangeThickness = top("tf_top", "tf", s.FlangeThickness)
	s.TopFlangeWidth = top("bf_top", "bf", s.FlangeWidth)
	s.Typed = r.typed
	if !r.bad {
		r.problems(s.Validate(), sectionColumns)
	}
	return s
}

// openAccess is the kind of access of an end that needs no window.
const openAccess = "open"

func readEnd(r *row) End {
	e := End{Support: r.text("support", true), FySource: r.text("fy_source", false), ReactionSource: r.text("reaction_source", false), Access: r.text("access", false)}
	g := &e.Geometry
	g.Name = r.end("name")
	skew, _ := r.quantity("skew_deg", false)
	g.SkewDeg = units.Angle(skew)
	g.Section.Name = r.text("section", true)
	g.Bearing = girder.Bearing{Kind: girder.BearingKind(r.choice("bearing", true)), Fixed: r.choice("fixity", true) == "fixed",
		Start: r.length("bearing_start", true), Length: r.length("bearing_length", true), Width: r.length("bearing_width", true)}
	fy, _ := r.quantity("fy", true)
	g.Fy, g.Fu = units.Stress(fy), units.Stress(fy)
	if fu, ok := r.quantity("fu", false); ok {
		g.Fu = units.Stress(fu)
	}
	if pairs := r.whole("stiffener_pairs", false, 0, 6); pairs > 0 {
		st := girder.Stiffener{Pairs: pairs, Width: r.length("stiffener_width", true), Thickness: r.length("stiffener_thickness", true),
			Clip: r.length("stiffener_clip", false), X: r.length("stiffener_x", true), Fy: g.Fy}
		if v, ok := r.quantity("stiffener_fy", false); ok {
			st.Fy = units.Stress(v)
		}
		g.Stiffener = &st
	} else {
		for _, c := range []string{"stiffener_width", "stiffener_thickness", "stiffener_clip", "stiffener_x", "stiffener_fy"} {
			if r.cell(c) != "" {
				r.refuse(c, "must be blank where stiffener_pairs is blank or 0")
			}
		}
	}
	g.HeldAgainstRoll = r.yes("held_against_roll")
	g.DiaphragmX, g.EndPanel = r.length("diaphragm_x", false), r.length("end_panel", false)
	reaction, given := r.quantity("reaction_factored", true)
	if e.Reaction = units.Force(reaction); given && !(reaction > 0 && reaction < 1e8) {
		r.refuse("reaction_factored", "must be more than 0 and less than 100000 kN (22481 kip)")
	}
	if e.Access == "" {
		e.Access = openAccess
	}
	e.Aliases, e.Chosen = r.list("alias"), r.list("chosen_steps")
	for _, code := range e.Chosen {
		if r.opt.Steps != nil && !slices.Contains(r.opt.Steps, code) {
			r.refuse("chosen_steps", "the program has no step %q for chosen ends; it has %s", code, strings.Join(r.opt.Steps, ", "))
		}
	}
	if face := r.choice("face", false); face != "" && !r.bad && face != faceOf(g.Name) {
		r.refuse("face", "must be %s for %s: a far end stands on the back face of its support, a near end on the ahead face", faceOf(g.Name), g.Name)
	}
	e.Typed = r.typed
	return e
}

func faceOf(n girder.Name) string {
	if n.Side == girder.Far {
		return "back"
	}
	return "ahead"
}

func (b *builder) addSurvey(r *row) {
	s := Survey{End: r.end("end"), Number: r.whole("survey_no", true, 1, 9999), Kind: r.choice("kind", true), TakenAt: r.moment("taken_at"),
		TakenBy: r.text("taken_by", true), Method: r.text("method", false),
		Gauge: r.text("gauge", false), ThickerReason: r.text("thicker_reason", false), Note: r.text("note", false)}
	f := &s.Findings
	f.FlangeThickness, f.StiffenerThickness, f.StiffenerWidth = r.optional("flange_t"), r.optional("stiffener_t"), r.optional("stiffener_w")
	f.WebDeviation, f.WebDetached = r.length("deviation", false), r.length("detached", false)
	s.Typed = r.typed
	k := surveyKey{s.End, s.Number}
	if b.survey == nil {
		b.survey, b.readings, b.holes, b.read = map[surveyKey]int{}, map[int][]*row{}, map[int][]*row{}, map[int]bool{}
	}
	if _, twice := b.survey[k]; twice && !r.bad {
		r.refuse("survey_no", "survey %d of %s stands in the table twice", s.Number, s.End)
	} else {
		b.survey[k] = len(b.bridge.Surveys)
	}
	b.bridge.Surveys = append(b.bridge.Surveys, s)
	b.surveys = append(b.surveys, r)
}

// of finds the survey that a reading or hole belongs to.
func (b *builder) of(r *row) (int, bool) {
	end, number := r.end("end"), r.whole("survey_no", true, 1, 9999)
	if r.bad {
		b.lost = true
		return 0, false
	}
	i, ok := b.survey[surveyKey{end, number}]
	if !ok {
		b.lost = true
		r.refuse("survey_no", "the table %s has no survey %d of %s", TableSurveys, number, end)
	}
	return i, ok
}

func (b *builder) addReading(r *row) {
	i, ok := b.of(r)
	if ok {
		b.read[i] = true
	}
	reading := survey.Reading{Face: survey.Face(r.face()), X: r.length("x", true), Z: r.length("z", true), NoAccess: r.yes("no_access")}
	note := ReadingNote{Reason: r.text("reason", false)}
	if reading.NoAccess {
		if r.cell("t") != "" {
			r.refuse("t", "must be blank where no_access is yes")
		}
	} else {
		reading.T = r.length("t", true)
	}
	if !ok || r.bad {
		return
	}
	note.X, note.Z, note.T = r.typed["x"], r.typed["z"], r.typed["t"]
	s := &b.bridge.Surveys[i]
	s.Findings.Readings = append(s.Findings.Readings, reading)
	s.Readings = append(s.Readings, note)
	b.readings[i] = append(b.readings[i], r)
}

// face reads L, R, T or the words left, right, through.
func (r *row) face() string {
	switch plainName(r.cell("face")) {
	case "left":
		return "L"
	case "right":
		return "R"
	case "through":
		return "T"
	}
	return r.choice("face", true)
}

func (b *builder) addHole(r *row) {
	i, ok := b.of(r)
	h := survey.Hole{X: r.length("x", true), Z: r.length("z", true), Width: r.length("width", true), Height: r.length("height", true), Rim: r.length("rim", false)}
	if !ok || r.bad {
		return
	}
	s := &b.bridge.Surveys[i]
	s.Findings.Holes = append(s.Findings.Holes, h)
	s.Holes = append(s.Holes, r.typed)
	b.holes[i] = append(b.holes[i], r)
}
