package web

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/coreos/go-oidc/v3/oidc"
	"github.com/google/uuid"
	"golang.org/x/oauth2"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/views/login"
	"endcast/views/ui"
)

// SignOn is a sign-on service by OpenID Connect, beside the accounts with passwords.
type SignOn struct {
	Issuer   string // as it names itself
	ClientID string
	Secret   string       // "" for a client without one; PKCE protects the code in any case
	Name     string       // as people know it; "" for a plain name
	Redirect string       // registered with the service; "": the base address and signOnBack
	Client   *http.Client // nil: one with limits
}

const (
	signOnPath = "/sign-on"
	signOnBack = "/sign-on/back"

	signOnWait = 10 * time.Minute // from leaving for the service until coming back
	askTimeout = 10 * time.Second // for an answer of the service
	freshFor   = 5 * time.Minute  // in which a person who signed in again may sign a document
	clockLeave = time.Minute      // by which the clock of the service may go behind ours
)

// Keys of what a session holds while its owner is at the service.
const (
	keyState    = "signon.state"
	keyNonce    = "signon.nonce"
	keyVerifier = "signon.verifier"
	keyStarted  = "signon.started"
	keyNext     = "signon.next"
	keyAgain    = "signon.again"
	keyFresh    = "signon.fresh"
)

// service is the sign-on service once it has answered.
type service struct {
	oauth    oauth2.Config
	verifier *oidc.IDTokenVerifier
}

func (s *Server) signOnName() string {
	if s.cfg.SignOn == nil {
		return ""
	}
	if n := s.cfg.SignOn.Name; n != "" {
		return n
	}
	return "the sign-on service"
}

func (s *Server) signOnContext(ctx context.Context) context.Context {
	c := s.cfg.SignOn.Client
	if c == nil {
		c = &http.Client{Timeout: askTimeout}
	}
	return oidc.ClientContext(ctx, c)
}

// signOnService asks the service what it is, until it has answered once: this program
// starts and serves without it.
func (s *Server) signOnService(ctx context.Context) (*service, error) {
	if s.cfg.SignOn == nil {
		return nil, fault.New(fault.NotFound, "this installation has no sign-on service")
	}
	s.signOnce.Lock()
	defer s.signOnce.Unlock()
	if s.signOn != nil {
		return s.signOn, nil
	}
	// The keys are fetched later, by requests of their own, so the provider must outlive this one.
	p, err := oidc.NewProvider(s.signOnContext(context.WithoutCancel(ctx)), s.cfg.SignOn.Issuer)
	if err != nil {
		s.log.ErrorContext(ctx, "sign-on service", "error", err)
		return nil, fault.Wrap(fault.Unavailable, err, "the sign-on service does not answer: sign in with a password, or try again later")
	}
	back := s.cfg.SignOn.Redirect
	if back == "" {
		back = strings.TrimRight(s.base.String(), "/") + signOnBack
	}
	s.signOn = &service{
		oauth:    oauth2.Config{ClientID: s.cfg.SignOn.ClientID, ClientSecret: s.cfg.SignOn.Secret, Endpoint: p.Endpoint(), RedirectURL: back, Scopes: []string{oidc.ScopeOpenID, "email", "profile"}},
		verifier: p.Verifier(&oidc.Config{ClientID: s.cfg.SignOn.ClientID, Now: s.now, SupportedSigningAlgs: []string{oidc.RS256, oidc.ES256, oidc.PS256, oidc.EdDSA}}),
	}
	return s.signOn, nil
}

