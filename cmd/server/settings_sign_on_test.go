package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db/dbtest"
)

func TestSignOnSettings(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(file, []byte("of two parties\n"), 0o600))
	empty := filepath.Join(t.TempDir(), "empty")
	require.NoError(t, os.WriteFile(empty, []byte(" \n"), 0o600))
	for _, c := range []struct {
		s    settings
		says string
	}{
		{settings{}, ""},
		{settings{SignOnIssuer: "https://id.example.org", SignOnClient: "ends", SignOnSecretFile: file}, ""},
		{settings{SignOnIssuer: "http://localhost:9000", SignOnClient: "ends"}, ""},
		{settings{SignOnIssuer: "http://127.0.0.1:9000", SignOnClient: "ends"}, ""},
		{settings{SignOnIssuer: "http://id.example.org", SignOnClient: "ends"}, "must be an https address"},
		{settings{SignOnIssuer: "https://id.example.org", SignOnClient: "ends", SignOnRedirect: "back"}, "must be an https address"},
		{settings{SignOnIssuer: "https://id.example.org"}, "needs -sign-on-client"},
		{settings{SignOnClient: "ends"}, "no -sign-on-issuer"},
		{settings{SignOnIssuer: "https://id.example.org", SignOnClient: "ends", SignOnSecretFile: empty}, "holds no secret"},
		{settings{SignOnIssuer: "https://id.example.org", SignOnClient: "ends", SignOnSecretFile: file + "x"}, "no such file"},
	} {
		err := c.s.checkSignOn()
		if err == nil {
			on, e := c.s.signOn()
			if err = e; e == nil && c.s.SignOnIssuer != "" {
				require.Equal(t, c.s.SignOnIssuer, on.Issuer)
				require.Equal(t, c.s.SignOnSecretFile != "", on.Secret == "of two parties")
			}
		}
		if c.says == "" {
			require.NoError(t, err)
		} else {
			require.ErrorContains(t, err, c.says)
		}
	}
}

func TestUserLinkCommand(t *testing.T) {
	t.Parallel()
	pool := dbtest.New(t)
	env := []string{"DATABASE_URL=" + pool.Config().ConnString()}
	do := func(words ...string) (int, string, string) {
		return typed(t.Context(), env, "", append([]string{"user"}, words...)...)
	}
	for _, name := range []string{"ada", "bo"} {
		status, _, errs := do("add", name+"@ends.example", name)
		require.Equal(t, exitOK, status, errs)
	}
	status, _, errs := do("link", "ada@ends.example", "77")
	require.Equal(t, exitFailed, status)
	require.Contains(t, errs, "-sign-on-issuer")
	service := []string{"-sign-on-issuer", "https://id.example.org", "-sign-on-client", "ends"}
	link := func(words ...string) (int, string, string) {
		return do(append(append(service[:len(service):len(service)], "link"), words...)...)
	}
	status, out, errs := link("ada@ends.example", "77")
	require.Equal(t, exitOK, status, errs)
	require.Contains(t, out, "account ada@ends.example is 77 at https://id.example.org")
	status, _, errs = link("bo@ends.example", "77")
	require.Equal(t, exitFailed, status)
	require.Contains(t, errs, "belongs to another account already")
	status, _, errs = link("ada@ends.example", "78")
	require.Equal(t, exitFailed, status)
	require.Contains(t, errs, "unlink that first")
	status, out, errs = do("unlink", "ada@ends.example")
	require.Equal(t, exitOK, status, errs)
	require.Contains(t, out, "1 identities unlinked")
	status, _, errs = link("bo@ends.example", "77")
	require.Equal(t, exitOK, status, errs)
}
