package repair

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// CollarIn is what was found at one stud.
type CollarIn struct {
	Mark       string        `json:"mark"`
	Outcome    string        `json:"outcome"`
	GapClock   *int          `json:"gap_clock"`
	GapLength  *units.Length `json:"gap_length"`
	Fissure    bool          `json:"fissure"`
	Height     *units.Length `json:"height"`
	BendDeg    *float64      `json:"bend_deg"`
	BendClock  *int          `json:"bend_clock,omitempty"`
	FilletSize *units.Length `json:"fillet_size,omitempty"`
	FilletLen  *units.Length `json:"fillet_length,omitempty"`
	Repair     string        `json:"repair"`
	Welder     string        `json:"welder"`
	FerruleLot string        `json:"ferrule_lot"`
	Note       string        `json:"note"`
}

// RecordCollars is the finding at one or more studs of the design in force.
type RecordCollars struct {
	DesignID string     `json:"design_id"`
	Collars  []CollarIn `json:"collars"`
	// Rest leaves out every stud that has a finding by now: for the rest of a row,
	// so that a rejection that came meanwhile is not written over.
	Rest bool `json:"rest,omitempty"`
}

// Kind implements Change.
func (RecordCollars) Kind() string { return "collar.record" }

// CollarCounts reports whether a stud with this outcome counts in the group.
func CollarCounts(outcome string) bool { return stud.Counts(stud.Outcome(outcome)) }

// Apply implements Change. A finding made against an older design is kept on
// record with that design; it does not touch the one in force. The fault of a
// stud is named collar-MARK, that of one of its values collar-MARK-value.
func (ch RecordCollars) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	marks := map[string]bool{}
	for _, st := range r.StudsOf(ch.DesignID) {
		marks[st.Mark] = true
	}
	if len(marks) == 0 {
		return fault.New(fault.NotFound, "this end has no such design, or it has no studs")
	}
	found := ch.Collars
	if ch.Rest {
		latest := r.LatestCollars(ch.DesignID)
		found = nil
		for _, in := range ch.Collars {
			if _, ok := latest[in.Mark]; !ok {
				found = append(found, in)
			}
		}
		if len(found) == 0 && len(ch.Collars) > 0 {
			return fault.New(fault.Refused, "each of these studs has a finding already")
		}
	}
	if len(found) == 0 {
		bad.Add("collars", "", "no stud was named")
	}
	diameter := r.Revision(ch.DesignID).StudDiameter
	for _, in := range found {
		if !marks[in.Mark] {
			bad.Add("collar-"+in.Mark, in.Mark, "the design has no stud of that mark")
		}
		in.validate(&bad, s.Basis(), diameter)
	}
	if err := bad.Err(); err != nil {
		return err
	}
	for _, in := range found {
		r.Collars = append(r.Collars, Collar{ID: c.NewID(), EndID: r.End.ID, DesignID: ch.DesignID, Mark: in.Mark, Outcome: in.Outcome,
			GapClock: in.GapClock, GapLength: in.GapLength, Fissure: in.Fissure, Height: in.Height, BendDeg: in.BendDeg, BendClock: in.BendClock,
			FilletSize: in.FilletSize, FilletLen: in.FilletLen, Repair: in.Repair, Welder: in.Welder, FerruleLot: in.FerruleLot, Note: in.Note,
			ByUser: c.Actor.ID, CapturedAt: c.Captured, ArrivedAt: c.Now})
	}
	return nil
}

