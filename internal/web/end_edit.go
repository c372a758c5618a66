package web

import (
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"strconv"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"

	"endcast/internal/db"
	"endcast/views/end"
	"endcast/views/ui"
)

// factBox is one number among the facts of an end: its box on the form, its column
// and its place in the facts.
type factBox struct {
	name, label, hint string
	column            string // key of what was typed
	kind              units.Kind
	optional          bool // empty means zero: there is none
	get               func(*repair.EndFacts) float64
	set               func(*repair.EndFacts, float64)
}

// factBoxes are the numbers in the order of the form. Names are those by which the
// rules speak of them.
var factBoxes = []factBox{
	{"reaction", "Factored reaction", "What the end must carry, from the rating.", "reaction_n", units.Forces, false,
		func(f *repair.EndFacts) float64 { return float64(f.Reaction) }, func(f *repair.EndFacts, v float64) { f.Reaction = units.Force(v) }},
	{"fy", "Yield strength", "", "fy_mpa", units.Stresses, false,
		func(f *repair.EndFacts) float64 { return float64(f.Fy) }, func(f *repair.EndFacts, v float64) { f.Fy = units.Stress(v) }},
	{"fu", "Tensile strength", "", "fu_mpa", units.Stresses, false,
		func(f *repair.EndFacts) float64 { return float64(f.Fu) }, func(f *repair.EndFacts, v float64) { f.Fu = units.Stress(v) }},
	{"bearing.start", "Girder end to the bearing", "", "bearing_start_mm", units.Lengths, true,
		func(f *repair.EndFacts) float64 { return float64(f.BearingStart) }, func(f *repair.EndFacts, v float64) { f.BearingStart = units.Length(v) }},
	{"bearing.length", "Bearing length along the girder", "", "bearing_length_mm", units.Lengths, false,
		func(f *repair.EndFacts) float64 { return float64(f.BearingLength) }, func(f *repair.EndFacts, v float64) { f.BearingLength = units.Length(v) }},
	{"bearing.width", "Bearing width", "", "bearing_width_mm", units.Lengths, false,
		func(f *repair.EndFacts) float64 { return float64(f.BearingWidth) }, func(f *repair.EndFacts, v float64) { f.BearingWidth = units.Length(v) }},
	{"stiffener.width", "Width of a plate", "", "stiffener_width_mm", units.Lengths, true,
		func(f *repair.EndFacts) float64 { return float64(f.StiffenerWidth) }, func(f *repair.EndFacts, v float64) { f.StiffenerWidth = units.Length(v) }},
	{"stiffener.thickness", "Thickness of a plate", "", "stiffener_thickness_mm", units.Lengths, true,
		func(f *repair.EndFacts) float64 { return float64(f.StiffenerThick) }, func(f *repair.EndFacts, v float64) { f.StiffenerThick = units.Length(v) }},
	{"stiffener.clip", "Clip at the flange", "What weld or fillet takes off the contact width.", "stiffener_clip_mm", units.Lengths, true,
		func(f *repair.EndFacts) float64 { return float64(f.StiffenerClip) }, func(f *repair.EndFacts, v float64) { f.StiffenerClip = units.Length(v) }},
	{"stiffener.x", "Girder end to the plates", "To the middle of the set.", "stiffener_x_mm", units.Lengths, true,
		func(f *repair.EndFacts) float64 { return float64(f.StiffenerX) }, func(f *repair.EndFacts, v float64) { f.StiffenerX = units.Length(v) }},
	{"stiffener.fy", "Yield strength of the plates", "", "stiffener_fy_mpa", units.Stresses, true,
		func(f *repair.EndFacts) float64 { return float64(f.StiffenerFy) }, func(f *repair.EndFacts, v float64) { f.StiffenerFy = units.Stress(v) }},
	{"skew", "Skew", "Positive with the left side ahead.", "skew_deg", units.Angles, true,
		func(f *repair.EndFacts) float64 { return float64(f.Skew) }, func(f *repair.EndFacts, v float64) { f.Skew = units.Angle(v) }},
	{"diaphragm_x", "Girder end to the end diaphragm", "Empty: there is none.", "diaphragm_x_mm", units.Lengths, true,
		func(f *repair.EndFacts) float64 { return float64(f.DiaphragmX) }, func(f *repair.EndFacts, v float64) { f.DiaphragmX = units.Length(v) }},
	{"end_panel", "Bearing line to the first stiffener of the web", "Empty: the web has none.", "end_panel_mm", units.Lengths, true,
		func(f *repair.EndFacts) float64 { return float64(f.EndPanel) }, func(f *repair.EndFacts, v float64) { f.EndPanel = units.Length(v) }},
}

