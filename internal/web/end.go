package web

import (
	"net/http"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/end"
	views "endcast/views/outlook"
	"endcast/views/photo"
	"endcast/views/ui"
)

// endShow is the page of one girder end.
func (s *Server) endShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return s.endPage(w, r, http.StatusOK, e, endSent{})
}

// endPage renders the page of an end. sent is what was sent from it and could not
// be taken.
func (s *Server) endPage(w http.ResponseWriter, r *http.Request, status int, e *endReader, sent endSent) error {
	v, err := e.view(sent)
	if err != nil {
		return err
	}
	p := s.page(r, "Girder end "+e.rec.End.Name, e.crumbs(false)...)
	p.Block = e.titleBlock()
	return s.render(w, r, status, end.Page(p, v))
}

// endSent is what came in from a form of the end page and was refused.
type endSent struct {
	step   *stepSent
	upload *end.Upload
	notice string // over the whole page
}

// endReader turns the record of one end into texts for one reader: in the reader's
// units and the program's own time.
type endReader struct {
	s    *Server
	r    *http.Request
	sc   *repair.Scope
	rec  *repair.Record
	sys  units.System
	zone *time.Location
	who  map[string]string // names of people by id

	approved *repair.Approval // see approvalNow
}

// openEnd loads the end of the address.
func (s *Server) openEnd(r *http.Request) (*endReader, error) {
	sc, err := s.store.End(r.Context(), s.program(r).ID.String(), chi.URLParam(r, "end"))
	if err != nil {
		return nil, err
	}
	return s.readEnd(r, sc)
}

// readEnd reads the one end of a scope for whoever asks.
func (s *Server) readEnd(r *http.Request, sc *repair.Scope) (*endReader, error) {
	names, err := s.store.UserNames(r.Context())
	if err != nil {
		return nil, err
	}
	return &endReader{s: s, r: r, sc: sc, rec: sc.Ends[0], sys: s.units(r), zone: zoneOf(sc.Program), who: names}, nil
}

// zoneOf is the time zone that a program works in; UTC where its name is unknown.
func zoneOf(p repair.Program) *time.Location { return p.Zone() }

// when prints a moment in the program's own time.
func (e *endReader) when(t time.Time) string { return t.In(e.zone).Format("2006-01-02 15:04") }

func (e *endReader) zoneNote() string { return "Times are of " + e.zone.String() + "." }

func (e *endReader) name(user string) string {
	if n := e.who[user]; n != "" {
		return n
	}
	return "someone no longer listed"
}

// path is the address of a page of this end.
func (e *endReader) path(parts ...string) string {
	return e.s.program(e.r).Path(append([]string{"ends", e.rec.End.Name}, parts...)...)
}

// crumbs lead to the end, and with within also to the end itself.
func (e *endReader) crumbs(within bool) []ui.Crumb {
	head := e.s.program(e.r)
	out := []ui.Crumb{{Label: "Bridge", Href: head.Path()}}
	if e.s.answers(programPrefix + "/ends") {
		out = append(out, ui.Crumb{Label: "Ends", Href: head.Path("ends")})
	}
	if within {
		out = append(out, ui.Crumb{Label: e.rec.End.Name, Href: e.path()})
	}
	return out
}

// answers reports whether a page is served at a pattern.
func (s *Server) answers(pattern string) bool {
	for _, rt := range s.routes {
		if rt.method == get && rt.pattern == pattern {
			return true
		}
	}
	return false
}

// support is what the owner calls the support under the end.
func (e *endReader) support() string {
	sup, _ := e.sc.Support(e.rec.End.SupportID)
	return sup.Name
}

// reading is the plain reading of the name: "Pier 2, back face".
func (e *endReader) reading() string {
	if f := e.rec.End.Face; f != "" {
		return e.support() + ", " + f + " face"
	}
	n := girder.Name{Span: e.rec.End.SpanNo, Side: girder.Side(e.rec.End.Side), Girder: e.rec.End.GirderNo}
	return n.Reading(e.support())
}

func (e *endReader) section() string {
	sec, _ := e.sc.Section(e.rec.End.SectionID)
	return sec.Name
}

func (e *endReader) state() repair.State {
	if len(e.rec.State) == 0 {
		return repair.State{}
	}
	return e.rec.State[0]
}

