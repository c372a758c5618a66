package web

import (
	"net/http"
	"strconv"
	"time"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/loads"
	"endcast/views/settings"
	"endcast/views/ui"
)

// spanBox is one number of the cross section.
type spanBox struct {
	name, label, hint string
	kind              units.Kind
	optional          bool
	get               func(*repair.SpanDemandIn) float64
	set               func(*repair.SpanDemandIn, float64)
}

var spanBoxes = []spanBox{
	{"deck", "Deck thickness", "Structural, without wearing surface.", units.Lengths, false,
		func(d *repair.SpanDemandIn) float64 { return float64(d.Deck) }, func(d *repair.SpanDemandIn, v float64) { d.Deck = units.Length(v) }},
	{"overhang_left", "Overhang, left", "Web of the outer girder to the edge of the deck.", units.Spans, true,
		func(d *repair.SpanDemandIn) float64 { return float64(d.OverhangLeft) }, func(d *repair.SpanDemandIn, v float64) { d.OverhangLeft = units.Length(v) }},
	{"overhang_right", "Overhang, right", "Looking ahead station.", units.Spans, true,
		func(d *repair.SpanDemandIn) float64 { return float64(d.OverhangRight) }, func(d *repair.SpanDemandIn, v float64) { d.OverhangRight = units.Length(v) }},
	{"edge_left", "Web to curb, left", "Inside face; outboard of the girder is positive.", units.Spans, true,
		func(d *repair.SpanDemandIn) float64 { return float64(d.EdgeLeft) }, func(d *repair.SpanDemandIn, v float64) { d.EdgeLeft = units.Length(v) }},
	{"edge_right", "Web to curb, right", "Negative where the curb is inboard.", units.Spans, true,
		func(d *repair.SpanDemandIn) float64 { return float64(d.EdgeRight) }, func(d *repair.SpanDemandIn, v float64) { d.EdgeRight = units.Length(v) }},
	{"skew_near", "Skew of the near bearing line", "Positive with the left end ahead.", units.Angles, true,
		func(d *repair.SpanDemandIn) float64 { return float64(d.SkewNear) }, func(d *repair.SpanDemandIn, v float64) { d.SkewNear = units.Angle(v) }},
	{"skew_far", "Skew of the far bearing line", "", units.Angles, true,
		func(d *repair.SpanDemandIn) float64 { return float64(d.SkewFar) }, func(d *repair.SpanDemandIn, v float64) { d.SkewFar = units.Angle(v) }},
	{"modular_ratio", "Modular ratio", "Steel over deck, for the stiffness of a girder; empty: not known.", units.Numbers, true,
		func(d *repair.SpanDemandIn) float64 { return d.ModularRatio }, func(d *repair.SpanDemandIn, v float64) { d.ModularRatio = v }},
	{"haunch", "Haunch", "Between flange and deck.", units.Lengths, true,
		func(d *repair.SpanDemandIn) float64 { return float64(d.Haunch) }, func(d *repair.SpanDemandIn, v float64) { d.Haunch = units.Length(v) }},
}

func (sr *spanReader) spanFields() []ui.Field {
	var out []ui.Field
	for _, b := range spanBoxes {
		out = append(out, ui.Field{Name: b.name, Label: b.label, Hint: b.hint, Unit: b.kind.Label(sr.sys), InputMode: "decimal", Optional: b.optional})
	}
	return append(out, ui.Field{Name: "lanes", Label: "Lanes to load", Hint: "Empty: as many as the roadway holds.", InputMode: "numeric", Optional: true},
		ui.Field{Name: "adtt", Label: "Trucks a day, one direction", Hint: "Empty: not known, and the highest factor counts.", InputMode: "numeric", Optional: true},
		ui.Field{Name: "source", Label: "Source", Hint: "The drawing, with its sheet, or the visit and its date."})
}

// onRecord is the cross section as a form holds it.
func (sr *spanReader) onRecord() repair.SpanDemandIn {
	d := sr.row
	if d == nil {
		return repair.SpanDemandIn{}
	}
	return repair.SpanDemandIn{Deck: d.Deck, EdgeLeft: d.EdgeLeft, EdgeRight: d.EdgeRight, OverhangLeft: d.OverhangLeft, OverhangRight: d.OverhangRight, SkewNear: d.SkewNear,
		SkewFar: d.SkewFar, Lanes: d.Lanes, ModularRatio: d.ModularRatio, Haunch: d.Haunch, ADTT: d.ADTT, Source: d.Source, Typed: d.Typed}
}

func (sr *spanReader) spanTyped() map[string]string {
	in := sr.onRecord()
	out := map[string]string{"source": in.Source, "lanes": "", "adtt": ""}
	for _, b := range spanBoxes {
		out[b.name] = shownBox(b.kind, in.Typed[b.name], b.get(&in), true, sr.sys)
	}
	if in.Lanes > 0 {
		out["lanes"] = numberOf(in.Lanes)
	}
	if in.ADTT != nil {
		out["adtt"] = numberOf(*in.ADTT)
	}
	return out
}

