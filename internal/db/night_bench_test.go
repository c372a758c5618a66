package db_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/repair"
)

// BenchmarkNightOf100000 is what a page of one window asks of the store and the rules,
// in a program with a hundred thousand ends: which ends, three hundred of them read
// whole, and the proposal. The steps name no codes: those of the access alone count.
func BenchmarkNightOf100000(b *testing.B) {
	s := manyEnds(b)
	w := repair.Window{Kind: "open", StartsAt: time.Date(2027, 7, 17, 22, 0, 0, 0, time.UTC), EndsAt: time.Date(2027, 7, 18, 5, 0, 0, 0, time.UTC), ProductiveH: 6, State: repair.WindowGranted}
	var ids []string
	b.Run("which", func(b *testing.B) {
		for b.Loop() {
			var total int
			var err error
			if ids, total, err = s.NightEnds(s.ctx, s.program, w.Kind, nil, 300); err != nil || total < 60000 {
				b.Fatal(total, err)
			}
		}
	})
	var sc *repair.Scope
	b.Run("read", func(b *testing.B) {
		for b.Loop() {
			var err error
			if sc, err = s.Ends(s.ctx, s.program, ids); err != nil {
				b.Fatal(err)
			}
		}
	})
	require.Len(b, sc.Ends, 300)
	sc.Shifts.Crews = []repair.Crew{{ID: "a", Name: "Blast"}, {ID: "b", Name: "Steel"}, {ID: "c", Name: "Concrete"}}
	b.Run("propose", func(b *testing.B) {
		for b.Loop() {
			if _, err := repair.PlanNight(sc, w, 0, time.UTC); err != nil {
				b.Fatal(err)
			}
		}
	})
}
