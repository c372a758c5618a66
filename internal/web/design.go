package web

import (
	"net/http"
	"strconv"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/drawing"
	"endcast/views/ui"
)

// designShow is the desk where the design of an end is made. Somebody who may not
// make one is led to the latest revision.
func (s *Server) designShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	if !s.can(r, authz.EditDesign) {
		if d := e.rec.LatestDesign(); d != nil {
			return seeOther(w, r, e.path("designs", strconv.Itoa(d.Revision)))
		}
		return fault.New(fault.NotFound, "no repair has been designed for this end yet")
	}
	d := designDesk{endReader: e, version: int(e.rec.End.Version)}
	d.typed = d.start()
	return d.page(w, http.StatusOK)
}

// designDesk is one end with the design that somebody works on.
type designDesk struct {
	*endReader
	typed   designTyped
	entry   string // of the form; "" makes a new one
	version int    // of the record that the form was made from
	guarded bool   // something is typed that is not stored
	strict  bool   // what is missing is said at the fields as well
	said    design.Said
}

// start is what a desk opens with: the draft, or the latest revision as the start
// of the next one, or the materials that the design basis names.
func (d *designDesk) start() designTyped {
	if last := d.rec.LatestDesign(); last != nil {
		in := d.rec.ContentOf(last)
		if last.State != repair.DesignDraft {
			in.Note = ""
		}
		return designTypedOf(in, d.sys)
	}
	t := designTypedOf(startMaterials(d.sc.Basis()), d.sys)
	for _, f := range panelFields {
		if !f.optional {
			t.fields[f.name] = ""
		}
	}
	t.fields["panel-left"], t.fields["panel-right"] = "", ""
	return t
}

// startMaterials are those that a new design starts with.
func startMaterials(b basis.Basis) repair.DesignIn {
	return repair.DesignIn{StudDiameter: units.Length(b.Value(basis.StartDiameter)), StudHeight: units.Length(b.Value(basis.StartHeight)),
		StudFu: units.Stress(b.Value(basis.StartFu)), Fc: units.Stress(b.Value(basis.StartFc))}
}

// page renders the desk, or for a script only the parts that a preview changes.
func (d *designDesk) page(w http.ResponseWriter, status int) error {
	v := d.view()
	if d.said.Bad == nil && len(v.Live.Waits) > 0 && d.strict && status == http.StatusOK {
		status = http.StatusUnprocessableEntity
		d.said.Bad = &fault.Invalid{Fields: v.Live.Waits}
		d.formReasons(&v.Form, d.said.Bad)
	}
	v.Said = d.said
	v.Said.Bad = d.labelled(d.said.Bad)
	v.Live.Waits = d.labelled(&fault.Invalid{Fields: v.Live.Waits}).Fields
	if d.r.Header.Get("X-Fragment") != "" {
		return d.s.render(w, d.r, status, design.Parts(v))
	}
	p := d.s.page(d.r, "Design of "+d.rec.End.Name, d.crumbs(true)...)
	p.Block, p.Scripts = d.titleBlock(), []string{"design.js"}
	return d.s.render(w, d.r, status, design.Page(p, v))
}

func (d *designDesk) view() design.Desk {
	v := design.Desk{Head: d.head(), Notice: d.notice(), Tools: d.tools()}
	in, bad := d.typed.read(d.sys)
	v.Live = d.live(in, bad)
	v.Form = d.form()
	d.formReasons(&v.Form, d.said.Bad)
	return v
}

func (d *designDesk) head() design.Head {
	h := design.Head{Title: "Design of " + d.rec.End.Name, Reading: d.reading()}
	if last := d.rec.LatestDesign(); last != nil {
		m := revisionMark(last.State)
		m.Text = "revision " + strconv.Itoa(last.Revision) + ", " + m.Text
		if d.rec.Stale(d.sc, last) {
			m.State, m.Text = ui.Caution, m.Text+", out of date"
		}
		h.State = m
		if last.State != repair.DesignDraft {
			h.Links = append(h.Links, ui.Crumb{Label: "Revision " + strconv.Itoa(last.Revision), Href: d.path("designs", strconv.Itoa(last.Revision))})
		}
	}
	return h
}