// titleBlock carries what tells one sheet of an end from another.
func (e *endReader) titleBlock() *ui.TitleBlock {
	st := e.state()
	revision := "none"
	mark := ui.Mark{State: ui.Open, Text: "no design"}
	if d := e.rec.LatestDesign(); d != nil {
		revision, mark = numberOf(d.Revision), revisionMark(d.State)
		if st.OutOfDate {
			mark = ui.Mark{State: ui.Caution, Text: "out of date"}
		}
	}
	head := e.s.program(e.r)
	return &ui.TitleBlock{Cells: append([]ui.Cell{
		{Label: "Program", Value: head.Name, Wide: true},
		{Label: "Girder end", Value: e.rec.End.Name},
		{Label: "Reading", Value: e.reading()},
		{Label: "Section", Value: e.section()},
		{Label: "Revision", Value: revision},
		{Label: "Design", Mark: &mark},
		{Label: "Step", Value: stepOrClosed(st)},
		{Label: "Inputs", Value: shortDigest(st.InputDigest)},
		{Label: "Method", Value: st.MethodVersion},
		{Label: "Record", Value: "version " + numberOf(int(e.rec.End.Version))},
		{Label: "Release", Value: e.s.cfg.Release},
	}, e.standingCells()...)}
}

func stepOrClosed(st repair.State) string {
	if st.Closed {
		return "closed"
	}
	return st.StepName
}

// shortDigest is the part of a digest that people compare by eye.
func shortDigest(d string) string {
	if i := strings.IndexByte(d, ':'); i >= 0 {
		d = d[i+1:]
	}
	if len(d) > 12 {
		d = d[:12]
	}
	return d
}

// view gathers the whole page.
func (e *endReader) view(sent endSent) (end.View, error) {
	facts, err := e.rec.Facts(e.sc)
	if err != nil {
		return end.View{}, err
	}
	status := sequence.Evaluate(e.sc.Sequence(), facts)
	v := end.View{Name: e.rec.End.Name, Reading: e.reading(), Alias: e.rec.End.Alias, Problem: sent.notice,
		Standing: e.standing(status), Facts: e.asBuilt(), Surveys: e.surveys(), Design: e.design(),
		Cleanings: e.cleanings(), Collars: e.collars(), Inspections: e.inspections(), ShiftChecks: e.shiftChecked(), Nonconformances: e.nonconformances(),
		Pours: e.pours(), PhotosHref: e.path("photos"), Policy: repair.PhotoPolicyWords(e.sc.Program.PhotoPolicy), Upload: e.upload(sent.upload),
		SheetHref: e.path("sheet"), StrainHref: e.path("strain"), HistoryHref: e.path("history")}
	lines, err := e.s.store.TabletOfEnd(e.r.Context(), e.rec.End.ID, mostTabletLines)
	if err != nil {
		return end.View{}, err
	}
	v.Tablet, v.Besides = e.fromTablets(lines), e.besides(lines)
	results, err := e.results()
	if err != nil {
		return end.View{}, err
	}
	v.Capacity, v.Checks = e.capacity(results), e.checks(results)
	v.Figure, v.Bars = e.pinnedElevation(), e.bars(results)
	if list := e.photos(); len(list) > 0 {
		v.Photos = photo.Few(list[:min(len(list), 8)], len(list))
	}
	stages := e.rec.Stages(e.sc)
	v.Stages, v.Outlook, v.Share = views.StagesSection(e.stages(stages)), views.Section(e.outlook(stages)), views.ShareSection(e.loadShare())
	if v.Today, err = e.today(); err != nil {
		return end.View{}, err
	}
	v.Steps, v.Shared = e.steps(status, facts, sent.step)
	v.Others = append(v.Others, end.Link{Label: "Demand and rating", Href: e.path("demand")}, end.Link{Label: "Documents", Href: e.path("documents")}, end.Link{Label: "Release for casting", Href: e.path("release")})
	if e.s.can(e.r, authz.Export) {
		v.Others = append(v.Others, end.Link{Label: "Package of plain files", Href: e.path("package.zip")})
	}
	if e.s.can(e.r, authz.EditEnd) {
		v.EditHref = e.path("edit")
	}
	if e.s.can(e.r, authz.RecordSurvey) {
		v.SurveyHref = e.path("surveys", "new")
	}
	// The desk leads readers on to the latest revision, so without one it has nothing for them.
	if e.s.can(e.r, authz.EditDesign) || e.rec.LatestDesign() != nil {
		v.DesignHref = e.path("design")
	}
	return v, nil
}
