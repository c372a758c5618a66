package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// pourNew shows the form of a pour.
func (s *Server) pourNew(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	f := blankPour(c)
	if name := r.URL.Query().Get("end"); name != "" {
		if sc, err := s.store.End(r.Context(), c.head.ID.String(), name); err == nil {
			f.values.Set("end", sc.Ends[0].End.ID)
		}
	}
	return s.pourPage(w, r, http.StatusOK, f, nil, "")
}

// pourCreate takes the form: it adds a row, finds ends, checks, or records.
func (s *Server) pourCreate(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	f := readPour(c, r.PostForm)
	switch f.get("act") {
	case "batch":
		f.batches = min(f.batches+1, mostRows)
	case "set":
		f.sets = min(f.sets+1, mostRows)
	case "find", "check":
	default:
		return s.pourRecord(w, r, f)
	}
	return s.pourPage(w, r, http.StatusOK, f, nil, "")
}

// pourRecord sends the pour through the door. An end of a pour conflicts with
// nothing: it is a new observation, so no version is asked for.
func (s *Server) pourRecord(w http.ResponseWriter, r *http.Request, f *pourForm) error {
	scope, err := s.pourScope(r, f)
	if err != nil {
		return err
	}
	ch, bad := f.change(namesOf(scope))
	if len(scope.Ends) == 0 {
		bad.Add("ends", "", "name the ends that were cast")
	}
	if err := bad.Err(); err != nil {
		return s.pourPage(w, r, http.StatusUnprocessableEntity, f, inRows(bad), "")
	}
	var refs []db.EndRef
	for _, e := range scope.Ends {
		refs = append(refs, db.EndRef{ID: e.End.ID})
	}
	captured := ch.StartedAt
	if ch.EndedAt != nil {
		captured = *ch.EndedAt
	}
	rec, err := s.edit(r, refs, captured, ch)
	var invalid *fault.Invalid
	switch {
	case errors.As(err, &invalid):
		return s.pourPage(w, r, http.StatusUnprocessableEntity, f, f.placed(invalid), "")
	case fault.KindOf(err) == fault.Refused || fault.KindOf(err) == fault.Duplicate:
		return s.pourPage(w, r, http.StatusUnprocessableEntity, f, nil, ui.Sentence(fault.Message(err)))
	case err != nil:
		return err
	}
	number, err := s.store.PourOfEntry(r.Context(), rec.EntryID)
	if err != nil {
		return err
	}
	if !rec.Repeated {
		s.flash(r, ui.Done, fmt.Sprintf("Pour %d is on record at %s.", number, strings.Join(endNames(scope), ", ")))
	}
	return seeOther(w, r, f.c.head.Path("pours", strconv.Itoa(number)))
}

// pourScope loads the ends that were ticked. One that does not exist is left out:
// the record has none removed, so it was never offered.
func (s *Server) pourScope(r *http.Request, f *pourForm) (*repair.Scope, error) {
	ids := f.ends()
	if len(ids) == 0 {
		return f.c.frame, nil
	}
	for _, id := range ids {
		if !isUUID(id) {
			return nil, fault.New(fault.NotFound, "there is no such girder end in this program")
		}
	}
	return s.store.Ends(r.Context(), f.c.head.ID.String(), ids)
}

func namesOf(s *repair.Scope) map[string]string {
	out := map[string]string{}
	for _, r := range s.Ends {
		out[r.End.ID] = r.End.Name
	}
	return out
}

func endNames(s *repair.Scope) []string {
	var out []string
	for _, r := range s.Ends {
		out = append(out, r.End.Name)
	}
	slices.SortFunc(out, compareNames)
	return out
}

