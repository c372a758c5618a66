package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// laboratoryShow is what is to be broken today and this week, late first.
func (s *Server) laboratoryShow(w http.ResponseWriter, r *http.Request) error {
	return s.laboratoryPage(w, r, http.StatusOK, breakSent{})
}

// breakSent is a break that came in from a row and was not taken.
type breakSent struct {
	form    breakForm
	bad     *fault.Invalid
	refused *casting.Refused
}

// laboratoryPage renders the list, with what was sent in its row.
func (s *Server) laboratoryPage(w http.ResponseWriter, r *http.Request, status int, sent breakSent) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	list, err := s.store.Laboratory(r.Context(), c.head.ID.String(), c.now.Add(-7*24*time.Hour))
	if err != nil {
		return err
	}
	v := casting.Laboratory{May: s.can(r, authz.RecordBreak), Action: c.head.Path("laboratory", "breaks"), Today: c.now.In(c.zone).Format("Monday 2006-01-02"), Zone: c.zoneNote(),
		Refused: sent.refused, Bad: sent.bad, Paste: c.paste(), Load: units.Forces.Label(c.sys), Stress: units.Stresses.Label(c.sys), Widths: units.Lengths.Label(c.sys)}
	l := labReader{castReader: c, list: list, may: v.May, sent: sent, tester: visitOf(r.Context()).user.Name, machine: c.lastMachine(list)}
	v.Links = []casting.Link{{Text: "Breaks of the week, to print", Href: c.head.Path("laboratory", "week")}, {Text: "Labels of specimens", Href: c.head.Path("laboratory", "labels")},
		{Text: "Acceptance of the strength", Href: c.head.Path("strength")}}
	v.Groups, v.Later = l.groups()
	v.Recent = l.recent()
	p := s.page(r, "Laboratory", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")})
	return s.render(w, r, status, casting.LaboratoryPage(p, v))
}

// labReader prints the list of breaks.
type labReader struct {
	*castReader
	list    db.CastingList
	may     bool
	sent    breakSent
	tester  string
	machine string
}

// lastMachine is the capacity of the machine on the latest break, so that it is
// typed once a week and not once a specimen.
func (c *castReader) lastMachine(list db.CastingList) string {
	var last repair.Specimen
	for _, sp := range list.Specimens {
		if sp.BrokenAt != nil && sp.Machine != nil && (last.BrokenAt == nil || sp.BrokenAt.After(*last.BrokenAt)) {
			last = sp
		}
	}
	if last.Machine == nil {
		return ""
	}
	return units.Forces.Exact(float64(*last.Machine), c.sys)
}

// dueSet is the specimens of one pour, batch, kind, curing and age.
type dueSet struct {
	pour  repair.Pour
	due   uhpc.Due
	batch int
	rows  []repair.Specimen
}

// sets gathers the specimens that wait, by the instant at which they are due.
func (l *labReader) sets() []dueSet {
	pour := map[string]repair.Pour{}
	for _, p := range l.list.Pours {
		pour[p.ID] = p
	}
	byMark := map[string]repair.Specimen{}
	var waiting []uhpc.Specimen
	for _, sp := range l.list.Specimens {
		if awaited(sp) {
			byMark[sp.Mark] = sp
			waiting = append(waiting, repair.SpecimenOf(sp, pour[sp.PourID]))
		}
	}
	at := map[string]int{}
	var out []dueSet
	for _, d := range uhpc.DueList(waiting, l.now, l.zone, l.basis) {
		x := d.Specimen
		key := fmt.Sprintf("%s %s %s %s %g %d", x.Batch, x.Kind, x.Cure, x.Duty, x.NominalHours, x.Cast.Unix())
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			sp := byMark[x.Mark]
			out = append(out, dueSet{pour: pour[sp.PourID], due: d, batch: sp.BatchNo})
		}
		out[i].rows = append(out[i].rows, byMark[x.Mark])
	}
	return out
}

// groups parts the list into late, due now, and due within a week; what comes
// later is counted.
func (l *labReader) groups() ([]casting.Group, string) {
	groups := []casting.Group{{ID: "late", Title: "Late", Lead: "The window has closed. A break now stays on record and does not count."},
		{ID: "now", Title: "Due now", Lead: "The window is open."},
		{ID: "week", Title: "Within a week", Lead: "A break before its window opens stays on record and does not count."}}
	later, next := 0, time.Time{}
	for _, set := range l.sets() {
		row := l.setView(set)
		switch {
		case set.due.State == uhpc.Overdue:
			groups[0].Sets = append(groups[0].Sets, row)
		case set.due.State == uhpc.DueNow:
			groups[1].Sets = append(groups[1].Sets, row)
		case set.due.From.Before(l.now.Add(7 * 24 * time.Hour)):
			groups[2].Sets = append(groups[2].Sets, row)
		default:
			later += len(set.rows)
			if next.IsZero() {
				next = set.due.At
			}
		}
	}
	var said []string
	if later > 0 {
		said = append(said, ui.Sentence(counted(later, "specimen comes", "specimens come")+" due later, the next on "+l.day(next)))
	}
	spare := 0
	for _, sp := range l.list.Specimens {
		if sp.BrokenAt == nil && sp.LostAt == nil && !awaited(sp) {
			spare++
		}
	}
	if spare > 0 {
		said = append(said, ui.Sentence(counted(spare, "specimen is", "specimens are")+" kept to spare, to be broken where another set does not decide: each is on the page of its pour"))
	}
	return groups, strings.Join(said, " ")
}

