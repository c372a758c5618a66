package web_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/web/webtest"
)

// The passwords of a demonstration are printed for everybody: they must open
// nothing where real records are kept.
func TestDemonstrationAccountsOpenOnlyADemonstration(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	u := s.NewUser("inspector@demo.example", false)
	s.NewUser("real@ends.test", false)
	mark := func(sql string) {
		t.Helper()
		_, err := s.Pool.Exec(t.Context(), sql)
		require.NoError(t, err)
	}
	mark("update app_user set demo = true where email = 'inspector@demo.example'")
	try := func(email string) *webtest.Answer {
		return s.Anonymous().Post("/login", "email", email, "password", webtest.Password)
	}

	// The site's one program is a real one.
	try(u.Email).Status(http.StatusUnauthorized).Has(paused)
	try("real@ends.test").LeadsTo("/")

	mark("update program set is_demo = true")
	in := s.SignIn(u)
	in.Get("/account").Status(http.StatusOK)

	// A real program beside it ends the session and shuts the door again.
	s.NewProgram("second")
	in.Get("/account").LeadsTo("/login?next=%2Faccount")
	try(u.Email).Status(http.StatusUnauthorized).Has(paused)
	try("real@ends.test").LeadsTo("/")
}
