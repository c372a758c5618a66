package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/family"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/families"
	"endcast/views/ui"
)

// familyFields are the materials that a plan of families is made with, as the form
// and the address name them.
var familyFields = materialFields

// familyAsk is what a plan was asked for.
type familyAsk struct {
	typed map[string]string
	in    repair.DesignIn // its materials
	all   bool            // ends with an approved design too
	bad   *fault.Invalid
}

// familyPlan is a plan with the ends that it was made of.
type familyPlan struct {
	ask   familyAsk
	sc    *repair.Scope
	recs  []*repair.Record // by item
	plan  family.Plan
	skip  int    // ends left out: not surveyed, closed, or with a design that stands
	names string // digest of everything the plan follows from
}

// readFamilyAsk reads materials from an address or a form; nothing typed means the
// usual ones of a new design.
func (s *Server) readFamilyAsk(r *http.Request, get func(string) string) (familyAsk, error) {
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return familyAsk{}, err
	}
	sys := s.units(r)
	ask := familyAsk{typed: map[string]string{}, in: startMaterials(frame.Basis()), all: get("ends") == "all", bad: &fault.Invalid{}}
	ask.typed["ends"] = get("ends")
	for _, f := range familyFields {
		text := get(f.name)
		// The text that stands for the usual value means that very value.
		if usual := f.kind.Exact(f.get(&ask.in), sys); text == "" || text == usual {
			ask.typed[f.name] = usual
			continue
		}
		ask.typed[f.name] = text
		v, err := f.kind.Parse(text, sys)
		if err != nil {
			ask.bad.Add(f.name, text, "%s", err.Error())
			continue
		}
		f.set(&ask.in, v)
	}
	return ask, nil
}

// familyShow proposes a layout for every end that needs one, with like ends
// joined into families.
func (s *Server) familyShow(w http.ResponseWriter, r *http.Request) error {
	ask, err := s.readFamilyAsk(r, r.URL.Query().Get)
	if err != nil {
		return err
	}
	return s.familyPage(w, r, http.StatusOK, ask, "")
}

func (s *Server) familyPage(w http.ResponseWriter, r *http.Request, status int, ask familyAsk, problem string) error {
	head, sys := s.program(r), s.units(r)
	v := families.View{Action: head.Path("families"), Prices: head.Path("basis"), Problem: problem, MayDraft: s.can(r, authz.EditDesign), Typed: ask.typed, All: ask.all}
	for _, f := range familyFields {
		v.Fields = append(v.Fields, ui.Field{Name: f.name, Label: f.label, Hint: f.hint, Value: ask.typed[f.name], Unit: f.kind.Label(sys), InputMode: "decimal", Short: true}.With(ask.bad))
	}
	v.Bad = ask.bad
	if ask.bad.Err() != nil {
		return s.render(w, r, http.StatusUnprocessableEntity, families.Page(s.page(r, "Families of ends"), v))
	}
	fp, err := s.planFamilies(r, ask)
	if errors.Is(err, errTooManyEnds) {
		v.Problem = "The program has more than " + strconv.Itoa(db.PreviewLimit) + " ends: too many to lay out on one page. Propose the layout of an end on its own page."
		return s.render(w, r, status, families.Page(s.page(r, "Families of ends"), v))
	}
	if err != nil {
		return err
	}
	fp.view(&v, head, sys)
	return s.render(w, r, status, families.Page(s.page(r, "Families of ends"), v))
}

var errTooManyEnds = errors.New("too many ends for one plan")

// planFamilies lays out the ends of the program that need a design.
func (s *Server) planFamilies(r *http.Request, ask familyAsk) (*familyPlan, error) {
	sc, whole, err := s.surveyedEnds(r)
	if err != nil {
		return nil, err
	}
	if !whole {
		return nil, errTooManyEnds
	}
	fp := &familyPlan{ask: ask, sc: sc}
	b := sc.Basis()
	var items []family.Item
	follows := []any{ask.in, ask.all, b.Changed(), calc.MethodVersion}
	slices.SortFunc(sc.Ends, func(a, c *repair.Record) int { return compareKeys(a, c) })
	for _, rec := range sc.Ends {
		if rec.LatestSurvey() == nil || len(rec.State) == 0 || rec.State[0].Closed || !ask.all && stands(rec) {
			fp.skip++
			continue
		}
		items = append(items, family.Item{Key: rec.End.Name, Geometry: rec.Geometry(sc), Steel: rec.Steel(sc), Demand: rec.State[0].Demand,
			Materials: encasement.Materials{StudDiameter: ask.in.StudDiameter, StudHeight: ask.in.StudHeight, StudFu: ask.in.StudFu, Fc: ask.in.Fc}})
		fp.recs = append(fp.recs, rec)
		follows = append(follows, rec.End.ID, rec.End.Version)
	}
	fp.plan = family.Group(b, items, family.CostFrom(b))
	fp.names = calc.Digest(follows)
	return fp, nil
}

