package web

import (
	"encoding/hex"
	"net/http"
	"strconv"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/history"
	"endcast/views/ui"
)

// historyPage is how many entries a page holds.
const historyPage = 25

// endHistory is the history of one end, newest first.
func (s *Server) endHistory(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	h := &historian{sc: e.sc, sys: e.sys, zone: e.zone, who: e.who, head: s.program(r)}
	v := history.View{Title: "History of " + e.rec.End.Name, Lead: e.reading() + ". Every entry that changed this end, the newest first."}
	v.Past = &history.Past{Action: e.path("past"), At: ui.Field{Name: "at", Label: "This end as it was at", Type: "datetime-local", Hint: "On the clock of " + e.zone.String() + "."}}
	h.past = e.pastPath
	p := func() ui.Page { return s.page(r, v.Title, e.crumbs(true)...) }
	return s.historyOf(w, r, h, e.rec.End.ID, e.path("history"), &v, p)
}

// programHistory is the history of the whole program, newest first.
func (s *Server) programHistory(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	names, err := s.store.UserNames(r.Context())
	if err != nil {
		return err
	}
	h := &historian{sc: frame, sys: s.units(r), zone: zoneOf(frame.Program), who: names, head: head}
	v := history.View{Title: "History", Lead: "Every entry of the program, the newest first."}
	p := func() ui.Page { return s.page(r, v.Title) }
	return s.historyOf(w, r, h, "", head.Path("history"), &v, p)
}

// historyOf loads and renders one page. The address says before which entry.
func (s *Server) historyOf(w http.ResponseWriter, r *http.Request, h *historian, endID, path string, v *history.View, page func() ui.Page) error {
	var before int64
	if text := r.URL.Query().Get("before"); text != "" {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 1 {
			return fault.New(fault.Malformed, "the number of the entry could not be read")
		}
		before = n
	}
	lines, err := s.store.History(r.Context(), s.program(r).ID.String(), endID, before, historyPage+1)
	if err != nil {
		return err
	}
	if len(lines) > historyPage {
		lines = lines[:historyPage]
		v.Older = path + "?before=" + strconv.FormatInt(lines[len(lines)-1].Seq, 10)
	}
	if before > 0 {
		v.Newest = path
	}
	for _, l := range lines {
		v.Entries = append(v.Entries, h.entry(l, endID == ""))
	}
	v.Zone = "Times are of " + h.zone.String() + "."
	return s.render(w, r, http.StatusOK, history.Page(page(), *v))
}

// historian puts entries of the journal into words.
type historian struct {
	sc   *repair.Scope
	sys  units.System
	zone *time.Location
	who  map[string]string
	head ProgramHead
	past func(seq int64) string // address of the end as it was after an entry; nil for none
}

func (h *historian) when(t time.Time) string { return t.In(h.zone).Format("2006-01-02 15:04") }

// throughWords tells that a program acted for the person, by which token.
func throughWords(token string) string {
	if token == "" {
		return ""
	}
	return ", through the token “" + token + "”"
}

// entry is one entry in words.
func (h *historian) entry(l db.JournalLine, named bool) history.Entry {
	out := history.Entry{Number: strconv.FormatInt(l.Seq, 10), When: h.when(l.At), By: l.Actor, Role: sequence.RoleWords(sequence.Role(l.Role)) + throughWords(l.Through),
		What: entryWords(l.Kind), Reason: l.Reason, Hash: hex.EncodeToString(l.Hash)}
	if d := l.At.Sub(l.Captured); d > time.Minute && !l.Captured.IsZero() {
		out.Seen = h.when(l.Captured)
	}
	if l.Told != "" {
		out.Seen, out.Told, out.Off = h.when(l.Captured), toldText(l.Told), clockOff(l.OffS)
	}
	if named && l.End != "" {
		out.End, out.EndHref = l.End, h.head.Path("ends", l.End)
	} else if named && l.Ends > 1 {
		out.End = "at " + strconv.Itoa(l.Ends) + " ends"
	}
	out.Groups = h.groups(l.Changes)
	if h.past != nil {
		out.PastHref = h.past(l.Seq)
	}
	return out
}
