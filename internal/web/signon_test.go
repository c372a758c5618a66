package web_test

import (
	"crypto"
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"math/big"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/web"
	"endcast/internal/web/webtest"
)

// signOnKeys makes the keys of services once: they are slow to make.
var signOnKeys = sync.OnceValue(func() [2]*rsa.PrivateKey {
	var out [2]*rsa.PrivateKey
	for i := range out {
		k, err := rsa.GenerateKey(rand.Reader, 2048)
		if err != nil {
			panic(err)
		}
		out[i] = k
	}
	return out
})

// signOnService is a sign-on service that answers over HTTP, with a key of its own, and takes
// a code only once and only with the verifier that belongs to its challenge.
type signOnService struct {
	*httptest.Server
	t      *testing.T
	mu     sync.Mutex
	codes  map[string]url.Values
	person map[string]any                      // claims of who signs in
	spoil  func(claims, header map[string]any) // changes a token before it is signed
	key    *rsa.PrivateKey
	asked  url.Values // of the last sign-in
}

const (
	signOnClient = "endcast-at-the-bridge"
	signOnSecret = "a secret of two parties"
)

func newSignOn(t *testing.T) *signOnService {
	t.Helper()
	s := &signOnService{t: t, codes: map[string]url.Values{}, key: signOnKeys()[0]}
	mux := http.NewServeMux()
	write := func(w http.ResponseWriter, v any) {
		w.Header().Set("Content-Type", "application/json")
		_ = json.NewEncoder(w).Encode(v)
	}
	mux.HandleFunc("GET /.well-known/openid-configuration", func(w http.ResponseWriter, _ *http.Request) {
		write(w, map[string]any{"issuer": s.URL, "authorization_endpoint": s.URL + "/authorize", "token_endpoint": s.URL + "/token", "jwks_uri": s.URL + "/keys",
			"response_types_supported": []string{"code"}, "subject_types_supported": []string{"public"}, "id_token_signing_alg_values_supported": []string{"RS256"}})
	})
	mux.HandleFunc("GET /keys", func(w http.ResponseWriter, _ *http.Request) {
		pub := signOnKeys()[0].PublicKey // whatever key signs
		write(w, map[string]any{"keys": []any{map[string]any{"kty": "RSA", "use": "sig", "alg": "RS256", "kid": "one",
			"n": base64.RawURLEncoding.EncodeToString(pub.N.Bytes()), "e": base64.RawURLEncoding.EncodeToString(big.NewInt(int64(pub.E)).Bytes())}}})
	})
	mux.HandleFunc("POST /token", func(w http.ResponseWriter, r *http.Request) {
		s.mu.Lock()
		defer s.mu.Unlock()
		id, secret, basic := r.BasicAuth()
		if !basic {
			id, secret = r.PostFormValue("client_id"), r.PostFormValue("client_secret")
		}
		asked, known := s.codes[r.PostFormValue("code")]
		delete(s.codes, r.PostFormValue("code"))
		sum := sha256.Sum256([]byte(r.PostFormValue("code_verifier")))
		if !known || id != signOnClient || secret != url.QueryEscape(signOnSecret) && secret != signOnSecret ||
			asked.Get("code_challenge") != base64.RawURLEncoding.EncodeToString(sum[:]) || asked.Get("redirect_uri") != r.PostFormValue("redirect_uri") {
			w.WriteHeader(http.StatusBadRequest)
			write(w, map[string]any{"error": "invalid_grant"})
			return
		}
		write(w, map[string]any{"access_token": "unused", "token_type": "Bearer", "id_token": s.token(asked.Get("nonce"))})
	})
	s.Server = httptest.NewServer(mux)
	t.Cleanup(s.Close)
	return s
}

// token is an ID token for the person, signed with the key of the service.
func (s *signOnService) token(nonce string) string {
	now := time.Now().Unix()
	claims := map[string]any{"iss": s.URL, "aud": signOnClient, "iat": now, "exp": now + 300, "nonce": nonce, "auth_time": now}
	header := map[string]any{"alg": "RS256", "kid": "one", "typ": "JWT"}
	for k, v := range s.person {
		claims[k] = v
	}
	if s.spoil != nil {
		s.spoil(claims, header)
	}
	part := func(v any) string {
		b, err := json.Marshal(v)
		require.NoError(s.t, err)
		return base64.RawURLEncoding.EncodeToString(b)
	}
	text := part(header) + "." + part(claims)
	sum := sha256.Sum256([]byte(text))
	sig, err := rsa.SignPKCS1v15(rand.Reader, s.key, crypto.SHA256, sum[:])
	require.NoError(s.t, err)
	if header["alg"] == "none" {
		sig = nil
	}
	return text + "." + base64.RawURLEncoding.EncodeToString(sig)
}

