package db_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
)

// BenchmarkRankingOf100000 is one page of the order of repair of a program with a
// hundred thousand ends: its beginning, its middle, narrowed, and in other orders.
func BenchmarkRankingOf100000(b *testing.B) {
	s := manyEnds(b)
	for _, sql := range []string{
		`update end_state set reserve = coalesce(capacity_n / demand_n, 2), chance = case when random() < 0.5 then random() end, fall_early = case when random() < 0.4 then 2027 + 60 * random() end,
			rating_least = case when random() < 0.5 then 2 * random() end, support_code = case when random() < 0.01 then 'A2' else 'A1' end`,
		`update end_state set rank_class = case when reserve < 1 then 0 when fall_early > 0 then 1 when chance > 0 then 2 else 3 end,
			rank_key = case when reserve < 1 then reserve when fall_early > 0 then fall_early else 0 end`,
		"vacuum analyze end_state",
	} {
		_, err := s.Pool.Exec(s.ctx, sql)
		require.NoError(b, err)
	}
	middle := ""
	for range 100 {
		page, err := s.Ranking(s.ctx, s.program, db.RankFilter{}, "", middle, 300)
		require.NoError(b, err)
		middle = page.Next
	}
	for _, c := range []struct {
		name, order, after string
		f                  db.RankFilter
	}{{"first", "", "", db.RankFilter{}}, {"middle", "", middle, db.RankFilter{}}, {"support", "", "", db.RankFilter{Support: "A2"}}, {"unknown-support", "", "", db.RankFilter{Support: "B9"}},
		{"rating", "rating", "", db.RankFilter{}}, {"fall", "fall", "", db.RankFilter{Closed: true}}, {"chance", "chance", "", db.RankFilter{}}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Ranking(s.ctx, s.program, c.f, c.order, c.after, 50); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	for _, order := range []string{"rating", "fall", "chance"} {
		b.Run("list-"+order, func(b *testing.B) {
			for b.Loop() {
				if _, err := s.ListEnds(s.ctx, s.program, db.ListFilter{}, order, 1, 100); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
