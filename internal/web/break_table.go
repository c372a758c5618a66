package web

import (
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// paste is the empty box for a table.
func (c *castReader) paste() casting.Paste {
	var names []string
	for _, col := range pasteColumns[:unheaded] {
		names = append(names, col.words)
	}
	v := casting.Paste{Action: c.head.Path("laboratory", "table"), Confirm: c.head.Path("laboratory", "table", "record"), Laboratory: c.head.Path("laboratory"),
		Columns: strings.Join(names, ", "), LoadUnit: units.Forces.Label(c.sys), Lengths: units.Lengths.Label(c.sys), Stress: units.Stresses.Label(c.sys), Zone: c.zoneNote(),
		Example: "P012-01\t2027-05-07 22:10\t112.4\t3.01\t3.00\t5.96\tyes\t3\tJ. Doe\t400"}
	if c.sys == units.SI {
		v.Example = "P012-01\t2027-05-07 22:10\t500\t76.3\t76.2\t151\tyes\t3\tJ. Doe\t1800"
	}
	return v
}

// breakTable shows what is read in a pasted table; it stores nothing.
func (s *Server) breakTable(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	t, err := s.readBreaks(r, c, r.PostFormValue("table"))
	if err != nil {
		return err
	}
	status := http.StatusOK
	if t.view.Why != "" || t.view.Wrong > 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.tablePage(w, r, c, status, t.view)
}

// breakTableRecord records a table as one entry: all of it or nothing.
func (s *Server) breakTableRecord(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	t, err := s.readBreaks(r, c, r.PostFormValue("table"))
	if err != nil {
		return err
	}
	t.view.Entry = r.PostFormValue("entry")
	if t.view.Why != "" || (t.view.Wrong > 0 && !t.onlyBroken) {
		return s.tablePage(w, r, c, http.StatusUnprocessableEntity, t.view)
	}
	rec, err := s.edit(r, t.refs, time.Time{}, t.change)
	if fault.KindOf(err) == fault.Fields || fault.KindOf(err) == fault.Refused {
		return s.tablePage(w, r, c, http.StatusUnprocessableEntity, t.view)
	}
	if err != nil {
		return err
	}
	if !rec.Repeated {
		s.flash(r, ui.Done, ui.Sentence(counted(len(t.change.Breaks), "break is", "breaks are")+" on record"))
	}
	return seeOther(w, r, c.head.Path("laboratory"))
}

func (s *Server) tablePage(w http.ResponseWriter, r *http.Request, c *castReader, status int, v casting.Paste) error {
	p := s.page(r, "Table of breaks", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Laboratory", Href: c.head.Path("laboratory")})
	return s.render(w, r, status, casting.PastePage(p, v))
}

// breakTableRead is a pasted table, read and tried on the record.
type breakTableRead struct {
	view   casting.Paste
	change repair.RecordBreaks
	refs   []db.EndRef
	// onlyBroken: all that speaks against the rows is that they are broken already,
	// which is also so when the same table comes a second time; the door knows.
	onlyBroken bool
}

var breakField = regexp.MustCompile(`^breaks-(\d+)-(.*)$`)

// readBreaks reads a table and tries it on a copy of the record, so that the page
// shows every row that the record would refuse, and what the others give.
func (s *Server) readBreaks(r *http.Request, c *castReader, text string) (breakTableRead, error) {
	out := breakTableRead{view: c.paste()}
	v := &out.view
	v.Text = text
	t, err := partTable(text)
	if err != nil {
		v.Why = err.Error()
		return out, nil
	}
	if len(t.unread) > 0 {
		v.Unread = "Columns that mean nothing here: " + strings.Join(t.unread, ", ") + "."
	}
	var marks []string
	bad := make([]fault.Invalid, len(t.rows))
	for i, row := range t.rows {
		ch := readPasted(c, row, &bad[i])
		out.change.Breaks = append(out.change.Breaks, ch)
		marks = append(marks, ch.Mark)
	}
	id := c.head.ID.String()
	if out.refs, err = s.store.EndsOfSpecimens(r.Context(), id, marks); err != nil {
		return out, err
	}
	scope := c.frame
	if len(out.refs) > 0 {
		ids := make([]string, len(out.refs))
		for i, ref := range out.refs {
			ids[i] = ref.ID
		}
		if scope, err = s.store.Ends(r.Context(), id, ids); err != nil {
			return out, err
		}
	}
	if scope, err = s.withMockups(r, c, scope, marks); err != nil {
		return out, err
	}
	waiting, err := s.store.SpecimenMarks(r.Context(), id, true)
	if err != nil {
		return out, err
	}
	trial := scope.Clone()
	out.onlyBroken = true
	out.try(trial, c, bad, s.actor(r))
	for i, row := range t.rows {
		v.Rows = append(v.Rows, c.pastedView(row, out.change.Breaks[i], trial, scope, &bad[i], waiting))
		if bad[i].Err() != nil {
			v.Wrong++
		} else {
			v.Good++
		}
	}
	return out, nil
}

// readPasted reads the cells of one row.
func readPasted(c *castReader, row pastedRow, bad *fault.Invalid) repair.RecordBreak {
	if row.odd != "" {
		bad.Add("", "", "%s", row.odd)
	}
	f := breakForm{}
	for k, v := range row.cells {
		f[k] = v
	}
	ground, known := groundWords(f["ends_ground"])
	if !known {
		bad.Add("ends_ground", f["ends_ground"], "must be yes or no, got %q", f["ends_ground"])
	}
	f["ends_ground"] = map[bool]string{true: "on", false: ""}[ground]
	f["broken_at"] = strings.Replace(f["broken_at"], " ", "T", 1)
	if f["mark"] == "" {
		bad.Add("mark", "", "the mark is missing")
	}
	ch, more := f.read(c)
	for _, x := range more.Fields {
		if x.Field == "broken_at" && x.Typed != "" {
			x.Typed = row.cells["broken_at"]
			x.Reason = fmt.Sprintf("must be a date and a time such as 2027-05-07 22:10, got %q", x.Typed)
		}
		bad.Fields = append(bad.Fields, x)
	}
	return ch
}

// try applies the rows that could be read to a copy of the record, one by one, so
// that a bad row hides no other, and adds what the record refuses.
func (t *breakTableRead) try(trial *repair.Scope, c *castReader, bad []fault.Invalid, who repair.Actor) {
	first := map[string]int{}
	for i, b := range t.change.Breaks {
		mark := strings.ToUpper(b.Mark)
		if n, twice := first[mark]; twice && mark != "" {
			bad[i].Add("mark", b.Mark, "is in row %d of the table already; a specimen breaks once", n)
		}
		first[mark] = i + 1
		if bad[i].Err() != nil {
			t.onlyBroken = false
			continue
		}
		err := repair.RecordBreaks{Breaks: []repair.RecordBreak{b}}.Apply(trial, repair.Context{Actor: who, Now: c.now, Captured: c.now, NewID: uuid.NewString})
		var v *fault.Invalid
		if !errors.As(err, &v) {
			continue
		}
		known := slices.ContainsFunc(trial.Specimens, func(sp repair.Specimen) bool { return strings.EqualFold(sp.Mark, b.Mark) && sp.BrokenAt != nil })
		t.onlyBroken = t.onlyBroken && known
		for _, x := range v.Fields {
			if m := breakField.FindStringSubmatch(x.Field); m != nil {
				x.Field = m[2]
			}
			bad[i].Fields = append(bad[i].Fields, x)
		}
	}
}

// pastedView prints one row: both ages, both strengths, and what speaks against it.
func (c *castReader) pastedView(row pastedRow, b repair.RecordBreak, trial, scope *repair.Scope, bad *fault.Invalid, waiting []string) casting.PasteRow {
	v := casting.PasteRow{Line: strconv.Itoa(row.line), Mark: row.cells["mark"], Broken: row.cells["broken_at"], Load: row.cells["load"], Nominal: "–", Actual: "–", Raw: "–", Value: "–"}
	if !b.BrokenAt.IsZero() {
		v.Broken = c.day(b.BrokenAt)
	}
	for _, x := range bad.Fields {
		p := casting.PasteProblem{Column: wordsOf(x.Field), Typed: row.cells[x.Field], Reason: x.Reason}
		if x.Field == "mark" && v.Mark != "" && !hasMark(scope, v.Mark) {
			p.Near = repair.NearMarks(v.Mark, waiting, 3)
		}
		v.Problems = append(v.Problems, p)
	}
	if len(v.Problems) > 0 {
		v.State = ui.Mark{State: ui.Stop, Text: "cannot be taken"}
		return v
	}
	for _, sp := range trial.Specimens {
		if !strings.EqualFold(sp.Mark, b.Mark) || sp.Raw == nil || sp.Strength == nil {
			continue
		}
		x := repair.SpecimenOf(sp, repair.Pour{})
		br := x.Break(nil, c.basis)
		v.Mark, v.Nominal, v.Actual = sp.Mark, ageText(x.NominalHours), ageText(br.AgeHours)
		if br.Timing != uhpc.OnTime {
			v.Timing = timingMark(br.Timing)
		}
		v.Load = units.Forces.Figure(float64(b.Load), c.sys, -1)
		v.Raw, v.Value = c.strengthFigure(*sp.Raw), c.strengthFigure(*sp.Strength)
		v.State = ui.Mark{State: ui.Good, Text: "counts"}
		if sp.Held != "" {
			v.State, v.Why = ui.Mark{State: ui.Caution, Text: "held"}, br.Why
		}
		v.Why = append(v.Why, br.Notes...)
	}
	return v
}

func hasMark(s *repair.Scope, mark string) bool {
	return slices.ContainsFunc(s.Specimens, func(sp repair.Specimen) bool { return strings.EqualFold(sp.Mark, mark) })
}

// withMockups adds to a scope the castings of marks that no end of it has: those of
// a mock-up. Marks that no specimen has are passed over.
func (s *Server) withMockups(r *http.Request, c *castReader, scope *repair.Scope, marks []string) (*repair.Scope, error) {
	cloned := false
	for _, mark := range marks {
		if mark == "" || hasMark(scope, mark) {
			continue
		}
		list, err := s.store.CastingOfSpecimen(r.Context(), c.head.ID.String(), mark)
		if fault.KindOf(err) == fault.NotFound {
			continue
		}
		if err != nil {
			return nil, err
		}
		if !cloned {
			scope, cloned = scope.Clone(), true
		}
		scope.Pours, scope.Batches, scope.Specimens = append(scope.Pours, list.Pours...), append(scope.Batches, list.Batches...), append(scope.Specimens, list.Specimens...)
	}
	return scope, nil
}
