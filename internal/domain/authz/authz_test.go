package authz_test

import (
	"encoding/csv"
	"os"
	"slices"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/authz"
)

var (
	here      = uuid.MustParse("019a0000-0000-7000-8000-000000000001")
	elsewhere = uuid.MustParse("019a0000-0000-7000-8000-000000000002")
	somebody  = uuid.MustParse("019a0000-0000-7000-8000-000000000003")
)

func with(role authz.Role) authz.Person {
	return authz.Person{ID: somebody, Roles: map[uuid.UUID]authz.Role{here: role}}
}

func TestEveryCellOfTheTable(t *testing.T) {
	t.Parallel()
	f, err := os.Open("testdata/authz.csv")
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)

	var roles []string
	for _, role := range authz.Roles() {
		roles = append(roles, string(role))
	}
	require.Equal(t, append(append([]string{"action"}, roles...), "site admin"), rows[0])
	require.Len(t, rows, len(authz.Actions())+1, "each action has one row")

	for i, row := range rows[1:] {
		action := authz.Action(row[0])
		require.Equal(t, authz.Actions()[i], action)
		for j, cell := range row[1:] {
			p := authz.Person{ID: somebody, SiteAdmin: true}
			if j < len(roles) {
				p = with(authz.Role(roles[j]))
			}
			require.Contains(t, []string{"yes", "step", "no"}, cell)
			name := row[0] + " by " + rows[0][j+1]
			require.Equal(t, cell == "yes", authz.Can(p, here, action), name)
			require.Equal(t, cell != "no", authz.MayAtSomeStep(p, here, action), name)
			require.Equal(t, cell == "yes", authz.CanStep(p, here, action, nil), name)
			if j < len(roles) {
				role := authz.Role(roles[j])
				require.Equal(t, cell != "no", authz.CanStep(p, here, action, []authz.Role{role}), name)
				require.False(t, authz.Can(p, elsewhere, action), "%s in a program without a role", name)
				require.False(t, authz.MayAtSomeStep(p, elsewhere, action), name)
			}
		}
	}
}

func TestStepThatNamesOthersShutsOutEvenThoseOfTheTable(t *testing.T) {
	t.Parallel()
	named := []authz.Role{authz.Laboratory}
	require.False(t, authz.CanStep(with(authz.Inspector), here, authz.CompleteStep, named))
	require.True(t, authz.CanStep(with(authz.Laboratory), here, authz.CompleteStep, named))
	require.False(t, authz.CanStep(with(authz.Contractor), here, authz.ReleaseHold, []authz.Role{authz.Contractor}),
		"nobody releases a hold on their own work, whatever a step says")
}

func TestNobodySignedIn(t *testing.T) {
	t.Parallel()
	require.True(t, authz.Can(authz.Person{}, uuid.Nil, authz.Public))
	for _, a := range append(authz.Actions(), authz.OwnAccount, authz.CreateProgram, authz.ManageSite) {
		forged := authz.Person{SiteAdmin: true, Roles: map[uuid.UUID]authz.Role{here: authz.Administrator}}
		require.False(t, authz.Can(authz.Person{}, here, a), a)
		require.False(t, authz.Can(forged, here, a), a)
	}
}

func TestActionsOutsidePrograms(t *testing.T) {
	t.Parallel()
	plain, admin := authz.Person{ID: somebody}, authz.Person{ID: somebody, SiteAdmin: true}
	require.True(t, authz.Can(plain, uuid.Nil, authz.OwnAccount))
	for _, a := range []authz.Action{authz.CreateProgram, authz.ManageSite} {
		require.False(t, authz.OfProgram(a))
		require.False(t, authz.Can(plain, uuid.Nil, a))
		require.True(t, authz.Can(admin, uuid.Nil, a))
	}
	require.True(t, authz.OfProgram(authz.RecordPour))
}

func TestUnknownActionOrRoleMayNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.String().Draw(t, "word")
		if !authz.Known(authz.Action(word)) && authz.Can(authz.Person{ID: somebody, SiteAdmin: true, Roles: map[uuid.UUID]authz.Role{here: authz.Administrator}}, here, authz.Action(word)) {
			t.Fatalf("unknown action %q allowed", word)
		}
		if role := authz.Role(word); !role.Valid() && slices.ContainsFunc(authz.Actions(), func(a authz.Action) bool { return authz.MayAtSomeStep(with(role), here, a) }) {
			t.Fatalf("unknown role %q allowed something", word)
		}
	})
}
