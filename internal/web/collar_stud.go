package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
	"endcast/views/field"
)

// collarShow is the page of one stud. What the address carries besides stands in
// the form, so that the repairs of a gap can be asked for before anything is
// recorded.
func (s *Server) collarShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return e.studPage(w, http.StatusOK, &typedForm{values: r.URL.Query(), sys: e.sys, zone: e.zone, now: e.now()}, field.Sent{})
}

// collarRecord puts one finding at one stud on record.
func (s *Server) collarRecord(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	mark := studMark(r)
	in, captured := f.collar(mark), f.captured()
	ch := repair.RecordCollars{DesignID: f.text("design"), Collars: []repair.CollarIn{e.withoutOldGap(in, f.text("design"))}}
	pic, err := e.picture(f, e.photoSubjectOf(sequence.StudsAccounted, "collar"), studCaption(mark)+stud.Outcome(in.Outcome).Words(), captured)
	if err != nil {
		return err
	}
	if err = f.bad.Err(); err == nil {
		err = plainFields(e.observe(captured, ch), mark)
	}
	if err == nil {
		err = e.keep(pic)
	}
	if refusedForm(err) {
		return e.studPage(w, http.StatusUnprocessableEntity, f, f.sent(err))
	}
	if err != nil {
		return err
	}
	e.collarFlash(ch.DesignID, mark+": "+stud.Outcome(in.Outcome).Words()+", recorded.")
	if f.text("then") == "next" {
		if d := e.rec.DesignInForce(); d != nil {
			if next := e.studMap(d).nextOpen(mark); next != nil {
				return seeOther(w, r, e.path("collars", next.Mark))
			}
		}
	}
	return seeOther(w, r, e.path("collars"))
}

// studMark is the mark in the address, whatever signs it is made of.
func studMark(r *http.Request) string {
	mark := chi.URLParam(r, "mark")
	if plain, err := url.PathUnescape(mark); err == nil {
		return plain
	}
	return mark
}

func studCaption(mark string) string { return "Stud " + mark + ": " }

// collar reads the form of one stud.
func (f *typedForm) collar(mark string) repair.CollarIn {
	return repair.CollarIn{Mark: mark, Outcome: f.text("outcome"), GapClock: f.hour("gap_clock"), GapLength: quantity[units.Length](f, "gap_length"), Fissure: f.text("fissure") == "on",
		Height: quantity[units.Length](f, "height"), BendDeg: f.number("bend_deg", units.Angles), BendClock: f.hour("bend_clock"),
		FilletSize: quantity[units.Length](f, "fillet_size"), FilletLen: quantity[units.Length](f, "fillet_length"),
		Repair: f.text("repair"), Welder: f.text("welder"), FerruleLot: f.text("ferrule_lot"), Note: f.text("note")}
}

// withoutOldGap drops the gap that the form began with from a finding that says the
// collar is full now: a stud that was welded again.
func (e *endReader) withoutOldGap(in repair.CollarIn, design string) repair.CollarIn {
	was := e.rec.LatestCollars(design)[in.Mark]
	same := was.GapClock != nil && was.GapLength != nil && in.GapClock != nil && in.GapLength != nil && *was.GapClock == *in.GapClock &&
		was.GapLength.Exact(e.sys) == in.GapLength.Exact(e.sys)
	if o := stud.Outcome(in.Outcome); same && (o == stud.Full || o == stud.Replaced) {
		in.GapClock, in.GapLength = nil, nil
	}
	return in
}

// plainFields names the faults of one stud as its form names its boxes.
func plainFields(err error, mark string) error {
	f := typedForm{}
	if f.merge(err); len(f.bad.Fields) == 0 {
		return err
	}
	for i := range f.bad.Fields {
		x := &f.bad.Fields[i]
		if rest, ok := strings.CutPrefix(x.Field, "collar-"+mark); ok {
			if x.Field = strings.TrimPrefix(rest, "-"); x.Field == "" {
				x.Field = "outcome"
			}
		}
	}
	return f.bad.Err()
}

