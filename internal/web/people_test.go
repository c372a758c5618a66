package web_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/web/webtest"
)

func (p *testProgram) member(c *webtest.Client) string { return p.Path("people", c.User.ID.String()) }

func TestPeoplePagesAreForAdministrators(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Role(authz.Designer)
	for _, role := range authz.Roles() {
		want := 403
		if role == authz.Administrator {
			want = 200
		}
		p.Role(role).Get(p.Path("people")).Status(want)
		p.Role(role).Get(p.member(p.Role(authz.Designer))).Status(want)
		if want == 403 {
			p.Role(role).Post(p.Path("people"), "entry", newEntryID(), "email", "x@ends.test", "role", "manager").Status(403)
			p.Role(role).Post(p.member(p.Role(authz.Designer)), "entry", newEntryID(), "do", "remove").Status(403)
		}
	}
	p.AsSiteAdmin().Get(p.Path("people")).Status(200)
}

func TestPersonIsAddedChangedAndTakenOut(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	admin := p.Role(authz.Administrator)
	known := p.NewUser("known@ends.test", false)
	path := p.Path("people")

	admin.Post(path, "entry", newEntryID(), "email", "KNOWN@ends.test").Status(422).Has("Choose a role", "KNOWN@ends.test")
	admin.Post(path, "entry", newEntryID(), "email", "KNOWN@ends.test", "role", "inspector").LeadsTo(path).Follow().Has("known@ends.test", "Added User known@ends.test")
	admin.Post(path, "entry", newEntryID(), "email", "known@ends.test", "role", "manager").Status(422).Has("is in this program already, as inspector")
	his := p.SignIn(known)
	his.Get(p.Path("ends")).Status(200)

	at := p.Path("people", known.ID.String())
	admin.Post(at, "entry", newEntryID(), "do", "role", "role", "captain").Status(422).Has("Choose a role")
	admin.Post(at, "entry", newEntryID(), "do", "role", "role", "designer").LeadsTo(path).Follow().Has("is designer, was inspector")
	admin.Post(at, "entry", newEntryID(), "do", "dance").Status(400)
	admin.Get(at + "?ask=remove").Status(200).Has("Take User known@ends.test out of this program?")
	admin.Post(at, "entry", newEntryID(), "do", "remove").LeadsTo(path).Follow().Has("Took User known@ends.test", "who was designer")
	his.Get(p.Path("ends")).Status(404)
	admin.Get(at).Status(404)
	admin.Post(at, "entry", newEntryID(), "do", "remove").Status(404)

	// A program administrator shuts no accounts; the administrator of the installation does.
	member := p.member(p.Role(authz.Laboratory))
	admin.Get(member + "?ask=disable").Status(200).Lacks("Shut the account")
	admin.Post(member, "entry", newEntryID(), "do", "disable").Status(403)
	site := p.AsSiteAdmin()
	site.Get(member + "?ask=disable").Status(200).Has("Shut the account of")
	site.Post(member, "entry", newEntryID(), "do", "disable").LeadsTo(path).Follow().Has("Shut the account of", "shut")
	p.Role(authz.Laboratory).Get(p.Path("ends")).Status(303) // signed out
	site.Post(member, "entry", newEntryID(), "do", "enable").LeadsTo(path).Follow().Has("Opened the account of")
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences, "changes of people are in the same journal")
}

func TestNewAccountShowsItsPasswordOnce(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	admin, path := p.Role(authz.Administrator), p.Path("people")
	id := newEntryID()
	admin.Post(path, "entry", id, "email", "fresh@ends.test", "role", "contractor").Status(422).Has("No account has this address yet")
	admin.Post(path, "entry", id, "email", "no address", "name", "Ada", "role", "contractor").Status(422).Has("An email has a name")
	admin.Post(path, "entry", id, "email", "fresh@ends.test", "name", "Ada Fresh").Status(422).Has("Choose a role")
	made := admin.Post(path, "entry", id, "email", "fresh@ends.test", "name", "Ada Fresh", "role", "contractor").Status(200)
	secret := made.One("code.password")
	require.GreaterOrEqual(t, len(secret), 20)
	require.Equal(t, "no-store", made.Response.Header.Get("Cache-Control"))
	admin.Get(path).Status(200).Has("Ada Fresh", "Opened an account for Ada Fresh").Lacks(secret)
	admin.Post(path, "entry", id, "email", "fresh@ends.test", "name", "Ada Fresh", "role", "contractor").LeadsTo(path).Follow().Has("added already").Lacks(secret)

	c := p.Anonymous()
	c.Post("/login", "email", "fresh@ends.test", "password", secret).Status(303)
	c.Get(p.Path("ends")).Status(200)
	changes, err := p.Store.SettingChanges(p.ctx, p.ID, db.PeopleActs(), 10)
	require.NoError(t, err)
	require.Len(t, changes, 1)
	require.NotContains(t, string(changes[0].Change), secret)
	require.False(t, strings.Contains(string(changes[0].Change), "argon2"))
}

func TestProgramKeepsAnAdministrator(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	admin := p.Role(authz.Administrator)
	at := p.member(admin)
	for _, form := range [][]string{{"do", "role", "role", "manager"}, {"do", "remove"}} {
		admin.Post(at, append([]string{"entry", newEntryID()}, form...)...).Status(422).Has("the only administrator")
	}
	site := p.AsSiteAdmin()
	site.Post(at, "entry", newEntryID(), "do", "disable").Status(422).Has("the only administrator")
	second := p.As(authz.Administrator)
	admin.Post(at, "entry", newEntryID(), "do", "role", "role", "manager").LeadsTo(p.Path("ends"))
	admin.Get(p.Path("people")).Status(403)
	second.Post(p.member(second), "entry", newEntryID(), "do", "remove").Status(422)
}
