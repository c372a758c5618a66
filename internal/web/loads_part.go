package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/loads"
	"endcast/views/settings"
	"endcast/views/ui"
)

func (sr *spanReader) partFields() []ui.Field {
	opts := func(pairs ...string) []ui.Option {
		var out []ui.Option
		for i := 0; i+1 < len(pairs); i += 2 {
			out = append(out, ui.Option{Value: pairs[i], Label: sentenceCase(pairs[i+1])})
		}
		return out
	}
	var buckets []string
	for _, k := range demand.Buckets() {
		buckets = append(buckets, string(k), k.Words())
	}
	line, point, area := units.LineLoads.Label(sr.sys), units.Forces.Label(sr.sys), areaUnit(sr.sys)
	var where []string
	for _, x := range []demand.Where{demand.Each, demand.Shared, demand.Tributary, demand.Exterior, demand.One} {
		where = append(where, string(x), whereTexts[x])
	}
	return []ui.Field{{Name: "name", Label: "Part"}, {Name: "bucket", Label: "Belongs to", Options: opts(buckets...)},
		{Name: "kind", Label: "Spread", Options: opts("line", "along the girder, "+line, "point", "at one place, "+point, "area", "over the deck, "+area)},
		{Name: "value", Label: "Value", InputMode: "decimal", Hint: "In " + line + ", " + point + " or " + area + " as it is spread. Write 0 where there is none."},
		{Name: "where", Label: "Carried by", Options: opts(where...)},
		{Name: "girder", Label: "Girder", InputMode: "numeric", Optional: true, Hint: "Only where one girder carries it."},
		{Name: "at", Label: "Distance from the bearing", InputMode: "decimal", Unit: units.Spans.Label(sr.sys), Optional: true, Hint: "Only of a load at one place; 0 is on the bearing."},
		{Name: "from_side", Label: "Measured from", Options: opts("", "either bearing alike", "N", "the near bearing", "F", "the far bearing")},
		{Name: "source", Label: "Source", Hint: "The drawing, the weighing or the calculation.", Optional: true}}
}

func areaUnit(sys units.System) string {
	if sys == units.SI {
		return "kPa"
	}
	return "psf"
}

// partKind is the kind of quantity that the value of a part is.
func partKind(kind string) units.Kind {
	switch demand.Kind(kind) {
	case demand.Line:
		return units.LineLoads
	case demand.Point:
		return units.Forces
	}
	return units.Stresses
}

// partNumber reads the value of a part. A plain number over the deck is in the unit
// that loads are printed in, not in that of stresses.
func partNumber(kind, text string, sys units.System) (float64, error) {
	k := partKind(kind)
	if k == units.Stresses {
		if _, err := units.Numbers.Parse(text, sys); err == nil {
			text += " " + areaUnit(sys)
		}
	}
	return k.Parse(text, sys)
}

// partText is the value of a part for its box.
func partText(x repair.LoadPart, sys units.System) string {
	if typed := x.Typed["value"]; typed != "" {
		if v, err := partNumber(x.Kind, typed, sys); err == nil && v == x.Value {
			return typed
		}
	}
	if demand.Kind(x.Kind) != demand.Area {
		return partKind(x.Kind).Exact(x.Value, sys)
	}
	v := x.Value * 1000
	if sys == units.US {
		v = x.Value / psf
	}
	return strconv.FormatFloat(v, 'g', 12, 64)
}

func (sr *spanReader) partTyped(x repair.LoadPart) map[string]string {
	out := map[string]string{"name": x.Name, "bucket": x.Bucket, "kind": x.Kind, "value": partText(x, sr.sys), "where": x.Where, "girder": "", "at": "", "from_side": x.From, "source": x.Source}
	if x.Girder > 0 {
		out["girder"] = numberOf(x.Girder)
	}
	if demand.Kind(x.Kind) == demand.Point {
		out["at"] = shownBox(units.Spans, x.Typed["at"], float64(x.At), false, sr.sys)
	}
	return out
}

