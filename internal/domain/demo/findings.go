package demo

import (
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
)

// finding is a nonconformance of the story.
type finding struct {
	end         string
	raised      time.Time
	by          authz.Role
	raise       repair.RaiseNonconformance
	decided     time.Time // zero: not decided
	disposition string
	cause       string
	closed      time.Time // zero: open
	seen        string    // what the re-inspection found
}

// findings tells of what did not meet its requirement, and of a correction that
// put a design out of date.
func (t *teller) findings() {
	for _, f := range nonconformances() {
		f := f
		ref := []string{f.end}
		t.say(f.end+" raise "+f.raise.Requirement, f.by, f.raised, ref, f.raise)
		number := func(s *repair.Scope) (int, error) {
			r, err := s.One()
			if err != nil {
				return 0, err
			}
			for _, n := range r.Nonconformances {
				if n.ClosedAt == nil && n.Requirement == f.raise.Requirement {
					return n.Number, nil
				}
			}
			return 0, fault.New(fault.NotFound, "%s has no such nonconformance", f.end)
		}
		if !f.decided.IsZero() {
			t.tell(f.end+" decide "+f.raise.Requirement, authz.Engineer, f.decided, ref, false, func(s *repair.Scope) (repair.Change, error) {
				n, err := number(s)
				return repair.DecideNonconformance{Number: n, Disposition: f.disposition, Cause: f.cause}, err
			})
		}
		if !f.closed.IsZero() {
			closes := authz.Inspector
			if info, _ := quality.Disposition(f.disposition).Info(); info.Concession {
				closes = authz.Engineer // what keeps a departure is closed by who conceded it
			}
			t.tell(f.end+" close "+f.raise.Requirement, closes, f.closed, ref, false, func(s *repair.Scope) (repair.Change, error) {
				n, err := number(s)
				return repair.CloseNonconformance{Number: n, Reinspection: f.seen}, err
			})
		}
	}
	t.corrected()
	t.low28()
}

// low28 tells what became of the nonconformance that the running rule raised for the
// strength at 28 days: the panel stays, and the end still waits for a design that
// counts on no more than was proven.
func (t *teller) low28() {
	const name = "5F-6"
	number := func(s *repair.Scope) (int, error) {
		r, err := s.One()
		if err != nil {
			return 0, err
		}
		for _, n := range r.Nonconformances {
			if n.Origin != "" && n.ClosedAt == nil {
				return n.Number, nil
			}
		}
		return 0, fault.New(fault.NotFound, "no rule raised a nonconformance at %s", name)
	}
	ref := []string{name}
	t.tell(name+" low strength decided", authz.Engineer, day(6, 14).Add(11*hour), ref, false, func(s *repair.Scope) (repair.Change, error) {
		n, err := number(s)
		return repair.DecideNonconformance{Number: n, Disposition: "use_as_is",
			Cause: "most likely the specimens: the water bath of the laboratory stood at 61 °F over a weekend. Flow, masses and temperatures of both batches within their limits, earlier breaks as usual"}, err
	})
	t.tell(name+" low strength closed", authz.Engineer, day(6, 21).Add(15*hour), ref, false, func(s *repair.Scope) (repair.Change, error) {
		n, err := number(s)
		return repair.CloseNonconformance{Number: n,
			Reinspection: "Panel sounded again, nothing found. It stays; the end is not closed on 21.7 ksi: the designer is to issue a revision that counts on the strength proven."}, err
	})
}