// shown is the text of a box for the facts on record: as typed where that still
// reads as the value, else exactly.
func (b factBox) shown(f *repair.EndFacts, sys units.System) string {
	v := b.get(f)
	if typed := f.Typed[b.column]; typed != "" {
		if x, err := b.kind.Parse(typed, sys); err == nil && x == v {
			return typed
		}
	}
	if v == 0 && b.optional && f.Typed[b.column] == "" {
		return ""
	}
	return strings.Replace(b.kind.Exact(v, sys), "−", "-", 1)
}

// otherFacts are the boxes with words.
func otherFacts(f *repair.EndFacts) map[string]string {
	on := func(b bool) string {
		if b {
			return "on"
		}
		return ""
	}
	return map[string]string{"section": f.SectionID, "bearing.kind": f.BearingKind, "bearing_fixed": on(f.BearingFixed), "held": on(f.HeldAgainstRoll),
		"stiffener.pairs": strconv.Itoa(f.StiffenerPairs), "fy_origin": f.FyOrigin, "reaction_origin": f.ReactionOrigin, "alias": f.Alias, "access": f.Access}
}

// endEdit is the form of the facts of an end.
func (s *Server) endEdit(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	facts := repair.FactsOf(e.rec.End)
	typed := otherFacts(&facts)
	for _, b := range factBoxes {
		typed[b.name] = b.shown(&facts, e.sys)
	}
	return s.endEditPage(w, r, http.StatusOK, e, typed, nil, nil)
}

// endEditSubmit stores changed facts.
func (s *Server) endEditSubmit(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	facts := repair.FactsOf(e.rec.End)
	typed := otherFacts(&facts)
	for name := range typed {
		typed[name] = strings.TrimSpace(r.PostFormValue(name))
	}
	typed["reason"], typed["entry"] = strings.TrimSpace(r.PostFormValue("reason")), r.PostFormValue("entry")
	for _, b := range factBoxes {
		typed[b.name] = strings.TrimSpace(r.PostFormValue(b.name))
	}
	change, bad := e.factsTyped(typed)
	if err = bad.Err(); err == nil {
		ends, serr := seen(r, e.rec.End.ID)
		if serr != nil {
			return serr
		}
		if _, err = s.edit(r, ends, e.s.store.Today(e.sc.Program), change); err == nil {
			s.flash(r, ui.Done, "The facts are on record and the end is computed anew.")
			return seeOther(w, r, e.path())
		}
	}
	if stale, ok := errors.AsType[*db.Stale](err); ok {
		if e, err = s.openEnd(r); err != nil {
			return err
		}
		typed["entry"] = ""
		return s.endEditPage(w, r, http.StatusConflict, e, typed, nil, stale)
	}
	found, refused, other := refusedIn(err)
	if other != nil {
		return other
	}
	if refused != "" {
		found = &fault.Invalid{}
		found.Add("reason", typed["reason"], "%s", refused)
	}
	return s.endEditPage(w, r, http.StatusUnprocessableEntity, e, typed, found, nil)
}

// factsTyped reads the boxes of the form. A text that was not touched keeps the
// stored value to the last bit.
func (e *endReader) factsTyped(typed map[string]string) (repair.EditEnd, *fault.Invalid) {
	bad := &fault.Invalid{}
	was := repair.FactsOf(e.rec.End)
	f := was
	f.Typed = repair.Typed{}
	for k, v := range was.Typed {
		f.Typed[k] = v
	}
	for _, b := range factBoxes {
		text := typed[b.name]
		switch {
		case text == b.shown(&was, e.sys):
			continue
		case text == "" && b.optional:
			b.set(&f, 0)
			delete(f.Typed, b.column)
			continue
		case text == "":
			bad.Add(b.name, "", "is needed")
			continue
		}
		v, err := b.kind.Parse(text, e.sys)
		if err != nil {
			bad.Add(b.name, text, "%s", lengthProblem(err))
			continue
		}
		b.set(&f, v)
		f.Typed[b.column] = text
	}
	pairs, err := strconv.Atoi(typed["stiffener.pairs"])
	if err != nil || pairs < 0 || pairs > 6 {
		bad.Add("stiffener.pairs", typed["stiffener.pairs"], "must be a number from 0 to 6")
	}
	f.StiffenerPairs, f.SectionID, f.BearingKind = pairs, typed["section"], typed["bearing.kind"]
	f.BearingFixed, f.HeldAgainstRoll = typed["bearing_fixed"] == "on", typed["held"] == "on"
	f.FyOrigin, f.ReactionOrigin, f.Alias, f.Access = typed["fy_origin"], typed["reaction_origin"], typed["alias"], typed["access"]
	for _, name := range []string{"fy_origin", "reaction_origin"} {
		if typed[name] == "" {
			bad.Add(name, "", "say where the value comes from: document, page, date")
		}
	}
	if typed["reason"] == "" {
		bad.Add("reason", "", "say why the facts of this end change")
	}
	return repair.EditEnd{Facts: f, Reason: typed["reason"]}, bad
}

