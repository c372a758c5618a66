package web

import (
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/planning"
	"endcast/views/settings"
	"endcast/views/ui"
)

// Parts of the setup, as the address and the form name them.
const (
	setupKind   = "kind"
	setupCrew   = "crew"
	setupEffort = "effort"
	setupStock  = "stock"
)

// setupFields are the fields of the form of each part, in order.
var setupFields = map[string][]string{
	setupKind:   {"name", "confirmations", "setup_min", "handback_min", "every_days", "note"},
	setupCrew:   {"name", "trades", "kinds", "note"},
	setupEffort: {"minutes", "trades", "uses", "source"},
	setupStock:  {"name", "on_hand", "note"},
}

// setupShow shows what windows are planned with; ?part= and &of= open the form of one line.
func (s *Server) setupShow(w http.ResponseWriter, r *http.Request) error {
	part, of := r.URL.Query().Get("part"), r.URL.Query().Get("of")
	return s.setupPage(w, r, http.StatusOK, part, of, settings.Form{}, nil)
}

// setupReader is the record that the setup page shows.
type setupReader struct {
	head   ProgramHead
	frame  *repair.Scope
	shifts repair.Shifts
	kinds  []string // that ends, steps or windows name
}

func (s *Server) readSetup(r *http.Request) (*setupReader, error) {
	x := &setupReader{head: s.program(r)}
	ctx, id := r.Context(), x.head.ID.String()
	var err error
	if x.frame, err = s.store.Frame(ctx, id); err != nil {
		return nil, err
	}
	if x.shifts, err = s.store.Shifts(ctx, id); err != nil {
		return nil, err
	}
	uses, err := s.store.AccessUses(ctx, id)
	if err != nil {
		return nil, err
	}
	names := map[string]bool{}
	for _, k := range windowKinds(x.head, x.frame, uses, zoneOf(x.frame.Program)) {
		names[k.Kind] = true
	}
	for _, k := range x.shifts.Kinds {
		names[k.Name] = true
	}
	x.kinds = slices.Sorted(maps.Keys(names))
	return x, nil
}

func (s *Server) setupPage(w http.ResponseWriter, r *http.Request, status int, part, of string, form settings.Form, typed map[string]string) error {
	x, err := s.readSetup(r)
	if err != nil {
		return err
	}
	v := planning.Setup{Action: x.head.Path("planning"), May: s.can(r, authz.PlanShift), Parts: x.parts(s.can(r, authz.PlanShift))}
	if part != "" && v.May {
		open, ok := x.form(part, of, typed)
		if !ok {
			return fault.New(fault.NotFound, "there is no such line to edit")
		}
		if form.From == "" {
			form.From = open.From
		}
		form.Action = v.Action
		open.Form, open.Part, open.Of, open.Cancel = form, part, of, v.Action
		if typed != nil {
			open.Retired = typed["retired"] != ""
		}
		v.Open = &open
	}
	return s.render(w, r, status, planning.SetupPage(s.page(r, "Crews, stock and kinds of access", ui.Crumb{Label: "Access windows", Href: x.head.Path("windows")}), v))
}

func (x *setupReader) address(part, of string) string {
	q := url.Values{"part": {part}}
	if of != "" {
		q.Set("of", of)
	}
	return x.head.Path("planning") + "?" + q.Encode() + "#edit"
}

