package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/paper"
	"endcast/views/ui"
)

// papersOnPage is how many documents a page lists.
const papersOnPage = 40

// offerHolds says what is in a document of a kind.
var offerHolds = map[string]string{
	repair.PaperCalculation: "The survey map, the design revision, the calculation sheet line by line, the review with its notes, and the stud map of this end.",
	repair.PaperAsBuilt:     "What was done at this end until it was closed: every step, the survey, the revision in force, the studs as welded, castings and breaks, nonconformances, the load path where it was tested, and photographs.",
	repair.PaperProgram:     "An index of all ends and a summary of each: what it carries, what it must carry, the design, and where it stands.",
}

// documentList is the documents of a program.
func (s *Server) documentList(w http.ResponseWriter, r *http.Request) error {
	return s.documentListPage(w, r, http.StatusOK, "")
}

func (s *Server) documentListPage(w http.ResponseWriter, r *http.Request, status int, problem string) error {
	head := s.program(r)
	sc, err := s.store.States(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	v := paper.List{Title: "Documents", Lead: "PDFs of the record as it was, to be read, signed and kept.", Ends: head.Path("ends"), Empty: "No document has been made yet.", Problem: problem,
		Print: head.Path("documents", "print"), Missing: s.printer.Missing()}
	if s.can(r, authz.MakeDocument) {
		v.Make = head.Path("documents")
	}
	if v.Offers, err = s.offers(r, sc, []string{repair.PaperProgram}, ""); err != nil {
		return err
	}
	if err := s.documentRows(r, &v, ""); err != nil {
		return err
	}
	return s.render(w, r, status, paper.ListPage(s.page(r, v.Title, ui.Crumb{Label: "Bridge", Href: head.Path()}), v))
}

// offers says of each kind whether it can be made now, and which one on record was made
// from the record as it stands.
func (s *Server) offers(r *http.Request, sc *repair.Scope, kinds []string, endID string) ([]paper.Offer, error) {
	var out []paper.Offer
	for _, kind := range kinds {
		o := paper.Offer{Kind: kind, Title: repair.PaperWords(kind), Holds: offerHolds[kind]}
		var err error
		if o.Lacks, err = sc.PaperLacks(kind); err != nil {
			return nil, err
		}
		if len(o.Lacks) == 0 {
			digest, err := sc.PaperDigest(kind)
			if err != nil {
				return nil, err
			}
			same, err := s.store.PaperOf(r.Context(), sc.Program.ID, endID, kind, digest)
			if err != nil {
				return nil, err
			}
			if same > 0 {
				n := strconv.Itoa(same)
				o.Same = &paper.Link{Label: "Document " + n, Href: s.program(r).Path("documents", n)}
			}
		}
		out = append(out, o)
	}
	return out, nil
}

// documentRows fills the list of a page with documents and where each stands.
func (s *Server) documentRows(r *http.Request, v *paper.List, endID string) error {
	head := s.program(r)
	v.KeyHref = head.Path("documents", "key")
	page, _ := strconv.Atoi(r.URL.Query().Get("page"))
	page = min(max(page, 1), 1_000_000)
	list, total, err := s.store.Papers(r.Context(), head.ID.String(), endID, (page-1)*papersOnPage, papersOnPage)
	if err != nil {
		return err
	}
	moved, err := s.movedPapers(r.Context(), head.ID.String(), list)
	if err != nil {
		return err
	}
	zone, err := s.programZone(r)
	if err != nil {
		return err
	}
	for _, p := range list {
		n := strconv.Itoa(p.Number)
		row := paper.Row{Number: n, Href: head.Path("documents", n), Title: p.Title, End: p.End, Made: p.MadeAt.In(zone).Format("2006-01-02 15:04"), By: p.MadeByName,
			Pages: numberOf(p.Pages), Size: sizeWords(p.Size), State: paperMark(p, moved[p.ID])}
		for _, g := range p.Signatures {
			row.Signed = append(row.Signed, repair.MeaningWords(g.Meaning)+", "+g.ByName)
		}
		v.Rows = append(v.Rows, row)
	}
	if total > papersOnPage {
		from := (page-1)*papersOnPage + 1
		v.Pager = &ui.PagerView{From: min(from, total), To: min(from+papersOnPage-1, total), Total: total}
		if page > 1 {
			v.Pager.Prev = r.URL.Path + "?page=" + strconv.Itoa(page-1)
		}
		if page*papersOnPage < total {
			v.Pager.Next = r.URL.Path + "?page=" + strconv.Itoa(page+1)
		}
	}
	return nil
}

func sizeWords(bytes int64) string { return fmt.Sprintf("%.2f MB", float64(bytes)/(1<<20)) }

// paperMark says where a document stands: whether anybody signed it, and whether the
// record it was made from is still the record.
func paperMark(p db.Paper, moved bool) ui.Mark {
	signed := "not signed"
	if n := len(p.Signatures); n > 0 {
		signed = "signed as " + repair.MeaningWords(p.Signatures[n-1].Meaning)
	}
	switch {
	case moved:
		return ui.Mark{State: ui.Caution, Text: signed + ", out of date"}
	case len(p.Signatures) > 0:
		return ui.Mark{State: ui.Good, Text: signed}
	}
	return ui.Mark{State: ui.Wait, Text: signed}
}

// movedPapers tells, by identifier, of which documents the record has moved on. The ends
// of all of them are read in one round trip.
func (s *Server) movedPapers(ctx context.Context, programID string, list []db.Paper) (map[string]bool, error) {
	out := map[string]bool{}
	var ids []string
	seen := map[string]bool{}
	ofProgram := false
	for _, p := range list {
		switch {
		case p.EndID == nil:
			ofProgram = true
		case !seen[*p.EndID]:
			seen[*p.EndID] = true
			ids = append(ids, *p.EndID)
		}
	}
	is := map[string]string{} // digest now, by kind and end
	if len(ids) > 0 {
		sc, err := s.store.Ends(ctx, programID, ids)
		if err != nil {
			return nil, err
		}
		for _, rec := range sc.Ends {
			one := *sc
			one.Ends = []*repair.Record{rec}
			for _, kind := range repair.PaperKinds {
				if is[kind+rec.End.ID], err = one.PaperDigest(kind); err != nil {
					return nil, err
				}
			}
		}
	}
	if ofProgram {
		sc, err := s.store.States(ctx, programID)
		if err != nil {
			return nil, err
		}
		if is[repair.PaperProgram], err = sc.PaperDigest(repair.PaperProgram); err != nil {
			return nil, err
		}
	}
	for _, p := range list {
		key := p.Kind
		if p.EndID != nil {
			key += *p.EndID
		}
		out[p.ID] = is[key] != p.Record
	}
	return out, nil
}

// openPaper is the document that the address names.
func (s *Server) openPaper(r *http.Request) (db.Paper, error) {
	n, err := strconv.Atoi(chi.URLParam(r, "document"))
	if err != nil || n < 1 || n > 1<<30 {
		return db.Paper{}, fault.New(fault.NotFound, "a document has a number, such as 12")
	}
	return s.store.Paper(r.Context(), s.program(r).ID.String(), n)
}

// documentEnd is the documents of one end.
func (s *Server) documentEnd(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return e.documents(w, http.StatusOK, "")
}

func (e *endReader) documents(w http.ResponseWriter, status int, problem string) error {
	v := paper.List{Title: "Documents of " + e.rec.End.Name, Lead: e.reading() + ". PDFs of the record of this end as it was, to be read, signed and kept.",
		Empty: "No document of this end has been made yet.", Problem: problem, Print: e.path("documents", "print"), Instead: e.path("sheet"), Missing: e.s.printer.Missing()}
	if e.s.can(e.r, authz.MakeDocument) {
		v.Make = e.path("documents")
	}
	var err error
	if v.Offers, err = e.s.offers(e.r, e.sc, repair.PaperKinds, e.rec.End.ID); err != nil {
		return err
	}
	if err := e.s.documentRows(e.r, &v, e.rec.End.ID); err != nil {
		return err
	}
	p := e.s.page(e.r, v.Title, e.crumbs(true)...)
	p.Block = e.titleBlock()
	return e.s.render(w, e.r, status, paper.ListPage(p, v))
}

// paperUnits are the units that a document is to be in: those asked for, or those in
// which its asker reads.
func paperUnits(r *http.Request, mine units.System) units.System {
	if sys, err := units.ParseSystem(r.PostFormValue("units")); err == nil && r.PostFormValue("units") != "" {
		return sys
	}
	return mine
}
