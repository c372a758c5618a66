package repair

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// OrderTests puts tests in the order of casting, in which the running rule reads them.
func OrderTests(tests []StrengthTest) {
	slices.SortFunc(tests, func(a, b StrengthTest) int {
		return cmp.Or(a.CastAt.Compare(b.CastAt), a.BrokenAt.Compare(b.BrokenAt), cmp.Compare(a.PourID, b.PourID), cmp.Compare(a.BatchNo, b.BatchNo),
			cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Curing, b.Curing), cmp.Compare(a.Duty, b.Duty), cmp.Compare(a.NominalDays, b.NominalDays))
	})
}

// BesideInOrder returns the castings named and those whose tests stand so near to
// theirs, in the order of casting, that one mean of the program's rule of acceptance
// may take both.
func BesideInOrder(tests []StrengthTest, pours []Pour, b basis.Basis) []string {
	type place struct {
		pour string
		at   time.Time
		own  bool
	}
	var order []place
	var out []string
	for _, p := range pours {
		out = append(out, p.ID)
		order = append(order, place{p.ID, p.StartedAt, true})
	}
	for _, t := range tests {
		order = append(order, place{t.PourID, t.CastAt, slices.Contains(out, t.PourID)})
	}
	slices.SortFunc(order, func(a, b place) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.pour, b.pour)) })
	beside, within := uhpc.Together(b)
	for i, x := range order {
		if !x.own {
			continue
		}
		for _, step := range []int{-1, 1} {
			for j, others := i+step, 0; j >= 0 && j < len(order) && (others < beside || order[j].at.Sub(x.at).Abs() < within); j += step {
				if !order[j].own {
					others++
					if !slices.Contains(out, order[j].pour) {
						out = append(out, order[j].pour)
					}
				}
			}
		}
	}
	return out
}

// acceptance tells whether a set is one that the strength specified is accepted by.
func acceptance(set uhpc.Set, purposes map[string]string) bool {
	for _, sp := range set.Specimens {
		if purposes[sp.Mark] == string(uhpc.ForAcceptance) {
			return true
		}
	}
	// One made before plans were kept, or without naming what for.
	for _, sp := range set.Specimens {
		if purposes[sp.Mark] != "" {
			return false
		}
	}
	return set.Cure == uhpc.StandardCure && set.NominalHours == 28*24
}

// settleTests brings the tests of the castings in the scope up to what was broken,
// judges the program's rule of acceptance over all its tests, and raises a nonconformance
// at each end of the castings concerned where it fails: once for a test. A test is a
// set all of whose specimens are broken or lost; while a set is held for review its
// test is too, and decides nothing. Rule: uhpc.Acceptable.
func (s *Scope) settleTests(c Context) error {
	purposes, lost := map[string]string{}, map[string]bool{}
	for _, sp := range s.Specimens {
		purposes[sp.Mark] = sp.Purpose
		lost[sp.Mark] = sp.LostAt != nil
	}
	for _, p := range s.Pours {
		if p.MockupID != nil {
			continue
		}
		for _, set := range s.SetsOf(p) {
			if acceptance(set, purposes) {
				s.settleTest(p, set, lost, c)
			}
		}
	}
	s.raiseForTests(c)
	return nil
}

// raiseForTests holds all tests to the program's rule and raises what fails it.
func (s *Scope) raiseForTests(c Context) {
	OrderTests(s.Tests)
	rule, falls := s.judgeTests()
	for i := range s.Tests {
		if s.Tests[i].Low != "" {
			s.raiseForTest(i, rule, falls[i], c)
		}
	}
}

// settleTest writes the test of one set, if the set is complete or was before.
func (s *Scope) settleTest(p Pour, set uhpc.Set, lost map[string]bool, c Context) {
	st := set.Stats(s.Basis())
	complete := true
	var cast, last time.Time
	number := 0
	for _, sp := range set.Specimens {
		complete = complete && (!sp.Broken.IsZero() || lost[sp.Mark])
		if cast.IsZero() || sp.Cast.Before(cast) {
			cast = sp.Cast
		}
		if sp.Broken.After(last) {
			last = sp.Broken
		}
	}
	for _, b := range s.Batches {
		if b.PourID == p.ID && batchMark(p, b.Number) == set.Batch {
			number = b.Number
		}
	}
	row := StrengthTest{ProgramID: s.Program.ID, PourID: p.ID, BatchNo: number, Kind: string(set.Kind), Curing: string(set.Cure), Duty: string(set.Duty),
		NominalDays: set.NominalHours / 24, CastAt: cast, BrokenAt: last, Mean: st.Mean, Least: st.Least, N: st.Counted, RangeShare: st.RangeShare,
		Specified: units.Stress(s.Basis().Value(basis.FinalStrength)), State: string(st.State)}
	i := slices.IndexFunc(s.Tests, func(t StrengthTest) bool {
		return t.PourID == row.PourID && t.BatchNo == row.BatchNo && t.Kind == row.Kind && t.Curing == row.Curing && t.Duty == row.Duty && t.NominalDays == row.NominalDays
	})
	switch {
	case i >= 0:
		row.ID, row.Low, row.RaisedAt, row.Specified = s.Tests[i].ID, s.Tests[i].Low, s.Tests[i].RaisedAt, s.Tests[i].Specified
		if row.N == 0 || last.IsZero() {
			row.BrokenAt = s.Tests[i].BrokenAt
		}
		s.Tests[i] = row
	case complete && !last.IsZero():
		row.ID = c.NewID()
		s.Tests = append(s.Tests, row)
	}
}

