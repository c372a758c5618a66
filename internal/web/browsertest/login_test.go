package browsertest_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web"
	"endcast/internal/web/browsertest"
	"endcast/internal/web/webtest"
	"endcast/views/login"
)

func TestSignIn(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	u := s.NewUser("engineer@ends.test", false)
	p := browsertest.New(t, s.Handler)
	require.Equal(t, http.StatusOK, p.Open("/account"), "leads to the sign-in page")
	require.Equal(t, "/login?next=%2Faccount", p.Path())

	p.Fill("[name=email]", u.Email)
	p.Fill("[name=password]", "not this one, surely")
	require.Equal(t, http.StatusUnauthorized, p.Submit("main button"))
	require.Contains(t, p.Text("main [role=alert]"), "do not match")
	require.Equal(t, u.Email, browsertest.Eval[string](p, "document.querySelector('[name=email]').value"))

	p.Fill("[name=password]", webtest.Password)
	require.Equal(t, http.StatusOK, p.Submit("main button"))
	require.Equal(t, "/account", p.Path())
	require.Contains(t, p.Text("header"), u.Name)

	p.Submit("header button")
	require.Equal(t, "/login", p.Path())
}

func TestLockout(t *testing.T) {
	t.Parallel()
	s := webtest.New(t, func(c *web.Config) { c.LoginsPerMinute = 100 })
	u := s.NewUser("engineer@ends.test", false)
	for range 8 {
		s.Anonymous().Post("/login", "email", u.Email, "password", "wrong")
	}
	p := browsertest.New(t, s.Handler)
	p.Login(u.Email, webtest.Password)
	require.Equal(t, "/login", p.Path())
	require.Contains(t, p.Text("main [role=alert]"), "paused")
}

func TestInjectedScriptDoesNotRun(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	p := browsertest.New(t, s.Handler)
	p.Open("/login")
	require.Empty(t, p.Problems(), "our own pages keep to the policy")
	browsertest.Eval[bool](p, `(() => {
		const script = document.createElement("script");
		script.textContent = "window.injected = true";
		document.body.append(script);
		const image = document.createElement("div");
		image.innerHTML = '<img id="broken" src="data:," onerror="window.injected = true"><p id="styled" style="color: red">x</p>';
		document.body.append(image);
		return true;
	})()`)
	p.WaitFor("document.getElementById('broken').complete")
	require.False(t, browsertest.Eval[bool](p, "window.injected === true"))
	require.NotEqual(t, "rgb(255, 0, 0)", browsertest.Eval[string](p, "getComputedStyle(document.getElementById('styled')).color"))
	require.NotEmpty(t, p.Problems(), "the browser reports what the policy stopped")
}

func TestEveryPageOfTheFrameIsAccessible(t *testing.T) {
	t.Parallel()
	s := webtest.New(t, func(c *web.Config) {
		c.Demo = []login.DemoAccount{{Email: "engineer@demo.test", Role: "engineer", Password: "demo demo demo demo"}}
	})
	_, err := s.Pool.Exec(t.Context(), "update program set is_demo = true") // else no account is offered
	require.NoError(t, err)
	signedIn := s.As(authz.Engineer)
	for _, dark := range []bool{false, true} {
		name := map[bool]string{false: "light", true: "dark"}[dark]
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := browsertest.New(t, s.Handler)
			p.SetDark(dark)
			p.Open("/login")
			p.Axe(t)
			p.Screenshot("login-" + name)
			p.Fill("[name=email]", "x@y.test")
			p.Submit("main button")
			p.Axe(t)
			p.UseCookies(signedIn.Cookies()...)
			for path, status := range map[string]int{"/": 200, "/account": 200, "/nowhere": 404} {
				require.Equal(t, status, p.Open(path))
				p.Axe(t)
				p.Screenshot("frame" + strings.ReplaceAll(path, "/", "-") + "-" + name)
			}
		})
	}
}

func TestNothingSticksOutOnASmallScreen(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	p := browsertest.New(t, s.Handler)
	p.UseCookies(s.As(authz.Inspector).Cookies()...)
	for _, width := range []int{320, 390, 768, 1280, 1920} {
		p.SetViewport(width, 800)
		for _, path := range []string{"/", "/account", "/nowhere"} {
			p.Open(path)
			require.Empty(t, p.Overflows(), "%s at %d px", path, width)
		}
	}
}

func TestFormIsSentOnce(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	p := browsertest.New(t, s.Handler)
	p.UseCookies(s.As(authz.Inspector).Cookies()...)
	p.Open("/account")
	sent := browsertest.Eval[int](p, `(() => {
		let sent = 0;
		document.addEventListener("submit", e => { if (!e.defaultPrevented) sent++; e.preventDefault(); });
		const form = document.querySelector("main form");
		form.requestSubmit(); form.requestSubmit();
		return sent;
	})()`)
	require.Equal(t, 1, sent)
}

func TestPrintsOnBothPapers(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	p := browsertest.New(t, s.Handler)
	p.UseCookies(s.As(authz.Inspector).Cookies()...)
	p.Open("/account")
	for _, letter := range []bool{false, true} {
		require.Equal(t, "%PDF-", string(p.PDF(letter)[:5]))
	}
}
