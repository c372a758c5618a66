package web

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/exchange"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/files"
	"endcast/views/ui"
)

// importLimit is the largest upload: the files and the form around them.
const importLimit = exchange.MaxBytes + 256<<10

// filesUpload reads files and, if every cell can be taken, keeps them for a day
// and shows what they would put on record. It writes nothing to the record.
func (s *Server) filesUpload(w http.ResponseWriter, r *http.Request) error {
	form := &files.Form{Units: string(s.program(r).Units)}
	in, err := s.upload(r, form)
	if err == nil {
		d := db.ImportDraft{ID: uuid.Must(uuid.NewV7()).String(), SHA256: sumOf(in), Files: in, Units: units.System(form.Units)}
		if err = s.tryImport(r, d); err == nil {
			return seeOther(w, r, s.program(r).Path("files", "import", d.ID))
		}
	}
	no, status := refusalOf(err)
	switch {
	case no != nil:
		no.Files = fileLines(in)
		return s.filesPage(w, r, status, form, no)
	case errors.As(err, &form.Bad):
		return s.filesPage(w, r, status, form, nil)
	}
	return err
}

// tryImport reads a draft against the record and keeps it.
func (s *Server) tryImport(r *http.Request, d db.ImportDraft) error {
	id := s.program(r).ID.String()
	if _, err := s.store.PlanImport(r.Context(), id, s.actor(r), d.Files, d.Units); err != nil {
		return err
	}
	return s.store.KeepDraft(r.Context(), id, s.user(r).ID.String(), d)
}

// upload reads the form. Faults of its fields are a *fault.Invalid of the form's
// own, apart from those of the cells.
func (s *Server) upload(r *http.Request, form *files.Form) ([]exchange.File, error) {
	bad := &formFault{}
	if err := parseForm(r); err != nil {
		if fault.KindOf(err) == fault.TooLarge {
			bad.Add("files", "", "the files together are larger than %s", megabytes(exchange.MaxBytes))
			return nil, bad
		}
		return nil, err
	}
	if sys, err := units.ParseSystem(r.PostFormValue("units")); err != nil {
		bad.Add("units", r.PostFormValue("units"), "choose US customary or SI")
	} else {
		form.Units = string(sys)
	}
	var out []exchange.File
	if r.MultipartForm != nil {
		for _, h := range r.MultipartForm.File["files"] {
			if h.Filename == "" && h.Size == 0 {
				continue // what a browser sends for no file
			}
			if len(out) == exchange.MaxFiles {
				bad.Add("files", "", "send at most %d files", exchange.MaxFiles)
				break
			}
			f, err := h.Open()
			if err != nil {
				return nil, fmt.Errorf("open upload: %w", err)
			}
			data, err := io.ReadAll(f)
			if err := errors.Join(err, f.Close()); err != nil {
				return nil, fmt.Errorf("read upload: %w", err)
			}
			out = append(out, exchange.File{Name: h.Filename, Data: data})
		}
	}
	if len(out) == 0 && len(bad.Fields) == 0 {
		bad.Add("files", "", "choose a file")
	}
	if len(bad.Fields) > 0 {
		return nil, bad
	}
	return out, nil
}

// formFault is a fault of the upload form itself.
type formFault struct{ fault.Invalid }

// Unwrap makes it the faults of fields that it is.
func (f *formFault) Unwrap() error { return &f.Invalid }

// refusalOf turns what keeps files from being taken into its table; nil for
// another error.
func refusalOf(err error) (*files.Refusal, int) {
	var own *formFault
	var cells *exchange.Problems
	var fields *fault.Invalid
	var no files.Refusal
	switch {
	case errors.As(err, &own):
		return nil, http.StatusUnprocessableEntity
	case errors.As(err, &cells):
		for _, p := range cells.List {
			x := files.Problem{Table: p.Table, Column: p.Column, Value: p.Value, Limit: p.Limit}
			if p.Row > 0 {
				x.Row = strconv.Itoa(p.Row)
			}
			no.Problems = append(no.Problems, x)
		}
		no.More = cells.Total - len(cells.List)
	case errors.As(err, &fields):
		// What the record refuses and no cell can be named for.
		for _, f := range fields.Fields {
			no.Problems = append(no.Problems, files.Problem{Table: f.Field, Value: f.Typed, Limit: f.Reason})
		}
	case fault.KindOf(err) == fault.Refused, fault.KindOf(err) == fault.Duplicate:
		no.Problems = append(no.Problems, files.Problem{Table: "record", Limit: fault.Message(err)})
	default:
		return nil, 0
	}
	no.Title = exchange.Count{N: len(no.Problems) + no.More, One: "problem keeps these files from being taken", Many: "problems keep these files from being taken"}.String()
	return &no, http.StatusUnprocessableEntity
}

