package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"
	_ "time/tzdata" // the program's time zone must be known on a machine that has no list of its own

	"endcast/internal/db"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// castReader turns castings into texts for one reader: in the reader's units and
// the program's own time.
type castReader struct {
	head  ProgramHead
	frame *repair.Scope
	basis basis.Basis
	sys   units.System
	zone  *time.Location
	now   time.Time
}

// openCastings loads what every page of castings needs of the program.
func (s *Server) openCastings(r *http.Request) (*castReader, error) {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return nil, err
	}
	return &castReader{head: head, frame: frame, basis: frame.Basis(), sys: s.units(r), zone: zoneOf(frame.Program), now: s.store.Today(frame.Program)}, nil
}

// day prints a moment with its weekday, since a laboratory plans by it.
func (c *castReader) day(t time.Time) string { return t.In(c.zone).Format("Mon 2006-01-02 15:04") }

// clock prints a moment on the day of a pour.
func (c *castReader) clock(t, start time.Time) string {
	t, start = t.In(c.zone), start.In(c.zone)
	if t.YearDay() == start.YearDay() && t.Year() == start.Year() {
		return t.Format("15:04")
	}
	return t.Format("Mon 15:04")
}

// night tells whether a moment lies between eight in the evening and six in the
// morning.
func (c *castReader) night(t time.Time) bool {
	h := t.In(c.zone).Hour()
	return h >= 20 || h < 6
}

// span says when a pour began and ended.
func (c *castReader) span(p repair.Pour) string {
	s := c.day(p.StartedAt)
	if p.EndedAt != nil {
		s += " to " + c.clock(*p.EndedAt, p.StartedAt)
	}
	return s
}

// zoneNote names the zone of the times with how far it lies from UTC today.
func (c *castReader) zoneNote() string {
	if c.zone == time.UTC {
		return "Times are of UTC."
	}
	return "Times are of " + c.zone.String() + ", now UTC" + c.now.In(c.zone).Format("-07:00") + "."
}

// moment reads what a box for date and time holds, in the program's zone, and
// refuses a time that the change to summer time leaves out.
func (c *castReader) moment(bad *fault.Invalid, field, text string) time.Time {
	t, err := momentTyped(field, text, c.zone)
	if err != nil {
		bad.Add(field, text, "must be a date and a time such as 2026-04-30 21:15, got %q", text)
		return time.Time{}
	}
	if t.IsZero() {
		return t
	}
	t = t.In(c.zone)
	if len(text) >= 16 && t.Format("15:04") != text[11:16] {
		bad.Add(field, text, "there is no such time on this day: the clocks go forward past it, to %s", t.Format("15:04"))
	}
	return t
}

// quantity reads a box; an empty one gives nil.
func (c *castReader) quantity(bad *fault.Invalid, field, text string, k units.Kind) *float64 {
	if text == "" {
		return nil
	}
	v, err := k.Parse(text, c.sys)
	if err != nil {
		bad.Add(field, text, "%s", err.Error())
		return nil
	}
	return &v
}

// as turns a read number into a quantity.
func as[Q ~float64](v *float64) *Q {
	if v == nil {
		return nil
	}
	return new(Q(*v))
}

// figureAs prints a stored value without its unit, as it was typed where that
// still says the same.
func (c *castReader) figureAs(typed repair.Typed, column string, k units.Kind, v float64) string {
	if text := typed[column]; text != "" {
		if x, err := k.Parse(text, c.sys); err == nil && x == v {
			return text
		}
	}
	if text := k.Exact(v, c.sys); len(text) <= 6 {
		return text // as somebody must have typed it
	}
	return k.Figure(v, c.sys, -1)
}

// strength prints a strength with the two decimals that tell 13.95 from 14.
func (c *castReader) strength(f units.Stress) string {
	return units.Stresses.Format(float64(f), c.sys, 2)
}

func (c *castReader) strengthFigure(f units.Stress) string {
	return units.Stresses.Figure(float64(f), c.sys, 2)
}

// endLinks are the ends of a pour by name.
func (c *castReader) endLinks(list db.CastingList, pourID string) []casting.Link {
	var out []casting.Link
	for _, pe := range list.PourEnds {
		if name := list.EndNames[pe.EndID]; pe.PourID == pourID && name != "" {
			out = append(out, casting.Link{Text: name, Href: c.head.Path("ends", name)})
		}
	}
	slices.SortFunc(out, func(a, b casting.Link) int { return compareNames(a.Text, b.Text) })
	return out
}

// compareNames puts shorter names first, so that 2F-3 comes before 10F-3.
func compareNames(a, b string) int {
	if len(a) != len(b) {
		return len(a) - len(b)
	}
	if a < b {
		return -1
	}
	if a > b {
		return 1
	}
	return 0
}

// setReading is a set of specimens with what it says against its limit.
type setReading struct {
	set     uhpc.Set
	number  int // of the batch
	stats   uhpc.Stats
	limit   units.Stress // 0: shown for information
	against string
	mark    ui.Mark
	why     string
	refused bool // its batch was refused
	// lost and waiting are the unbroken ones: gone for good, and still to be broken at
	// their age. What is kept to spare is neither.
	lost, waiting int
}

// unbroken counts what the set has left to break.
func (r *setReading) unbroken(all []repair.Specimen) {
	for _, x := range r.set.Specimens {
		if i := slices.IndexFunc(all, func(sp repair.Specimen) bool { return sp.Mark == x.Mark }); i >= 0 {
			switch sp := all[i]; {
			case sp.LostAt != nil:
				r.lost++
			case awaited(sp):
				r.waiting++
			}
		}
	}
}