// signOnStart sends a person to the service; ?again=1 has one who is signed in prove once
// more who they are, for a signature.
func (s *Server) signOnStart(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	sv, err := s.signOnService(ctx)
	if err != nil {
		return err
	}
	next := localPath(r.URL.Query().Get("next"), r.Host)
	again := r.URL.Query().Get("again") == "1"
	if u := visitOf(ctx).user; u == nil && again {
		return seeOther(w, r, "/login")
	} else if u != nil && !again {
		return seeOther(w, r, orHome(next))
	}
	state, nonce, verifier := rand.Text(), rand.Text(), oauth2.GenerateVerifier()
	for key, text := range map[string]string{keyState: state, keyNonce: nonce, keyVerifier: verifier, keyNext: next, keyStarted: strconv.FormatInt(s.now().Unix(), 10), keyAgain: ""} {
		s.sessions.Put(ctx, key, text)
	}
	options := []oauth2.AuthCodeOption{oidc.Nonce(nonce), oauth2.S256ChallengeOption(verifier)}
	if again {
		s.sessions.Put(ctx, keyAgain, visitOf(ctx).user.ID.String())
		options = append(options, oauth2.SetAuthURLParam("prompt", "login"), oauth2.SetAuthURLParam("max_age", "0"))
	}
	w.Header().Set("Cache-Control", "no-store")
	http.Redirect(w, r, sv.oauth.AuthCodeURL(state, options...), http.StatusSeeOther)
	return nil
}

// errSignOn are refusals that a person may read: they say what to do and nothing that helps
// a stranger.
type errSignOn struct{ error }

// signOnReturn takes a person back from the service.
func (s *Server) signOnReturn(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	sv, err := s.signOnService(ctx)
	if err != nil {
		return err
	}
	// What was kept is good for one return, whatever comes of it.
	kept := map[string]string{}
	for _, key := range []string{keyState, keyNonce, keyVerifier, keyNext, keyStarted, keyAgain} {
		kept[key] = s.sessions.PopString(ctx, key)
	}
	claims, err := s.signOnClaims(r, sv, kept)
	if err == nil && kept[keyAgain] != "" {
		return s.signedOnAgain(w, r, claims, kept)
	}
	var u db.User
	bound := false
	if err == nil {
		u, bound, err = s.people.SignedOn(ctx, claims.identity(), s.now())
		if k := fault.KindOf(err); k == fault.NotFound || k == fault.Malformed || k == fault.Duplicate {
			err = errSignOn{errors.New("nobody here is known by that identity. A sign-on service opens no account: whoever keeps the people of your program has to make one, with the same email, or link it")}
		}
	}
	if err == nil {
		usable := false
		if usable, err = s.usable(ctx, u); err == nil && (!usable || !u.Active()) {
			err = errSignOn{errors.New("the account is shut")}
		}
	}
	var told errSignOn
	if errors.As(err, &told) {
		s.log.WarnContext(ctx, "sign-on refused", "reason", told.Error(), "subject", claims.Subject)
		return s.signOnRefused(w, r, told.Error(), kept[keyNext])
	}
	if err != nil {
		return err
	}
	if bound {
		s.log.InfoContext(ctx, "identity of the sign-on service bound to an account by its verified email", "account", u.ID, "subject", claims.Subject)
	}
	if err := s.openSession(r, u.ID, u.SessionEpoch, db.BySignOn); err != nil {
		return err
	}
	return seeOther(w, r, orHome(kept[keyNext]))
}

func (s *Server) signOnRefused(w http.ResponseWriter, r *http.Request, why, next string) error {
	v := login.View{Next: next, Failed: ui.Sentence(why), SignOn: s.signOnName(), SignOnHref: signOnAddress(next)}
	return s.render(w, r, http.StatusUnauthorized, login.Page(s.page(r, "Sign in"), v))
}

// signOnToken is what an ID token says.
type signOnToken struct {
	Issuer, Subject string
	Email           string `json:"email"`
	Verified        bool   `json:"email_verified"`
	AuthTime        int64  `json:"auth_time"` // seconds since 1970; 0 where the service does not say
}

func (t signOnToken) identity() db.Identity {
	return db.Identity{Issuer: t.Issuer, Subject: t.Subject, Email: t.Email, Verified: t.Verified}
}