// openPart finds the part of the address; none for a new one.
func (s *Server) openPart(r *http.Request) (*spanReader, *repair.LoadPart, error) {
	sr, err := s.openSpan(r)
	if err != nil {
		return nil, nil, err
	}
	id := chi.URLParam(r, "part")
	if id == "new" {
		return sr, nil, nil
	}
	parts := sr.sc.PartsOf(sr.span.ID)
	i := slices.IndexFunc(parts, func(x repair.LoadPart) bool { return x.ID == id })
	if i < 0 {
		return nil, nil, fault.New(fault.NotFound, "the span has no such part of the dead load")
	}
	return sr, &parts[i], nil
}

// partEdit is the form of a part of the dead load.
func (s *Server) partEdit(w http.ResponseWriter, r *http.Request) error {
	sr, x, err := s.openPart(r)
	if err != nil {
		return err
	}
	typed := map[string]string{"bucket": string(demand.DC2), "kind": string(demand.Line), "where": string(demand.Shared)}
	if x != nil {
		typed = sr.partTyped(*x)
	}
	return sr.partPage(w, http.StatusOK, x, loads.EditView{}, typed)
}

func (sr *spanReader) partPage(w http.ResponseWriter, status int, x *repair.LoadPart, v loads.EditView, typed map[string]string) error {
	inWords(v.Bad, typed, sr.sys)
	v.Title, v.Action, v.Back = "Add a part of the dead load", sr.path("parts", "new"), sr.path("loads")
	v.Lead = "Span " + numberOf(sr.span.Number) + ". Weights of the structure that the steel alone carries, of attachments made later, and of the wearing surface count with different factors."
	if x != nil {
		v.Title, v.Action, v.Retire = x.Name, sr.path("parts", x.ID), !x.Retired
		if x.Retired {
			v.Note = "This part is retired. Saving it counts it again."
		}
	}
	if v.From == "" {
		v.From = sr.sc.LoadPartsDigest(sr.span.ID)
	}
	boxes := boxesOf(sr.partFields(), typed, v.Bad)
	for _, f := range sr.partFields() {
		if f.Name == "source" {
			v.Last = append(v.Last, boxes[f.Name])
		} else {
			v.Fields = append(v.Fields, boxes[f.Name])
		}
	}
	return sr.s.render(w, sr.r, status, loads.Edit(sr.s.page(sr.r, v.Title, sr.crumbs(true)...), v))
}

// readPart reads the form.
func (sr *spanReader) readPart(typed map[string]string, was *repair.LoadPart) (repair.LoadPartIn, *fault.Invalid) {
	bad := &fault.Invalid{}
	in := repair.LoadPartIn{Name: typed["name"], Bucket: typed["bucket"], Kind: typed["kind"], Where: typed["where"], From: typed["from_side"], Source: typed["source"], Typed: repair.Typed{}}
	shown := map[string]string{}
	if was != nil {
		in.ID, shown = was.ID, sr.partTyped(*was)
	}
	switch text := typed["value"]; {
	case text == "":
		bad.Add("value", "", "is needed; write 0 where there is none")
	case was != nil && text == shown["value"] && in.Kind == was.Kind:
		in.Value = was.Value
	default:
		v, err := partNumber(in.Kind, text, sr.sys)
		if err != nil {
			bad.Add("value", text, "%s", lengthProblem(err))
		}
		in.Value = v
	}
	if typed["value"] != "" {
		in.Typed["value"] = typed["value"]
	}
	in.Girder = wholeNumber(bad, "girder", typed["girder"])
	if text := typed["at"]; text != "" {
		before := 0.0
		if was != nil {
			before = float64(was.At)
		}
		in.At = units.Length(readBox(bad, "at", text, units.Spans, true, sr.sys, before, shown["at"]))
		in.Typed["at"] = text
	}
	return in, bad
}