func nonconformances() []finding {
	at := func(m, d int, h float64) time.Time { return day(m, d).Add(time.Duration(h * float64(hour))) }
	return []finding{
		{end: "2N-4", raised: at(5, 14, 3.4), by: authz.Inspector, raise: repair.RaiseNonconformance{Requirement: "Stud collar: full fillet all round",
			Found: "4 collars rejected, all with ferrules of one carton; porous and open over a third of the way round", Containment: "carton set aside; all ferrules of the week dried before use",
			Proposed: "repair", Stops: []string{"COL"}},
			decided: at(5, 14, 10), disposition: "repair", cause: "ferrules left in the rain: damp ferrules blow the weld pool",
			closed: at(5, 18, 23.4), seen: "4 studs cut off, ground flush and welded anew with dry ferrules; collars full, ring test good"},
		{end: "5F-2", raised: at(4, 27, 11), by: authz.Contractor, raise: repair.RaiseNonconformance{Requirement: "Deck core: no bar cut without leave",
			Found: "core 2 cut one bottom transverse bar, No. 5", Containment: "coring stopped; cover meter used over the remaining places", Proposed: "use_as_is", Stops: []string{"REL"}},
			decided: at(4, 28, 14), disposition: "use_as_is", cause: "bars lie 1 in off the drawing of 1957", closed: at(4, 29, 9), seen: "one bar of eleven cut over the girder; slab checked by the engineer for the missing bar"},
		{end: "1N-3", raised: at(5, 20, 12), by: authz.Contractor, raise: repair.RaiseNonconformance{Requirement: "Deck core: no bar cut without leave",
			Found: "core 1 nicked a top bar, No. 4, half its section", Containment: "core moved 4 in", Proposed: "use_as_is", Stops: []string{"REL"}},
			decided: at(5, 21, 10), disposition: "use_as_is", cause: "two bars lapped beside each other; the meter shows them as one", closed: at(5, 21, 11.5), seen: "bar end sealed; core patched"},
		{end: "2N-2", raised: at(5, 13, 0.5), by: authz.Inspector, raise: repair.RaiseNonconformance{Requirement: "Form: tight under the water test and during the pour",
			Found: "form wept at its foot for about 15 minutes; some 6 liters lost over the bearing", Containment: "caulked from outside, pour slowed, bearing wiped clean", Proposed: "use_as_is", Stops: []string{"HRD"}},
			decided: at(5, 14, 11), disposition: "use_as_is", cause: "seal pinched at a rivet head", closed: at(5, 20, 10), seen: "panel full at the foot after stripping; bearing clean and free to move"},
		{end: "1N-6", raised: at(6, 11, 10), by: authz.Inspector, raise: repair.RaiseNonconformance{Requirement: "Core patch: flush, bonded, no ring",
			Found: "one core patch sounds hollow over half its area", Containment: "covered against rain", Proposed: "rework", Stops: []string{"CLS"}},
			decided: at(6, 14, 9), disposition: "rework", cause: "patch placed on a dusty core wall"},
		{end: "5N-1", raised: at(7, 6, 23.5), by: authz.Inspector, raise: repair.RaiseNonconformance{Requirement: "Hardened panel: no void at the top fillet",
			Found: "void under the top flange on the left face, 9 in long, up to 1-1/4 in deep", Containment: "load path test put off", Proposed: "repair", Stops: []string{"HRD", "CLS"}},
			decided: at(7, 8, 15), disposition: "repair", cause: "far vent closed before it ran full"},
		{end: "4F-1", raised: at(7, 1, 4), by: authz.Inspector, raise: repair.RaiseNonconformance{Requirement: "Stud collar: full fillet all round",
			Found: "2 collars rejected beside the stiffener, where the gun stood askew", Containment: "none needed", Proposed: "repair", Stops: []string{"COL"}}},
		{end: criticalEnd, raised: at(5, 9, 3.2), by: authz.Inspector, raise: repair.RaiseNonconformance{Requirement: "Least web over the bearing for the span to stay open",
			Found: "0.03 in of web left over the bearing after cleaning", Containment: "lane above closed at 03:30; shore set under the girder on 2027-05-09 and loaded by jack to 40 kip", Proposed: "repair", Critical: true, Stops: []string{"CLS"}},
			decided: at(5, 10, 11), disposition: "repair", cause: "pack rust hid the loss; the joint above has leaked for decades"},
		{end: "2N-5", raised: at(7, 8, 9), by: authz.Engineer, raise: repair.RaiseNonconformance{Requirement: "Paint around the panel: total thickness",
			Found: "two of nine places below the thickness asked", Proposed: "rework", Stops: []string{"CLS"}}},
		{end: "6F-4", raised: at(3, 29, 9), by: authz.Inspector, raise: repair.RaiseNonconformance{Requirement: "Stud height after welding: within 1/16 in",
			Found: "one stud 3/16 in long", Containment: "none needed", Proposed: "reject", Stops: []string{"FRM"}},
			decided: at(3, 29, 15), disposition: "reject", cause: "plunge set too short after the stud box was changed", closed: at(4, 1, 10), seen: "stud replaced; height right"},
	}
}

// corrected is a reading that was put right after the design was approved.
func (t *teller) corrected() {
	const name = "3N-1"
	t.tell(name+" correction", authz.Inspector, day(7, 6).Add(10*hour), []string{name}, false, func(s *repair.Scope) (repair.Change, error) {
		r, err := s.One()
		if err != nil {
			return nil, err
		}
		sv := r.LatestSurvey()
		f := r.SurveyFindings(sv)
		ch := repair.EditSurvey{SurveyID: sv.ID, Facts: repair.SurveyFacts{Kind: sv.Kind, Method: sv.Method, Gauge: sv.Gauge, TakenBy: sv.TakenBy, FlangeThick: sv.FlangeThick,
			StiffenerThick: sv.StiffenerThick, StiffenerWidth: sv.StiffenerWidth, WebDeviation: sv.WebDeviation, WebDetached: sv.WebDetached, Typed: sv.Typed,
			Note: "Two readings of the second row were entered in each other's place."}}
		for _, h := range f.Holes {
			ch.Holes = append(ch.Holes, repair.HoleIn{X: h.X, Z: h.Z, Width: h.Width, Height: h.Height, Rim: h.Rim})
		}
		typed := map[[3]any]string{}
		for _, x := range r.Readings {
			if x.SurveyID == sv.ID && x.SupersededBy == nil {
				typed[[3]any{x.Face, x.X, x.Z}] = x.Typed
			}
		}
		var swap []int
		for _, x := range f.Readings {
			ch.Readings = append(ch.Readings, repair.ReadingIn{Face: string(x.Face), X: x.X, Z: x.Z, T: x.T, NoAccess: x.NoAccess, Typed: typed[[3]any{string(x.Face), x.X, x.Z}]})
			if x.Z == in(3) && x.Face != "R" && len(swap) < 4 {
				swap = append(swap, len(ch.Readings)-1)
			}
		}
		if len(swap) == 4 {
			a, b := &ch.Readings[swap[1]], &ch.Readings[swap[3]]
			a.T, b.T, a.Typed, b.Typed = b.T, a.T, b.Typed, a.Typed
		}
		return ch, nil
	})
}