// signOnClaims checks what the service sent: the state that this browser left with, a code
// that the service takes with our verifier, and a token signed by it, for us, for now and
// for this very sign-in.
func (s *Server) signOnClaims(r *http.Request, sv *service, kept map[string]string) (signOnToken, error) {
	var c signOnToken
	refuse := func(text string) (signOnToken, error) { return c, errSignOn{errors.New(text)} }
	const startAnew = "this sign-in was not begun here, was used already, or waited too long: begin it anew"
	q := r.URL.Query()
	started, _ := strconv.ParseInt(kept[keyStarted], 10, 64)
	if kept[keyState] == "" || subtle.ConstantTimeCompare([]byte(q.Get("state")), []byte(kept[keyState])) != 1 || s.now().Sub(time.Unix(started, 0)) > signOnWait {
		return refuse(startAnew)
	}
	if q.Get("error") != "" {
		s.log.WarnContext(r.Context(), "sign-on service refused", "error", q.Get("error"), "text", q.Get("error_description"))
		return refuse("the sign-on service did not sign you in")
	}
	ctx := s.signOnContext(r.Context())
	token, err := sv.oauth.Exchange(ctx, q.Get("code"), oauth2.VerifierOption(kept[keyVerifier]))
	if err != nil {
		s.log.WarnContext(ctx, "sign-on: code not taken", "error", err)
		return refuse("the sign-on service did not confirm the sign-in: begin it anew")
	}
	raw, _ := token.Extra("id_token").(string)
	id, err := sv.verifier.Verify(ctx, raw)
	if err != nil {
		s.log.WarnContext(ctx, "sign-on: token not taken", "error", err)
		return refuse("what the sign-on service sent could not be verified: begin anew, and tell whoever keeps this server if it stays so")
	}
	if subtle.ConstantTimeCompare([]byte(id.Nonce), []byte(kept[keyNonce])) != 1 {
		return refuse(startAnew)
	}
	if err := id.Claims(&c); err != nil {
		s.log.WarnContext(ctx, "sign-on: claims cannot be read", "error", err)
		return refuse("what the sign-on service sent could not be read")
	}
	c.Issuer, c.Subject = id.Issuer, id.Subject
	return c, nil
}

// signedOnAgain notes that the person of the session has just proved who they are.
func (s *Server) signedOnAgain(w http.ResponseWriter, r *http.Request, c signOnToken, kept map[string]string) error {
	ctx := r.Context()
	me := visitOf(ctx).user
	if me == nil || me.ID.String() != kept[keyAgain] {
		return seeOther(w, r, "/login")
	}
	started, _ := strconv.ParseInt(kept[keyStarted], 10, 64)
	why := ""
	u, _, err := s.people.SignedOn(ctx, c.identity(), s.now())
	switch {
	case err != nil && fault.KindOf(err) == fault.Internal:
		return err
	case err != nil || u.ID != me.ID:
		why = "Somebody else signed in at " + s.signOnName() + ": nothing was confirmed."
	case c.AuthTime < started-int64(clockLeave/time.Second):
		why = ui.Sentence(s.signOnName() + " did not ask for your sign-in again: use the password of your account here to sign.")
	}
	if why != "" {
		s.flash(r, ui.Notice, why)
	} else {
		s.sessions.Put(ctx, keyFresh, strconv.FormatInt(s.now().Unix(), 10))
		s.flash(r, ui.Done, "You are confirmed for five minutes, for one signature.")
	}
	return seeOther(w, r, orHome(kept[keyNext]))
}

// confirmed reports whether the person of the session came from the service just now;
// use spends that.
func (s *Server) confirmed(ctx context.Context, use bool) bool {
	at, err := strconv.ParseInt(s.sessions.GetString(ctx, keyFresh), 10, 64)
	if use {
		s.sessions.Remove(ctx, keyFresh)
	}
	return err == nil && s.cfg.SignOn != nil && s.now().Sub(time.Unix(at, 0)) <= freshFor
}

// signedOn reports whether a session was opened by the service.
func (s *Server) signedOn(ctx context.Context, user, session uuid.UUID) (bool, error) {
	open, err := s.people.Sessions(ctx, user, s.now())
	for _, o := range open {
		if o.ID == session {
			return o.Way == db.BySignOn, err
		}
	}
	return false, err
}

func signOnAddress(next string) string {
	if next == "" {
		return signOnPath
	}
	return signOnPath + "?next=" + url.QueryEscape(next)
}
