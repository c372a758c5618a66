package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
	"endcast/views/end"
	"endcast/views/ui"
)

// pastShow is an end as it was on record at a moment, which the address gives as a time or
// as the number of an entry.
func (s *Server) pastShow(w http.ResponseWriter, r *http.Request) error {
	head, name := s.program(r), chi.URLParam(r, "end")
	q := r.URL.Query()
	entry, at := strings.TrimSpace(q.Get("entry")), strings.TrimSpace(q.Get("at"))
	if entry == "" && at == "" {
		if _, err := s.store.End(r.Context(), head.ID.String(), name); err != nil {
			return err
		}
		http.Redirect(w, r, head.Path("ends", name, "history"), http.StatusSeeOther)
		return nil
	}
	var p db.Past
	var asked string
	var err error
	if entry != "" {
		n, bad := strconv.ParseInt(entry, 10, 64)
		if bad != nil || n < 1 {
			return fault.New(fault.Malformed, "the number of the entry must be a whole number from 1 on, got %.40q", entry)
		}
		p, err = s.store.EndAt(r.Context(), head.ID.String(), name, n)
	} else {
		var moment time.Time
		if moment, asked, err = s.pastMoment(r, at); err != nil {
			return err
		}
		p, err = s.store.EndAtTime(r.Context(), head.ID.String(), name, moment)
	}
	if err != nil {
		return err
	}
	e, err := s.readEnd(r, p.Scope)
	if err != nil {
		return err
	}
	v, err := e.pastView(p)
	if err != nil {
		return err
	}
	v.Asked = asked
	if v.Earlier, v.Later, err = e.besideEntries(p.Seq); err != nil {
		return err
	}
	page := s.page(r, v.Name+" as on record at "+v.When, append(e.crumbs(true), ui.Crumb{Label: "History", Href: e.path("history")})...)
	page.Block = e.titleBlock()
	for i, c := range page.Block.Cells {
		if c.Label == "Record" { // the counter of edits is not in the journal
			page.Block.Cells[i].Value = "after entry " + v.Entry
		}
	}
	return s.render(w, r, http.StatusOK, end.PastPage(page, v))
}

// pastMoment reads a time of the address: with its own zone, or on the clock of the
// program. What is typed to the minute means the whole minute.
func (s *Server) pastMoment(r *http.Request, text string) (time.Time, string, error) {
	if t, err := time.Parse(time.RFC3339Nano, text); err == nil {
		return t, text, nil
	}
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return time.Time{}, "", err
	}
	t, err := momentTyped("at", text, zoneOf(frame.Program))
	if err != nil {
		return time.Time{}, "", err
	}
	if t.Second() == 0 {
		t = t.Add(time.Minute - time.Microsecond)
	}
	return t, strings.Replace(text, "T", " ", 1), nil
}

// besideEntries are the addresses of the end as it was one entry of its own earlier and
// later.
func (e *endReader) besideEntries(seq int64) (earlier, later string, err error) {
	before, after, err := e.s.store.BesideEntries(e.r.Context(), e.sc.Program.ID, e.rec.End.ID, seq)
	if err != nil {
		return "", "", err
	}
	if before > 0 {
		earlier = e.pastPath(before)
	}
	if after > 0 {
		later = e.pastPath(after)
	}
	return earlier, later, nil
}

func (e *endReader) pastPath(seq int64) string {
	return e.path("past") + "?" + url.Values{"entry": {strconv.FormatInt(seq, 10)}}.Encode()
}

// pastView is what the page of an end shows, without what leads to forms or to pages of now.
func (e *endReader) pastView(p db.Past) (end.PastView, error) {
	facts, err := e.rec.Facts(e.sc)
	if err != nil {
		return end.PastView{}, err
	}
	results, err := e.results()
	if err != nil {
		return end.PastView{}, err
	}
	v := end.View{Name: e.rec.End.Name, Reading: e.reading(), Standing: e.standing(sequence.Evaluate(e.sc.Sequence(), facts)), Facts: e.asBuilt(), Surveys: e.surveys(), Design: e.design(),
		Cleanings: e.cleanings(), Collars: e.collars(), Inspections: e.inspections(), ShiftChecks: e.shiftChecked(), Nonconformances: e.nonconformances(), Pours: e.pours(),
		Capacity: e.capacity(results), Checks: e.checks(results), Figure: e.elevation(), Bars: e.bars(results), HistoryHref: e.path("history")}
	v.Steps, v.Shared = e.pastSteps(facts)
	withoutLinks(&v)
	out := end.PastView{View: v, When: e.when(p.At), Entry: strconv.FormatInt(p.Seq, 10), EntryHow: entryWords(p.Kind) + ", by " + p.Actor, Method: string(calc.MethodVersion),
		Zone: e.zoneNote(), NowHref: e.path(), Revision: "No design was on record."}
	switch p.Later {
	case 0:
		out.Since = "Nothing has come to the program's record since."
	case 1:
		out.Since = "One entry has come to the program's record since."
	default:
		out.Since = fmt.Sprintf("%d entries have come to the program's record since.", p.Later)
	}
	if d := e.rec.DesignInForce(); d != nil {
		out.Revision = fmt.Sprintf("Revision %d was in force: %s.", d.Revision, revisionMark(d.State).Text)
		if stale, why := e.rec.OutOfDate(e.sc); stale {
			out.Revision += " It was out of date: " + why
		}
	}
	return out, nil
}

// pastSteps are the steps as they stood, without forms.
func (e *endReader) pastSteps(facts sequence.Facts) ([]end.Step, end.StepShared) {
	list, shared := e.steps(sequence.Evaluate(e.sc.Sequence(), facts), facts, nil)
	for i := range list {
		list[i].Form, list[i].Why, list[i].Page = nil, "", nil
		list[i].Quiet = len(list[i].Records) == 0 && !list[i].Current
		for j := range list[i].Blocks {
			list[i].Blocks[j].Href = ""
		}
	}
	return list, shared
}

// withoutLinks takes out of a view of the past what leads to pages of now.
func withoutLinks(v *end.View) {
	for i := range v.Standing.Blocks {
		v.Standing.Blocks[i].Href = ""
	}
	for i := range v.Surveys {
		v.Surveys[i].EditHref = ""
	}
	if v.Design != nil {
		for i := range v.Design.Revisions {
			v.Design.Revisions[i].Href, v.Design.Revisions[i].Review = "", nil
		}
	}
	for i := range v.ShiftChecks {
		v.ShiftChecks[i].Href = ""
	}
	for i := range v.Pours {
		v.Pours[i].Href = ""
	}
	for i := range v.Capacity {
		v.Capacity[i].Sheet = ""
	}
	for i := range v.Checks {
		for j := range v.Checks[i].Rows {
			v.Checks[i].Rows[j].Sheet = ""
		}
	}
}
