package web

import (
	"net/http"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/loads"
	"endcast/views/settings"
	"endcast/views/ui"
)

// handParts are the boxes of the parts by hand.
var handParts = []struct {
	name, label, hint string
	get               func(*repair.EndDemand) *units.Force
	set               func(*repair.EndDemandIn, *units.Force)
}{
	{"dc1", "Structure", "Steel, deck, forms, cross-frames.", func(d *repair.EndDemand) *units.Force { return d.DC1 }, func(d *repair.EndDemandIn, v *units.Force) { d.DC1 = v }},
	{"dc2", "Attachments", "Barriers, railings, sidewalks.", func(d *repair.EndDemand) *units.Force { return d.DC2 }, func(d *repair.EndDemandIn, v *units.Force) { d.DC2 = v }},
	{"dw", "Wearing surface", "With the utilities.", func(d *repair.EndDemand) *units.Force { return d.DW }, func(d *repair.EndDemandIn, v *units.Force) { d.DW = v }},
	{"live", "Live load HL-93", "On this girder, with its share and impact.", func(d *repair.EndDemand) *units.Force { return d.Live }, func(d *repair.EndDemandIn, v *units.Force) { d.Live = v }},
}

func demandFields(sys units.System) []ui.Field {
	out := []ui.Field{{Name: "how", Label: "The factored reaction is", Options: []ui.Option{
		{Value: repair.ByHandTotal, Label: "A factored total, entered by hand with the facts of the end"},
		{Value: repair.ByHandParts, Label: "Added from parts by hand, of an existing calculation"},
		{Value: repair.ByStatics, Label: "Computed by statics from the loads of the span"}}}}
	for _, p := range handParts {
		out = append(out, ui.Field{Name: p.name, Label: p.label, Hint: p.hint, Unit: units.Forces.Label(sys), InputMode: "decimal", Optional: true})
	}
	conditions := []ui.Option{{Value: "", Label: "Not stated: the poor one counts"}}
	for _, c := range demand.Conditions() {
		conditions = append(conditions, ui.Option{Value: string(c), Label: sentenceCase(c.Words())})
	}
	return append(out, ui.Field{Name: "condition", Label: "Condition of the member", Options: conditions, Hint: "For rating; the resistance already counts the steel that is left."},
		ui.Field{Name: "loss_measured", Label: "Loss measured"}, ui.Field{Name: "wearing_measured", Label: "Wearing surface measured"},
		ui.Field{Name: "source", Label: "Source", Rows: 2, Hint: "The calculation, drawing or decision that this follows."})
}

// demandTyped is how the demand comes as the texts of its form.
func (e *endReader) demandTyped() map[string]string {
	out := map[string]string{"how": repair.ByHandTotal, "condition": "", "source": "", "loss_measured": "", "wearing_measured": ""}
	row := e.rec.DemandOf()
	for _, p := range handParts {
		out[p.name] = ""
		if row != nil {
			if v := p.get(row); v != nil {
				out[p.name] = shownBox(units.Forces, row.Typed[p.name], float64(*v), false, e.sys)
			}
		}
	}
	if row != nil {
		out["how"], out["condition"], out["source"] = row.How, row.Condition, row.Source
		out["loss_measured"], out["wearing_measured"] = onOff(row.LossMeasured), onOff(row.WearingMeasured)
	}
	return out
}

// demandForm fills the form.
func (e *endReader) demandForm(f *loads.DemandForm, typed map[string]string) {
	inWords(f.Bad, typed, e.sys)
	f.Action = e.path("demand")
	if f.From == "" {
		f.From = e.rec.EndDemandDigest()
	}
	boxes := boxesOf(demandFields(e.sys), typed, f.Bad)
	f.How, f.Condition, f.Source = boxes["how"], boxes["condition"], boxes["source"]
	for _, p := range handParts {
		f.Parts = append(f.Parts, boxes[p.name])
	}
	f.Loss, f.Wearing = typed["loss_measured"] == "on", typed["wearing_measured"] == "on"
	if e.s.can(e.r, authz.EditEnd) {
		f.TotalHref = e.path("edit")
	}
}

// readDemand reads the form. The parts by hand count only where they are chosen.
func (e *endReader) readDemand(typed map[string]string) (repair.EndDemandIn, *fault.Invalid) {
	bad := &fault.Invalid{}
	in := repair.EndDemandIn{How: typed["how"], Condition: typed["condition"], Source: typed["source"], Typed: repair.Typed{},
		LossMeasured: typed["loss_measured"] == "on", WearingMeasured: typed["wearing_measured"] == "on"}
	shown, row := e.demandTyped(), e.rec.DemandOf()
	if in.How == repair.ByHandParts {
		for _, p := range handParts {
			text := typed[p.name]
			if text == "" {
				bad.Add(p.name, "", "all four parts are needed; write 0 for a dead load that is not there")
				continue
			}
			was := 0.0
			if row != nil && p.get(row) != nil {
				was = float64(*p.get(row))
			}
			v := units.Force(readBox(bad, p.name, text, units.Forces, true, e.sys, was, shown[p.name]))
			p.set(&in, &v)
			in.Typed[p.name] = text
		}
	}
	if in.Source == "" {
		bad.Add("source", "", "name the calculation or the drawing that it follows")
	}
	return in, bad
}

// demandSubmit shows what another way for the demand to come does, and stores it
// when exactly that was shown.
func (s *Server) demandSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	var names []string
	for _, f := range demandFields(e.sys) {
		names = append(names, f.Name)
	}
	typed := typedIn(r, names...)
	in, bad := e.readDemand(typed)
	f := loads.DemandForm{Form: settings.Form{Entry: r.PostFormValue("entry"), From: r.PostFormValue("from")}}
	change := repair.EditEndDemand{Demand: in, From: f.From}
	shown := calc.Digest(in)
	save := r.PostFormValue("do") == "save"
	err = bad.Err()
	switch {
	case err != nil:
	case save && r.PostFormValue("previewed") == shown:
		if _, err = s.edit(r, []db.EndRef{{ID: e.rec.End.ID}}, time.Time{}, change); err == nil {
			s.flash(r, ui.Done, "How the demand comes is on record, and the end is computed anew.")
			return seeOther(w, r, e.path("demand"))
		}
	default:
		after, p, perr := s.foresee(r, e.sc, change)
		if err = perr; err == nil {
			if save {
				f.Notice = "The values changed since you saw what they do. Nothing is stored yet: look again, then save."
			}
			ef := effectsOf(p, s.program(r), "No design goes out of date and no capacity moves.")
			f.Effects, f.Previewed = &ef, shown
			f.Moves = []loads.Moved{{Href: e.path("demand"), End: e.rec.End.Name, Was: e.force(e.rec.Demand(e.sc).Factored), Now: e.force(after.Ends[0].Demand(after).Factored)}}
			return s.demandPage(w, r, http.StatusOK, e, f, typed)
		}
	}
	if fault.KindOf(err) == fault.Conflict {
		f.From, f.Entry = "", ""
		f.Clash = clashOf("Nothing of yours was stored yet. The form holds what you typed; look at what it changes now, then save it over what is stored.", demandFields(e.sys), typed, e.demandTyped())
		return s.demandPage(w, r, http.StatusConflict, e, f, typed)
	}
	form, status, ok := refused(r, err)
	if !ok {
		return err
	}
	f.Bad, f.Notice = form.Bad, form.Notice
	return s.demandPage(w, r, status, e, f, typed)
}
