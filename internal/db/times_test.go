package db_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

func TestTimesOfAFormAreJournaledAsTheyAreStored(t *testing.T) {
	t.Parallel()
	b := setup(t)
	from := time.Now().In(time.FixedZone("", -5*60*60)).Add(-3*time.Hour + 123*time.Nanosecond)
	_, err := b.do(authz.Inspector, b.end(t, "1N-1"), repair.RecordCleaning{Zone: "stud_positions", Grade: "SP11", Method: "power_tool", Rust: "none",
		StartedAt: from, EndedAt: from.Add(time.Hour)})
	require.NoError(t, err)
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}
