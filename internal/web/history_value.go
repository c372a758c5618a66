package web

import (
	"cmp"
	"maps"
	"net/http"
	"net/url"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/views/history"
	"endcast/views/ui"
)

// valueHistory is the history of one row of the record, or of one value of it: who changed
// it, from what, to what, why and when. The address names table, row and field.
func (s *Server) valueHistory(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	q := r.URL.Query()
	table, row, field := q.Get("table"), q.Get("row"), q.Get("field")
	if table == "" || row == "" {
		http.Redirect(w, r, head.Path("history"), http.StatusSeeOther)
		return nil
	}
	lines, more, err := s.store.RowHistory(r.Context(), head.ID.String(), table, row)
	if err != nil {
		return err
	}
	if len(lines) == 0 {
		return fault.New(fault.NotFound, "no entry of this program has written such a row")
	}
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	names, err := s.store.UserNames(r.Context())
	if err != nil {
		return err
	}
	h := &historian{sc: frame, sys: s.units(r), zone: zoneOf(frame.Program), who: names, head: head}
	last := lines[0].Changes[0]
	if _, known := last.New[field]; field != "" && !known {
		return fault.New(fault.NotFound, "a row of this kind has no value of that name")
	}
	title := h.rowTitle(last)
	v := history.ValueView{Title: "History of " + title, Lead: "Every change of every value, the newest first.", Back: head.Path("history"), Zone: "Times are of " + h.zone.String() + "."}
	if end := cmp.Or(lines[0].End, lines[len(lines)-1].End); end != "" {
		v.Lead = "At girder end " + end + ". " + v.Lead
		v.Back = head.Path("ends", end, "history")
	}
	if field != "" {
		v.Title = "History of " + columnWord(field) + ", " + title
	}
	v.Lines = h.valueLines(lines, field)
	v.Fields = h.valueFields(table, row, field, last)
	if more {
		v.More = "Older changes are in the journal and in the export of the record."
	}
	p := s.page(r, v.Title, ui.Crumb{Label: "History", Href: head.Path("history")})
	return s.render(w, r, http.StatusOK, history.ValuePage(p, v))
}

// rowTitle names a row: "Reading, T, x 3 in".
func (h *historian) rowTitle(c db.RowChange) string {
	name := plainWord(c.Table)
	if words, ok := tableWords[c.Table]; ok {
		name = words[0]
	}
	name = strings.ToLower(name[:1]) + name[1:]
	if t := h.row(c.Table, c).Title; t != "" {
		name += " " + t
	}
	return name
}

// valueLines are the changes of one field, or of all that say something to a reader.
func (h *historian) valueLines(lines []db.JournalLine, field string) []history.ValueLine {
	var out []history.ValueLine
	for _, l := range lines {
		for _, c := range l.Changes {
			for _, col := range slices.Sorted(maps.Keys(c.New)) {
				first := c.Old == nil
				switch {
				case field != "" && col != field, field == "" && (quietColumns[col] || col == "span_id"):
					continue
				case !first && reflect.DeepEqual(c.Old[col], c.New[col]), first && field == "" && empty(c.New[col]):
					continue
				}
				line := history.ValueLine{Entry: strconv.FormatInt(l.Seq, 10), When: h.when(l.At), By: l.Actor + throughWords(l.Through), What: entryWords(l.Kind),
					Field: columnWord(col), New: h.value(c.Table, col, c), Reason: l.Reason, First: first}
				if !first {
					line.Old = h.value(c.Table, col, db.RowChange{Table: c.Table, New: c.Old})
				}
				if l.End != "" {
					line.Href = h.head.Path("ends", l.End, "past") + "?entry=" + line.Entry
				}
				out = append(out, line)
			}
		}
	}
	return out
}

// valueFields lead to the history of each value of the row.
func (h *historian) valueFields(table, row, field string, c db.RowChange) []history.Link {
	out := []history.Link{{Label: "All values", Href: h.valuePath(table, row, "")}}
	for _, col := range slices.Sorted(maps.Keys(c.New)) {
		if !quietColumns[col] && col != "span_id" {
			out = append(out, history.Link{Label: columnWord(col), Href: h.valuePath(table, row, col)})
		}
	}
	for i := range out {
		if out[i].Href == h.valuePath(table, row, field) {
			out[i].Href = ""
		}
	}
	return out
}

func (h *historian) valuePath(table, row, field string) string {
	q := url.Values{"table": {table}, "row": {row}}
	if field != "" {
		q.Set("field", field)
	}
	return h.head.Path("history", "value") + "?" + q.Encode()
}
