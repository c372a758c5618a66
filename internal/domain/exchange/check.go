package exchange

import (
	"strconv"

	"endcast/internal/domain/girder"
)

// Fields of package girder by the column they come from.
var sectionColumns = map[string]string{
	"section.name": "name", "section.kind": "kind", "section.depth": "d", "section.flange_width": "bf", "section.flange_thickness": "tf",
	"section.top_flange_width": "bf_top", "section.top_flange_thickness": "tf_top", "section.web_thickness": "tw", "section.fillet_k": "k",
}

var endColumns = map[string]string{
	"name": "name", "name.span": "name", "name.side": "name", "name.girder": "name",
	"bearing.kind": "bearing", "bearing.start": "bearing_start", "bearing.length": "bearing_length", "bearing.width": "bearing_width",
	"stiffener.pairs": "stiffener_pairs", "stiffener.width": "stiffener_width", "stiffener.thickness": "stiffener_thickness",
	"stiffener.clip": "stiffener_clip", "stiffener.x": "stiffener_x", "stiffener.fy": "stiffener_fy",
	"skew": "skew_deg", "fy": "fy", "fu": "fu", "diaphragm_x": "diaphragm_x", "end_panel": "end_panel",
}

var surveyColumns = map[string]string{
	"flange_thickness": "flange_t", "stiffener_thickness": "stiffener_t", "stiffener_width": "stiffener_w",
	"web_deviation": "deviation", "web_detached": "detached", "readings": "survey_no", "holes": "survey_no",
}

// problems notes what package girder found, by column.
func (r *row) problems(list girder.Problems, columns map[string]string) {
	for _, p := range list {
		r.refuseIn(columns[p.Field], "must "+p.Limit)
	}
}

// known gathers what tables may refer to: the rows of this import and what the
// program has already. The value tells whether the program has it.
type known struct {
	supports map[string]bool
	spans    map[int]*Span
	sections map[string]girder.Section
	ends     map[girder.Name]girder.Geometry
	old      map[string]bool // kind and name of what the program has
}

// check looks at what one row cannot know: names that are used twice, that refer
// to nothing, or that contradict each other, and values beside the steel they
// belong to.
func (b *builder) check() {
	k := known{supports: map[string]bool{}, spans: map[int]*Span{}, sections: map[string]girder.Section{},
		ends: map[girder.Name]girder.Geometry{}, old: map[string]bool{}}
	if o := b.opt.Known; o != nil {
		k.recall(o)
	}
	b.checkSupports(&k)
	b.checkSpans(&k)
	b.checkSections(&k)
	b.checkEnds(&k)
	b.checkSurveys(&k)
}

func (k *known) recall(o *Bridge) {
	for _, s := range o.Supports {
		k.supports[s.Code] = true
		k.old["support "+s.Code] = true
	}
	for i := range o.Spans {
		k.spans[o.Spans[i].Number] = &o.Spans[i]
		k.old["span "+strconv.Itoa(o.Spans[i].Number)] = true
	}
	for _, s := range o.Sections {
		k.sections[s.Name] = s.Section
		k.old["section "+s.Name] = true
	}
	for _, e := range o.Ends {
		k.ends[e.Geometry.Name] = e.Geometry
		k.old["end "+e.Geometry.Name.String()] = true
	}
	for _, s := range o.Surveys {
		k.old["survey "+strconv.Itoa(s.Number)+" of "+s.End.String()] = true
	}
}

// once refuses a name that stands in the table twice or that the program has.
func (k *known) once(r *row, column, thing string, twice bool) {
	switch {
	case k.old[thing]:
		r.refuse(column, "the program has %s already", thing)
	case twice:
		r.refuse(column, "%s stands in the table twice", thing)
	}
}

func (b *builder) checkSupports(k *known) {
	for i, s := range b.bridge.Supports {
		if s.Code != "" {
			k.once(b.supports[i], "code", "support "+s.Code, k.supports[s.Code])
			k.supports[s.Code] = true
		}
	}
}

func (b *builder) checkSpans(k *known) {
	for i := range b.bridge.Spans {
		s, r := &b.bridge.Spans[i], b.spans[i]
		if s.Number > 0 {
			k.once(r, "number", "span "+strconv.Itoa(s.Number), k.spans[s.Number] != nil)
			k.spans[s.Number] = s
		}
		for _, ref := range [...]struct{ column, code string }{{"from_support", s.From}, {"to_support", s.To}} {
			if ref.code != "" && !k.supports[ref.code] {
				r.refuse(ref.column, "no support has the code %q", ref.code)
			}
		}
		if s.From != "" && s.From == s.To {
			r.refuse("to_support", "must differ from from_support")
		}
	}
	for i := range b.bridge.Spans {
		s := &b.bridge.Spans[i]
		if next := k.spans[s.Number+1]; s.Number > 0 && next != nil && next.From != s.To && next.From != "" && s.To != "" {
			b.spans[i].refuse("to_support", "span %d begins at %s: a span ends where the next one begins", s.Number+1, next.From)
		}
	}
}

func (b *builder) checkSections(k *known) {
	for i, s := range b.bridge.Sections {
		if s.Name != "" {
			_, twice := k.sections[s.Name]
			k.once(b.sections[i], "name", "section "+s.Name, twice)
			k.sections[s.Name] = s.Section
		}
	}
}

func (b *builder) checkEnds(k *known) {
	for i := range b.bridge.Ends {
		e, r := &b.bridge.Ends[i], b.ends[i]
		g := &e.Geometry
		if (g.Name == girder.Name{}) {
			continue
		}
		_, twice := k.ends[g.Name]
		k.once(r, "name", "end "+g.Name.String(), twice)
		if span := k.spans[g.Name.Span]; span == nil {
			r.refuse("name", "there is no span %d", g.Name.Span)
		} else {
			if g.Name.Girder > span.Girders {
				r.refuse("name", "span %d has %d girder lines", span.Number, span.Girders)
			}
			want := span.From
			if g.Name.Side == girder.Far {
				want = span.To
			}
			if e.Support != "" && e.Support != want {
				r.refuse("support", "must be %s, where this end of span %d stands", want, span.Number)
			}
		}
		if section, ok := b.section(k, g.Section.Name); ok {
			g.Section = section
			if !r.bad && len(section.Validate()) == 0 {
				r.problems(g.Validate(), endColumns)
			}
		} else if g.Section.Name != "" {
			r.refuse("section", "no section of this name is in the table %s or in the library", TableSections)
		}
		k.ends[g.Name] = *g
	}
}

// section finds a section by name; one of the library joins the bridge.
func (b *builder) section(k *known, name string) (girder.Section, bool) {
	if s, ok := k.sections[name]; ok {
		return s, true
	}
	entry, ok := girder.Lookup(name)
	if !ok || name == "" {
		return girder.Section{}, false
	}
	if s, ok := k.sections[entry.Name]; ok {
		return s, true
	}
	k.sections[entry.Name] = entry.Section
	b.bridge.Sections = append(b.bridge.Sections, Section{Section: entry.Section})
	return entry.Section, true
}
