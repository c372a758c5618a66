package main

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/password"
)

func TestUserCommand(t *testing.T) {
	t.Parallel()
	pool := dbtest.New(t)
	env := []string{"DATABASE_URL=" + pool.Config().ConnString()}
	people := db.People{Pool: pool}
	do := func(input string, words ...string) (int, string, string) {
		return typed(t.Context(), env, input, append([]string{"user"}, words...)...)
	}
	requirePassword := func(plain string) {
		t.Helper()
		c, err := people.Credentials(t.Context(), "ada@ends.example")
		require.NoError(t, err)
		ok, _, err := password.Matches(plain, c.PasswordHash)
		require.NoError(t, err)
		require.True(t, ok)
	}

	status, out, errs := do("", "add", "-admin", "ada@ends.example", "Ada", "Example")
	require.Equal(t, exitOK, status, errs)
	made := regexp.MustCompile(`shown this once: (\S{26})\n`).FindStringSubmatch(out)
	require.NotNil(t, made, out)
	requirePassword(made[1])

	status, _, errs = do("", "add", "ADA@ends.example", "Ada")
	require.Equal(t, exitFailed, status)
	require.Contains(t, errs, "there is an account for")

	status, out, _ = do("a long enough password\n", "password", "-password-stdin", "ada@ends.example")
	require.Equal(t, exitOK, status)
	require.NotContains(t, out, "shown this once")
	requirePassword("a long enough password")

	status, _, errs = do("short\n", "password", "-password-stdin", "ada@ends.example")
	require.Equal(t, exitFailed, status)
	require.Contains(t, errs, "a password has at least")
	requirePassword("a long enough password")

	status, _, errs = do("", "disable", "nobody@ends.example")
	require.Equal(t, exitFailed, status)
	require.NotEmpty(t, errs)

	_, out, _ = do("", "list")
	require.Regexp(t, `ada@ends\.example\s+Ada Example\s+administrator`, out)
	status, _, _ = do("", "disable", "ada@ends.example")
	require.Equal(t, exitOK, status)
	_, out, _ = do("", "list")
	require.Regexp(t, `ada@ends\.example\s+Ada Example\s+disabled \d{4}-\d\d-\d\d`, out)
	status, _, _ = do("", "enable", "ada@ends.example")
	require.Equal(t, exitOK, status)
	_, out, _ = do("", "list")
	require.Contains(t, out, "administrator")
}
