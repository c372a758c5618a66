package authz_test

import (
	"slices"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
)

// Every action belongs to one scope, but those that no token ever does.
func TestEveryActionHasOneScope(t *testing.T) {
	t.Parallel()
	never := []authz.Action{authz.ManagePeople, authz.MakeDocument, authz.SignDocument, authz.DiscussDesign}
	for _, a := range authz.Actions() {
		s, ok := authz.ScopeOf(a)
		require.Equal(t, !slices.Contains(never, a), ok, "action %q: give it to a scope of scopeTable, or say here that no token does it", a)
		if ok {
			require.True(t, s.Valid())
			require.NotEmpty(t, s.Words())
		}
	}
	for _, a := range []authz.Action{authz.Public, authz.OwnAccount, authz.CreateProgram, authz.ManageSite} {
		_, ok := authz.ScopeOf(a)
		require.False(t, ok, a)
	}
}

// A token never lets its person do more than the person may, nor more than its scopes,
// nor anything in another program: every role, scope and action, in both programs.
func TestTokenIsTheLesserOfRoleAndScope(t *testing.T) {
	t.Parallel()
	both := map[uuid.UUID]authz.Role{}
	for _, role := range authz.Roles() {
		both[here], both[elsewhere] = role, role
		for _, scope := range authz.Scopes() {
			plain := authz.Person{ID: somebody, Roles: both}
			narrowed := plain
			narrowed.Token = &authz.Token{Program: here, Scopes: []authz.Scope{scope}}
			for _, a := range authz.Actions() {
				of, ok := authz.ScopeOf(a)
				name := string(role) + " " + string(scope) + " " + string(a)
				require.Equal(t, authz.Can(plain, here, a) && ok && of == scope, authz.Can(narrowed, here, a), name)
				require.Equal(t, authz.MayAtSomeStep(plain, here, a) && ok && of == scope, authz.MayAtSomeStep(narrowed, here, a), name)
				named := []authz.Role{role}
				require.Equal(t, authz.CanStep(plain, here, a, named) && ok && of == scope, authz.CanStep(narrowed, here, a, named), name)
				require.False(t, authz.MayAtSomeStep(narrowed, elsewhere, a), "in another program: %s", name)
			}
			site := authz.Person{ID: somebody, SiteAdmin: true, Roles: both, Token: narrowed.Token}
			for _, a := range []authz.Action{authz.OwnAccount, authz.CreateProgram, authz.ManageSite, authz.ManagePeople} {
				require.False(t, authz.MayAtSomeStep(site, here, a), "no token does %s", a)
			}
			require.True(t, authz.Can(site, uuid.Nil, authz.OwnToken))
		}
	}
	require.False(t, authz.Can(authz.Person{}, uuid.Nil, authz.OwnToken))
}
