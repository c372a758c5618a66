package web

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
)

func loggedWindow(kind, at, state, reason string, old map[string]any) db.RowChange {
	return db.RowChange{Table: "access_window", Old: old,
		New: map[string]any{"kind": kind, "starts_at": at, "state": state, "party": "Railway", "reason": reason}}
}

func TestWindowsInWords(t *testing.T) {
	t.Parallel()
	const night = "2026-03-07T22:00:00Z"
	planned := loggedWindow("lane closure", night, "planned", "", nil)
	granted := loggedWindow("lane closure", night, "granted", "", map[string]any{"state": "planned"})
	lost := loggedWindow("possession", night, "lost", "storm", map[string]any{"state": "granted"})
	other := db.RowChange{Table: "step", New: map[string]any{"name": "cast"}}
	for _, c := range []struct {
		name string
		rows []db.RowChange
		want string
	}{
		{"none", []db.RowChange{other}, "Saved without a change."},
		{"each of a few", []db.RowChange{planned, granted}, "Lane closure of 2026-03-07 22:00: planned; lane closure of 2026-03-07 22:00: granted, was planned."},
		{"counts of many, reasons singly", []db.RowChange{planned, planned, planned, granted, lost, other},
			"Lane closure: 3 planned; lane closure: 1 granted after planned; possession of 2026-03-07 22:00: lost, was granted (Railway: storm)."},
		{"a per cent sign in a kind", []db.RowChange{loggedWindow("50 % closure", night, "planned", "", nil), planned, planned, planned}, "50 % closure: 1 planned; lane closure: 3 planned."},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.want, windowsInWords(db.SettingChange{Changes: c.rows}, time.UTC))
		})
	}
}