// leave begins a sign-in in a browser and returns where the service sends it back to.
func (s *signOnService) leave(c *webtest.Client, from string) string {
	s.t.Helper()
	a := c.Get(from).Status(http.StatusSeeOther)
	to, err := url.Parse(a.Response.Header.Get("Location"))
	require.NoError(s.t, err)
	require.Equal(s.t, s.URL+"/authorize", to.Scheme+"://"+to.Host+to.Path)
	s.asked = to.Query()
	require.Equal(s.t, "S256", s.asked.Get("code_challenge_method"))
	require.Equal(s.t, "code", s.asked.Get("response_type"))
	require.Equal(s.t, webtest.Base+"/sign-on/back", s.asked.Get("redirect_uri"))
	s.mu.Lock()
	defer s.mu.Unlock()
	code := "code " + strconv.Itoa(len(s.codes)) + s.asked.Get("state")
	s.codes[code] = s.asked
	return "/sign-on/back?" + url.Values{"code": {code}, "state": {s.asked.Get("state")}}.Encode()
}

// in goes through a whole sign-in.
func (s *signOnService) in(c *webtest.Client, from string) *webtest.Answer {
	s.t.Helper()
	return c.Get(s.leave(c, from))
}

// with tells a site of the service.
func (s *signOnService) with(c *web.Config) {
	c.SignOn = &web.SignOn{Issuer: s.URL, ClientID: signOnClient, Secret: signOnSecret, Name: "Bridge Office"}
	c.LoginsPerMinute = 1000
}

func TestSignOnOpensTheAccountOfAnIdentityAndNothingElse(t *testing.T) {
	t.Parallel()
	service := newSignOn(t)
	site := webtest.New(t, service.with)
	u := site.NewUser("ines@ends.test", false)
	site.NewUser("other@ends.test", false)
	count := func(table string) (n int) {
		require.NoError(t, site.Pool.QueryRow(t.Context(), "select count(*) from "+table).Scan(&n))
		return n
	}
	site.Anonymous().Get("/login?next=%2Faccount").Status(200).Has("Sign in with Bridge Office", `href="/sign-on?next=%2Faccount"`)

	// Who is not known, or whose email nobody has verified, comes nowhere, and no account is opened.
	for _, person := range []map[string]any{{"sub": "77", "email": "stranger@ends.test", "email_verified": true}, {"sub": "77", "email": u.Email, "email_verified": false}, {"sub": "77", "email": u.Email}, {"sub": ""}} {
		service.person = person
		service.in(site.Anonymous(), "/sign-on").Status(http.StatusUnauthorized)
	}
	require.Equal(t, 2, count("app_user"))
	require.Zero(t, count("sign_on"))

	// A verified email of an account binds the identity to it once; from then on only the identity counts.
	service.person = map[string]any{"sub": "77", "email": "INES@ends.test", "email_verified": true}
	c := site.Anonymous()
	service.in(c, "/sign-on?next=%2Faccount").LeadsTo("/account").Follow().Status(200).Has(u.Name, "sign-on")
	require.Zero(t, count("membership"), "it gives no role")
	service.person = map[string]any{"sub": "77", "email": "other@ends.test", "email_verified": true}
	service.in(site.Anonymous(), "/sign-on?next=%2Faccount").Follow().Status(200).Has(u.Name)
	service.person = map[string]any{"sub": "78", "email": u.Email, "email_verified": true}
	service.in(site.Anonymous(), "/sign-on").Status(http.StatusUnauthorized).Has("known by that identity")
	require.Equal(t, 1, count("sign_on"))

	// The password still opens it, and a shut account is shut for both.
	site.SignIn(u).Get("/account").Status(200)
	require.NoError(t, site.People.Disable(t.Context(), u.ID, time.Now()))
	service.person = map[string]any{"sub": "77"}
	service.in(site.Anonymous(), "/sign-on").Status(http.StatusUnauthorized).Has("The account is shut")
	c.Get("/account").LeadsTo("/login?next=%2Faccount")

	// The next address stays on this host.
	require.NoError(t, site.People.Enable(t.Context(), u.ID))
	service.in(site.Anonymous(), "/sign-on?next=https%3A%2F%2Felsewhere.test%2F").LeadsTo("/")
	n, err := site.People.Unlink(t.Context(), u.ID, time.Now())
	require.NoError(t, err)
	require.Equal(t, 1, n)
	service.in(site.Anonymous(), "/sign-on").Status(http.StatusUnauthorized)
}

