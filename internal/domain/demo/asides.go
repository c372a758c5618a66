package demo

import (
	"fmt"
	"strconv"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// asides are edits beside the life of an end: the contract's own setting, facts
// found in old papers, and a step done twice.
func (t *teller) asides() {
	t.all("basis", authz.Engineer, day(1, 13).Add(10*hour), repair.EditBasis{Key: string(basis.CleanHours), Value: 8, Typed: "8",
		Source: "TRR-27-014, special provision 904: stud positions welded on the shift in which they were cleaned (invented)"})
	for g := 1; g <= 6; g++ {
		name := "1N-" + strconv.Itoa(g)
		t.facts(name, 9.5+float64(g)/10, "name of the inspection reports up to 1998", func(f *repair.EndFacts) {
			f.Alias = fmt.Sprintf("Beam %d, south abutment", g)
		})
	}
	for g := 1; g <= 5; g++ {
		t.facts("4F-"+strconv.Itoa(g), 13+float64(g)/10, "coupons from the girders of spans 3 and 4 tested", func(f *repair.EndFacts) {
			f.Fy, f.FyOrigin = 36*units.Ksi, "coupons CP-1 to CP-3, least of three"
			f.Typed = withTyped(f.Typed, "fy_mpa", "36 ksi")
		})
	}
	const name = "2N-3"
	e := end{teller: t, plan: planOf(name), name: name, ref: []string{name}}
	again := day(5, 11).Add(22*hour + 30*minute)
	e.act("FRM", "reopened", authz.Contractor, day(5, 7).Add(5*hour), "The water test repeated at dawn: the seal at the bearing leaks.")
	e.photo("FRM", 2, authz.Contractor, again)
	e.photo("FRM", 3, authz.Contractor, again.Add(minute))
	e.complete("FRM", authz.Contractor, again.Add(20*minute))
}

// facts edits the as-built facts of an end, before its first design.
func (t *teller) facts(name string, h float64, reason string, edit func(*repair.EndFacts)) {
	t.tell(name+" facts", authz.Designer, office(day(1, 28), 0, h), []string{name}, false, func(s *repair.Scope) (repair.Change, error) {
		r, err := s.One()
		if err != nil {
			return nil, err
		}
		f := repair.FactsOf(r.End)
		edit(&f)
		return repair.EditEnd{Facts: f, Reason: reason}, nil
	})
}

func withTyped(t repair.Typed, column, text string) repair.Typed {
	out := repair.Typed{column: text}
	for k, v := range t {
		if k != column {
			out[k] = v
		}
	}
	return out
}

func planOf(name string) plan {
	for _, p := range plans {
		if p.String() == name {
			return p
		}
	}
	return plan{}
}
