package db_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

// newProgram stores a program with hardly anything in it.
func newProgram(t *testing.T, p db.People, code string) uuid.UUID {
	t.Helper()
	id := uuid.Must(uuid.NewV7())
	_, err := p.Pool.Exec(t.Context(), `INSERT INTO program (id, code, name, units, created_at) VALUES ($1, $2, $2, 'us', now())`, id, code)
	require.NoError(t, err)
	return id
}

func TestOneRoleAProgram(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	a, b := newProgram(t, p, "a"), newProgram(t, p, "b")
	u := newUser(t, p, "a@ends.test")
	require.NoError(t, p.SetRole(t.Context(), u.ID, a, authz.Inspector))
	require.NoError(t, p.SetRole(t.Context(), u.ID, b, authz.Manager))
	require.NoError(t, p.SetRole(t.Context(), u.ID, a, authz.Designer))
	roles, err := p.Roles(t.Context(), u.ID)
	require.NoError(t, err)
	require.Equal(t, map[uuid.UUID]authz.Role{a: authz.Designer, b: authz.Manager}, roles)

	members, err := p.Members(t.Context(), a)
	require.NoError(t, err)
	require.Len(t, members, 1)
	require.Equal(t, u.ID, members[0].ID)
	require.Equal(t, authz.Designer, members[0].Role)

	require.NoError(t, p.RemoveRole(t.Context(), u.ID, a))
	require.NoError(t, p.RemoveRole(t.Context(), u.ID, a), "twice is no error")
	members, err = p.Members(t.Context(), a)
	require.NoError(t, err)
	require.Empty(t, members)
}

func TestUnknownRoleIsRefused(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	u := newUser(t, p, "a@ends.test")
	require.ErrorIs(t, p.SetRole(t.Context(), u.ID, uuid.New(), "owner"), fault.Fields)
}

// The table in the database and the table in code must name the same roles.
func TestEveryRoleCanBeStored(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	program := newProgram(t, p, "a")
	u := newUser(t, p, "a@ends.test")
	for _, role := range authz.Roles() {
		require.NoError(t, p.SetRole(t.Context(), u.ID, program, role), role)
	}
}

func TestSweepTakesOnlySessionsThatAreOver(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	_, err := p.Pool.Exec(t.Context(), `INSERT INTO sessions (token, data, expiry) VALUES ('old', '', now() - interval '1 s'), ('new', '', now() + interval '1 h')`)
	require.NoError(t, err)
	require.NoError(t, p.SweepSessions(t.Context()))
	var left string
	require.NoError(t, p.Pool.QueryRow(t.Context(), `SELECT string_agg(token, ',') FROM sessions`).Scan(&left))
	require.Equal(t, "new", left)
}