func TestSignOnRefusesWhatIsNotForThisSignIn(t *testing.T) {
	t.Parallel()
	service := newSignOn(t)
	site := webtest.New(t, service.with)
	site.NewUser("ines@ends.test", false)
	good := map[string]any{"sub": "77", "email": "ines@ends.test", "email_verified": true}
	service.person = good
	now := time.Now().Unix()
	for name, spoil := range map[string]func(claims, header map[string]any){
		"a nonce of another sign-in": func(c, _ map[string]any) { c["nonce"] = "another" },
		"no nonce":                   func(c, _ map[string]any) { delete(c, "nonce") },
		"another issuer":             func(c, _ map[string]any) { c["iss"] = "https://elsewhere.test" },
		"another client":             func(c, _ map[string]any) { c["aud"] = "another program" },
		"over since an hour":         func(c, _ map[string]any) { c["iat"], c["exp"] = now-7200, now-3600 },
		"not signed":                 func(_, h map[string]any) { h["alg"] = "none" },
		"a key nobody knows":         func(_, _ map[string]any) { service.key = signOnKeys()[1] },
	} {
		service.spoil = spoil
		c := site.Anonymous()
		a := service.in(c, "/sign-on")
		require.Equal(t, http.StatusUnauthorized, a.Response.StatusCode, name)
		c.Get("/account").LeadsTo("/login?next=%2Faccount")
		service.key, service.spoil = signOnKeys()[0], nil
	}
	var bound int
	require.NoError(t, site.Pool.QueryRow(t.Context(), "select count(*) from sign_on").Scan(&bound))
	require.Zero(t, bound, "nothing of all that bound an identity")

	// A state is good for one return, in the browser that it was given to.
	c := site.Anonymous()
	back := service.leave(c, "/sign-on")
	site.Anonymous().Get(back).Status(http.StatusUnauthorized).Has("was not begun here")
	c.Get(strings.Replace(back, "state=", "state=x", 1)).Status(http.StatusUnauthorized)
	c.Get(back).Status(http.StatusUnauthorized).Has("was used already")
	c = site.Anonymous()
	back = service.leave(c, "/sign-on")
	c.Get(back).Status(http.StatusSeeOther)
	stranger := site.Anonymous()
	stranger.Get(back).Status(http.StatusUnauthorized)

	// Who refuses at the service, or brings a code it did not give, is told so.
	c = site.Anonymous()
	service.leave(c, "/sign-on")
	c.Get("/sign-on/back?error=access_denied&state=" + service.asked.Get("state")).Status(http.StatusUnauthorized).Has("did not sign you in")
	service.leave(c, "/sign-on")
	c.Get("/sign-on/back?code=made-up&state=" + service.asked.Get("state")).Status(http.StatusUnauthorized).Has("did not confirm the sign-in")
	c.Get("/sign-on/back").Status(http.StatusUnauthorized)

	// Without a service there is no such page, and one that does not answer keeps nobody from a password.
	plain := webtest.New(t)
	plain.Anonymous().Get("/sign-on").Status(http.StatusNotFound)
	plain.Anonymous().Get("/sign-on/back?state=x").Status(http.StatusNotFound)
	plain.Anonymous().Get("/login").Status(200).Lacks("/sign-on")
	gone := newSignOn(t)
	lone := webtest.New(t, gone.with)
	gone.Close()
	lone.Anonymous().Get("/sign-on").Status(http.StatusServiceUnavailable)
	lone.SignIn(lone.NewUser("e@ends.test", false)).Get("/account").Status(200)
}

// A person who came by the service signs a document after proving there anew who they are.
func TestSignOnConfirmsWhoSignsADocument(t *testing.T) {
	t.Parallel()
	service := newSignOn(t)
	p := newTestProgram(t, service.with)
	p.approved("1N-1")
	u := p.NewUser("ines@ends.test", false)
	require.NoError(t, p.People.SetRole(p.ctx, u.ID, p.Program, authz.Engineer))
	service.person = map[string]any{"sub": "77", "email": u.Email, "email_verified": true}
	c := p.Anonymous()
	c.User = u
	service.in(c, "/sign-on").LeadsTo("/")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.7 invented"))
	page := p.Path("documents", strconv.Itoa(n))
	again := c.Get(page).Status(200).Select(`.paper-sign a[href^="/sign-on?again=1"]`)
	require.Len(t, again, 1)
	from := webtest.Attr(again[0], "href")

	p.sign(c, n, "password", "", "meaning", "checked").Status(http.StatusUnprocessableEntity)

	// The service has to have asked them anew.
	service.spoil = func(claims, _ map[string]any) { claims["auth_time"] = time.Now().Add(-time.Hour).Unix() }
	service.in(c, from).LeadsTo(page).Follow().Has("did not ask for your sign-in again").Lacks("leave the password empty")
	service.spoil = func(claims, _ map[string]any) { delete(claims, "auth_time") }
	service.in(c, from).LeadsTo(page).Follow().Lacks("leave the password empty")
	// Somebody else does not do for them.
	service.spoil, service.person = nil, map[string]any{"sub": "99", "email": "nobody@ends.test", "email_verified": true}
	service.in(c, from).LeadsTo(page).Follow().Has("Somebody else signed in").Lacks("leave the password empty")
	p.sign(c, n, "password", "", "meaning", "checked").Status(http.StatusUnprocessableEntity)

	service.person = map[string]any{"sub": "77"}
	service.in(c, from).LeadsTo(page).Follow().Has("leave the password empty")
	require.Equal(t, "login", service.asked.Get("prompt"))
	require.Equal(t, "0", service.asked.Get("max_age"))
	p.sign(c, n, "password", "", "meaning", "checked").LeadsTo(page).Follow().Has("signed as checked")

	p.approved("1N-2")
	m := p.document("1N-2", repair.PaperCalculation, []byte("%PDF-1.7 another"))
	p.sign(c, m, "password", "", "meaning", "checked").Status(http.StatusUnprocessableEntity)
}
