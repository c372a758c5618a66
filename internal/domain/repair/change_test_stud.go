package repair

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// StudPositions are the positions in which studs are welded: on a web standing
// upright, downhand on a flange, or overhead.
func StudPositions() []string { return []string{"vertical", "flat", "overhead"} }

// RecordTestStuds is the set-up test of a stud welder. Two studs at the start of a
// shift and again after any change of the setting, a full collar and a bend of 30
// degrees: the bend and the look are read in TI 809-26, the count is from memory of
// the welding code. All of it is a setting of the design basis.
type RecordTestStuds struct {
	ShiftOn     string        `json:"shift_on"` // "": the shift in which it was seen, which the caller knows
	Position    string        `json:"position"`
	SetUp       string        `json:"set_up"`
	Diameter    units.Length  `json:"diameter"`
	Welder      string        `json:"welder"`
	Equipment   string        `json:"equipment"`
	CurrentA    *float64      `json:"current_a"`
	TimeS       *float64      `json:"time_s"`
	Lift        *units.Length `json:"lift"`
	Plunge      *units.Length `json:"plunge"`
	Tested      int           `json:"tested"`
	BendDeg     float64       `json:"bend_deg"`
	BendClock   *int          `json:"bend_clock"`
	CollarFull  bool          `json:"collar_full"`
	Cracked     bool          `json:"cracked"`
	AfterChange bool          `json:"after_change"`
	Outcome     string        `json:"outcome"`
	Note        string        `json:"note"`
	Typed       Typed         `json:"typed"`
}

// Kind implements Change.
func (RecordTestStuds) Kind() string { return "test_stud.record" }

// Apply implements Change.
func (ch RecordTestStuds) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	checked(&bad, ch.Outcome, ch.Note)
	if on, err := time.Parse(time.DateOnly, ch.ShiftOn); err != nil {
		bad.Add("shift_on", ch.ShiftOn, "must be the day on which the shift began, such as 2026-04-30")
	} else if gap := c.Captured.Sub(on); gap < -24*time.Hour || gap > 72*time.Hour {
		// A day either way for the zone, and a night that was written up late.
		bad.Add("shift_on", ch.ShiftOn, "must be the shift in which it was seen, got %s for what was seen on %s", ch.ShiftOn, c.Captured.Format(time.DateOnly))
	}
	if !slices.Contains(StudPositions(), ch.Position) {
		bad.Add("position", ch.Position, "must be one of: %s", strings.Join(StudPositions(), ", "))
	}
	lengthIn(&bad, "diameter", &ch.Diameter, 5, 40)
	need(&bad, "welder", ch.Welder, "say who welded: the test holds for that person")
	numberIn(&bad, "current_a", ch.CurrentA, 100, 5000, "A")
	numberIn(&bad, "time_s", ch.TimeS, 0.01, 5, "s")
	lengthIn(&bad, "lift", ch.Lift, 0.1, 15)
	lengthIn(&bad, "plunge", ch.Plunge, 0.1, 15)
	if ch.Tested < 1 || ch.Tested > 50 {
		bad.Add("tested", fmt.Sprint(ch.Tested), "must be from 1 to 50 studs, got %d", ch.Tested)
	}
	if !(ch.BendDeg >= 0 && ch.BendDeg <= 90) {
		bad.Add("bend_deg", fmt.Sprint(ch.BendDeg), "must be from 0 to 90 degrees, got %g", ch.BendDeg)
	}
	if ch.BendClock != nil && (*ch.BendClock < 1 || *ch.BendClock > 12) {
		bad.Add("bend_clock", fmt.Sprint(*ch.BendClock), "must be an hour of the clock from 1 to 12, got %d", *ch.BendClock)
	}
	if ch.Outcome == CheckAccepted {
		ch.accepted(&bad, s.Basis())
	}
	if err := bad.Err(); err != nil {
		return err
	}
	r.TestStuds = append(r.TestStuds, TestStud{ID: c.NewID(), EndID: r.End.ID, ShiftOn: ch.ShiftOn, Position: ch.Position, SetUp: ch.SetUp, Diameter: ch.Diameter,
		Welder: strings.TrimSpace(ch.Welder), Equipment: ch.Equipment, CurrentA: ch.CurrentA, TimeS: ch.TimeS, Lift: ch.Lift, Plunge: ch.Plunge, Tested: ch.Tested,
		BendDeg: ch.BendDeg, BendClock: ch.BendClock, CollarFull: ch.CollarFull, Cracked: ch.Cracked, AfterChange: ch.AfterChange, Outcome: ch.Outcome, Note: ch.Note,
		Typed: ch.Typed.orNone(), ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now})
	return nil
}

// accepted refuses an acceptance that what was found speaks against.
func (ch RecordTestStuds) accepted(bad *fault.Invalid, b basis.Basis) {
	if least := int(b.Value(basis.CollarTestStuds) + 0.5); ch.Tested < least {
		bad.Add("tested", fmt.Sprint(ch.Tested), "at least %d test studs are asked, got %d", least, ch.Tested)
	}
	// Judged by eye against a template, so that a degree is within what can be read.
	if least := b.Value(basis.CollarTestBend); ch.BendDeg < least-1 {
		bad.Add("bend_deg", fmt.Sprint(ch.BendDeg), "a test stud is bent %g degrees, got %g", least, ch.BendDeg)
	}
	if !ch.CollarFull {
		bad.Add("outcome", ch.Outcome, "a test stud whose collar is not full all round is not accepted: change the setting and weld others")
	}
	if ch.Cracked {
		bad.Add("outcome", ch.Outcome, "a test stud that cracked is not accepted: change the setting and weld others")
	}
}

// checked notes what every check of the shift needs: an outcome of the two, and a
// word on why it was not accepted.
func checked(bad *fault.Invalid, outcome, note string) {
	if outcome != CheckAccepted && outcome != CheckNotAccepted {
		bad.Add("outcome", outcome, "must be accepted or not_accepted")
	}
	if outcome == CheckNotAccepted {
		need(bad, "note", note, "say why it is not accepted")
	}
	if len(note) > 4000 {
		bad.Add("note", "", "holds at most 4,000 characters, got %d", len(note))
	}
}

// lengthIn notes a length that is not within its limits; nil is not measured.
func lengthIn(bad *fault.Invalid, field string, v *units.Length, least, most units.Length) {
	if v != nil && !(*v >= least && *v <= most) {
		bad.Add(field, "", "must be from %s to %s or %s to %s, got %s or %s", least.Format(units.US, -1), most.Format(units.US, -1), least.Format(units.SI, -1), most.Format(units.SI, -1),
			v.Format(units.US, -1), v.Format(units.SI, -1))
	}
}

// numberIn is lengthIn for a plain number.
func numberIn(bad *fault.Invalid, field string, v *float64, least, most float64, unit string) {
	if v != nil && !(*v >= least && *v <= most) {
		bad.Add(field, fmt.Sprint(*v), "must be from %g to %g %s, got %g", least, most, unit, *v)
	}
}