// sets groups the specimens of a pour and reads each set against the limit that
// its curing serves: field-cured sets the strength that releases the form,
// standard-cured ones of 28 days and more the specified strength.
func (c *castReader) sets(p repair.Pour, list db.CastingList) []setReading {
	refused := map[string]bool{}
	number := map[string]int{}
	var gone []uhpc.Specimen
	for _, b := range list.Batches {
		if b.PourID == p.ID {
			key := batchKey(p, b.Number)
			refused[key], number[key] = b.Refused, b.Number
		}
	}
	for _, sp := range list.Specimens {
		if sp.PourID == p.ID && refused[batchKey(p, sp.BatchNo)] {
			gone = append(gone, repair.SpecimenOf(sp, p))
		}
	}
	// Those of refused batches are in no set that counts; they are shown all the same.
	sets := append(repair.BuildSets(p, list.Batches, list.Specimens, list.SetReviews), uhpc.Sets(gone)...)
	slices.SortStableFunc(sets, func(a, b uhpc.Set) int {
		switch {
		case a.NominalHours < b.NominalHours:
			return -1
		case a.NominalHours > b.NominalHours:
			return 1
		}
		return number[a.Batch] - number[b.Batch]
	})
	var out []setReading
	for _, set := range sets {
		r := setReading{set: set, number: number[set.Batch], stats: set.Stats(c.basis), refused: refused[set.Batch]}
		r.unbroken(list.Specimens)
		c.judge(&r)
		out = append(out, r)
	}
	return out
}

func batchKey(p repair.Pour, number int) string { return fmt.Sprintf("P%03d-%d", p.Number, number) }

// judge marks a set.
func (c *castReader) judge(r *setReading) {
	switch {
	case r.set.Cure != uhpc.StandardCure:
		r.limit, r.against = units.Stress(c.basis.Value(basis.StripStrength)), "to strip"
	case r.set.NominalHours >= 28*24:
		r.limit, r.against = units.Stress(c.basis.Value(basis.FinalStrength)), "specified"
	default:
		r.against = "for information"
	}
	if r.limit > 0 {
		r.against = "of " + c.strength(r.limit) + " " + r.against
	}
	due := r.set.Specimens[0].Cast.Add(time.Duration(r.set.NominalHours * float64(time.Hour)))
	switch {
	case r.refused:
		r.mark, r.why = ui.Mark{State: ui.Void, Text: "batch refused"}, "its batch was refused, so it proves nothing of the panel"
	case r.lost == len(r.set.Specimens):
		r.mark, r.why = ui.Mark{State: ui.Stop, Text: "lost"}, "every specimen of it was lost: the set proves nothing, and another must answer for it"
	case r.stats.Broken == 0 && r.waiting == 0:
		r.mark = ui.Mark{State: ui.Open, Text: "to spare"}
		if r.lost > 0 {
			r.why = fmt.Sprintf("%d lost", r.lost)
		}
	case r.stats.Broken == 0 && c.now.After(due.Add(time.Duration(uhpc.ToleranceHours(r.set.NominalHours, c.basis)*float64(time.Hour)))):
		r.mark = ui.Mark{State: ui.Stop, Text: "late"}
	case r.stats.Broken == 0:
		r.mark = ui.Mark{State: ui.Wait, Text: "waits"}
	case r.stats.State == uhpc.TooFew && r.stats.Broken < r.stats.Cast && r.lost < r.stats.Cast-r.stats.Broken:
		r.mark = ui.Mark{State: ui.Wait, Text: fmt.Sprintf("%d of %d broken", r.stats.Broken, r.stats.Cast)}
	case r.limit == 0 && r.stats.State == uhpc.Sound:
		r.mark = ui.Mark{State: ui.Active, Text: "read"}
	case r.limit == 0:
		r.mark, r.why = ui.Mark{State: ui.Caution, Text: "does not count"}, r.stats.Why
	default:
		check := uhpc.Release{Set: r.set, Limit: r.limit}.Check(nil, c.basis)
		switch check.Verdict {
		case calc.Passes:
			r.mark = ui.Mark{State: ui.Good, Text: "reached"}
		case calc.Fails:
			r.mark = ui.Mark{State: ui.Stop, Text: "below"}
		default:
			r.mark = ui.Mark{State: ui.Caution, Text: "does not count"}
		}
		r.why = r.stats.Why
		for _, l := range check.Limits {
			// The first limit is whether the set counts, which Why has said in full.
			if !l.Met && r.stats.State == uhpc.Sound {
				r.why = joinWords(r.why, l.Text)
			}
		}
	}
}

func joinWords(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

// ageText prints a nominal age: 4 d, 28 d, 36 h.
func ageText(hours float64) string { return uhpc.AgeText(hours) }

// ageWords prints an age in days as a form has it.
func daysFigure(hours float64) string { return strconv.FormatFloat(hours/24, 'g', -1, 64) }

// cureWords are the words of a curing.
func cureWords(cure string) string { return cure + " cured" }

func kindName(kind string) string {
	if info, ok := uhpc.Kind(kind).Info(); ok {
		return info.Name
	}
	return kind
}

// findingLines are findings in words, each with the source of its limit.
func (c *castReader) findingLines(where string, list []uhpc.Finding) []casting.CheckLine {
	var out []casting.CheckLine
	for _, f := range list {
		m := ui.Mark{State: ui.Void, Text: "note"}
		switch f.Grade {
		case uhpc.Stop:
			m = ui.Mark{State: ui.Stop, Text: "stop"}
		case uhpc.Warn:
			m = ui.Mark{State: ui.Caution, Text: "warning"}
		}
		out = append(out, casting.CheckLine{Mark: m, Where: where, Text: ui.Sentence(f.Text(c.sys)), From: f.Source + " (" + string(f.Tag) + ")"})
	}
	return out
}