// parts lists what is on record. A kind of access that ends name and nobody described is listed, so that what it lacks is seen.
func (x *setupReader) parts(may bool) []planning.SetupPart {
	edit := func(list ...ui.Column) []ui.Column {
		if may {
			list = append(list, ui.Column{Label: "Edit", Hidden: true})
		}
		return list
	}
	kinds := planning.SetupPart{Anchor: "kinds", Title: "Kinds of access", Lead: "What must be confirmed before anybody starts, and what set-up and hand-back take of each window.", Empty: "No end needs a window.",
		Columns: edit(ui.Column{Label: "Kind"}, ui.Column{Label: "To be confirmed"}, ui.Column{Label: "Set-up", Unit: "min", Numeric: true}, ui.Column{Label: "Hand-back", Unit: "min", Numeric: true}, ui.Column{Label: "A window every", Unit: "d", Numeric: true}, ui.Column{Label: "Note"}),
		Add:     x.address(setupKind, ""), AddLabel: "Add a kind"}
	for _, name := range x.kinds {
		row := planning.SetupRow{Cells: []string{name, "not described yet", "–", "–", "–", ""}, Edit: x.address(setupKind, name)}
		if i := slices.IndexFunc(x.shifts.Kinds, func(k repair.WindowKind) bool { return k.Name == name }); i >= 0 {
			k := x.shifts.Kinds[i]
			row.Cells = []string{name, orDash(strings.Join(k.Confirmations, "; ")), strconv.Itoa(k.SetupMin), strconv.Itoa(k.HandbackMin), everyText(k.EveryDays), k.Note}
		}
		kinds.Rows = append(kinds.Rows, row)
	}
	crews := planning.SetupPart{Anchor: "crews", Title: "Crews", Lead: "A crew works at one end at a time and takes only steps that it is qualified for.", Empty: "No crew is named: nothing can be proposed for a window.",
		Columns: edit(ui.Column{Label: "Crew"}, ui.Column{Label: "Qualified for"}, ui.Column{Label: "Works in"}, ui.Column{Label: "Note"}), Add: x.address(setupCrew, ""), AddLabel: "Add a crew"}
	for _, k := range sortedCrews(x.shifts.Crews) {
		in := "every kind of access"
		if len(k.Kinds) > 0 {
			in = strings.Join(k.Kinds, ", ")
		}
		crews.Rows = append(crews.Rows, planning.SetupRow{Cells: []string{k.Name, orDash(strings.Join(k.Trades, ", ")), in, k.Note}, Edit: x.address(setupCrew, k.ID), Retired: k.Retired})
	}
	efforts := planning.SetupPart{Anchor: "efforts", Title: "What a step takes", Lead: "Minutes of one crew with moving to the end, and what it uses up. A step without minutes counts the time that the design basis sets for a step.", Empty: "No step is worked in a window.",
		Columns: edit(ui.Column{Label: "Step"}, ui.Column{Label: "Takes", Unit: "min", Numeric: true}, ui.Column{Label: "By a crew for"}, ui.Column{Label: "Uses"}, ui.Column{Label: "Source"})}
	for _, st := range x.steps() {
		row := planning.SetupRow{Cells: []string{st.Name, "–", "any", "", ""}, Edit: x.address(setupEffort, st.ID)}
		if e := x.effort(st.ID); e != nil {
			row.Cells[1], row.Cells[3], row.Cells[4] = strconv.Itoa(e.Minutes), usesText(e.Uses, ", "), e.Source
			if len(e.Trades) > 0 {
				row.Cells[2] = strings.Join(e.Trades, ", ")
			}
		}
		efforts.Rows = append(efforts.Rows, row)
	}
	stock := planning.SetupPart{Anchor: "stock", Title: "On hand", Lead: "Studs by size, ferrules, forms, batches of the mixer: by the names that steps use. What is not listed is not counted.", Empty: "Nothing is listed: material stops no proposal.",
		Columns: edit(ui.Column{Label: "What"}, ui.Column{Label: "On hand", Numeric: true}, ui.Column{Label: "Note"}), Add: x.address(setupStock, ""), AddLabel: "Add a thing"}
	goods := slices.Clone(x.shifts.Stock)
	slices.SortFunc(goods, func(a, b repair.ShiftStock) int { return strings.Compare(a.Name, b.Name) })
	for _, k := range goods {
		stock.Rows = append(stock.Rows, planning.SetupRow{Cells: []string{k.Name, strconv.Itoa(k.OnHand), k.Note}, Edit: x.address(setupStock, k.Name)})
	}
	return []planning.SetupPart{kinds, crews, efforts, stock}
}

func sortedCrews(list []repair.Crew) []repair.Crew {
	out := slices.Clone(list)
	slices.SortFunc(out, func(a, b repair.Crew) int { return strings.Compare(a.Name, b.Name) })
	return out
}

// steps are those that are worked in windows.
func (x *setupReader) steps() []sequence.Step {
	var out []sequence.Step
	for _, st := range sequence.Ordered(x.frame.Sequence()) {
		if !st.Retired && st.Window != "" {
			out = append(out, st)
		}
	}
	return out
}

func (x *setupReader) effort(step string) *repair.StepEffort {
	if i := slices.IndexFunc(x.shifts.Efforts, func(e repair.StepEffort) bool { return e.StepID == step }); i >= 0 {
		return &x.shifts.Efforts[i]
	}
	return nil
}

func everyText(days float64) string {
	if days == 0 {
		return "–"
	}
	return units.Significant(days, 3)
}

