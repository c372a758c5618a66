package web_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/webtest"
)

func TestReadingChoices(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	c := s.As(authz.Designer)
	c.Get("/account").None("html[data-theme=dark]")
	a := c.Post("/account/reading", "units", "si", "theme", "dark").Follow().Status(200)
	a.Has("Saved.")
	require.Equal(t, "dark", webtest.Attr(a.Select("html")[0], "data-theme"))
	require.Len(t, a.Select("[name=units][value=si][checked]"), 1)
	u, err := s.People.ByID(t.Context(), c.User.ID)
	require.NoError(t, err)
	require.Equal(t, "si", *u.Units)

	a = c.Get("/account").Lacks("Saved.")
	require.Len(t, a.Select("[name=theme][value=dark][checked]"), 1)

	a = c.Post("/account/reading", "units", "", "theme", "").Follow()
	require.Empty(t, webtest.Attr(a.Select("html")[0], "data-theme"))
	c.Post("/account/reading", "units", "cubits").Status(http.StatusBadRequest)
}

func TestChangePassword(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	c := s.As(authz.Designer)
	other := s.SignIn(c.User)
	const fresh = "another set of words"

	a := c.Post("/account/password", "current", "wrong", "password", "short", "again", "longer").Status(http.StatusUnprocessableEntity)
	require.Len(t, a.Select("#errors li"), 3)
	for _, name := range []string{"current", "password", "again"} {
		box := a.Select("[name=" + name + "]")[0]
		require.Equal(t, "true", webtest.Attr(box, "aria-invalid"), name)
		require.Contains(t, webtest.Attr(box, "aria-describedby"), "f-"+name+"-why")
	}
	a.Lacks("short<", "value=\"short\"")

	c.Post("/account/password", "current", webtest.Password, "password", fresh, "again", fresh).Follow().Status(200).Has("Password changed")
	other.Get("/account").LeadsTo("/login?next=%2Faccount")
	s.Anonymous().Post("/login", "email", c.User.Email, "password", webtest.Password).Status(http.StatusUnauthorized)
	s.Anonymous().Post("/login", "email", c.User.Email, "password", fresh).LeadsTo("/")
}

func TestProgramsOfAPerson(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.As(authz.Manager).Get("/").Status(200).Has("/p/", "manager")
	nobody := s.SignIn(s.NewUser("nobody@ends.test", false))
	nobody.Get("/").Status(200).Has("You have no role in any program yet").Lacks("/p/")
}
