package db_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// Moving a program to another time zone counts its days anew, all of them and in the
// same transaction; any other title fact leaves them alone.
func TestAnotherZoneCountsTheDaysAnew(t *testing.T) {
	t.Parallel()
	b := fill(t, db.NewStore(dbtest.New(t)))
	frame, err := b.Frame(b.ctx, b.program)
	require.NoError(t, err)
	before, err := b.Marks(b.ctx, b.program)
	require.NoError(t, err)
	p := frame.Program
	edit := func() repair.Marks {
		_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Administrator], Change: repair.EditProgram{Program: p}})
		require.NoError(t, err)
		m, err := b.Marks(b.ctx, b.program)
		require.NoError(t, err)
		v, err := b.Verify(b.ctx)
		require.NoError(t, err)
		require.Empty(t, v.Differences)
		return m
	}
	p.PhotoPolicy, p.Owner = repair.PhotosAsTaken, "County of Here"
	require.Equal(t, before, edit())

	// One of the two zones lies on another day than UTC at any hour.
	was := p.Day(b.end(t, "1N-1").End.CreatedAt)
	p.Timezone = "Pacific/Kiritimati"
	if hour := b.end(t, "1N-1").End.CreatedAt.UTC().Hour(); hour < 10 {
		p.Timezone = "Etc/GMT+12"
	}
	now := p.Day(b.end(t, "1N-1").End.CreatedAt)
	require.NotEqual(t, was, now)
	after := edit()
	require.NotEqual(t, before, after)
	ends := int64(0)
	for m, n := range after {
		if len(m) > 4 && m[:4] == "end|" {
			require.Equal(t, now.Format(time.DateOnly), m[len(m)-10:])
			ends += n
		}
	}
	require.EqualValues(t, 4, ends)
}
