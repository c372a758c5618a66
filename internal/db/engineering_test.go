package db_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/demo"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/outlook"
)

// The order of repair is that of the domain, and pages meet without gap or overlap,
// in every order.
func TestRankingGoesOnWhereItEnded(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	st := db.NewStore(dbtest.New(t))
	require.NoError(t, st.LoadDemo(ctx, func(p string) (string, error) { return p, nil }))
	all, err := st.Everything(ctx, demo.ProgramID())
	require.NoError(t, err)
	var standings []outlook.Standing
	for _, r := range all.Ends {
		standings = append(standings, r.State[0].Standing())
	}
	want := outlook.Rank(standings)
	for _, order := range db.RankOrders() {
		var got []db.RankRow
		for after := ""; ; {
			page, err := st.Ranking(ctx, demo.ProgramID(), db.RankFilter{Closed: true}, order, after, 7)
			require.NoError(t, err, order)
			got = append(got, page.Rows...)
			if after = page.Next; after == "" {
				break
			}
		}
		require.Len(t, got, len(want), order)
		seen := map[string]bool{}
		for i, row := range got {
			require.False(t, seen[row.Name], "%s twice by %q", row.Name, order)
			seen[row.Name] = true
			require.Equal(t, i+1, row.Place)
			if order == "" {
				require.Equal(t, want[i].Name, row.Name, "place %d", i+1)
			}
			if order == "chance" && i > 0 && row.Chance != nil {
				require.LessOrEqual(t, *row.Chance, *got[i-1].Chance)
			}
		}
	}
	open, err := st.Ranking(ctx, demo.ProgramID(), db.RankFilter{}, "", "", 100)
	require.NoError(t, err)
	require.Empty(t, open.Next)
	require.NotEmpty(t, open.Rows)
	require.Less(t, len(open.Rows), len(want))
	for _, row := range open.Rows {
		require.False(t, row.Closed)
	}
	for _, bad := range []struct{ order, after string }{{"size", ""}, {"", "x"}, {"", "eyJvIjoiZmFsbCIsImsiOlsiMSJdfQ"}, {"reserve", "eyJvIjoicmVzZXJ2ZSIsImsiOlsiMTsiXX0"}} {
		_, err := st.Ranking(ctx, demo.ProgramID(), db.RankFilter{}, bad.order, bad.after, 10)
		require.ErrorIs(t, err, fault.Malformed, bad)
	}
	o, err := st.OutlookOf(ctx, demo.ProgramID(), "1n-2")
	require.NoError(t, err)
	odds, ok := o.OddsOf()
	require.True(t, ok)
	require.Equal(t, *o.Chance, odds.Chance)
}