// judgeTests applies the program's rule to the tests that count, those of one
// strength specified and one duty of the laboratory together. It returns the rule's
// name and what each test shows by falling short, in positions of s.Tests.
func (s *Scope) judgeTests() (rule string, falls map[int][]uhpc.Fall) {
	type class struct {
		specified units.Stress
		duty      string
	}
	of := map[class][]int{}
	for i := range s.Tests {
		s.Tests[i].Low = ""
		if t := s.Tests[i]; t.State == string(uhpc.Sound) {
			k := class{t.Specified, t.Duty}
			of[k] = append(of[k], i)
		}
	}
	rule, falls = uhpc.Acceptable(nil, 1, s.Basis()).Name, map[int][]uhpc.Fall{}
	for k, list := range of {
		tests := make([]uhpc.Test, len(list))
		for j, i := range list {
			tests[j] = uhpc.Test{Cast: s.Tests[i].CastAt, Mean: s.Tests[i].Mean, N: s.Tests[i].N}
		}
		a := uhpc.Acceptable(tests, k.specified, s.Basis())
		if k.specified == units.Stress(s.Basis().Value(basis.FinalStrength)) {
			rule = a.Name
		}
		for _, f := range a.Falls {
			here := f
			here.Of = nil
			for _, j := range f.Of {
				here.Of = append(here.Of, list[j])
			}
			here.At = list[f.At]
			falls[here.At] = append(falls[here.At], here)
			switch t := &s.Tests[here.At]; {
			case f.Single():
				t.Low = "single"
			case t.Low == "single" || t.Low == "both":
				t.Low = "both"
			default:
				t.Low = "mean"
			}
		}
	}
	return rule, falls
}

// raiseForTest raises a nonconformance for a test that fails at every end of the
// scope that its castings served and that has none for it yet.
func (s *Scope) raiseForTest(i int, rule string, falls []uhpc.Fall, c Context) {
	t := s.Tests[i]
	sys := units.System(s.Program.Units)
	var of []int
	var asked, found, names []string
	for _, f := range falls {
		asked, found = append(asked, f.Asked(sys)), append(found, f.Found(sys))
		of = append(of, f.Of...)
	}
	slices.Sort(of)
	of = slices.Compact(of)
	pours := map[string]bool{}
	for _, j := range of {
		x := s.Tests[j]
		pours[x.PourID] = true
		names = append(names, fmt.Sprintf("%s at %s days %s", s.batchName(x), number(x.NominalDays), x.Mean.Format(sys, 2)))
	}
	origin := "strength_test " + t.ID
	raised := false
	for _, r := range s.Ends {
		served := slices.ContainsFunc(s.PourEnds, func(pe PourEnd) bool { return pe.EndID == r.End.ID && pours[pe.PourID] })
		if !served || slices.ContainsFunc(r.Nonconformances, func(n Nonconformance) bool { return n.Origin == origin }) {
			continue
		}
		raised = true
		r.Nonconformances = append(r.Nonconformances, Nonconformance{ID: c.NewID(), ProgramID: s.Program.ID, EndID: r.End.ID, Number: s.NextNonconformance,
			Requirement: "Acceptance of the strength by the rule of the design basis, " + rule + ": " + strings.Join(asked, "; "),
			Found:       strings.Join(found, "; ") + ". Tests in the order of casting: " + strings.Join(names, ", "),
			Stops:       []string{}, RaisedBy: c.Actor.ID, RaisedAt: c.Now, State: string(quality.Raised), Origin: origin})
		s.NextNonconformance++
	}
	if raised && t.RaisedAt == nil {
		at := c.Now
		s.Tests[i].RaisedAt = &at
	}
}

// batchName names the batch of a test; of a casting outside the scope only that it is
// one of another day.
func (s *Scope) batchName(t StrengthTest) string {
	if p := s.pourByID(t.PourID); p.ID != "" {
		return "batch " + batchMark(p, t.BatchNo)
	}
	return "a batch cast on " + t.CastAt.Format(time.DateOnly)
}
