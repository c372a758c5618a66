package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/google/uuid"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/settings"
	"endcast/views/ui"
)

// castingGroups are the groups of the design basis that a casting is held to.
var castingGroups = []string{basis.GroupMix, basis.GroupCasting, basis.GroupBatches, basis.GroupCuring, basis.GroupSpecimens, basis.GroupRelease}

// Bounds of the form of the specimen plan.
const (
	mostPlanLines   = 40 // as the change has it
	blankPlanLines  = 2
	previewBatches  = 3
	mostPreviewable = 24
)

// castingLimitsShow lists every limit of a casting, and what is made of one.
func (s *Server) castingLimitsShow(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	return s.limitsPage(w, r, http.StatusOK, c, c.planInForce(), limitsSaid{})
}

// castingPlanSubmit shows what another plan would make of a casting, or stores it.
func (s *Server) castingPlanSubmit(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	f, ch, bad := c.readPlan(r.PostForm)
	trial := c.frame.Clone()
	if err = bad.Err(); err == nil {
		try := ch
		if f.get("do") == "preview" && try.Source == "" {
			try.Source = "not stored" // what a plan makes does not hang on where it is from
		}
		err = try.Apply(trial, repair.Context{Actor: s.actor(r), Now: c.now, Captured: c.now, NewID: uuid.NewString})
	}
	if err == nil && f.get("do") == "preview" {
		return s.limitsPage(w, r, http.StatusOK, c, f, limitsSaid{notice: "This is what the plan below would make. Nothing is stored yet.", trial: trial})
	}
	if err == nil {
		_, err = s.edit(r, nil, time.Time{}, ch)
	}
	if fault.KindOf(err) == fault.Conflict {
		f.values.Del("from")
		return s.limitsPage(w, r, http.StatusConflict, c, f, limitsSaid{refused: ui.Sentence(fault.Message(err)) + ". The form holds what you typed; the plan in force stands above it. Store again to put yours in its place."})
	}
	back, err := refusal(err)
	if err != nil {
		return err
	}
	if back != nil {
		if back.fields != nil {
			typedBack(back.fields, f.flat())
		}
		return s.limitsPage(w, r, http.StatusUnprocessableEntity, c, f, limitsSaid{bad: back.fields, refused: back.text})
	}
	s.flash(r, ui.Done, "The plan of specimens is stored. Castings that are on record stay as they were made.")
	return seeOther(w, r, c.head.Path("pours", "limits"))
}

// planInForce fills the form with the plan that is in force.
func (c *castReader) planInForce() *pourForm {
	f := &pourForm{c: c, values: url.Values{}}
	plan, isDefault := c.frame.Plan()
	for i, x := range plan {
		n := fmt.Sprintf("sets-%d-", i+1)
		for k, v := range map[string]string{"count": strconv.Itoa(x.Count), "kind": x.Kind, "curing": x.Curing, "duty": x.Duty, "days": units.Days.Exact(x.NominalDays, c.sys), "per": x.Per, "purpose": x.Purpose} {
			f.values.Set(n+k, v)
		}
	}
	if !isDefault {
		f.values.Set("source", plan[0].Source)
	}
	f.sets = min(len(plan)+blankPlanLines, mostPlanLines)
	return f
}

// readPlan reads the form. Lines without a count are left out, and those that are kept
// move up, so that a fault names the line as it is shown again.
func (c *castReader) readPlan(sent url.Values) (*pourForm, repair.SetSpecimenPlan, *fault.Invalid) {
	f, bad := &pourForm{c: c, values: url.Values{}}, &fault.Invalid{}
	for _, k := range []string{"source", "from", "entry", "do", "batches"} {
		f.values.Set(k, sent.Get(k))
	}
	ch := repair.SetSpecimenPlan{Source: f.get("source"), From: f.get("from")}
	for row := 1; row <= mostPlanLines; row++ {
		was := fmt.Sprintf("sets-%d-", row)
		if sent.Get(was+"count") == "" {
			continue
		}
		n := fmt.Sprintf("sets-%d-", len(ch.Sets)+1)
		for _, k := range []string{"count", "kind", "curing", "duty", "days", "per", "purpose"} {
			f.values.Set(n+k, sent.Get(was+k))
		}
		set := repair.PlannedSetIn{Kind: f.get(n + "kind"), Curing: f.get(n + "curing"), Duty: f.get(n + "duty"), Per: f.get(n + "per"), Purpose: f.get(n + "purpose")}
		var err error
		if set.Count, err = strconv.Atoi(f.get(n + "count")); err != nil {
			bad.Add(n+"count", f.get(n+"count"), "count must be a whole number from 1 to 100, got %q", f.get(n+"count"))
		}
		if v := c.quantity(bad, n+"days", f.get(n+"days"), units.Days); v != nil {
			set.NominalDays = *v
		} else if bad.Of(n+"days") == nil {
			bad.Add(n+"days", "", "say at which age the set is broken")
		}
		ch.Sets = append(ch.Sets, set)
	}
	f.sets = min(len(ch.Sets)+blankPlanLines, mostPlanLines)
	return f, ch, bad
}

// limitsSaid is what the page says of the form that was sent.
type limitsSaid struct {
	bad             *fault.Invalid
	notice, refused string
	trial           *repair.Scope // with the plan of the form in it; nil where none was asked for
}