// stands reports whether an end has a design that is approved or waits for review.
func stands(rec *repair.Record) bool {
	d := rec.LatestDesign()
	return d != nil && (d.State == repair.DesignApproved || d.State == repair.DesignApprovedNoted || d.State == repair.DesignSubmitted)
}

func compareKeys(a, b *repair.Record) int {
	if len(a.State) > 0 && len(b.State) > 0 {
		switch {
		case a.State[0].SortKey < b.State[0].SortKey:
			return -1
		case a.State[0].SortKey > b.State[0].SortKey:
			return 1
		}
	}
	return 0
}

// familyDraft writes the layout of one family as a draft at each of its ends.
func (s *Server) familyDraft(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	ask, err := s.readFamilyAsk(r, r.PostFormValue)
	if err != nil {
		return err
	}
	if ask.bad.Err() != nil {
		return s.familyPage(w, r, http.StatusUnprocessableEntity, ask, "")
	}
	fp, err := s.planFamilies(r, ask)
	if err != nil {
		return err
	}
	if fp.names != r.PostFormValue("plan") {
		return s.familyPage(w, r, http.StatusConflict, ask, "An end or a setting changed since you saw the plan. No draft was stored; the plan below follows what is on record now.")
	}
	at := slices.IndexFunc(fp.plan.Families, func(f family.Family) bool { return f.Name == r.PostFormValue("family") })
	if at < 0 {
		return fault.New(fault.Malformed, "the plan has no family of that name")
	}
	f := fp.plan.Families[at]
	change := repair.SaveDesigns{Design: repair.DesignFrom(f.Layout)}
	change.Design.Note = "Layout of family " + f.Name + ", proposed for " + count(len(f.Members), "end", "ends") + " together."
	var refs []db.EndRef
	for _, m := range f.Members {
		rec := fp.recs[m.Item]
		if ask.all && stands(rec) {
			continue // its design stands; the page says so
		}
		change.Ends = append(change.Ends, rec.End.Name)
		refs = append(refs, db.EndRef{ID: rec.End.ID, Version: rec.End.Version})
	}
	if len(refs) == 0 {
		return s.familyPage(w, r, http.StatusUnprocessableEntity, ask, "Every end of family "+f.Name+" has a design that is approved or waits for review. No draft was stored.")
	}
	if _, err = s.edit(r, refs, time.Time{}, change); err != nil {
		if _, stale := errors.AsType[*db.Stale](err); stale {
			return s.familyPage(w, r, http.StatusConflict, ask, ui.Sentence(err.Error())+" No draft was stored.")
		}
		if refusedForm(err) {
			return s.familyPage(w, r, http.StatusUnprocessableEntity, ask, sentence(err))
		}
		return err
	}
	s.flash(r, ui.Done, "Family "+f.Name+" is a draft at "+count(len(refs), "end", "ends")+" now. A designer looks at each and submits it.")
	return seeOther(w, r, s.program(r).Path("families"))
}