func usesText(uses map[string]int, between string) string {
	var out []string
	for _, name := range slices.Sorted(maps.Keys(uses)) {
		out = append(out, strconv.Itoa(uses[name])+" "+name)
	}
	return strings.Join(out, between)
}

// form is the form of one line, filled with what is on record or with what was typed; false for a line that is not there.
func (x *setupReader) form(part, of string, typed map[string]string) (planning.SetupForm, bool) {
	f := planning.SetupForm{Form: settings.Form{From: repair.NoneBefore}}
	have := map[string]string{}
	switch part {
	case setupKind:
		f.Title, have["name"] = "Add a kind of access", of
		if of != "" {
			f.Title = sentenceCase(of)
		}
		if i := slices.IndexFunc(x.shifts.Kinds, func(k repair.WindowKind) bool { return k.Name == of }); i >= 0 {
			k := x.shifts.Kinds[i]
			f.From = k.Digest()
			have["confirmations"], have["setup_min"], have["handback_min"], have["note"] = strings.Join(k.Confirmations, "\n"), strconv.Itoa(k.SetupMin), strconv.Itoa(k.HandbackMin), k.Note
			if k.EveryDays > 0 {
				have["every_days"] = strconv.FormatFloat(k.EveryDays, 'g', -1, 64)
			}
		} else if of != "" && !slices.Contains(x.kinds, of) {
			return f, false
		}
		f.Fields = []ui.Field{{Name: "name", Label: "Kind of access", Hint: "As the ends name it."},
			{Name: "confirmations", Label: "To be confirmed before work", Rows: 5, Optional: true, Hint: "One a line: lane closed, line closed, power isolated, watchman posted, stoppage or tide."},
			{Name: "setup_min", Label: "Set-up", Unit: "min", InputMode: "numeric", Short: true, Optional: true}, {Name: "handback_min", Label: "Hand-back", Unit: "min", InputMode: "numeric", Short: true, Optional: true},
			{Name: "every_days", Label: "A window every", Unit: "days", InputMode: "decimal", Short: true, Optional: true, Hint: "Empty: as the calendar shows."}, {Name: "note", Label: "Note", Rows: 3, Optional: true}}
	case setupCrew:
		f.Title, f.Retire = "Add a crew", of != ""
		if of != "" {
			i := slices.IndexFunc(x.shifts.Crews, func(k repair.Crew) bool { return k.ID == of })
			if i < 0 {
				return f, false
			}
			k := x.shifts.Crews[i]
			f.Title, f.From, f.Retired = k.Name, k.Digest(), k.Retired
			have = map[string]string{"name": k.Name, "trades": strings.Join(k.Trades, "\n"), "kinds": strings.Join(k.Kinds, "\n"), "note": k.Note}
		}
		f.Fields = []ui.Field{{Name: "name", Label: "Crew"}, {Name: "trades", Label: "Qualified for", Rows: 4, Optional: true, Hint: "One a line, as the steps ask for it."},
			{Name: "kinds", Label: "Works in", Rows: 3, Optional: true, Hint: "Kinds of access, one a line. Empty: every kind."}, {Name: "note", Label: "Note", Rows: 3, Optional: true}}
	case setupEffort:
		i := slices.IndexFunc(x.steps(), func(st sequence.Step) bool { return st.ID == of })
		if i < 0 {
			return f, false
		}
		f.Title = "What it takes: " + x.steps()[i].Name
		if e := x.effort(of); e != nil {
			f.From = e.Digest()
			have = map[string]string{"minutes": strconv.Itoa(e.Minutes), "trades": strings.Join(e.Trades, "\n"), "uses": usesText(e.Uses, "\n"), "source": e.Source}
		}
		f.Fields = []ui.Field{{Name: "minutes", Label: "Takes", Unit: "min", InputMode: "numeric", Short: true}, {Name: "trades", Label: "By a crew qualified for one of", Rows: 3, Optional: true, Hint: "One a line. Empty: any crew."},
			{Name: "uses", Label: "Uses", Rows: 4, Optional: true, Hint: "One a line, the number first: 1 form. Studs, ferrules and batches are counted from the designs."}, {Name: "source", Label: "Where the minutes come from"}}
	case setupStock:
		f.Title = "Add a thing on hand"
		if of != "" {
			i := slices.IndexFunc(x.shifts.Stock, func(k repair.ShiftStock) bool { return k.Name == of })
			if i < 0 {
				return f, false
			}
			k := x.shifts.Stock[i]
			f.Title, f.From = k.Name, k.Digest()
			have = map[string]string{"name": k.Name, "on_hand": strconv.Itoa(k.OnHand), "note": k.Note}
		}
		f.Fields = []ui.Field{{Name: "name", Label: "What", Hint: "Studs go by their size: " + repair.StudStock(0.75*units.Inch, 4*units.Inch, units.System(x.frame.Program.Units)) + "; also ferrules and batches."}, {Name: "on_hand", Label: "On hand", InputMode: "numeric", Short: true}, {Name: "note", Label: "Note", Rows: 3, Optional: true}}
	default:
		return f, false
	}
	if typed != nil {
		have = typed
	}
	if of != "" && (part == setupKind || part == setupStock) {
		f.Fields = f.Fields[1:] // the name is what the line is known by
	}
	for i := range f.Fields {
		f.Fields[i].Value = have[f.Fields[i].Name]
	}
	return f, true
}