// readSpan reads the form.
func (sr *spanReader) readSpan(typed map[string]string) (repair.SpanDemandIn, *fault.Invalid) {
	bad := &fault.Invalid{}
	was, shown := sr.onRecord(), sr.spanTyped()
	in := repair.SpanDemandIn{Source: typed["source"], Typed: repair.Typed{}}
	for _, b := range spanBoxes {
		b.set(&in, readBox(bad, b.name, typed[b.name], b.kind, b.optional, sr.sys, b.get(&was), shown[b.name]))
		if typed[b.name] != "" {
			in.Typed[b.name] = typed[b.name]
		}
	}
	in.Lanes = wholeNumber(bad, "lanes", typed["lanes"])
	if typed["adtt"] != "" {
		n := wholeNumber(bad, "adtt", typed["adtt"])
		in.ADTT = &n
	}
	if in.Source == "" {
		bad.Add("source", "", "name the drawing or the visit that the cross section comes from")
	}
	return in, bad
}

// wholeNumber reads a number without a part, zero for none.
func wholeNumber(bad *fault.Invalid, name, text string) int {
	if text == "" {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n > 1e6 {
		bad.Add(name, text, "must be a whole number, such as 4")
	}
	return n
}

// spanEdit is the form of the cross section.
func (s *Server) spanEdit(w http.ResponseWriter, r *http.Request) error {
	sr, err := s.openSpan(r)
	if err != nil {
		return err
	}
	return sr.editPage(w, http.StatusOK, loads.EditView{}, sr.spanTyped())
}

func (sr *spanReader) editPage(w http.ResponseWriter, status int, v loads.EditView, typed map[string]string) error {
	inWords(v.Bad, typed, sr.sys)
	v.Title, v.Action, v.Back = "Cross section of span "+numberOf(sr.span.Number), sr.path("edit"), sr.path("loads")
	v.Lead = "Seen ahead station, girder 1 on the left. The length of the span, its girders and their spacing come from the bridge as it was imported."
	if v.From == "" {
		v.From = sr.sc.SpanDemandDigest(sr.span.ID)
	}
	boxes := boxesOf(sr.spanFields(), typed, v.Bad)
	for _, f := range sr.spanFields() {
		if f.Name == "source" {
			v.Last = append(v.Last, boxes[f.Name])
		} else {
			v.Fields = append(v.Fields, boxes[f.Name])
		}
	}
	return sr.s.render(w, sr.r, status, loads.Edit(sr.s.page(sr.r, v.Title, sr.crumbs(true)...), v))
}

// spanSubmit shows what a cross section does, and stores it when exactly that was
// shown.
func (s *Server) spanSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	sr, err := s.openSpan(r)
	if err != nil {
		return err
	}
	var names []string
	for _, f := range sr.spanFields() {
		names = append(names, f.Name)
	}
	typed := typedIn(r, names...)
	in, bad := sr.readSpan(typed)
	change := repair.EditSpanDemand{SpanID: sr.span.ID, Demand: in, From: r.PostFormValue("from")}
	return sr.send(w, loadsEdit{change: change, bad: bad, shown: calc.Digest(in), done: "The cross section is on record and the demand follows it.", to: sr.path("loads"),
		fields: sr.spanFields(), typed: typed, now: sr.spanTyped(),
		page: func(status int, v loads.EditView) error { return sr.editPage(w, status, v, typed) }})
}

// loadsEdit is an edit of a form of loads on its way.
type loadsEdit struct {
	change repair.Change
	bad    *fault.Invalid
	shown  string // names what a preview shows
	done   string
	to     string
	fields []ui.Field
	typed  map[string]string
	now    map[string]string
	page   func(status int, v loads.EditView) error
}

// send shows what an edit does to the ends of the span, and stores it when exactly
// that was shown.
func (sr *spanReader) send(w http.ResponseWriter, e loadsEdit) error {
	r := sr.r
	v := loads.EditView{Form: settings.Form{Entry: r.PostFormValue("entry"), From: r.PostFormValue("from")}}
	save := r.PostFormValue("do") == "save"
	err := e.bad.Err()
	switch {
	case err != nil:
	case save && r.PostFormValue("previewed") == e.shown:
		if _, err = sr.s.edit(r, nil, time.Time{}, e.change); err == nil {
			sr.s.flash(r, ui.Done, e.done)
			return seeOther(w, r, e.to)
		}
	default:
		after, p, perr := sr.s.foresee(r, sr.sc, e.change)
		if err = perr; err == nil {
			if save {
				v.Notice = "The values changed since you saw what they do. Nothing is stored yet: look again, then save."
			}
			ef := effectsOf(p, sr.head, "No design goes out of date and no capacity moves.")
			v.Effects, v.Previewed, v.Moves = &ef, e.shown, sr.moves(after)
			return e.page(http.StatusOK, v)
		}
	}
	if fault.KindOf(err) == fault.Conflict {
		v.From, v.Entry = "", ""
		v.Clash = clashOf("Nothing of yours was stored yet. The form holds what you typed; look at what it changes now, then save it over what is stored.", e.fields, e.typed, e.now)
		return e.page(http.StatusConflict, v)
	}
	form, status, ok := refused(r, err)
	if !ok {
		return err
	}
	v.Bad, v.Notice = form.Bad, form.Notice
	return e.page(status, v)
}

// moves are the ends whose factored reaction an edit moves.
func (sr *spanReader) moves(after *repair.Scope) []loads.Moved {
	var out []loads.Moved
	for i, rec := range sr.sc.Ends {
		was, now := rec.Demand(sr.sc).Factored, after.Ends[i].Demand(after).Factored
		if was != now {
			out = append(out, loads.Moved{Href: sr.head.Path("ends", rec.End.Name, "demand"), End: rec.End.Name, Was: units.Forces.Format(float64(was), sr.sys, -1),
				Now: units.Forces.Format(float64(now), sr.sys, -1)})
		}
	}
	return out
}
