package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/password"
)

const plain = "studs in two rows, please"

// hashed is the hash of plain, made once: it is slow on purpose.
var hashed = sync.OnceValues(func() (string, error) { return password.Hash(plain) })

// signedIn returns the cookie of a new account. role "" gives none.
func signedIn(t *testing.T, s *Server, role authz.Role, program uuid.UUID, admin bool) *http.Cookie {
	t.Helper()
	hash, err := hashed()
	require.NoError(t, err)
	email := strings.ReplaceAll(uuid.NewString(), "-", "") + "@ends.test"
	u, err := s.people.Create(t.Context(), db.NewUser{Email: email, Name: "A", PasswordHash: hash, SiteAdmin: admin})
	require.NoError(t, err)
	if role != "" {
		require.NoError(t, s.people.SetRole(t.Context(), u.ID, program, role))
	}
	form := url.Values{"email": {email}, "password": {plain}}
	w := serve(s, post, "/login", strings.NewReader(form.Encode()), "Content-Type", "application/x-www-form-urlencoded")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	return w.Result().Cookies()[0]
}

func ask(s *Server, c *http.Cookie, path string) *httptest.ResponseRecorder {
	return serve(s, get, path, nil, "Cookie", c.String())
}

func TestProgramWithoutARoleIsNotFound(t *testing.T) {
	t.Parallel()
	here := testProgram(t)
	show := func(w http.ResponseWriter, r *http.Request) error {
		_, err := w.Write([]byte(r.URL.Path))
		return err
	}
	s := withRoutes(t, nil,
		on(get, "/p/{program}/ends", authz.SeeProgram, show),
		on(get, "/p/{program}/basis", authz.EditBasis, show),
		on(get, "/p/{program}/hold", authz.ReleaseHold, show))
	storeProgram(t, s, here, elsewhereProgram)
	inspector := signedIn(t, s, authz.Inspector, here, false)
	path := "/p/" + here.String()

	require.Equal(t, 200, ask(s, inspector, path+"/ends").Code)
	require.Equal(t, 403, ask(s, inspector, path+"/basis").Code, "in the program, but not for this role")
	require.Equal(t, 200, ask(s, inspector, path+"/hold").Code, "the step decides, so the route lets through")
	other := ask(s, inspector, "/p/"+elsewhereProgram.String()+"/ends")
	unknown := ask(s, inspector, "/p/"+uuid.NewString()+"/ends")
	require.Equal(t, 404, other.Code)
	require.Equal(t, 404, unknown.Code)
	require.Equal(t, 404, ask(s, inspector, "/p/nonsense/ends").Code)
	require.Equal(t, strip(other), strip(unknown), "a program that exists looks like one that does not")

	admin := signedIn(t, s, "", uuid.Nil, true)
	require.Equal(t, 200, ask(s, admin, path+"/ends").Code)
	require.Equal(t, 403, ask(s, admin, path+"/basis").Code, "keeping the machine is no engineering office")
}

// strip removes what differs from request to request.
func strip(w *httptest.ResponseRecorder) string {
	csp := w.Header().Get("Content-Security-Policy")
	_, rest, _ := strings.Cut(csp, "'nonce-")
	nonce, _, _ := strings.Cut(rest, "'")
	return strings.NewReplacer(nonce, "", w.Header().Get("X-Request-Id"), "").Replace(w.Body.String())
}

func TestPagesAskWhatMayBeDoneHere(t *testing.T) {
	t.Parallel()
	here := testProgram(t)
	var s *Server
	s = withRoutes(t, nil, on(get, "/p/{program}/try", authz.SeeProgram, func(w http.ResponseWriter, r *http.Request) error {
		_, err := fmt.Fprint(w, s.can(r, authz.RecordSurvey), s.can(r, authz.EditBasis), s.canStep(r, authz.ReleaseHold, []authz.Role{authz.Inspector}),
			s.canStep(r, authz.ReleaseHold, nil), " ", s.units(r), " ", s.program(r).ID == here)
		return err
	}))
	storeProgram(t, s, here)
	inspector := signedIn(t, s, authz.Inspector, here, false)
	path := "/p/" + here.String() + "/try"
	require.Equal(t, "true false true false us true", ask(s, inspector, path).Body.String())

	_, err := s.cfg.Pool.Exec(t.Context(), "UPDATE app_user SET units = 'si'")
	require.NoError(t, err)
	require.Contains(t, ask(s, inspector, path).Body.String(), " si ", "a person's own choice comes before the program's")
}

func TestIndexShowsOnlyPagesThatAnswer(t *testing.T) {
	t.Parallel()
	here := testProgram(t)
	var s *Server
	page := func(w http.ResponseWriter, r *http.Request) error {
		var labels []string
		for _, n := range s.page(r, "T").Nav {
			label := n.Label
			if n.Current {
				label = "[" + label + "]"
			}
			labels = append(labels, label)
		}
		_, err := w.Write([]byte(strings.Join(labels, " ")))
		return err
	}
	s = newServer(t)
	s.routes = []route{
		on(post, "/login", authz.Public, s.loginSubmit),
		on(get, "/p/{program}", authz.SeeProgram, page),
		on(get, "/p/{program}/ends", authz.SeeProgram, page),
		on(get, "/p/{program}/ends/{end}", authz.SeeProgram, page),
		on(get, "/p/{program}/people", authz.ManagePeople, page),
	}
	require.NoError(t, s.build())
	storeProgram(t, s, here)
	path := "/p/" + here.String()
	manager := signedIn(t, s, authz.Manager, here, false)
	require.Equal(t, "[Bridge] Ends", ask(s, manager, path).Body.String())
	require.Equal(t, "Bridge [Ends]", ask(s, manager, path+"/ends/2F-3").Body.String())
	administrator := signedIn(t, s, authz.Administrator, here, false)
	require.Equal(t, "Bridge Ends [People]", ask(s, administrator, path+"/people").Body.String())
}

var elsewhereProgram = uuid.MustParse("019a0000-0000-7000-8000-00000000000e")

func testProgram(t *testing.T) uuid.UUID {
	t.Helper()
	return uuid.Must(uuid.NewV7())
}

// storeProgram stores programs, since a role needs one to refer to.
func storeProgram(t *testing.T, s *Server, ids ...uuid.UUID) {
	t.Helper()
	for i, id := range ids {
		_, err := s.cfg.Pool.Exec(t.Context(), `INSERT INTO program (id, code, name, units, created_at) VALUES ($1, $2, 'P', 'us', now())`, id, "p"+string(rune('a'+i)))
		require.NoError(t, err)
	}
}
