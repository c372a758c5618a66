package web

import (
	"net/http"
	"net/url"
	"strconv"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// mockupBox is one length of a mock-up in its form.
type mockupBox struct {
	name, label, hint string
	of                func(*repair.MockupIn) **units.Length
}

var mockupSizes = []mockupBox{
	{"width", "Width", "Along the web.", func(m *repair.MockupIn) **units.Length { return &m.Width }},
	{"height", "Height", "From the foot of the form to its top.", func(m *repair.MockupIn) **units.Length { return &m.Height }},
	{"thickness", "Thickness", "From the web to the form.", func(m *repair.MockupIn) **units.Length { return &m.Thickness }},
	{"head", "Head above the form", "Hopper or standpipe.", func(m *repair.MockupIn) **units.Length { return &m.Head }},
}

var mockupFlow = mockupBox{"flow", "Flow of the mix", "Mean of both diameters.", func(m *repair.MockupIn) **units.Length { return &m.Flow }}

// mockupNew is the empty form.
func (s *Server) mockupNew(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	return s.mockupNewPage(w, r, http.StatusOK, c, mockupSent{act: "record", form: &pourForm{c: c, values: url.Values{}}})
}

func (s *Server) mockupNewPage(w http.ResponseWriter, r *http.Request, status int, c *castReader, sent mockupSent) error {
	v := c.mockupBoxes(sent)
	v.Action, v.Act, v.Submit = c.head.Path("mockups"), "record", "Record the mock-up"
	p := s.page(r, "Record a mock-up", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Mock-ups", Href: c.head.Path("mockups")})
	p.Field = true
	return s.render(w, r, status, casting.MockupNewPage(p, v))
}

// mockupRecord puts a mock-up on record.
func (s *Server) mockupRecord(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	sent := mockupSent{act: "record", form: &pourForm{c: c, values: r.PostForm}}
	in, bad := c.readMockup(sent.form)
	if err = bad.Err(); err == nil {
		_, err = s.mockupEdit(r, in.CastAt, repair.RecordMockup{MockupIn: in})
	}
	back, err := refusal(err)
	if err != nil {
		return err
	}
	if back != nil {
		sent.bad, sent.refused = back.fields, back.text
		typedBack(sent.bad, sent.form.flat())
		return s.mockupNewPage(w, r, http.StatusUnprocessableEntity, c, sent)
	}
	fresh, err := s.openCastings(r)
	if err != nil {
		return err
	}
	number := 1
	for _, m := range fresh.frame.Mockups {
		number = max(number, m.Number)
	}
	s.flash(r, ui.Done, "The mock-up is on record.")
	return seeOther(w, r, c.head.Path("mockups", strconv.Itoa(number)))
}

// readMockup reads the form of a mock-up, gathering everything that cannot be read.
func (c *castReader) readMockup(f *pourForm) (repair.MockupIn, *fault.Invalid) {
	bad := &fault.Invalid{}
	in := repair.MockupIn{StandsFor: f.get("stands_for"), Obstructions: f.get("obstructions"), LeakFree: f.get("leak_free") != "", Leaks: f.get("leaks"), Voids: f.get("voids"),
		FiberSpread: f.get("fiber_spread"), Note: f.get("note"), Typed: repair.Typed{}}
	if in.CastAt = c.moment(bad, "cast_at", f.get("cast_at")); in.CastAt.IsZero() && bad.Of("cast_at") == nil {
		bad.Add("cast_at", "", "say when it was cast")
	}
	for _, b := range append(mockupSizes[:len(mockupSizes):len(mockupSizes)], mockupFlow) {
		if v := c.quantity(bad, b.name, f.get(b.name), units.Lengths); v != nil {
			*b.of(&in) = as[units.Length](v)
			in.Typed[b.name+"_mm"] = f.get(b.name)
		}
	}
	in.FillMin = c.quantity(bad, "fill_min", f.get("fill_min"), units.Minutes)
	if text := f.get("sections_cut"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			bad.Add("sections_cut", text, "must be a whole number from 0 to 100, got %q", text)
		}
		in.SectionsCut = n
	}
	return in, bad
}

// mockupBoxes lays out the form of a mock-up with what it holds.
func (c *castReader) mockupBoxes(sent mockupSent) casting.MockupEntry {
	f, bad := sent.form, sent.bad
	length := units.Lengths.Label(c.sys)
	box := func(b mockupBox) ui.Field {
		return f.field(bad, ui.Field{Name: b.name, Label: b.label, Hint: b.hint, Unit: length, InputMode: "decimal", Optional: true, Short: true})
	}
	v := casting.MockupEntry{Entry: f.get("entry"), Bad: bad, Refused: sent.refused, Zone: c.zoneNote(), From: f.get("from"),
		Cast:         f.field(bad, ui.Field{Name: "cast_at", Label: "Cast at", Type: "datetime-local"}),
		StandsFor:    f.field(bad, ui.Field{Name: "stands_for", Label: "Stands for", Rows: 2, Hint: "Which ends it is to prove, by the height, skew and obstructions that it copies."}),
		Obstructions: f.field(bad, ui.Field{Name: "obstructions", Label: "Studs and obstructions in it", Rows: 2, Optional: true}),
		LeakFree:     f.get("leak_free") != "",
		Leaks:        f.field(bad, ui.Field{Name: "leaks", Label: "Where it leaked", Rows: 2, Optional: true, Hint: "Needed unless it did not leak."}),
		Sections:     f.field(bad, ui.Field{Name: "sections_cut", Label: "Sections cut", InputMode: "numeric", Optional: true, Short: true, Hint: "Sawn or cored through."}),
		Voids:        f.field(bad, ui.Field{Name: "voids", Label: "Voids seen", Rows: 2, Optional: true, Hint: "Place and size, or none. The top corner under the flange fills last."}),
		Spread:       f.field(bad, ui.Field{Name: "fiber_spread", Label: "How the fibers lie", Rows: 2, Optional: true}),
		Note:         f.field(bad, ui.Field{Name: "note", Label: "Note", Rows: 3, Optional: true, Hint: "Mixer, crew and form, how it was fed and vented, what is to be done otherwise on the bridge."})}
	for _, b := range mockupSizes {
		v.Sizes = append(v.Sizes, box(b))
	}
	v.Filling = []ui.Field{box(mockupFlow), f.field(bad, ui.Field{Name: "fill_min", Label: "Time to fill it", Unit: units.Minutes.Label(c.sys), InputMode: "decimal", Optional: true, Short: true})}
	return v
}

// mockupValues are the boxes of a mock-up filled with its record.
func (c *castReader) mockupValues(m repair.Mockup) url.Values {
	in := repair.MockupIn{Width: m.Width, Height: m.Height, Thickness: m.Thickness, Head: m.Head, Flow: m.Flow}
	v := url.Values{"cast_at": {m.CastAt.In(c.zone).Format("2006-01-02T15:04")}, "stands_for": {m.StandsFor}, "obstructions": {m.Obstructions}, "leaks": {m.Leaks}, "voids": {m.Voids},
		"fiber_spread": {m.FiberSpread}, "note": {m.Note}, "sections_cut": {strconv.Itoa(m.SectionsCut)}, "from": {repair.MockupRecordDigest(m)}}
	if m.LeakFree {
		v.Set("leak_free", "on")
	}
	for _, b := range append(mockupSizes[:len(mockupSizes):len(mockupSizes)], mockupFlow) {
		if l := *b.of(&in); l != nil {
			v.Set(b.name, c.figureAs(m.Typed, b.name+"_mm", units.Lengths, float64(*l)))
		}
	}
	if m.FillMin != nil {
		v.Set("fill_min", units.Minutes.Exact(*m.FillMin, c.sys))
	}
	return v
}

// castMoment is a moment of a form, kept to the minute that the form shows: a record
// with seconds is not moved by a form that shows none.
func castMoment(was, typed time.Time) time.Time {
	if was.Truncate(time.Minute).Equal(typed) {
		return was
	}
	return typed
}