// setupSubmit stores one line.
func (s *Server) setupSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	part, of := r.PostFormValue("part"), r.PostFormValue("of")
	fields, ok := setupFields[part]
	if !ok {
		return fault.New(fault.NotFound, "there is no such line to edit")
	}
	typed := typedIn(r, append(slices.Clone(fields), "retired")...)
	bad := &fault.Invalid{}
	change := setupChange(part, of, r.PostFormValue("from"), typed, bad)
	err := bad.Err()
	if err == nil {
		_, err = s.editAlone(r, change)
	}
	if fault.KindOf(err) == fault.Conflict {
		// What is typed stays in the form; the list below it shows what is stored now.
		form := settings.Form{Clash: &settings.Clash{Text: "Nothing of yours was stored yet. The form holds what you typed and the list below what is stored now; save again if yours still holds."}}
		return s.setupPage(w, r, http.StatusConflict, part, of, form, typed)
	}
	if form, status, ok := refused(r, err); ok {
		form.From = r.PostFormValue("from")
		typedBack(form.Bad, typed)
		return s.setupPage(w, r, status, part, of, form, typed)
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "Saved. Proposals for windows go by it from now on.")
	return seeOther(w, r, s.program(r).Path("planning"))
}

// setupChange reads the change of a line from what was typed.
func setupChange(part, of, from string, typed map[string]string, bad *fault.Invalid) repair.Change {
	whole := func(field string, optional bool) int {
		text := typed[field]
		if text == "" && optional {
			return 0
		}
		n, err := strconv.Atoi(text)
		if err != nil {
			bad.Add(field, text, "must be a whole number, got %q", text)
		}
		return n
	}
	list := func(field string) []string { return strings.Split(typed[field], "\n") }
	if from == "" {
		from = repair.NoneBefore
	}
	name := typed["name"]
	if of != "" && part != setupCrew {
		name = of
	}
	switch part {
	case setupKind:
		ch := repair.SetWindowKind{Name: name, Confirmations: list("confirmations"), SetupMin: whole("setup_min", true), HandbackMin: whole("handback_min", true), Note: typed["note"], From: from}
		if text := typed["every_days"]; text != "" {
			x, err := strconv.ParseFloat(text, 64)
			if err != nil {
				bad.Add("every_days", text, "must be a number of days, got %q", text)
			}
			ch.EveryDays = x
		}
		return ch
	case setupCrew:
		return repair.SetCrew{ID: of, Name: typed["name"], Trades: list("trades"), Kinds: list("kinds"), Note: typed["note"], Retired: typed["retired"] != "", From: from}
	case setupEffort:
		ch := repair.SetEffort{StepID: of, Minutes: whole("minutes", false), Trades: list("trades"), Uses: map[string]int{}, Source: typed["source"], From: from}
		for _, line := range list("uses") {
			if line = strings.TrimSpace(line); line == "" {
				continue
			}
			number, name, _ := strings.Cut(line, " ")
			n, err := strconv.Atoi(number)
			if name = strings.TrimSpace(name); err != nil || name == "" {
				bad.Add("uses", line, "begin each line with how many, then what, got %q", line)
				continue
			}
			if _, twice := ch.Uses[name]; twice {
				bad.Add("uses", line, "%s stands there twice", name)
			}
			ch.Uses[name] = n
		}
		return ch
	default:
		return repair.SetStock{Name: name, OnHand: whole("on_hand", false), Note: typed["note"], From: from}
	}
}
