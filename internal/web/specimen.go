package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// specimenReader is castReader for one specimen.
type specimenReader struct {
	*castReader
	s    *Server
	list db.CastingList
	pour repair.Pour
	sp   repair.Specimen
}

// openSpecimen loads the specimen of the address.
func (s *Server) openSpecimen(r *http.Request) (*specimenReader, error) {
	c, err := s.openCastings(r)
	if err != nil {
		return nil, err
	}
	mark := chi.URLParam(r, "specimen")
	list, err := s.store.CastingOfSpecimen(r.Context(), c.head.ID.String(), mark)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(list.Specimens, func(x repair.Specimen) bool { return strings.EqualFold(x.Mark, strings.TrimSpace(mark)) })
	if i < 0 || len(list.Pours) != 1 {
		return nil, fault.New(fault.NotFound, "no specimen of this program has the mark %.20s", mark)
	}
	return &specimenReader{castReader: c, s: s, list: list, pour: list.Pours[0], sp: list.Specimens[i]}, nil
}

// specimenShow is the page of one specimen: where its label leads.
func (s *Server) specimenShow(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openSpecimen(r)
	if err != nil {
		return err
	}
	return c.page(w, r, http.StatusOK, breakForm{}, nil, "")
}

// page renders the specimen, with what was sent and not taken.
func (c *specimenReader) page(w http.ResponseWriter, r *http.Request, status int, sent breakForm, bad *fault.Invalid, refused string) error {
	sp := c.sp
	v := casting.SpecimenView{Mark: sp.Mark, Base: c.head.Path("laboratory", "specimens", sp.Mark), Report: c.head.Path("laboratory", "pours", strconv.Itoa(c.pour.Number)),
		Bad: bad, Refused: refused, Entry: sent["entry"], MayKeep: c.s.can(r, authz.KeepSpecimens), MayReview: c.s.can(r, authz.ReviewSpecimens),
		Demolded: sp.DemoldedAt != nil, Broken: sp.BrokenAt != nil, Lost: sp.LostAt != nil, Excluded: sp.ExcludedAt != nil}
	c.state(&v)
	if c.s.can(r, authz.RecordBreak) && !v.Lost {
		v.Break = c.boxes(sent, bad, visitOf(r.Context()).user.Name)
	}
	v.DemoldAt = ui.Field{Name: "demolded_at", Label: "Out of its mold at", Type: "datetime-local", Value: sent["demolded_at"]}.With(bad)
	v.LoseWhy = ui.Field{Name: "lost_why", Label: "How it was lost", Hint: "Its mold leaked, it was dropped, it cannot be found.", Value: sent["lost_why"], Rows: 2}.With(bad)
	v.ExcludeWhy = ui.Field{Name: "excluded_why", Label: "Reason", Hint: "An end defect, a wrong rate of loading, an eccentric break.", Value: sent["excluded_why"], Rows: 2}.With(bad)
	p := c.s.page(r, "Specimen "+sp.Mark, ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Laboratory", Href: c.head.Path("laboratory")})
	return c.s.render(w, r, status, casting.SpecimenPage(p, v))
}

// state says where the specimen stands in its life.
func (c *specimenReader) state(v *casting.SpecimenView) {
	sp := c.sp
	x := repair.SpecimenOf(sp, c.pour)
	d := uhpc.DueList([]uhpc.Specimen{x}, c.now, c.zone, c.basis)[0]
	life := func(name, value string) {
		if value != "" {
			v.Life = append(v.Life, casting.Pair{Name: name, Value: value})
		}
	}
	life("Kind", kindName(sp.Kind)+", "+cureWords(sp.Curing)+", "+plainWord(sp.Duty))
	life("For", plainWord(sp.Purpose))
	life("Batch", fmt.Sprintf("%d of pour %d", sp.BatchNo, c.pour.Number))
	life("Cast", c.day(sp.CastAt))
	life("To be broken at", ageText(x.NominalHours)+", "+c.day(d.At))
	life("Window", c.day(d.From)+" to "+c.day(d.To))
	if sp.DemoldedAt != nil {
		life("Out of its mold", c.day(*sp.DemoldedAt))
	}
	switch {
	case sp.LostAt != nil:
		v.State = ui.Mark{State: ui.Void, Text: "lost"}
		life("Lost", c.day(*sp.LostAt)+": "+sp.LostWhy+" ("+sp.LostBy+")")
	case sp.BrokenAt == nil:
		v.State = dueMark(d.State)
		if !awaited(sp) {
			v.State = ui.Mark{State: ui.Open, Text: "to spare"}
		}
		life("Age now", ageText(max(0, c.now.Sub(sp.CastAt).Hours())))
		strength := units.Stress(c.basis.Value(basis.FinalStrength))
		if load := float64(uhpc.ExpectedLoad(x.Kind, strength, c.basis)); load > 0 {
			life("Load to expect", units.Forces.Format(load, c.sys, -1)+" at "+c.strength(strength)+"; machine of at least "+units.Forces.Format(load*c.basis.Value(basis.MachineReserve), c.sys, -1))
		}
		if sg := d.Suggest(uhpc.HoursOf(c.zone, nil, c.basis), c.now); !sg.At.IsZero() {
			life("Best broken", c.day(sg.At)+suggestNote(sg))
		} else {
			life("Best broken", ui.Sentence(sg.Why))
		}
	default:
		row, _ := c.specimen(sp, c.pour, false)
		v.State, v.Why = row.State, row.Why
		life("Broken", c.day(*sp.BrokenAt)+", at "+row.Age)
		res := func(name, value string) { v.Result = append(v.Result, casting.Pair{Name: name, Value: value}) }
		res("Load, "+units.Forces.Label(c.sys), row.Load)
		res("Sizes, "+units.Lengths.Label(c.sys), c.sizes(sp))
		res("As broken, "+units.Stresses.Label(c.sys), row.Raw)
		res("Shape factor", row.Factor)
		res("Converted, "+units.Stresses.Label(c.sys), row.Value)
		if sp.ExcludedAt != nil {
			res("Left out", sp.ExcludedWhy+" ("+sp.ExcludedBy+")")
		}
		if sp.Corrected != "" {
			res("Corrected", sp.Corrected)
		}
	}
}

func suggestNote(s uhpc.Suggestion) string {
	if s.Why == "" {
		return ""
	}
	return ": " + s.Why
}

// sizes prints the measured sizes.
func (c *castReader) sizes(sp repair.Specimen) string {
	var out []string
	for _, x := range []struct {
		column string
		v      *units.Length
	}{{"width_mm", sp.Width}, {"depth_mm", sp.Depth}, {"height_mm", sp.Height}} {
		if x.v != nil {
			out = append(out, c.figureAs(sp.Typed, x.column, units.Lengths, float64(*x.v)))
		}
	}
	if len(out) == 0 {
		return "–"
	}
	return strings.Join(out, " × ")
}

// boxes are those of the break, filled with what is on record when it is corrected.
func (c *specimenReader) boxes(sent breakForm, bad *fault.Invalid, tester string) *casting.SpecimenForm {
	sp := c.sp
	info, _ := uhpc.Kind(sp.Kind).Info()
	f := &casting.SpecimenForm{Act: "break", Submit: "Record the break", Cube: info.Cube, Ground: sent["ends_ground"] != ""}
	held := breakForm{"tested_by": tester}
	if sp.BrokenAt != nil {
		f.Act, f.Submit = "correct", "Correct the break"
		held = breakForm{"tested_by": sp.TestedBy, "broken_at": sp.BrokenAt.In(c.zone).Format("2006-01-02T15:04")}
		for _, b := range breakBoxes {
			stored := map[string]*float64{"load": number(sp.Load), "width_1": number(sp.Width), "width_2": number(sp.Depth), "height": number(sp.Height), "machine": number(sp.Machine)}[b.name]
			if stored != nil {
				held[b.name] = c.figureAs(sp.Typed, b.column, b.kind, *stored)
			}
		}
		if sp.Fracture != nil {
			held["fracture"] = strconv.Itoa(*sp.Fracture)
		}
		reason := ui.Field{Name: "reason", Label: "Why the entry is corrected", Hint: "The journal keeps what stood there.", Value: sent["reason"], Rows: 2}.With(bad)
		f.Reason = &reason
		if sent["entry"] == "" {
			f.Ground = sp.EndsGround
		}
	}
	box := func(x ui.Field) {
		x.Value = held[x.Name]
		if sent["entry"] != "" {
			x.Value = sent[x.Name]
		}
		f.Boxes = append(f.Boxes, x.With(bad))
	}
	box(ui.Field{Name: "broken_at", Label: "Broken at", Type: "datetime-local"})
	one, other := "Diameter", "Diameter at 90°"
	if info.Cube {
		one, other = "Side", "Other side"
	}
	length := units.Lengths.Label(c.sys)
	box(ui.Field{Name: "load", Label: "Greatest load", Unit: units.Forces.Label(c.sys), InputMode: "decimal", Short: true})
	box(ui.Field{Name: "width_1", Label: one, Unit: length, InputMode: "decimal", Short: true})
	box(ui.Field{Name: "width_2", Label: other, Unit: length, InputMode: "decimal", Short: true, Optional: true})
	box(ui.Field{Name: "height", Label: "Height", Unit: length, InputMode: "decimal", Short: true, Optional: true})
	box(ui.Field{Name: "machine", Label: "Capacity of the machine", Unit: units.Forces.Label(c.sys), InputMode: "decimal", Short: true, Optional: true})
	box(ui.Field{Name: "tested_by", Label: "Tested by"})
	if !info.Cube {
		box(ui.Field{Name: "fracture", Label: "Fracture", Options: fractures})
	}
	return f
}

// specimenAct answers one thing done to a specimen: its break, a correction, out of
// the mold, lost, left out, taken in again.
func (s *Server) specimenAct(name string) handlerFunc {
	deed := specimenDeeds[name]
	return func(w http.ResponseWriter, r *http.Request) error {
		c, err := s.openSpecimen(r)
		if err != nil {
			return err
		}
		if err := parseForm(r); err != nil {
			return err
		}
		f := breakForm{}
		for _, box := range []string{"entry", "broken_at", "load", "width_1", "width_2", "height", "machine", "tested_by", "fracture", "ends_ground", "reason", "demolded_at", "lost_why", "excluded_why"} {
			f[box] = strings.TrimSpace(r.PostFormValue(box))
		}
		f["mark"] = c.sp.Mark
		ch, at, bad := deed.read(c, f)
		if bad.Err() != nil {
			return c.page(w, r, http.StatusUnprocessableEntity, f, bad, "")
		}
		refs, err := s.store.EndsOfSpecimens(r.Context(), c.head.ID.String(), []string{c.sp.Mark})
		if err != nil {
			return err
		}
		_, err = s.edit(r, refs, at, ch)
		var invalid *fault.Invalid
		switch {
		case errors.As(err, &invalid):
			return c.page(w, r, http.StatusUnprocessableEntity, f, deed.named(invalid), "")
		case fault.KindOf(err) == fault.Refused:
			return c.page(w, r, http.StatusConflict, f, nil, ui.Sentence(fault.Message(err)))
		case err != nil:
			return err
		}
		s.flash(r, ui.Done, c.sp.Mark+": "+deed.done+".")
		return seeOther(w, r, c.head.Path("laboratory", "specimens", c.sp.Mark))
	}
}

// specimenDeed is one thing that can be done to a specimen.
type specimenDeed struct {
	done   string
	rename map[string]string // fields of the change to boxes
	read   func(*specimenReader, breakForm) (repair.Change, time.Time, *fault.Invalid)
}

func (d specimenDeed) named(v *fault.Invalid) *fault.Invalid {
	out := &fault.Invalid{}
	for _, x := range v.Fields {
		if to := d.rename[x.Field]; to != "" {
			x.Field = to
		}
		out.Fields = append(out.Fields, x)
	}
	return out
}

var specimenDeeds = map[string]specimenDeed{
	"break": {done: "the break is on record", read: func(c *specimenReader, f breakForm) (repair.Change, time.Time, *fault.Invalid) {
		ch, bad := f.read(c.castReader)
		return ch, ch.BrokenAt, bad
	}},
	"correct": {done: "the entry is corrected", read: func(c *specimenReader, f breakForm) (repair.Change, time.Time, *fault.Invalid) {
		ch, bad := f.read(c.castReader)
		if f["reason"] == "" {
			bad.Add("reason", "", "say why the entry is corrected")
		}
		return repair.CorrectBreak{RecordBreak: ch, Reason: f["reason"]}, time.Time{}, bad
	}},
	"demold": {done: "out of its mold", rename: map[string]string{"at": "demolded_at", "marks": "demolded_at"}, read: func(c *specimenReader, f breakForm) (repair.Change, time.Time, *fault.Invalid) {
		bad := &fault.Invalid{}
		at := c.moment(bad, "demolded_at", f["demolded_at"])
		if at.IsZero() && bad.Of("demolded_at") == nil {
			bad.Add("demolded_at", "", "the date and time are needed")
		}
		return repair.DemoldSpecimens{Marks: []string{c.sp.Mark}, At: at}, at, bad
	}},
	"lose": {done: "it is down as lost", rename: map[string]string{"why": "lost_why"}, read: func(c *specimenReader, f breakForm) (repair.Change, time.Time, *fault.Invalid) {
		return repair.LoseSpecimen{Mark: c.sp.Mark, Why: f["lost_why"]}, time.Time{}, &fault.Invalid{}
	}},
	"exclude": {done: "its break is left out of the set", rename: map[string]string{"why": "excluded_why"}, read: func(c *specimenReader, f breakForm) (repair.Change, time.Time, *fault.Invalid) {
		return repair.ExcludeSpecimen{Mark: c.sp.Mark, Why: f["excluded_why"]}, time.Time{}, &fault.Invalid{}
	}},
	"return": {done: "its break is in the set again", rename: map[string]string{"why": "excluded_why"}, read: func(c *specimenReader, f breakForm) (repair.Change, time.Time, *fault.Invalid) {
		return repair.ExcludeSpecimen{Mark: c.sp.Mark, Why: f["excluded_why"], Return: true}, time.Time{}, &fault.Invalid{}
	}},
}