func (e *endReader) studPage(w http.ResponseWriter, status int, f *typedForm, sent field.Sent) error {
	d := e.rec.DesignInForce()
	if d == nil {
		return fault.New(fault.NotFound, "this end has no design yet")
	}
	mark, m := studMark(e.r), e.studMap(d)
	i := m.index(mark)
	if i < 0 {
		return fault.New(fault.NotFound, "revision %d has no stud %.40q", d.Revision, mark)
	}
	st, n := m.studs[i], len(m.studs)
	link := func(k int) *field.StudLink {
		if k < 0 || k >= n {
			return nil
		}
		return &field.StudLink{Mark: m.studs[k].Mark, Href: e.path("collars", m.studs[k].Mark)}
	}
	v := field.Stud{Head: e.head(), Mark: mark, Now: collarStatus(m.outcome(mark)), Of: fmt.Sprintf("%d of %d", i+1, n), Prev: link(i - 1), Next: link(i + 1), Map: e.path("collars"),
		Place:   fmt.Sprintf("%s, row %d, column %d", sentenceCase(faceWords[st.Face]), st.Row, st.Col),
		Where:   "x " + st.X.Format(e.sys, -1) + ", z " + st.Z.Format(e.sys, -1),
		History: e.studHistory(mark)}
	v.OutOfDate, v.Caution = e.designWarnings(d)
	for _, p := range e.pictures(e.photoSubjectOf(sequence.StudsAccounted, ""), "collar") {
		if strings.HasPrefix(p.Caption, studCaption(mark)) {
			v.Pictures = append(v.Pictures, p)
		}
	}
	f = e.beginWithGap(f, m.latest[mark])
	v.Repairs = e.repairs(f, d)
	if e.s.can(e.r, authz.RecordCollar) {
		v.Form = e.studForm(f, sent, m, mark)
	}
	p := e.fieldPage("Stud " + mark + ",")
	p.Scripts = []string{"collar.js"}
	return e.s.render(w, e.r, status, field.StudPage(p, v))
}

// beginWithGap fills an untouched form with the gap that is still open.
func (e *endReader) beginWithGap(f *typedForm, was repair.Collar) *typedForm {
	if len(f.values) > 0 || was.GapClock == nil || was.GapLength == nil || stud.Counts(stud.Outcome(was.Outcome)) {
		return f
	}
	out := *f
	out.values = url.Values{"gap_clock": {strconv.Itoa(*was.GapClock)}, "gap_length": {was.GapLength.Exact(e.sys)}}
	return &out
}

// repairs is what the rules permit for the gap in the form.
func (e *endReader) repairs(f *typedForm, d *repair.Design) field.Repairs {
	g := typedForm{values: f.values, sys: e.sys, zone: e.zone}
	clock, length := g.hour("gap_clock"), quantity[units.Length](&g, "gap_length")
	if err := g.bad.Err(); err != nil {
		return field.Repairs{Problem: fieldReasons(err)}
	}
	if clock == nil || length == nil {
		return field.Repairs{}
	}
	list, err := stud.Repairs(e.sc.Basis(), d.StudDiameter, stud.Gap{Clock: *clock, Length: *length})
	if err != nil {
		return field.Repairs{Problem: err.Error()}
	}
	out := field.Repairs{Gap: fmt.Sprintf("Gap of %s at %d o'clock, stud of %s:", length.Format(e.sys, -1), *clock, d.StudDiameter.Format(e.sys, -1))}
	for _, x := range list {
		row := field.Repair{Name: sentenceCase(repairName[x.Outcome]), Words: x.Words, Clause: clauseWords(x.Clause.Document, x.Clause.Article, x.Clause.Edition, string(x.Clause.Tag))}
		switch x.Outcome {
		case stud.RepairedFillet:
			row.Figures = []field.Figure{{Label: "Size at least", Value: x.Size.Format(e.sys, -1)}, {Label: "Length at least", Value: x.Length.Format(e.sys, -1)}}
		case stud.BentPass:
			row.Figures = []field.Figure{{Label: "Bend", Value: x.Angle.Format(e.sys, 0)}, {Label: "Toward", Value: fmt.Sprintf("%d o'clock", x.Clock)}}
		}
		out.List = append(out.List, row)
	}
	return out
}

var repairName = map[stud.Outcome]string{stud.RepairedFillet: "fillet weld", stud.BentPass: "proof bend", stud.Replaced: "new stud"}

// clauseWords names a clause with how well it is confirmed.
func clauseWords(document, article, edition, tag string) string {
	out := "After " + document
	if article != "" {
		out += ", " + article
	}
	if edition != "" {
		out += ", edition of " + edition
	}
	return out + ": " + tag + "."
}

// studHistory lists every finding at a mark, on whatever revision, the one that
// counts first.
func (e *endReader) studHistory(mark string) []field.CollarRow {
	number := map[string]int{}
	for _, d := range e.rec.Designs {
		number[d.ID] = d.Revision
	}
	rows := newestCollars(e.rec.Collars, mark)
	var out []field.CollarRow
	for _, c := range rows {
		row := field.CollarRow{Mark: c.Mark, Detail: e.collarDetail(c), When: e.when(c.CapturedAt), By: e.name(c.ByUser), Status: collarStatus(stud.Outcome(c.Outcome)),
			Revision: fmt.Sprintf("Revision %d.", number[c.DesignID]), Latest: e.rec.LatestCollars(c.DesignID)[mark].ID == c.ID}
		var by []string
		if c.Welder != "" {
			by = append(by, "Welder "+c.Welder+".")
		}
		if c.FerruleLot != "" {
			by = append(by, "Ferrules "+c.FerruleLot+".")
		}
		row.Welder = strings.Join(by, " ")
		out = append(out, row)
	}
	return out
}
