package db_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/demo"
	"endcast/internal/domain/fault"
)

func TestDemonstrationLoadsAndVerifies(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	st := db.NewStore(dbtest.New(t))
	plain := func(p string) (string, error) { return "hash of " + p, nil }
	past := watchThePast(t, st)
	require.NoError(t, st.LoadDemoWatched(ctx, plain, past.look))
	past.compare()

	v, err := st.Verify(ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
	require.Equal(t, 58, v.Ends)

	only, err := st.DemoOnly(ctx)
	require.NoError(t, err)
	require.True(t, only)
	p, err := st.Program(ctx, demo.Code)
	require.NoError(t, err)
	require.True(t, p.IsDemo)
	require.True(t, p.Today.Equal(demo.Today))

	littleHolds(t, st, p)

	err = st.LoadDemo(ctx, plain)
	require.ErrorIs(t, err, fault.Refused)
}
