package demo

import (
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// firstDesign is the design that stood on the survey as found. For some ends the
// designer waited for the cleaned steel.
func (e end) firstDesign() {
	at := office(day(2, 8).AddDate(0, 0, e.Span*3+e.Girder/2), 0, between(9, 16, e.name, "first design"))
	switch {
	case e.Span == 4, e.name == "3N-5":
		return
	case e.name == "2F-6":
		e.save("rev 1", at)
		return
	case e.name == "2F-5":
		at = office(day(7, 12), 0, 15)
		e.save("rev 1", at)
		e.submit("rev 1", at.Add(hour))
		return
	}
	e.save("rev 1", at)
	e.submit("rev 1", at.Add(hour))
	e.review("rev 1", office(at, 4, 14), repair.DesignApproved, "")
}

// design is what became of it once the steel was clean.
func (e end) design() {
	at := office(e.clean, 2, between(9, 12, e.name, "second design"))
	switch e.name {
	case "2F-1":
		return // it went out of date with the survey and waits for the designer
	case "3N-5":
		at = office(day(7, 8), 0, 11)
		e.save("rev 1", at)
		e.submit("rev 1", at.Add(2*hour))
		return
	case "4F-4":
		e.save("rev 1", at)
		e.submit("rev 1", at.Add(2*hour))
		e.review("rev 1", office(at, 5, 15), repair.DesignReturned, "The lowest row of studs stands within the loss on the low side: move it up or show the remaining thickness under each stud.")
		return
	case "4F-5":
		e.save("rev 1", at)
		e.submit("rev 1", at.Add(2*hour))
		e.review("rev 1", office(at, 6, 15), repair.DesignApproved, "")
		e.complete("DES", authz.Designer, office(at, 21, 9))
		return
	case criticalEnd:
		at = office(day(5, 26), 0, 10)
		e.save("rev 2", at)
		e.submit("rev 2", at.Add(2*hour))
		e.review("rev 2", office(at, 5, 11), repair.DesignReturned, "The shore stays until the panel carries: show the stage with the shore in place and the order of taking it out.")
		at = office(day(6, 14), 0, 10)
		e.save("rev 3", at)
		e.submit("rev 3", at.Add(2*hour))
		e.review("rev 3", office(at, 8, 11), repair.DesignApprovedNoted, "Shore to stay until the 28-day break; note it on the card of the end.")
		e.complete("DES", authz.Designer, office(at, 9, 9))
		e.release("DES", authz.Engineer, office(at, 9, 15))
		return
	}
	decided := e.confirmOrRevise(at)
	e.complete("DES", authz.Designer, office(decided, 1, 9.5))
	e.release("DES", authz.Engineer, office(decided, 1, 15))
}

// confirmOrRevise confirms the approved revision where it still passes on the
// cleaned steel, and otherwise draws, submits and approves another.
// It returns when the last of this was over.
func (e end) confirmOrRevise(at time.Time) time.Time {
	holds := func(s *repair.Scope) (r *repair.Record, d *repair.Design, ok bool, err error) {
		if r, err = s.One(); err != nil {
			return
		}
		d = r.DesignInForce()
		if d == nil || d.State != repair.DesignApproved {
			return r, d, false, nil
		}
		ev, err := r.Evaluate(s, nil)
		return r, d, err == nil && ev.Repaired.Passes(), err
	}
	saved := office(at, 1, 13)
	submitted := office(saved, 1, 10)
	decided := office(submitted, 3, 14)
	e.tell(e.key("design kept"), authz.Engineer, at, e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		r, d, ok, err := holds(s)
		if !ok || err != nil {
			return nil, err
		}
		return repair.ConfirmDesign{DesignID: d.ID, Digest: r.DesignDigest(s, d), Reasons: "Every check still passes on the cleaned steel."}, nil
	})
	e.tell(e.key("design revised"), authz.Designer, saved, e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		r, _, _, err := holds(s)
		if err != nil {
			return nil, err
		}
		if late, _ := r.OutOfDate(s); !late && r.LatestDesign() != nil {
			return nil, nil
		}
		return draw(s, r)
	})
	e.tell(e.key("revision submitted"), authz.Designer, submitted, e.ref, false, submission)
	e.tell(e.key("revision approved"), authz.Engineer, decided, e.ref, false, decision(repair.DesignApproved, ""))
	return decided
}

func (e end) save(key string, at time.Time) {
	e.tell(e.key("design", key, "saved"), authz.Designer, at, e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		r, err := s.One()
		if err != nil {
			return nil, err
		}
		return draw(s, r)
	})
}

func (e end) submit(key string, at time.Time) {
	e.tell(e.key("design", key, "submitted"), authz.Designer, at, e.ref, false, submission)
}

func (e end) review(key string, at time.Time, what, reasons string) {
	e.tell(e.key("design", key, what), authz.Engineer, at, e.ref, false, decision(what, reasons))
}

// submission submits the draft, if there is one.
func submission(s *repair.Scope) (repair.Change, error) {
	r, err := s.One()
	if err != nil {
		return nil, err
	}
	if d := r.LatestDesign(); d == nil || d.State != repair.DesignDraft {
		return nil, nil
	}
	return repair.SubmitDesign{}, nil
}

// decision decides on the submitted revision, if there is one.
func decision(what, reasons string) func(*repair.Scope) (repair.Change, error) {
	return func(s *repair.Scope) (repair.Change, error) {
		r, err := s.One()
		if err != nil {
			return nil, err
		}
		d := r.LatestDesign()
		if d == nil || d.State != repair.DesignSubmitted {
			return nil, nil
		}
		return repair.ReviewDesign{DesignID: d.ID, Decision: what, Reasons: reasons, Digest: r.DesignDigest(s, d)}, nil
	}
}

// draw is the next revision for an end, from its latest survey.
func draw(s *repair.Scope, r *repair.Record) (repair.Change, error) {
	d, err := layout(s, r)
	if err != nil {
		return nil, err
	}
	in := repair.DesignFrom(d)
	in.Typed = repair.Typed{"fc_mpa": "21.7 ksi"}
	if ev := r.EvaluateDraft(s, d, nil); !ev.Passes() {
		in.Note = "Submitted with its open check for the reviewer to decide: see the sheet."
	}
	return repair.SaveDesign{Design: in}, nil
}

// layout lays out studs and panel for an end as its latest survey has it.
func layout(s *repair.Scope, r *repair.Record) (encasement.Design, error) {
	if r.LatestSurvey() == nil {
		return encasement.Design{}, fault.New(fault.Refused, "%s has no survey to design on", r.End.Name)
	}
	m := materials(r.End)
	d, err := encasement.Propose(s.Basis(), r.Geometry(s), r.Steel(s), r.Factored(s).Factored, m)
	if err != nil {
		return d, err
	}
	return d, nil
}

// materials are the studs and the UHPC of the contract: 5/8 in studs on rolled
// beams, 3/4 in on the plate girders.
func materials(e repair.End) encasement.Materials {
	m := encasement.Materials{StudDiameter: in(0.625), StudHeight: in(2.6875), StudFu: 65 * units.Ksi, Fc: 21.7 * units.Ksi}
	if e.SpanNo == 3 || e.SpanNo == 4 {
		m.StudDiameter, m.StudHeight = in(0.75), in(3.1875)
	}
	return m
}