// saves is the number of the revision that saving writes.
func (d *designDesk) saves() int {
	last := d.rec.LatestDesign()
	switch {
	case last == nil:
		return 1
	case last.State == repair.DesignDraft:
		return last.Revision
	}
	return last.Revision + 1
}

func (d *designDesk) notice() string {
	last := d.rec.LatestDesign()
	if last == nil || last.State == repair.DesignDraft {
		return ""
	}
	n, next := strconv.Itoa(last.Revision), strconv.Itoa(last.Revision+1)
	switch last.State {
	case repair.DesignSubmitted:
		return "Revision " + n + " waits for review. Saving begins revision " + next + ", and revision " + n + " can then no longer be reviewed."
	case repair.DesignReturned:
		return "Revision " + n + " came back. Saving begins revision " + next + " from it."
	}
	return "Revision " + n + " stays as it is. Saving begins revision " + next + " from it."
}

// tools are the steps by which a script moves a stud.
func (d *designDesk) tools() design.Tools {
	t := design.Tools{Unit: units.Lengths.Label(d.sys), PerMM: strconv.FormatFloat(units.Lengths.Held(d.sys, 1), 'g', -1, 64)}
	steps, use := []string{"0.125", "0.25", "0.5", "1", "2"}, "0.5"
	if d.sys == units.SI {
		steps, use = []string{"1", "5", "10", "25", "50"}, "10"
	}
	t.Step = use
	for _, v := range steps {
		t.Steps = append(t.Steps, ui.Option{Value: v, Label: v + " " + t.Unit})
	}
	return t
}

// live draws and checks what is typed, as far as it can be read.
func (d *designDesk) live(in repair.DesignIn, bad *fault.Invalid) design.Live {
	layout := in.Layout()
	v := design.Live{Cautions: d.draftCautions()}
	fig := drawing.EndData{ID: "design", Support: d.support(), System: d.sys, Geometry: d.rec.Geometry(d.sc),
		Survey: d.rec.SurveyFindings(d.rec.LatestSurvey()), Design: &layout, Width: deskWidth}
	v.Figure = drawing.End(fig)
	if bad == nil {
		if err := layout.Validate(fig.Geometry); err != nil {
			bad = d.typed.named(asInvalid(err), d.sys)
		}
	}
	if bad != nil {
		v.Waits = bad.Fields
		v.Spoken = "Nothing is computed. To mend first: " + strconv.Itoa(len(bad.Fields)) + "."
		return v
	}
	ev := d.rec.EvaluateDraft(d.sc, layout, nil)
	v.Checks = d.designChecks(ev.Checks, ev.Capacity, ev.Demand, ev.Verdict, ev.Governing)
	v.Checks.Facts = append(v.Checks.Facts, d.studFacts(ev.Studs)...)
	for _, f := range ev.Flags {
		v.Checks.Notes = append(v.Checks.Notes, ui.Sentence(f))
	}
	v.Spoken = "Repaired capacity " + v.Checks.Capacity + " for a demand of " + v.Checks.Demand + ", ratio " + v.Checks.Ratio + ", " + v.Checks.Verdict.Text + "."
	return v
}

// deskWidth is the room of a drawing that has the checks beside it, in pixels.
const deskWidth = 820

func (d *designDesk) draftCautions() []string {
	var out []string
	if d.rec.LatestSurvey() == nil {
		out = append(out, "No survey is on record: this is computed for the steel as new, and a design cannot be submitted.")
	}
	if int(d.rec.End.Version) != d.version {
		out = append(out, "The record changed since you opened this page. The checks follow the record as it is now; saving will show both first.")
	}
	return out
}

// asInvalid is the list of fields inside an error, or one entry for the whole
// form.
func asInvalid(err error) *fault.Invalid {
	if v, ok := asFields(err); ok {
		return v
	}
	v := &fault.Invalid{}
	v.Add("studs", "", "%s", err.Error())
	return v
}
