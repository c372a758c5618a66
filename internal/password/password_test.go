package password_test

import (
	"strings"
	"testing"

	"github.com/alexedwards/argon2id"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
	"endcast/internal/password"
)

const good = "bearing line at pier two"

func TestHashAndMatch(t *testing.T) {
	t.Parallel()
	hash, err := password.Hash(good)
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(hash, "$argon2id$v=19$m=65536,t=3,p=2$"), hash)

	ok, stale, err := password.Matches(good, hash)
	require.NoError(t, err)
	require.True(t, ok)
	require.False(t, stale)

	ok, _, err = password.Matches(good+" ", hash)
	require.NoError(t, err)
	require.False(t, ok)
}

func TestUnknownAccountNeverMatches(t *testing.T) {
	t.Parallel()
	ok, _, err := password.Matches(good, "")
	require.NoError(t, err)
	require.False(t, ok)
}

func TestOverlongPasswordNeverMatches(t *testing.T) {
	t.Parallel()
	ok, _, err := password.Matches(strings.Repeat("x", password.MaxLength+1), "")
	require.NoError(t, err)
	require.False(t, ok)
}

func TestOlderParametersAreStale(t *testing.T) {
	t.Parallel()
	old, err := argon2id.CreateHash(good, &argon2id.Params{Memory: 8 * 1024, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32})
	require.NoError(t, err)
	ok, stale, err := password.Matches(good, old)
	require.NoError(t, err)
	require.True(t, ok)
	require.True(t, stale)
}

func TestLengthLimits(t *testing.T) {
	t.Parallel()
	for n, want := range map[int]bool{password.MinLength - 1: false, password.MinLength: true, password.MaxLength: true, password.MaxLength + 1: false} {
		require.Equal(t, want, password.Check(strings.Repeat("é", n)) == "", n)
	}
	_, err := password.Hash("short")
	require.ErrorIs(t, err, fault.Fields)
}
