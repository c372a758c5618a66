package demo

import (
	"fmt"
	"slices"
	"strconv"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// Actor is the person of a role as the record names them.
func Actor(r authz.Role) repair.Actor {
	a := repair.Actor{ID: hashID("person", string(r)), Role: r}
	for _, p := range People() {
		if p.Role == r {
			a.Name = p.Name
		}
	}
	return a
}

// Play makes the edits of a story in memory and returns the record at its end. It
// stops at the first edit that is refused. A nil each is not called; another one
// is, after every step that changed something.
func Play(steps []Step, each func(Step, repair.Change)) (*repair.Scope, error) {
	all := &repair.Scope{NextPour: 1, NextNonconformance: 1}
	n := 0
	for _, st := range steps {
		s := Part(all, st)
		ch, err := st.Make(s)
		if err != nil {
			return all, fmt.Errorf("%s: %w", st.Key, err)
		}
		if ch == nil {
			continue
		}
		s = Widen(all, st, ch, s)
		c := repair.Context{Actor: Actor(st.By), Now: st.At, Captured: st.Captured, NewID: func() string { n++; return hashID("row", strconv.Itoa(n)) }}
		if err := ch.Apply(s, c); err != nil {
			return all, fmt.Errorf("%s: %s: %w", st.Key, ch.Kind(), err)
		}
		if err := s.Recompute(); err != nil {
			return all, fmt.Errorf("%s: %w", st.Key, err)
		}
		Join(all, s)
		if each != nil {
			each(st, ch)
		}
	}
	return all, nil
}

// Part is the scope of one step within the whole program.
func Part(all *repair.Scope, st Step) *repair.Scope {
	s := *all
	s.Ends, s.Pours, s.PourEnds, s.Batches, s.Specimens, s.Blobs = nil, nil, nil, nil, nil, nil
	s.BatchEnds, s.SetReviews, s.CuringLogs, s.RawFiles, s.Readings = nil, nil, nil, nil, nil
	pours := map[string]bool{}
	mine := map[string]bool{}
	for _, r := range all.Ends {
		if st.AllEnds || slices.Contains(st.Ends, r.End.Name) {
			s.Ends = append(s.Ends, r)
			mine[r.End.ID] = true
		}
	}
	for _, pe := range all.PourEnds {
		if mine[pe.EndID] {
			pours[pe.PourID] = true
		}
	}
	for _, p := range all.Pours {
		if p.MockupID != nil {
			pours[p.ID] = true
		}
	}
	for _, pe := range all.PourEnds {
		if pours[pe.PourID] {
			s.PourEnds = append(s.PourEnds, pe)
		}
	}
	for _, p := range all.Pours {
		if pours[p.ID] {
			s.Pours = append(s.Pours, p)
		}
	}
	batches := map[string]bool{}
	for _, b := range all.Batches {
		if pours[b.PourID] {
			s.Batches = append(s.Batches, b)
			batches[b.ID] = true
		}
	}
	for _, b := range all.BatchEnds {
		if batches[b.BatchID] {
			s.BatchEnds = append(s.BatchEnds, b)
		}
	}
	for _, x := range all.SetReviews {
		if pours[x.PourID] {
			s.SetReviews = append(s.SetReviews, x)
		}
	}
	for _, x := range all.CuringLogs {
		if pours[x.PourID] {
			s.CuringLogs = append(s.CuringLogs, x)
		}
	}
	for _, x := range all.Specimens {
		if pours[x.PourID] {
			s.Specimens = append(s.Specimens, x)
		}
	}
	return &s
}

// Widen is the scope of a step with the ends that its change wants beyond those of
// the step, as the store brings them.
func Widen(all *repair.Scope, st Step, ch repair.Change, s *repair.Scope) *repair.Scope {
	w, ok := ch.(repair.Wanting)
	if !ok || st.AllEnds {
		return s
	}
	want := w.Want()
	id := map[string]bool{}
	for _, x := range all.Specimens {
		if slices.Contains(want.Marks, x.Mark) {
			id[x.PourID] = true
		}
	}
	var own []repair.Pour
	for _, p := range all.Pours {
		if id[p.ID] || slices.Contains(want.Pours, p.Number) {
			own = append(own, p)
		}
	}
	pours := repair.BesideInOrder(nil, own, all.Basis())
	if want.Tests {
		pours = repair.BesideInOrder(all.Tests, own, all.Basis())
	}
	wide := st
	wide.Ends = slices.Clone(st.Ends)
	for _, r := range all.Ends {
		served := slices.ContainsFunc(all.PourEnds, func(pe repair.PourEnd) bool { return pe.EndID == r.End.ID && slices.Contains(pours, pe.PourID) })
		if served && !slices.Contains(wide.Ends, r.End.Name) {
			wide.Ends = append(wide.Ends, r.End.Name)
		}
	}
	if len(wide.Ends) == len(st.Ends) {
		return s
	}
	return Part(all, wide)
}

// Join puts what a step left behind back into the whole.
func Join(all, s *repair.Scope) {
	all.Program, all.Settings, all.Steps = s.Program, s.Settings, s.Steps
	all.Trucks, all.Procedures, all.Assumptions = s.Trucks, s.Procedures, s.Assumptions
	all.SpanDemands, all.LoadParts = s.SpanDemands, s.LoadParts
	all.Supports, all.Spans, all.Sections, all.Windows = s.Supports, s.Spans, s.Sections, s.Windows
	all.Mockups, all.MockupDecisions, all.SpecimenPlan, all.LoggerMaps, all.Tests = s.Mockups, s.MockupDecisions, s.SpecimenPlan, s.LoggerMaps, s.Tests
	all.Shifts = s.Shifts
	all.NextPour, all.NextNonconformance = s.NextPour, s.NextNonconformance
	all.Changed()
	all.Ends = merge(all.Ends, s.Ends, func(x *repair.Record) string { return x.End.ID })
	all.Pours = merge(all.Pours, s.Pours, func(x repair.Pour) string { return x.ID })
	all.PourEnds = merge(all.PourEnds, s.PourEnds, func(x repair.PourEnd) string { return x.ID })
	all.Batches = merge(all.Batches, s.Batches, func(x repair.Batch) string { return x.ID })
	all.Specimens = merge(all.Specimens, s.Specimens, func(x repair.Specimen) string { return x.ID })
	all.BatchEnds = merge(all.BatchEnds, s.BatchEnds, func(x repair.BatchEnd) string { return x.BatchID + "/" + x.EndID })
	all.SetReviews = merge(all.SetReviews, s.SetReviews, func(x repair.SetReview) string { return x.ID })
	all.CuringLogs = merge(all.CuringLogs, s.CuringLogs, func(x repair.CuringLog) string { return x.ID })
}

func merge[T any](all, some []T, id func(T) string) []T {
	at := make(map[string]int, len(all))
	for i, x := range all {
		at[id(x)] = i
	}
	for _, x := range some {
		if i, ok := at[id(x)]; ok {
			all[i] = x
		} else {
			all = append(all, x)
		}
	}
	return all
}