// pourPage renders the form with what was typed.
func (s *Server) pourPage(w http.ResponseWriter, r *http.Request, status int, f *pourForm, bad *fault.Invalid, refused string) error {
	c := f.c
	scope, err := s.pourScope(r, f)
	if err != nil {
		return err
	}
	v := casting.New{Action: c.head.Path("pours"), Preview: c.head.Path("pours", "preview"), Entry: f.get("entry"), Bad: bad, Refused: refused, Zone: c.zoneNote(),
		Started: f.field(bad, ui.Field{Name: "started_at", Label: "Began", Type: "datetime-local"}),
		Ended:   f.field(bad, ui.Field{Name: "ended_at", Label: "Ended", Type: "datetime-local", Optional: true}),
		Note:    f.field(bad, ui.Field{Name: "note", Label: "Note", Rows: 3, Optional: true, Hint: "Leaks, stops, weather, who watched the form."})}
	if x := bad.Of("ends"); x != nil {
		v.EndsWhy = x.Reason
	}
	if x := bad.Of("batches"); x != nil {
		v.BatchesWhy = x.Reason
	}
	v.Batches, v.Sets = f.batchRows(bad), f.setRows(bad)
	v.Checks = s.pourChecks(f, scope)
	if err := s.endChoices(r, f, scope, bad, &v); err != nil {
		return err
	}
	p := s.page(r, "Record a pour", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")})
	p.Field, p.Scripts = true, []string{"casting.js"}
	return s.render(w, r, status, casting.NewPage(p, v))
}

// mostChoices bounds the ends offered at once.
const mostChoices = 60

// endChoices offers the ends whose next step is casting, those that were ticked,
// and those that a search finds.
func (s *Server) endChoices(r *http.Request, f *pourForm, scope *repair.Scope, bad *fault.Invalid, v *casting.New) error {
	c := f.c
	step, name := castStep(c.frame)
	v.StepName = name
	on := map[string]bool{}
	for _, id := range f.ends() {
		on[id] = true
	}
	add := func(to *[]casting.EndChoice, st repair.State, shown string) {
		e := casting.EndChoice{ID: st.EndID, Name: st.Name, Reading: st.SupportCode + ", " + st.SectionName, Step: shown, On: on[st.EndID]}
		e.Volume = f.field(bad, ui.Field{Name: "volume-" + st.Name, Label: "Volume at " + st.Name, Unit: units.Volumes.Label(c.sys), InputMode: "decimal", Optional: true, Short: true})
		*to = append(*to, e)
		on[st.EndID] = false
	}
	if step != "" {
		ready, err := s.store.ListEnds(r.Context(), c.head.ID.String(), db.ListFilter{Step: step, Open: true}, "", 1, mostChoices)
		if err != nil {
			return err
		}
		for _, st := range ready.Rows {
			add(&v.Ready, st, "")
		}
	}
	for _, e := range scope.Ends {
		if on[e.End.ID] && len(e.State) > 0 {
			add(&v.Others, e.State[0], e.State[0].StepName)
			v.Others[len(v.Others)-1].On = true
		}
	}
	v.Query = f.get("q")
	found, err := s.store.ListEnds(r.Context(), c.head.ID.String(), db.ListFilter{Query: v.Query}, "", 1, mostChoices)
	if err != nil {
		return err
	}
	if f.get("act") == "find" {
		v.Found = fmt.Sprintf("%d found.", found.Total)
		if found.Total > mostChoices {
			v.Found = fmt.Sprintf("%d found; the first %d are listed. Narrow the search to see others.", found.Total, mostChoices)
		}
	}
	if v.Query == "" && found.Total > mostChoices {
		return nil // too many to list unasked
	}
	for _, st := range found.Rows {
		if _, listed := on[st.EndID]; !listed {
			add(&v.Others, st, stepOrClosed(st))
		}
	}
	return nil
}

// castStep is the step that a pour completes, by code and name.
func castStep(frame *repair.Scope) (code, name string) {
	for _, st := range frame.Sequence() {
		if !st.Retired && slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool { return q.Condition == sequence.PourRecorded }) {
			return st.Code, st.Name
		}
	}
	return "", "of casting"
}