func (l *labReader) setView(set dueSet) casting.DueSet {
	d := set.due
	x := d.Specimen
	number := strconv.Itoa(set.pour.Number)
	out := casting.DueSet{ID: fmt.Sprintf("set-%s-%d-%s-%s", number, set.batch, x.Cure, daysFigure(x.NominalHours)), Pour: number, Href: l.head.Path("pours", number),
		Title: fmt.Sprintf("batch %d, %s, %s, %s", set.batch, kindName(string(x.Kind)), cureWords(string(x.Cure)), ageText(x.NominalHours)),
		Ends:  l.endLinks(l.list, set.pour.ID), Due: l.day(d.At), Window: l.day(d.From) + " to " + l.day(d.To), Mark: dueMark(d.State),
		Note: strings.TrimPrefix(l.dueNote(d), ", ")}
	out.Report, out.AgeNow = l.head.Path("laboratory", "pours", number), ageText(max(0, l.now.Sub(x.Cast).Hours()))
	if sg := d.Suggest(uhpc.HoursOf(l.zone, nil, l.basis), l.now); sg.At.IsZero() {
		out.Suggest = sg.Why
	} else {
		out.Suggest = "best broken " + l.day(sg.At) + suggestNote(sg)
	}
	if x.Duty != uhpc.QualityControl {
		out.Title += ", " + plainWord(string(x.Duty))
	}
	for _, sp := range set.rows {
		out.Rows = append(out.Rows, l.row(sp))
	}
	return out
}

// row is the boxes for one specimen, with what was sent if it was this one.
func (l *labReader) row(sp repair.Specimen) casting.DueRow {
	info, _ := uhpc.Kind(sp.Kind).Info()
	row := casting.DueRow{Href: l.head.Path("laboratory", "specimens", sp.Mark), Mark: sp.Mark, Form: "break-" + sp.Mark, Cube: info.Cube, GroundName: "ends_ground-" + sp.Mark}
	typed := breakForm{"tested_by": l.tester, "machine": l.machine}
	var bad *fault.Invalid
	if strings.EqualFold(l.sent.form["mark"], sp.Mark) {
		typed, bad = l.sent.form, l.sent.bad
		row.Entry = typed["entry"]
	}
	row.Ground = typed["ends_ground"] != ""
	box := func(name, label, unit, kind, mode string) {
		id := name + "-" + sp.Mark
		why := bad.Of(id)
		row.Inputs = append(row.Inputs, casting.Input{ID: "f-" + id, Name: name, Label: label, Unit: unit, Type: kind, Mode: mode, Value: typed[name], Bad: why != nil})
		if why != nil {
			row.Reasons = append(row.Reasons, *why)
		}
	}
	length := units.Lengths.Label(l.sys)
	one, other := "Diameter", "at 90°"
	if info.Cube {
		one, other = "Side", "other side"
	}
	box("broken_at", "Broken at", "", "datetime-local", "")
	box("load", "Load", units.Forces.Label(l.sys), "text", "decimal")
	box("width_1", one, length, "text", "decimal")
	box("width_2", other, length, "text", "decimal")
	box("height", "Height", length, "text", "decimal")
	box("machine", "Machine", units.Forces.Label(l.sys), "text", "decimal")
	box("tested_by", "Tested by", "", "text", "")
	row.Reasons = append(row.Reasons, badOf(bad, "fracture-"+sp.Mark, "mark-"+sp.Mark)...)
	row.Fractures = casting.Input{ID: "f-fracture-" + sp.Mark, Name: "fracture", Label: "Fracture", Value: typed["fracture"], Options: fractures}
	return row
}

func badOf(v *fault.Invalid, fields ...string) []fault.Field {
	var out []fault.Field
	for _, f := range fields {
		if x := v.Of(f); x != nil {
			out = append(out, *x)
		}
	}
	return out
}

// fractures are the types of ASTM C39, in our words (from memory).
var fractures = []ui.Option{{Value: "", Label: "–"}, {Value: "1", Label: "1 cones at both ends"}, {Value: "2", Label: "2 cone at one end"},
	{Value: "3", Label: "3 cracks along, no cones"}, {Value: "4", Label: "4 slanted"}, {Value: "5", Label: "5 side broken at an end"}, {Value: "6", Label: "6 pointed end"}}

// recent are the breaks of the last days, the latest first.
func (l *labReader) recent() []casting.Specimen {
	pour := map[string]repair.Pour{}
	for _, p := range l.list.Pours {
		pour[p.ID] = p
	}
	var broken []repair.Specimen
	for _, sp := range l.list.Specimens {
		if sp.BrokenAt != nil {
			broken = append(broken, sp)
		}
	}
	slices.SortFunc(broken, func(a, b repair.Specimen) int {
		return cmp.Or(b.BrokenAt.Compare(*a.BrokenAt), cmp.Compare(a.Mark, b.Mark))
	})
	var out []casting.Specimen
	for _, sp := range broken {
		refused := slices.ContainsFunc(l.list.Batches, func(b repair.Batch) bool { return b.PourID == sp.PourID && b.Number == sp.BatchNo && b.Refused })
		row, _ := l.specimen(sp, pour[sp.PourID], refused)
		out = append(out, row)
	}
	return out
}