func (s *Server) limitsPage(w http.ResponseWriter, r *http.Request, status int, c *castReader, f *pourForm, said limitsSaid) error {
	names, err := s.store.UserNames(r.Context())
	if err != nil {
		return err
	}
	b := basisReader{head: c.head, frame: c.frame, sys: c.sys, zone: c.zone, who: names}
	v := casting.Limits{Basis: c.head.Path("basis")}
	all, unsure := 0, 0
	for i, name := range castingGroups {
		group := settings.BasisGroup{Name: sentenceCase(name), Anchor: "limits-" + numberOf(i+1)}
		for _, d := range basis.Definitions() {
			if d.Group != name {
				continue
			}
			all++
			if !b.isSet(d) {
				unsure++
			}
			group.Rows = append(group.Rows, b.row(d))
		}
		v.Groups = append(v.Groups, group)
	}
	v.Sentence = fmt.Sprintf("%d of %d values stand at their default: nobody of this program has said that they are the contract's.", unsure, all)
	if unsure == 0 {
		v.Sentence = "Every value was entered by somebody of this program."
	}
	plan, isDefault := c.frame.Plan()
	v.IsOwn = !isDefault
	v.PlanFrom = "The default plan: nobody has entered the contract's."
	if !isDefault {
		v.PlanFrom = ui.Sentence(plan[0].Source) + " Set by " + plan[0].SetByName + ", " + c.day(plan[0].SetAt) + "."
	}
	batches := previewBatches
	if n, err := strconv.Atoi(f.get("batches")); err == nil {
		batches = min(max(n, 1), mostPreviewable)
	}
	v.Preview = c.planPreview(plan, batches, "What a casting of "+count(batches, "batch", "batches")+" makes by the plan in force")
	if said.trial != nil {
		would, _ := said.trial.Plan()
		v.Would = c.planPreview(would, batches, "What a casting of "+count(batches, "batch", "batches")+" would make by the plan below")
	}
	if s.can(r, authz.EditPlan) {
		if f.get("from") == "" {
			f.values.Set("from", c.frame.PlanDigest())
		}
		v.Form = c.planForm(f, said.bad)
		v.Form.Action, v.Form.Notice, v.Form.Refused = c.head.Path("pours", "limits"), said.notice, said.refused
		f.values.Set("batches", strconv.Itoa(batches))
		v.Form.Batches = f.field(nil, ui.Field{Name: "batches", Label: "Batches to preview", InputMode: "numeric", Short: true})
	}
	if v.Log, err = s.settingsLog(r, c.zone, repair.SetSpecimenPlan{}.Kind()); err != nil {
		return err
	}
	p := s.page(r, "Limits of a casting", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")})
	return s.render(w, r, status, casting.LimitsPage(p, v))
}

// planPreview is what a plan makes of a casting, batch by batch.
func (c *castReader) planPreview(plan []repair.PlannedSet, batches int, title string) *casting.PlanPreview {
	out := &casting.PlanPreview{Title: title}
	total := 0
	for n := 1; n <= batches; n++ {
		for _, x := range repair.PlannedFor(plan, n, n == batches) {
			total += x.Count
			out.Rows = append(out.Rows, casting.PlannedRow{Batch: numberOf(n), Count: numberOf(x.Count), Kind: kindName(x.Kind), Curing: cureWords(x.Curing), Age: ageText(24 * x.NominalDays),
				Purpose: uhpc.Purpose(x.Purpose).Words(), Duty: plainWord(cmp.Or(x.Duty, string(uhpc.QualityControl)))})
		}
	}
	out.Total = counted(total, "specimen", "specimens") + " in all."
	return out
}

// planForm lays out the lines of the plan.
func (c *castReader) planForm(f *pourForm, bad *fault.Invalid) *casting.PlanForm {
	var kinds, cures, duties, purposes []ui.Option
	for _, k := range uhpc.Kinds() {
		if k.Refused == "" {
			kinds = append(kinds, ui.Option{Value: string(k.Kind), Label: k.Name})
		}
	}
	for _, x := range []uhpc.Cure{uhpc.FieldCure, uhpc.MatchCure, uhpc.StandardCure} {
		cures = append(cures, ui.Option{Value: string(x), Label: cureWords(string(x))})
	}
	for _, d := range []uhpc.Duty{uhpc.QualityControl, uhpc.Verification, uhpc.Assurance, uhpc.Dispute} {
		duties = append(duties, ui.Option{Value: string(d), Label: plainWord(string(d))})
	}
	for _, x := range uhpc.Purposes() {
		purposes = append(purposes, ui.Option{Value: string(x), Label: x.Words()})
	}
	v := &casting.PlanForm{Entry: f.get("entry"), From: f.get("from"), Bad: bad,
		Source: f.field(bad, ui.Field{Name: "source", Label: "Where the plan is from", Rows: 2, Hint: "Document, edition and clause."})}
	for row := 1; row <= f.sets; row++ {
		n := fmt.Sprintf("sets-%d-", row)
		v.Rows = append(v.Rows, casting.PlanLine{Number: numberOf(row), Boxes: []ui.Field{
			f.field(bad, ui.Field{Name: n + "count", Label: "Count", InputMode: "numeric", Optional: true, Short: true}),
			f.field(bad, ui.Field{Name: n + "kind", Label: "Kind", Options: kinds}),
			f.field(bad, ui.Field{Name: n + "curing", Label: "Curing", Options: cures}),
			f.field(bad, ui.Field{Name: n + "days", Label: "Broken at", Unit: units.Days.Label(c.sys), InputMode: "decimal", Short: true}),
			f.field(bad, ui.Field{Name: n + "per", Label: "Made of", Options: []ui.Option{{Value: "casting", Label: "the last batch"}, {Value: "batch", Label: "every batch"}}}),
			f.field(bad, ui.Field{Name: n + "purpose", Label: "For", Options: purposes}),
			f.field(bad, ui.Field{Name: n + "duty", Label: "Duty", Options: duties})}})
	}
	return v
}