// batchRows are the rows of batches.
func (f *pourForm) batchRows(bad *fault.Invalid) []casting.BatchRow {
	var out []casting.BatchRow
	for row := 1; row <= f.batches; row++ {
		n := fmt.Sprintf("batch-%d-", row)
		box := func(name, label string, k units.Kind) ui.Field {
			return f.field(bad, ui.Field{Name: n + name, Label: label, Unit: k.Label(f.c.sys), InputMode: "decimal", Optional: true, Short: true})
		}
		b := casting.BatchRow{Number: strconv.Itoa(row),
			Mixed:  f.field(bad, ui.Field{Name: n + "mixed", Label: "Mixed at", Type: "datetime-local"}),
			Placed: f.field(bad, ui.Field{Name: n + "placed", Label: "Placed at", Type: "datetime-local", Optional: true}),
			Flow:   box("flow", "Flow", units.Lengths), MixTemp: box("mix_temp", "Mix", units.Temperatures), AirTmp: box("air_temp", "Air", units.Temperatures),
			RefusedName: n + "refused", Refused: f.get(n+"refused") != "",
			Why: f.field(bad, ui.Field{Name: n + "why", Label: "Why refused"})}
		out = append(out, b)
	}
	return out
}

// setRows are the rows of specimens.
func (f *pourForm) setRows(bad *fault.Invalid) []casting.SetRow {
	kinds := []ui.Option{}
	for _, k := range uhpc.Kinds() {
		if k.Refused == "" {
			label := k.Name
			if k.Note != "" {
				label += " (" + k.Note + ")"
			}
			kinds = append(kinds, ui.Option{Value: string(k.Kind), Label: label})
		}
	}
	rows := []ui.Option{{Value: lastBatch, Label: "the last placed"}, {Value: everyBatch, Label: "each one placed"}}
	for i := 1; i <= f.batches; i++ {
		rows = append(rows, ui.Option{Value: strconv.Itoa(i), Label: "batch " + strconv.Itoa(i)})
	}
	duties := []ui.Option{}
	for _, d := range []uhpc.Duty{uhpc.QualityControl, uhpc.Verification, uhpc.Assurance, uhpc.Dispute} {
		duties = append(duties, ui.Option{Value: string(d), Label: plainWord(string(d))})
	}
	purposes := []ui.Option{{Value: "", Label: "not said"}}
	for _, x := range uhpc.Purposes() {
		purposes = append(purposes, ui.Option{Value: string(x), Label: x.Words()})
	}
	cures := []ui.Option{}
	for _, x := range []uhpc.Cure{uhpc.FieldCure, uhpc.MatchCure, uhpc.StandardCure} {
		cures = append(cures, ui.Option{Value: string(x), Label: plainWord(string(x))})
	}
	var out []casting.SetRow
	for row := 1; row <= f.sets; row++ {
		n := fmt.Sprintf("specimens-%d-", row)
		out = append(out, casting.SetRow{Number: strconv.Itoa(row),
			Count:   f.field(bad, ui.Field{Name: n + "count", Label: "Count", InputMode: "numeric", Optional: true, Short: true}),
			Days:    f.field(bad, ui.Field{Name: n + "days", Label: "Broken at", Unit: units.Days.Label(f.c.sys), InputMode: "decimal", Short: true}),
			Curing:  f.field(bad, ui.Field{Name: n + "curing", Label: "Curing", Options: cures}),
			Kind:    f.field(bad, ui.Field{Name: n + "kind", Label: "Kind", Options: kinds}),
			Batch:   f.field(bad, ui.Field{Name: n + "batch", Label: "From", Options: rows}),
			Purpose: f.field(bad, ui.Field{Name: n + "purpose", Label: "For", Options: purposes, Optional: true}),
			Duty:    f.field(bad, ui.Field{Name: n + "duty", Label: "Duty", Options: duties})})
	}
	return out
}