// endEditPage renders the form with what was typed, the reasons at the boxes, and,
// after somebody else's change, what is on record now beside what was typed.
func (s *Server) endEditPage(w http.ResponseWriter, r *http.Request, status int, e *endReader, typed map[string]string, bad *fault.Invalid, stale *db.Stale) error {
	facts := repair.FactsOf(e.rec.End)
	now := otherFacts(&facts)
	for _, b := range factBoxes {
		now[b.name] = b.shown(&facts, e.sys)
	}
	if bad != nil {
		for i, f := range bad.Fields {
			bad.Fields[i].Reason = inReaderUnits(f.Reason, typed[f.Field], e.sys)
		}
	}
	field := func(f ui.Field) ui.Field {
		f.Value = typed[f.Name]
		if p := bad.Of(f.Name); p != nil {
			f.Reason = p.Reason
		}
		if was, ok := now[f.Name]; stale != nil && ok && was != f.Value {
			f.Hint = strings.TrimSpace("On record now: " + optionLabel(f, was) + ". " + f.Hint)
		}
		return f
	}
	v := end.Edit{Name: e.rec.End.Name, Reading: e.reading(), Action: e.path("edit"), BackHref: e.path(), Entry: typed["entry"], Version: fmt.Sprint(e.rec.End.Version),
		Bad: bad, Fixed: typed["bearing_fixed"] == "on", Held: typed["held"] == "on", Boxes: map[string]ui.Field{}}
	if stale != nil {
		v.Stale = stale.By
		v.FixedNow, v.HeldNow = nowWords(now["bearing_fixed"], typed["bearing_fixed"]), nowWords(now["held"], typed["held"])
	}
	for _, b := range factBoxes {
		v.Boxes[b.name] = field(ui.Field{Name: b.name, Label: b.label, Hint: b.hint, Unit: b.kind.Label(e.sys), Short: true, Optional: b.optional})
	}
	for _, f := range []ui.Field{
		{Name: "section", Label: "Section", Options: e.sectionOptions()},
		{Name: "bearing.kind", Label: "Kind of bearing", Options: bearingOptions},
		{Name: "stiffener.pairs", Label: "Pairs of plates", InputMode: "numeric", Short: true, Hint: "0: there are none, and the boxes beside do not count."},
		{Name: "fy_origin", Label: "Where the strength comes from"},
		{Name: "reaction_origin", Label: "Where the reaction comes from"},
		{Name: "alias", Label: "Name in older reports", Optional: true},
		{Name: "access", Label: "Access", Hint: "The kind of window that the end needs; open where none."},
		{Name: "reason", Label: "Reason for the change", Rows: 2, Hint: "Kept in the history for good."},
	} {
		v.Boxes[f.Name] = field(f)
	}
	return s.render(w, r, status, end.EditPage(s.page(r, "Edit "+e.rec.End.Name, e.crumbs(true)...), v))
}

func nowWords(now, typed string) string {
	if now == typed {
		return ""
	}
	return yesNo(now == "on")
}

// optionLabel is a value in words, for a choice from a list.
func optionLabel(f ui.Field, value string) string {
	for _, o := range f.Options {
		if o.Value == value {
			return o.Label
		}
	}
	if value == "" {
		return "empty"
	}
	return value
}

var bearingOptions = []ui.Option{{Value: "rocker", Label: "Rocker"}, {Value: "bolster", Label: "Bolster"}, {Value: "sliding_plate", Label: "Sliding plate"},
	{Value: "elastomeric", Label: "Elastomeric pad"}, {Value: "other", Label: "Other"}}

func (e *endReader) sectionOptions() []ui.Option {
	var out []ui.Option
	for _, sec := range e.sc.Sections {
		out = append(out, ui.Option{Value: sec.ID, Label: sec.Name})
	}
	return out
}

var (
	millimetres = regexp.MustCompile(`(\d+(?:\.\d+)?) mm\b`)
	megapascals = regexp.MustCompile(`(\d+(?:\.\d+)?)(?: to (\d+(?:\.\d+)?))? MPa\b`)
	gotValue    = regexp.MustCompile(`, got -?[\d.]+(?:e[+-]?\d+)?( N)?$`)
)

// inReaderUnits turns the millimetres and megapascals of a rule's message into the
// reader's units, and the value that it got into what was typed.
func inReaderUnits(reason, typed string, sys units.System) string {
	if typed != "" {
		reason = gotValue.ReplaceAllLiteralString(reason, ", got "+typed)
	}
	if sys == units.SI {
		return reason
	}
	number := func(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return v }
	reason = millimetres.ReplaceAllStringFunc(reason, func(m string) string {
		return units.Length(number(millimetres.FindStringSubmatch(m)[1])).Format(sys, 2)
	})
	return megapascals.ReplaceAllStringFunc(reason, func(m string) string {
		p := megapascals.FindStringSubmatch(m)
		text := units.Stress(number(p[1])).Format(sys, -1)
		if p[2] != "" {
			text += " to " + units.Stress(number(p[2])).Format(sys, -1)
		}
		return text
	})
}