// partSubmit adds, changes or retires a part.
func (s *Server) partSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	sr, x, err := s.openPart(r)
	if err != nil {
		return err
	}
	if r.PostFormValue("do") == "start" && x == nil {
		return sr.begin(w)
	}
	var names []string
	for _, f := range sr.partFields() {
		names = append(names, f.Name)
	}
	typed := typedIn(r, names...)
	in, bad := sr.readPart(typed, x)
	e := loadsEdit{fields: sr.partFields(), typed: typed, now: map[string]string{}, done: "The part is on record and the demand follows it.", to: sr.path("loads"),
		page: func(status int, v loads.EditView) error { return sr.partPage(w, status, x, v, typed) }}
	if x != nil {
		e.now = sr.partTyped(*x)
		if r.PostFormValue("do") == "retire" {
			// What retiring does is seen on the span, where the part stays listed.
			change := repair.EditLoadParts{SpanID: sr.span.ID, Parts: []repair.LoadPartIn{{ID: x.ID, Name: x.Name, Retire: true}}, From: r.PostFormValue("from")}
			_, err := s.edit(r, nil, time.Time{}, change)
			if err == nil {
				s.flash(r, ui.Done, x.Name+" is retired and does not count any more.")
				return seeOther(w, r, sr.path("loads"))
			}
			return sr.partRefused(err, e)
		}
	}
	e.change, e.bad, e.shown = repair.EditLoadParts{SpanID: sr.span.ID, Parts: []repair.LoadPartIn{in}, From: r.PostFormValue("from")}, bad, calc.Digest(in)
	return sr.sendPart(w, e)
}

// sendPart is send with the names of fields that the rules give to one of several
// parts.
func (sr *spanReader) sendPart(w http.ResponseWriter, e loadsEdit) error {
	page := e.page
	e.page = func(status int, v loads.EditView) error {
		if v.Bad != nil {
			for i := range v.Bad.Fields {
				name := strings.TrimPrefix(v.Bad.Fields[i].Field, "parts[0].")
				if name == "from" { // the form carries the digest by that name
					name = "from_side"
				}
				v.Bad.Fields[i].Field = name
			}
		}
		return page(status, v)
	}
	return sr.send(w, e)
}

func (sr *spanReader) partRefused(err error, e loadsEdit) error {
	v := loads.EditView{}
	if fault.KindOf(err) == fault.Conflict {
		v.Clash = &settings.Clash{Text: "Nothing of yours was stored: the dead load of this span is another one now. Look at it, then retire the part if it still holds."}
		e.typed = e.now
		return e.page(http.StatusConflict, v)
	}
	form, status, ok := refused(sr.r, err)
	if !ok {
		return err
	}
	v.Bad, v.Notice = form.Bad, form.Notice
	return e.page(status, v)
}

// startParts are the parts that the record already tells.
func (sr *spanReader) startParts() []repair.LoadPartIn {
	section := ""
	if len(sr.sc.Ends) > 0 {
		section = sr.sc.Ends[0].End.SectionID
	}
	return sr.sc.PartsToStart(sr.span.ID, section)
}

// start offers them where the span has no part yet.
func (sr *spanReader) start(form *settings.Form) (*settings.Form, []string) {
	if len(sr.sc.PartsOf(sr.span.ID)) > 0 {
		return nil, nil
	}
	var words []string
	for _, x := range sr.startParts() {
		words = append(words, x.Name+", "+partValue(x.Kind, x.Value, sr.sys))
	}
	if len(words) == 0 {
		return nil, nil
	}
	if form == nil {
		form = &settings.Form{}
	}
	form.Action, form.From = sr.path("parts", "new"), sr.sc.LoadPartsDigest(sr.span.ID)
	return form, words
}

// begin stores them.
func (sr *spanReader) begin(w http.ResponseWriter) error {
	_, err := sr.s.edit(sr.r, nil, time.Time{}, repair.EditLoadParts{SpanID: sr.span.ID, Parts: sr.startParts(), From: sr.r.PostFormValue("from")})
	if err == nil {
		sr.s.flash(sr.r, ui.Done, "The parts are on record. Add what else the girders carry.")
		return seeOther(w, sr.r, sr.path("loads"))
	}
	form, status, ok := refused(sr.r, err)
	if fault.KindOf(err) == fault.Conflict {
		form, status, ok = settings.Form{}, http.StatusConflict, true
	}
	if !ok {
		return err
	}
	sr.s.flash(sr.r, ui.Failed, ui.Sentence(fault.Message(err)))
	return sr.s.spanPage(w, sr.r, status, sr, &form)
}
