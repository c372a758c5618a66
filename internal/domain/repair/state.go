package repair

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

// Recompute evaluates every end of the scope and sets its derived rows: the
// stored results and the state that lists show. Same record, same bytes.
func (s *Scope) Recompute() error {
	for _, r := range s.Ends {
		if err := r.recompute(s); err != nil {
			return fmt.Errorf("recompute %s: %w", r.End.Name, err)
		}
	}
	return nil
}

func (r *Record) recompute(s *Scope) error {
	ev, in := r.numbers(s, nil)
	base := in.digests()
	ev.name(in, base)
	load := r.Factored(s)
	// Before the facts: a verdict on strain stands on the share that is foreseen.
	out, err := r.predict(s, ev, in, base, load)
	if err != nil {
		return err
	}
	r.Outlook = []Outlook{out}
	digest := base.of(true, true, nil) // that of designDigest, if there is a design
	moved := r.movement(s, r.DesignInForce(), digest, ev.Repaired)
	facts, err := r.facts(s, moved)
	if err != nil {
		return err
	}
	status := sequence.Evaluate(s.Sequence(), facts)
	r.Results = r.Results[:0:0]
	for _, subject := range []struct {
		name string
		ev   *Evaluation
	}{{"as_new", ev.AsNew}, {"corroded", ev.Corroded}, {"repaired", ev.Repaired}, {"as_welded", ev.AsWelded}} {
		if subject.ev == nil {
			continue
		}
		row, err := subject.ev.row(r.End.ID, subject.name)
		if err != nil {
			return err
		}
		r.Results = append(r.Results, row)
	}
	slices.SortFunc(r.Results, func(a, b Result) int {
		if a.Subject < b.Subject {
			return -1
		}
		return 1
	})
	r.State = []State{r.state(s, ev, status, load, out, facts, moved)}
	r.Tally = []EndTally{r.tally(s, status, facts.Started)}
	return nil
}

func (e *Evaluation) row(endID, subject string) (Result, error) {
	checks, err := json.Marshal(e.Checks)
	if err != nil {
		return Result{}, fmt.Errorf("store checks: %w", err)
	}
	return Result{EndID: endID, Subject: subject, MethodVersion: string(calc.MethodVersion), InputDigest: e.Digest,
		Capacity: finite(e.Capacity), Demand: e.Demand, Verdict: e.Verdict.String(), Governing: e.Governing, Checks: checks}, nil
}

func finite(f units.Force) units.Force {
	if math.IsInf(float64(f), 0) || math.IsNaN(float64(f)) {
		return 0
	}
	return f
}

func (r *Record) state(s *Scope, ev Evaluations, status sequence.Status, load Demand, out Outlook, facts sequence.Facts, moved Movement) State {
	e := r.End
	st := State{EndID: e.ID, ProgramID: e.ProgramID, Name: e.Name, SortKey: fmt.Sprintf("%03d%s%03d", e.SpanNo, sideKey(e.Side), e.GirderNo),
		Access: e.Access, StepOrd: 9999, Closed: status.Closed, Demand: load.Factored, DemandHow: load.How, CapacityNew: finite(ev.AsNew.Capacity),
		MethodVersion: string(calc.MethodVersion), InputDigest: ev.Digest,
		Chance: out.Chance, FallVerdict: out.FallVerdict, FallEarly: out.FallEarly, RatingLeast: out.RatingNew}
	if sup, ok := s.Support(e.SupportID); ok {
		st.SupportCode = sup.Code
	}
	if sec, ok := s.Section(e.SectionID); ok {
		st.SectionName = sec.Name
	}
	if status.Current != nil {
		st.StepOrd, st.StepCode, st.StepName = status.Current.Order, status.Current.Code, status.Current.Name
	}
	if !status.Closed && !status.Since.IsZero() {
		since := status.Since
		st.Since = &since
	}
	if b, ok := status.First(); ok {
		st.Track, st.Reason, st.ReasonText, st.Actor = string(b.Track), string(b.Reason), b.String(), string(b.Actor)
		if !b.Since.IsZero() {
			since := b.Since
			st.Since = &since
		}
	}
	if ev.Corroded != nil {
		c := finite(ev.Corroded.Capacity)
		loss := ev.Loss
		st.Capacity, st.LossMax = &c, &loss
		st.CapacityVerdict, st.Governing = ev.Corroded.Verdict.String(), ev.Corroded.Governing
		st.Outside, st.RatingLeast = ev.Corroded.Outside(), out.RatingCorroded
	}
	if ev.Repaired != nil {
		c := finite(ev.Repaired.Capacity)
		st.Repaired = &c
	}
	if d := r.LatestDesign(); d != nil {
		rev := d.Revision
		st.DesignRevision, st.DesignState = &rev, d.State
	}
	r.waiting(s, moved, &st)
	for _, n := range r.Nonconformances {
		if n.ClosedAt == nil {
			st.OpenNCR++
		}
	}
	if r.carried(ev, facts) {
		st.RankClass = RankCarried
	}
	st.Rank()
	return st
}

// sideKey sorts the near end before the far end.
func sideKey(side string) string {
	if side == "N" {
		return "a"
	}
	return "b"
}
