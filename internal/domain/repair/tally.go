package repair

import (
	"math"
	"strconv"
	"strings"
	"sync"
	"time"

	"endcast/internal/domain/sequence"
	"endcast/internal/domain/stud"
)

// Marks are what one end adds to the counts of its program: a count by mark. A mark
// is a kind and its parts with a bar between them. The counts of a program are the
// sums over its ends, so that an edit changes them by what its ends changed.
type Marks map[string]int64

// EndTally is what an end adds to the counts of its program, derived from the record.
type EndTally struct {
	EndID     string `db:"end_id" json:"end_id"`
	ProgramID string `db:"program_id" json:"program_id"`
	Marks     Marks  `db:"marks" json:"marks"`
}

// Kinds of mark, with their parts. Days are days of the program's time zone, as
// "2006-01-02", quarters of an hour are of UTC; spans of time are whole days, rounded.
const (
	MarkEnd      = "end"      // access, day it joined
	MarkOpen     = "open"     // access, step, track, reason
	MarkIn       = "in"       // step, day the end came to it
	MarkLine     = "line"     // support, face, "open" or "closed"
	MarkBegun    = "begun"    // access, day of the first finished step
	MarkStanding = "standing" // of an end begun and not closed: day of the first finished step
	MarkClosed   = "closed"   // access, day of the last finished step
	MarkThrough  = "through"  // days from the first finished step to closed
	MarkPassed   = "passed"   // step, days in it
	MarkPast     = "past"     // step: finished
	MarkFree     = "free"     // open, nothing in the way
	MarkBlocked  = "blocked"  // open, and blocked
	MarkLeft     = "left"     // step: still asked
	MarkWorked   = "worked"   // kind of window, quarter of an hour: a step completed
	MarkTried    = "tried"    // step: completions
	MarkReturned = "returned" // step: returns
	MarkNC       = "nc"       // cause, disposition, "open" or "closed"
	MarkNCEnd    = "ncend"    // "any", or "rework" where something was repaired or done again
	MarkStud     = "stud"     // Monday of the week: studs with a finding
	MarkRejected = "rejected" // Monday of the week: studs rejected
	MarkDone     = "done"     // item: quantity to date
	MarkFinal    = "final"    // item: quantity when done, of ends where it is known
	MarkKnown    = "known"    // item: ends where it is known
	MarkToGo     = "togo"     // kind of window: steps still to be worked in windows of it
	MarkToGoEnd  = "togoend"  // kind of window: an open end whose next step in a window is of it
	MarkShort    = "short"    // open, and carries less than it must
	MarkReview   = "review"   // its latest design waits for review
	MarkOldBasis = "oldbasis" // its design is out of date
	MarkStale    = "stale"    // step: done, and the design that it was done on is out of date
)

// Items that are paid for, as marks count them.
const (
	ItemEnd    = "end"    // each
	ItemStud   = "stud"   // each
	ItemVolume = "volume" // millilitres
	ItemCore   = "core"   // each
	ItemArea   = "area"   // square millimetres of web, both faces
)

// QuarterHour is the form of a time in MarkWorked.
const QuarterHour = "2006-01-02T15:04"

// bar may not be within a part: texts of people become parts.
var bar = strings.NewReplacer("|", "/")

func (m Marks) add(n int64, parts ...string) {
	if n == 0 {
		return
	}
	for i, p := range parts {
		parts[i] = bar.Replace(p)
	}
	m[strings.Join(parts, "|")] += n
}

// zones are the time zones that were looked up, by name: looking up reads a file.
var zones sync.Map

// Zone is the time zone that the program works in; UTC where its name is unknown.
func (p Program) Zone() *time.Location {
	if z, ok := zones.Load(p.Timezone); ok {
		return z.(*time.Location)
	}
	z, err := time.LoadLocation(p.Timezone)
	if err != nil {
		z = time.UTC
	}
	zones.Store(p.Timezone, z)
	return z
}