// view turns the plan into texts.
func (fp *familyPlan) view(v *families.View, head ProgramHead, sys units.System) {
	price := func(p float64) string { return units.Numbers.Format(p, sys, 1) }
	bill := func(name string, b family.Bill) families.Bill {
		return families.Bill{Name: name, Ends: strconv.Itoa(b.Ends), Studs: strconv.Itoa(b.Studs), Volume: units.Volumes.Format(float64(b.Volume), sys, -1),
			Layouts: strconv.Itoa(b.Layouts), Forms: strconv.Itoa(b.Forms), Price: price(b.Price)}
	}
	v.Plan, v.Ready = fp.names, true
	v.Left = count(fp.skip, "end is", "ends are") + " left out: not surveyed, closed, or with a design that is approved or waits for review."
	if fp.ask.all {
		v.Left = count(fp.skip, "end is", "ends are") + " left out: not surveyed, or closed."
	}
	if n := len(fp.plan.Families); n > 0 {
		v.Bills = []families.Bill{bill("In families", fp.plan.Shared), bill("Each end by itself", fp.plan.Apart)}
		v.Finding = count(fp.plan.Shared.Ends, "end", "ends") + " in " + count(n, "family", "families") + ": " + count(fp.plan.Shared.Forms, "form size", "form sizes") + " and " +
			count(fp.plan.Shared.Layouts, "layout", "layouts") + " in place of " + strconv.Itoa(fp.plan.Apart.Forms) + " and " + strconv.Itoa(fp.plan.Apart.Layouts) + ", for " +
			strconv.Itoa(fp.plan.Shared.Studs-fp.plan.Apart.Studs) + " more studs and " + units.Volumes.Format(float64(fp.plan.Shared.Volume-fp.plan.Apart.Volume), sys, -1) + " more UHPC. Relative price " + price(fp.plan.Shared.Price) + " against " + price(fp.plan.Apart.Price) + "."
	}
	for _, f := range fp.plan.Families {
		row := families.Family{Name: f.Name, Form: f.Form.Width.Format(sys, -1) + " wide, " + f.Form.Height.Format(sys, -1) + " high, " + f.Form.Left.Format(sys, -1) + " and " + f.Form.Right.Format(sys, -1) + " thick",
			Title: count(len(f.Members), "end", "ends") + ", " + count(len(f.Layout.Studs), "stud", "studs")}
		switch {
		case f.Saves > 1e-9:
			row.Saves = "Sharing saves " + price(f.Saves) + " of the relative price."
		case f.Saves < -1e-9:
			row.Saves = "Its panel grew, for a price of " + price(-f.Saves) + ", so that the form of another family serves it too; over the bridge that saves more."
		default:
			row.Saves = "It shares with no other end."
			if len(f.Members) > 1 {
				row.Saves = "Each of its ends would have this layout by itself."
			}
		}
		first := fp.recs[f.Members[0].Item]
		layout := f.Layout
		row.Drawing = drawing.End(drawing.EndData{ID: "family-" + f.Name, System: sys, Geometry: first.Geometry(fp.sc), Survey: first.SurveyFindings(first.LatestSurvey()), Design: &layout, Revision: "family " + f.Name})
		for _, m := range f.Members {
			rec := fp.recs[m.Item]
			line := families.Member{Href: head.Path("ends", m.Key), Name: m.Key, Demand: rec.State[0].Demand.Format(sys, -1), Capacity: m.Result.Capacity.Format(sys, -1),
				Ratio: ratioText(overResistance(rec.State[0].Demand, m.Result.Capacity)), Own: strconv.Itoa(len(m.Own.Studs)), More: strconv.Itoa(m.ExtraStuds),
				Volume: units.Volumes.Format(float64(m.ExtraVolume), sys, -1), Price: price(m.ExtraPrice)}
			if c := m.Result.Check(m.Result.Governs); c != nil {
				line.Governs = c.Name
			}
			if stands(rec) {
				line.Stands = "revision " + strconv.Itoa(rec.LatestDesign().Revision) + " stands"
			} else {
				if d := rec.LatestDesign(); d != nil && d.State == repair.DesignDraft {
					line.Stands = "its draft, revision " + strconv.Itoa(d.Revision) + ", would be replaced"
				}
				row.Drafts++
			}
			row.Members = append(row.Members, line)
		}
		row.Draft = "Make family " + f.Name + " a draft at " + count(row.Drafts, "end", "ends")
		v.Families = append(v.Families, row)
	}
	for _, u := range fp.plan.Unplaced {
		line := families.Unplaced{Href: head.Path("ends", u.Key), Name: u.Key, Reason: ui.Sentence(u.Reason), Nearest: "–"}
		if u.Nearest != nil {
			line.Nearest = strconv.Itoa(len(u.Nearest.Studs)) + " studs carry " + u.Carries.Format(sys, -1)
		}
		v.Unplaced = append(v.Unplaced, line)
	}
}
