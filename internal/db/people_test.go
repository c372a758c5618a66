package db_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/fault"
)

var noon = time.Date(2027, 6, 1, 12, 0, 0, 0, time.UTC)

func newUser(t *testing.T, p db.People, email string) db.User {
	t.Helper()
	u, err := p.Create(t.Context(), db.NewUser{Email: email, Name: "A. Person", PasswordHash: "hash"})
	require.NoError(t, err)
	return u
}

func TestCreateRefusesWhatIsNoAccount(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	for _, n := range []db.NewUser{{Email: "", Name: "A"}, {Email: "@host", Name: "A"}, {Email: "a@", Name: "A"}, {Email: "a@b", Name: "  "}} {
		_, err := p.Create(t.Context(), n)
		require.ErrorIs(t, err, fault.Fields, "%+v", n)
	}
}

func TestEmailIsOneAccountInAnyCase(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	u := newUser(t, p, " Site.Engineer@Ends.test ")
	require.Equal(t, "Site.Engineer@Ends.test", u.Email)
	_, err := p.Create(t.Context(), db.NewUser{Email: "site.engineer@ends.TEST", Name: "B", PasswordHash: "x"})
	require.ErrorIs(t, err, fault.Duplicate)

	c, err := p.Credentials(t.Context(), "SITE.ENGINEER@ENDS.TEST")
	require.NoError(t, err)
	require.Equal(t, u.ID, c.ID)
	require.Equal(t, "hash", c.PasswordHash)
}

func TestUnknownAccountIsNotFound(t *testing.T) {
	t.Parallel()
	p, id := db.People{Pool: dbtest.New(t)}, uuid.New()
	_, err := p.Credentials(t.Context(), "nobody@ends.test")
	require.ErrorIs(t, err, fault.NotFound)
	_, err = p.ByID(t.Context(), id)
	require.ErrorIs(t, err, fault.NotFound)
	_, err = p.SetPassword(t.Context(), id, "x")
	require.ErrorIs(t, err, fault.NotFound)
	require.ErrorIs(t, p.Disable(t.Context(), id, noon), fault.NotFound)
}

func TestFailedLoginsPauseTheAccount(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	u := newUser(t, p, "a@ends.test")
	for range 2 {
		require.NoError(t, p.LoginFailed(t.Context(), u.ID, noon, 3, time.Hour))
	}
	u, err := p.ByID(t.Context(), u.ID)
	require.NoError(t, err)
	require.Equal(t, 2, u.FailedLogins)
	require.False(t, u.Locked(noon))

	require.NoError(t, p.LoginFailed(t.Context(), u.ID, noon, 3, time.Hour))
	u, err = p.ByID(t.Context(), u.ID)
	require.NoError(t, err)
	require.True(t, u.Locked(noon.Add(time.Hour-time.Second)))
	require.False(t, u.Locked(noon.Add(time.Hour)))
	require.Zero(t, u.FailedLogins, "counting begins anew after the pause")

	require.NoError(t, p.LoginSucceeded(t.Context(), u.ID))
	u, err = p.ByID(t.Context(), u.ID)
	require.NoError(t, err)
	require.Nil(t, u.LockedUntil)
}

func TestPasswordAndDisablingEndSessions(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	u := newUser(t, p, "a@ends.test")
	epoch, err := p.SetPassword(t.Context(), u.ID, "other")
	require.NoError(t, err)
	require.Equal(t, u.SessionEpoch+1, epoch)

	require.NoError(t, p.Disable(t.Context(), u.ID, noon))
	require.NoError(t, p.Disable(t.Context(), u.ID, noon.Add(time.Hour)))
	got, err := p.ByID(t.Context(), u.ID)
	require.NoError(t, err)
	require.False(t, got.Active())
	require.True(t, noon.Equal(*got.DisabledAt), "the first time stays")
	require.Greater(t, got.SessionEpoch, epoch)

	require.NoError(t, p.Enable(t.Context(), u.ID))
	got, err = p.ByID(t.Context(), u.ID)
	require.NoError(t, err)
	require.True(t, got.Active())
}

func TestUnits(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	u := newUser(t, p, "a@ends.test")
	require.Nil(t, u.Units)
	si := "si"
	require.NoError(t, p.SetUnits(t.Context(), u.ID, &si))
	u, err := p.ByID(t.Context(), u.ID)
	require.NoError(t, err)
	require.Equal(t, &si, u.Units)
	bad := "cubits"
	require.Error(t, p.SetUnits(t.Context(), u.ID, &bad))
}

func TestListByName(t *testing.T) {
	t.Parallel()
	p := db.People{Pool: dbtest.New(t)}
	for _, name := range []string{"beta", "Alpha", "gamma"} {
		_, err := p.Create(t.Context(), db.NewUser{Email: name + "@ends.test", Name: name, PasswordHash: "x"})
		require.NoError(t, err)
	}
	all, err := p.List(t.Context())
	require.NoError(t, err)
	var names []string
	for _, u := range all {
		names = append(names, u.Name)
	}
	require.Equal(t, "Alpha beta gamma", strings.Join(names, " "))
}

func TestOpenSetsLimitsAndUTC(t *testing.T) {
	t.Parallel()
	pool, err := db.Open(t.Context(), dbtest.DSN(t))
	require.NoError(t, err)
	defer pool.Close()
	for setting, want := range map[string]string{"timezone": "UTC", "statement_timeout": "30s", "lock_timeout": "10s",
		"idle_in_transaction_session_timeout": "1min", "application_name": "endcast"} {
		var got string
		require.NoError(t, pool.QueryRow(t.Context(), "SELECT current_setting($1)", setting).Scan(&got))
		require.Equal(t, want, got, setting)
	}
	_, err = db.Open(t.Context(), "postgres://%zz")
	require.ErrorContains(t, err, "database address")
}