// Day is the program's day of a moment: midnight of UTC of that date, so that days
// can be counted whole.
func (p Program) Day(t time.Time) time.Time {
	y, m, d := t.In(p.Zone()).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

func (p Program) dayOf(t time.Time) string { return p.Day(t).Format(time.DateOnly) }

// weekOf is the Monday of the week of a time.
func (p Program) weekOf(t time.Time) string {
	d := p.Day(t)
	return d.AddDate(0, 0, -(int(d.Weekday())+6)%7).Format(time.DateOnly)
}

// DaysBetween is how many days lie between two moments, rounded to whole ones.
func DaysBetween(from, to time.Time) int { return int(math.Round(to.Sub(from).Hours() / 24)) }

// tally counts what the end adds, given where it stands.
func (r *Record) tally(s *Scope, status sequence.Status, started time.Time) EndTally {
	m := Marks{}
	e, st := r.End, r.State[0]
	m.add(1, MarkEnd, e.Access, s.Program.dayOf(e.CreatedAt))
	standing := "open"
	if status.Closed {
		standing = "closed"
	} else {
		m.add(1, MarkOpen, e.Access, st.StepCode, st.Track, st.Reason)
		if st.Track == "" {
			m.add(1, MarkFree)
		} else {
			m.add(1, MarkBlocked)
		}
		if status.Current != nil {
			m.add(1, MarkIn, st.StepCode, s.Program.dayOf(status.Since))
		}
	}
	m.add(1, MarkLine, st.SupportCode, e.Face, standing)
	passes := status.Passes(started)
	for _, p := range passes {
		m.add(1, MarkPast, p.Step.Code)
		m.add(1, MarkPassed, p.Step.Code, strconv.Itoa(DaysBetween(p.From, p.To)))
	}
	if len(passes) > 0 {
		first, last := passes[0].To, passes[0].To
		for _, p := range passes {
			first, last = earlierOf(first, p.To), laterOf(last, p.To)
		}
		m.add(1, MarkBegun, e.Access, s.Program.dayOf(first))
		if status.Closed {
			m.add(1, MarkClosed, e.Access, s.Program.dayOf(last))
			m.add(1, MarkThrough, strconv.Itoa(DaysBetween(first, last)))
		} else {
			m.add(1, MarkStanding, s.Program.dayOf(first))
		}
	}
	next := true
	for _, x := range status.All {
		if !x.Waits() {
			continue
		}
		m.add(1, MarkLeft, x.Step.Code)
		if kind := windowOf(x.Step.Window, e); kind != "" {
			m.add(1, MarkToGo, kind)
			if next {
				m.add(1, MarkToGoEnd, kind)
			}
			next = false
		}
	}
	if !status.Closed && st.Capacity != nil && *st.Capacity < st.Demand {
		m.add(1, MarkShort)
	}
	if st.DesignState == DesignSubmitted {
		m.add(1, MarkReview)
	}
	if st.OutOfDate {
		m.add(1, MarkOldBasis)
	}
	for _, x := range status.Done {
		if !st.OutOfDate {
			break
		}
		for _, q := range x.Step.Requires {
			if q.Condition == sequence.ApprovedCurrentDesign {
				m.add(1, MarkStale, x.Step.Code)
			}
		}
	}
	r.tallyRecords(s, m)
	r.tallyQuality(s.Program, m)
	r.tallyItems(s, status, m)
	return EndTally{EndID: e.ID, ProgramID: e.ProgramID, Marks: m}
}

func earlierOf(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func laterOf(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// windowOf is the kind of window that a step is worked in at an end; empty where any
// time will do.
func windowOf(kind string, e End) string {
	if kind == sequence.OwnWindow {
		return e.Access
	}
	return kind
}

func (r *Record) tallyRecords(s *Scope, m Marks) {
	step := map[string]StepRow{}
	for _, x := range s.Steps {
		step[x.ID] = x
	}
	for _, x := range r.StepRecords {
		row, ok := step[x.StepID]
		if !ok {
			continue
		}
		switch x.Kind {
		case string(sequence.Completed):
			m.add(1, MarkTried, row.Code)
			if kind := windowOf(row.WindowKind, r.End); kind != "" {
				m.add(1, MarkWorked, kind, x.CapturedAt.UTC().Truncate(15*time.Minute).Format(QuarterHour))
			}
		case string(sequence.Returned):
			m.add(1, MarkReturned, row.Code)
		}
	}
}

func (r *Record) tallyQuality(program Program, m Marks) {
	rework := false
	for _, n := range r.Nonconformances {
		state := "open"
		if n.ClosedAt != nil {
			state = "closed"
		}
		m.add(1, MarkNC, CauseOf(n.Cause), n.Disposition, state)
		rework = rework || n.Disposition == "repair" || n.Disposition == "rework"
	}
	if len(r.Nonconformances) > 0 {
		m.add(1, MarkNCEnd, "any")
	}
	if rework {
		m.add(1, MarkNCEnd, "rework")
	}
	type place struct{ design, mark string }
	first, bad := map[place]time.Time{}, map[place]bool{}
	for _, c := range r.Collars {
		p := place{c.DesignID, c.Mark}
		if at, ok := first[p]; !ok || c.CapturedAt.Before(at) {
			first[p] = c.CapturedAt
		}
		switch stud.Outcome(c.Outcome) {
		case stud.Rejected, stud.Removed, stud.BentFail, stud.Replaced:
			bad[p] = true
		}
	}
	for p, at := range first {
		m.add(1, MarkStud, program.weekOf(at))
		if bad[p] {
			m.add(1, MarkRejected, program.weekOf(at))
		}
	}
}

// CauseLength is how many characters of a cause tell it from others when causes are
// counted.
const CauseLength = 100

// CauseOf is a cause as it is counted: people write it by hand.
func CauseOf(text string) string {
	words := []rune(strings.ToLower(strings.Join(strings.Fields(text), " ")))
	if len(words) > CauseLength {
		words = words[:CauseLength]
	}
	return strings.TrimRight(string(words), ". ")
}

// tallyItems counts quantities. The final one of an end is what its design asks for,
// or what was placed where that is more; an end without a design has none yet.
func (r *Record) tallyItems(s *Scope, status sequence.Status, m Marks) {
	item := func(name string, done, final float64, known bool) {
		m.add(int64(math.Round(done)), MarkDone, name)
		if known {
			m.add(int64(math.Round(max(done, final))), MarkFinal, name)
			m.add(1, MarkKnown, name)
		}
	}
	closed := 0.0
	if status.Closed {
		closed = 1
	}
	item(ItemEnd, closed, 1, true)
	cores := 0.0
	for _, c := range r.DeckCores {
		if c.Outcome == "accepted" {
			cores++
		}
	}
	item(ItemCore, cores, cores, cores > 0)
	placed := 0.0
	for _, pe := range s.PourEnds {
		if pe.EndID == r.End.ID && pe.VolumeL != nil {
			placed += *pe.VolumeL * 1000
		}
	}
	d := r.DesignInForce()
	if d == nil {
		item(ItemVolume, placed, placed, placed > 0)
		return
	}
	asked := 0.0
	marks := map[string]bool{}
	for _, x := range r.Studs {
		if x.DesignID == d.ID && !x.Removed {
			asked++
			marks[x.Mark] = true
		}
	}
	kept := 0.0
	for mark, c := range r.LatestCollars(d.ID) {
		if marks[mark] && stud.Counts(stud.Outcome(c.Outcome)) {
			kept++
		}
	}
	item(ItemStud, kept, asked, true)
	volume := 0.0
	if f, err := r.CastingForm(nil, s); err == nil {
		volume = float64(f.Net) / 1000 // mm³ to ml
	}
	final := volume
	if placed > 0 {
		final = placed
	}
	item(ItemVolume, placed, final, final > 0)
	area := 2 * float64(d.PanelWidth) * float64(d.PanelHeight)
	cleaned := 0.0
	for _, x := range status.Done {
		for _, q := range x.Step.Requires {
			if q.Condition == sequence.CleaningAccepted {
				cleaned = area
			}
		}
	}
	item(ItemArea, cleaned, area, true)
}
