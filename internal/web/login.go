package web

import (
	"context"
	"net/http"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/password"
	"endcast/views/login"
)

// After loginLimit wrong passwords in a row an account takes no sign-in for
// loginPause, right password or not.
const (
	loginLimit = 8
	loginPause = 15 * time.Minute
)

// loginRefused is the one answer to every refused attempt: unknown email, wrong
// password, paused or disabled account. A stranger learns nothing from it.
const loginRefused = "Email and password do not match, or sign-in for this account is paused after repeated attempts. " +
	"Wait 15 minutes, or ask an administrator."

// loginForm shows the sign-in page, or leads on somebody who is signed in already.
func (s *Server) loginForm(w http.ResponseWriter, r *http.Request) error {
	next := localPath(r.URL.Query().Get("next"), r.Host)
	if visitOf(r.Context()).user != nil {
		return seeOther(w, r, orHome(next))
	}
	demo, err := s.demoAccounts(r.Context())
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, login.Page(s.page(r, "Sign in"), login.View{Next: next, Demo: demo, SignOn: s.signOnName(), SignOnHref: signOnAddress(next)}))
}

// loginSubmit signs a person in.
func (s *Server) loginSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	ctx, email, plain := r.Context(), r.PostFormValue("email"), r.PostFormValue("password")
	next := localPath(r.PostFormValue("next"), r.Host)

	c, err := s.people.Credentials(ctx, email)
	known := err == nil
	if err != nil && fault.KindOf(err) != fault.NotFound {
		return err
	}
	// An unknown account has no hash, and is compared with a dummy that takes as long.
	ok, stale, err := password.Matches(plain, c.PasswordHash)
	if err != nil {
		return err
	}
	now := s.now()
	if known {
		// Everybody knows the passwords of a demonstration.
		usable, err := s.usable(ctx, c.User)
		if err != nil {
			return err
		}
		known = usable
	}
	if known && c.Active() && !c.Locked(now) && !ok {
		if err := s.people.LoginFailed(ctx, c.ID, now, loginLimit, loginPause); err != nil {
			return err
		}
	}
	if !known || !ok || !c.Active() || c.Locked(now) {
		demo, err := s.demoAccounts(ctx)
		if err != nil {
			return err
		}
		view := login.View{Email: email, Next: next, Failed: loginRefused, Demo: demo, SignOn: s.signOnName(), SignOnHref: signOnAddress(next)}
		return s.render(w, r, http.StatusUnauthorized, login.Page(s.page(r, "Sign in"), view))
	}
	if stale {
		hash, err := password.Hash(plain)
		if err == nil {
			err = s.people.Rehash(ctx, c.ID, hash)
		}
		if err != nil {
			s.log.WarnContext(ctx, "password not rehashed", "user", c.ID, "error", err)
		}
	}
	if err := s.people.LoginSucceeded(ctx, c.ID); err != nil {
		return err
	}
	if err := s.openSession(r, c.ID, c.SessionEpoch, db.ByPassword); err != nil {
		return err
	}
	return seeOther(w, r, orHome(next))
}

// demoAccounts are the accounts to offer, as long as they open anything.
func (s *Server) demoAccounts(ctx context.Context) ([]login.DemoAccount, error) {
	if len(s.cfg.Demo) == 0 {
		return nil, nil
	}
	only, err := s.store.DemoOnly(ctx)
	if err != nil || !only {
		return nil, err
	}
	return s.cfg.Demo, nil
}

// logout ends the session.
func (s *Server) logout(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r.Context())
	if err := s.people.EndSession(r.Context(), v.user.ID, v.session, s.now()); err != nil {
		return err
	}
	if err := s.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	// Whatever the browser kept of pages must not be shown to the next person.
	w.Header().Set("Clear-Site-Data", `"cache"`)
	return seeOther(w, r, "/login")
}

func orHome(path string) string {
	if path == "" {
		return "/"
	}
	return path
}
