package db_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/outlook"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// The order that the database sorts by is that of outlook.Rank for states of every
// kind, many of them equal in one value or another; the columns that it sorts by
// are those that an edit would have stored.
func TestOrderOfRepairIsThatOfTheDomain(t *testing.T) {
	t.Parallel()
	s := fill(t, db.NewStore(dbtest.New(t)))
	_, err := s.Pool.Exec(s.ctx, "delete from end_state")
	require.NoError(t, err)
	const many = 400
	rng := rand.New(rand.NewPCG(11, 7))
	pick := func(vs ...float64) float64 { return vs[rng.IntN(len(vs))] }
	var standings []outlook.Standing
	reasons := map[string]bool{}
	for i := range many {
		name := fmt.Sprintf("%dN-%d", 1+rng.IntN(40), i) // names sort by bytes
		st := repair.State{Name: name, CapacityNew: units.Force(pick(0, 300, 400, 500)), Demand: units.Force(pick(0, 0, 300, 400, 400)), Outside: rng.IntN(5) == 0}
		if rng.IntN(4) > 0 {
			c := units.Force(pick(0, 150, 300, 390, 400, 450))
			st.Capacity = &c
		}
		if rng.IntN(2) == 0 {
			st.Chance = new(pick(0, 0, 0.004, 0.5, 1))
		}
		if st.FallVerdict = string([]outlook.Verdict{outlook.Unknown, outlook.Falls, outlook.Beyond, outlook.Already}[rng.IntN(4)]); st.FallVerdict == string(outlook.Falls) {
			st.FallEarly = new(pick(2028.5, 2031, 2031.25, 2060))
		}
		if rng.IntN(8) == 0 {
			st.RankClass = repair.RankCarried
		}
		if rng.IntN(6) == 0 {
			st.RankClass = repair.RankCarried
		}
		st.Rank()
		standings = append(standings, st.Standing())
		_, err := s.Pool.Exec(s.ctx, `with e as (insert into girder_end select (jsonb_populate_record(null::girder_end, to_jsonb(x) ||
				jsonb_build_object('id', gen_random_uuid(), 'name', $1::text))).* from girder_end x where x.name = '1N-1' returning id, program_id)
			insert into end_state (end_id, program_id, sort_key, name, support_code, section_name, access, step_ord, step_code, step_name, closed, demand_n, capacity_new_n,
				capacity_n, chance, fall_verdict, fall_early, outside, reserve, rank_class, rank_key, method_version, input_digest)
			select id, program_id, $1, $1, $2, '', 'open', 1, '', '', false, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, '1', '' from e`,
			name, []string{"A1", "A2"}[i%2], st.Demand, st.CapacityNew, st.Capacity, st.Chance, st.FallVerdict, st.FallEarly, st.Outside, st.Reserve, st.RankClass, st.RankKey)
		require.NoError(t, err)
	}
	want := outlook.Rank(standings)
	read := func(f db.RankFilter) []db.RankRow {
		var out []db.RankRow
		for after := ""; ; {
			page, err := s.Ranking(s.ctx, s.program, f, "", after, 37)
			require.NoError(t, err)
			out = append(out, page.Rows...)
			if after = page.Next; after == "" {
				return out
			}
		}
	}
	got := read(db.RankFilter{})
	require.Len(t, got, many)
	for i, row := range got {
		require.Equal(t, want[i].Name, row.Name, "place %d: %s", i+1, want[i].Reason)
		require.Equal(t, want[i].Reason, outlook.Rank([]outlook.Standing{row.Standing()})[0].Reason, "the reason does not depend on the others")
		reasons[fmt.Sprint(row.RankClass)] = true
	}
	require.Len(t, reasons, 6, "every class is met")
	narrowed := read(db.RankFilter{Support: "A2"})
	require.Len(t, narrowed, many/2)
	last := 0
	for _, row := range narrowed {
		at := 0
		for i := range want {
			if want[i].Name == row.Name {
				at = i + 1
			}
		}
		require.Greater(t, at, last, "a filter leaves the order as it is")
		last = at
	}
}