func sumOf(in []exchange.File) string {
	h := sha256.New()
	for _, f := range in {
		h.Write(f.Data)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// filesPreview shows what kept files would put on record, or what they did once
// they are.
func (s *Server) filesPreview(w http.ResponseWriter, r *http.Request) error {
	id, entry := s.program(r).ID.String(), chi.URLParam(r, "draft")
	done, err := s.store.JournalOf(r.Context(), id, entry)
	if err == nil && done.Kind == (repair.ImportBridge{}).Kind() {
		return s.filesDone(w, r, done)
	}
	if err != nil && fault.KindOf(err) != fault.NotFound {
		return err
	}
	d, err := s.store.Draft(r.Context(), id, s.user(r).ID.String(), entry)
	if err != nil {
		return err
	}
	plan, err := s.store.PlanImport(r.Context(), id, s.actor(r), d.Files, d.Units)
	if err != nil {
		return s.refusedNow(w, r, d, err)
	}
	v, err := s.preview(r, d, plan)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, files.PreviewPage(s.page(r, "Check before it goes on record", crumbToFiles(s.program(r))), v))
}

// filesConfirm puts kept files on record, or lets go of them. The identifier of
// the entry is that of the draft, so that it counts once from however many pages.
func (s *Server) filesConfirm(w http.ResponseWriter, r *http.Request) error {
	head, draft := s.program(r), chi.URLParam(r, "draft")
	id, user := head.ID.String(), s.user(r).ID.String()
	form, err := entry(r)
	if err != nil {
		return err
	}
	if form.String() != draft {
		return fault.New(fault.Malformed, "the entry number of the form is not that of the files: load the page again")
	}
	if r.PostFormValue("act") == "discard" {
		if err := s.store.DropDraft(r.Context(), id, user, draft); err != nil {
			return err
		}
		s.flash(r, ui.Notice, "The files are discarded. Nothing was written.")
		return seeOther(w, r, head.Path("files"))
	}
	here := head.Path("files", "import", draft)
	if _, err := s.store.JournalOf(r.Context(), id, draft); err == nil {
		return seeOther(w, r, here)
	} else if fault.KindOf(err) != fault.NotFound {
		return err
	}
	d, err := s.store.Draft(r.Context(), id, user, draft)
	if err != nil {
		// The same press sent twice: the first may have let go of the draft just now.
		if _, e := s.store.JournalOf(r.Context(), id, draft); e == nil {
			return seeOther(w, r, here)
		}
		return err
	}
	plan, err := s.store.PlanImport(r.Context(), id, s.actor(r), d.Files, d.Units)
	if err == nil {
		_, err = s.edit(r, plan.Ends, time.Time{}, plan.Change)
	}
	if err != nil {
		// The same press sent twice: the first may have won in between.
		if _, e := s.store.JournalOf(r.Context(), id, draft); e == nil {
			return seeOther(w, r, here)
		}
		return s.refusedNow(w, r, d, err)
	}
	if err := s.store.DropDraft(r.Context(), id, user, draft); err != nil {
		s.log.ErrorContext(r.Context(), "import is on record, its draft stays", "error", err)
	}
	s.flash(r, ui.Done, "The files are on record.")
	return seeOther(w, r, here)
}

// refusedNow shows why files that were found good are refused: the record moved.
func (s *Server) refusedNow(w http.ResponseWriter, r *http.Request, d db.ImportDraft, err error) error {
	no, status := refusalOf(err)
	if no == nil {
		return err
	}
	no.Files, no.Note = fileLines(d.Files), "The record has changed since the files were checked."
	return s.filesPage(w, r, status, &files.Form{Units: string(d.Units)}, no)
}

// filesDone says what an import put on record.
func (s *Server) filesDone(w http.ResponseWriter, r *http.Request, done db.JournalHead) error {
	head := s.program(r)
	p, err := s.store.Program(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	v := files.Done{Seq: strconv.FormatInt(done.Seq, 10), When: done.At.In(zoneOf(p)).Format("2006-01-02 15:04"), Actor: done.Actor,
		Hash: hex.EncodeToString(done.Hash), Ends: head.Path("ends"), Back: head.Path("files")}
	for _, c := range []exchange.Count{{One: "support", Many: "supports"}, {One: "span", Many: "spans"}, {One: "section", Many: "sections"},
		{One: "girder end", Many: "girder ends"}, {One: "survey", Many: "surveys"}, {One: "reading", Many: "readings"}, {One: "hole", Many: "holes"}} {
		table := c.One
		if table == "girder end" {
			table = "girder_end"
		}
		if c.N = done.Of(table); c.N > 0 {
			v.Counts = append(v.Counts, c.String())
		}
	}
	for _, rt := range s.routes {
		if rt.method == get && rt.pattern == programPrefix+"/history" {
			v.History = fmt.Sprintf("%s?before=%d", head.Path("history"), done.Seq+1)
		}
	}
	return s.render(w, r, http.StatusOK, files.DonePage(s.page(r, "Taken in", crumbToFiles(head)), v))
}