// validate notes what contradicts itself and, where a repair was measured, what
// falls short of its rule. A repair that is only told in words is taken as told.
func (in CollarIn) validate(bad *fault.Invalid, b basis.Basis, diameter units.Length) {
	at := "collar-" + in.Mark
	o := stud.Outcome(in.Outcome)
	if !o.Known() {
		bad.Add(at, in.Outcome, "no such outcome")
	}
	hour := func(field string, h *int) {
		if h != nil && (*h < 1 || *h > 12) {
			bad.Add(at+field, "", "clock position must be from 1 to 12, got %d", *h)
		}
	}
	hour("-gap_clock", in.GapClock)
	hour("-bend_clock", in.BendClock)
	length := func(field string, v *units.Length, most units.Length) {
		if v != nil && !(*v > 0 && float64(*v) <= float64(most)*(1+1e-9)) {
			bad.Add(at+field, "", "must be above 0 and at most %s or %s, got %s or %s", most.Format(units.US, -1), most.Format(units.SI, -1), v.Format(units.US, -1), v.Format(units.SI, -1))
		}
	}
	length("-gap_length", in.GapLength, units.Length(math.Pi)*diameter) // once round the stud
	length("-height", in.Height, 500)
	length("-fillet_size", in.FilletSize, units.Inch)
	length("-fillet_length", in.FilletLen, 500)
	if in.BendDeg != nil && !(*in.BendDeg >= 0 && *in.BendDeg <= 90) {
		bad.Add(at+"-bend_deg", "", "bend must lie from 0 to 90 degrees, got %g", *in.BendDeg)
	}
	gap := in.GapClock != nil && in.GapLength != nil
	switch {
	case !gap && (o == stud.GapFound || o == stud.RepairedFillet):
		if in.GapClock == nil {
			bad.Add(at+"-gap_clock", "", "a gap needs its clock position, 1 to 12")
		}
		if in.GapLength == nil {
			bad.Add(at+"-gap_length", "", "a gap needs its length")
		}
	case (o == stud.Full || o == stud.Replaced) && (in.GapClock != nil || in.GapLength != nil):
		bad.Add(at, in.Outcome, "a collar with a gap is not full")
	}
	if (o == stud.BentPass || o == stud.BentFail) && in.BendDeg == nil {
		bad.Add(at+"-bend_deg", "", "say by how many degrees it was bent")
	}
	// A proof bend is judged by eye against a template: a degree either way is
	// within what can be read.
	if least := b.Value(basis.CollarBend); o == stud.BentPass && in.BendDeg != nil && *in.BendDeg < least-1 {
		bad.Add(at+"-bend_deg", "", "a proof bend is %g degrees, got %g", least, *in.BendDeg)
	}
	if o == stud.RepairedFillet && (in.FilletSize == nil || in.FilletLen == nil) && in.Repair == "" {
		bad.Add(at+"-fillet_size", "", "give the size and length of the fillet, or say in words what was done")
	}
	if gap && *in.GapClock >= 1 && *in.GapClock <= 12 {
		in.rule(bad, at, b, diameter, stud.Gap{Clock: *in.GapClock, Length: *in.GapLength})
	}
}

// rule compares a measured repair of a gap with what is asked of it.
func (in CollarIn) rule(bad *fault.Invalid, at string, b basis.Basis, diameter units.Length, gap stud.Gap) {
	switch stud.Outcome(in.Outcome) {
	case stud.RepairedFillet:
		want := stud.Fillet(b, diameter, gap)
		short := func(field string, v *units.Length, least units.Length) {
			if v != nil && float64(*v) < float64(least)*(1-1e-9) {
				bad.Add(at+field, "", "is %s or %s, at least %s or %s is asked", v.Format(units.US, -1), v.Format(units.SI, -1), least.Format(units.US, -1), least.Format(units.SI, -1))
			}
		}
		short("-fillet_size", in.FilletSize, want.Size)
		short("-fillet_length", in.FilletLen, want.Length)
	case stud.BentPass:
		want := stud.Bend(b, gap)
		if in.BendClock == nil {
			return
		}
		if turn := (*in.BendClock - want.Clock + 12) % 12; turn > 1 && turn < 11 {
			bad.Add(at+"-bend_clock", "", "toward %d o'clock is not away from the gap at %d: bend toward %d", *in.BendClock, gap.Clock, want.Clock)
		}
	}
}
