package web

import (
	"net/http"
	"net/url"
	"strconv"

	"endcast/internal/db"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/ends"
	"endcast/views/ui"
)

const endsPerPage = 100

// endList shows the ends of a program, narrowed and ordered as the address says.
func (s *Server) endList(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	id := head.ID.String()
	frame, err := s.store.Frame(r.Context(), id)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	f := listFilter(q)
	page := pageNumber(q)
	list, err := s.store.ListEnds(r.Context(), id, f, q.Get("order"), page, endsPerPage)
	if err != nil {
		return err
	}
	sys := s.units(r)
	v := ends.List{Action: head.Path("ends"), Filter: filterForm(q, frame), Active: narrowings(head.Path("ends"), q, frame),
		Columns: endColumns(head.Path("ends"), q, sys), Pager: pager(head.Path("ends"), q, page, endsPerPage, list.Total)}
	today := s.store.Today(frame.Program)
	for _, st := range list.Rows {
		v.Rows = append(v.Rows, endRow(head, st, sys, today))
	}
	return s.render(w, r, http.StatusOK, ends.Page(s.page(r, "Girder ends"), v))
}

func listFilter(q url.Values) db.ListFilter {
	f := db.ListFilter{Query: q.Get("q"), Step: q.Get("step"), Track: q.Get("track"), Reason: q.Get("reason"), Support: q.Get("support"), Access: q.Get("access"), Mark: q.Get("counted")}
	switch q.Get("show") {
	case "open":
		f.Open = true
	case "closed":
		f.Closed = true
	case "short":
		f.Open, f.Short = true, true
	case "outofdate":
		f.OutOfDate = true
	case "nonconformance":
		f.NCR = true
	case "review":
		f.Design = repair.DesignSubmitted
	}
	return f
}

var shows = []ui.Option{{Value: "", Label: "All ends"}, {Value: "open", Label: "Open"}, {Value: "closed", Label: "Closed"},
	{Value: "short", Label: "Open, capacity below demand"}, {Value: "outofdate", Label: "Design out of date"},
	{Value: "nonconformance", Label: "Open nonconformance"}, {Value: "review", Label: "Design waits for review"}}

var orders = []ui.Option{{Value: "", Label: "Along the bridge"}, {Value: "oldest", Label: "Longest waiting first"}, {Value: "step", Label: "By next step"},
	{Value: "ratio", Label: "Worst demand to capacity first"}, {Value: "loss", Label: "Deepest loss first"}, {Value: "blocked", Label: "By what blocks it"},
	{Value: "rating", Label: "Least rating first"}, {Value: "fall", Label: "Soonest to fall"}, {Value: "chance", Label: "Greatest chance"}}

func filterForm(q url.Values, frame *repair.Scope) ends.Filter {
	f := ends.Filter{Query: q.Get("q"), Step: q.Get("step"), Track: q.Get("track"), Reason: q.Get("reason"), Support: q.Get("support"),
		Access: q.Get("access"), Show: q.Get("show"), Order: q.Get("order"), Shows: shows, Orders: orders}
	f.Steps = []ui.Option{{Value: "", Label: "Any"}}
	for _, st := range frame.Sequence() {
		if !st.Retired {
			f.Steps = append(f.Steps, ui.Option{Value: st.Code, Label: st.Name})
		}
	}
	f.Tracks = []ui.Option{{Value: "", Label: "Anything or nothing"}}
	for _, t := range []sequence.Track{sequence.Paper, sequence.SteelAndConcrete, sequence.Access} {
		f.Tracks = append(f.Tracks, ui.Option{Value: string(t), Label: sentenceCase(t.Words())})
	}
	f.Supports = []ui.Option{{Value: "", Label: "Any"}}
	for _, sup := range frame.Supports {
		f.Supports = append(f.Supports, ui.Option{Value: sup.Code, Label: sup.Code + ", " + sup.Name})
	}
	return f
}

func narrowings(base string, q url.Values, frame *repair.Scope) []ends.Narrowing {
	var out []ends.Narrowing
	drop := func(key, label string) {
		c := url.Values{}
		for k, v := range q {
			if k != key && k != "page" {
				c[k] = v
			}
		}
		out = append(out, ends.Narrowing{Label: label, Drop: base + "?" + c.Encode()})
	}
	if v := q.Get("reason"); v != "" {
		drop("reason", sequence.Reason(v).Words())
	}
	if v := q.Get("access"); v != "" {
		drop("access", "access: "+v)
	}
	if v := q.Get("counted"); v != "" {
		drop("counted", countedWords(v, frame))
	}
	return out
}

func endColumns(base string, q url.Values, sys units.System) []ui.Column {
	link := func(label, order string, c ui.Column) ui.Column {
		n := url.Values{}
		for k, v := range q {
			if k != "page" {
				n[k] = v
			}
		}
		n.Set("order", order)
		c.Label, c.Href = label, base+"?"+n.Encode()
		if q.Get("order") == order {
			c.Sorted = "ascending"
			if order == "ratio" || order == "loss" {
				c.Sorted = "descending"
			}
		}
		return c
	}
	force := units.Forces.Label(sys)
	return []ui.Column{link("End", "", ui.Column{}), link("Support", "support", ui.Column{}), {Label: "Section"}, link("Next step", "step", ui.Column{}),
		link("Blocked by", "blocked", ui.Column{}), {Label: "Who acts"}, link("Days", "oldest", ui.Column{Numeric: true}),
		link("Deepest loss", "loss", ui.Column{Numeric: true}), link("Corroded", "capacity", ui.Column{Numeric: true, Unit: force}), {Label: "Repaired", Numeric: true, Unit: force},
		{Label: "Demand", Numeric: true, Unit: force}, link("Condition", "ratio", ui.Column{}), {Label: "Design"}, {Label: "NC", Numeric: true}}
}

func pageNumber(q url.Values) int {
	n, err := strconv.Atoi(q.Get("page"))
	if err != nil || n < 1 || n > 1_000_000 {
		return 1
	}
	return n
}

func pager(base string, q url.Values, page, size, total int) ui.PagerView {
	v := ui.PagerView{From: (page-1)*size + 1, To: min(page*size, total), Total: total}
	at := func(n int) string {
		c := url.Values{}
		for k, x := range q {
			c[k] = x
		}
		c.Set("page", strconv.Itoa(n))
		return base + "?" + c.Encode()
	}
	if page > 1 {
		v.Prev = at(page - 1)
	}
	if v.To < total {
		v.Next = at(page + 1)
	}
	return v
}
