package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/go-chi/httprate"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

// apiPrefix is where programs ask. Nothing below it reads a cookie.
const apiPrefix = "/api/"

func isAPI(path string) bool { return strings.HasPrefix(path, apiPrefix) }

// loadToken finds for whom a program asks. A token that opens nothing is noted, and said
// only where the address asks for one.
func (s *Server) loadToken(next http.Handler) http.Handler {
	return s.answer(func(w http.ResponseWriter, r *http.Request) error {
		secret, ok := bearer(r)
		if !ok {
			next.ServeHTTP(w, r)
			return nil
		}
		ctx, now := r.Context(), s.now()
		b, err := s.people.ByToken(ctx, secret, now)
		usable := err == nil
		if usable {
			if usable, err = s.usable(ctx, b.User); err != nil {
				return err
			}
		} else if fault.KindOf(err) != fault.NotFound {
			return err
		}
		if usable {
			if from := clientOf(r); b.UsedAt == nil || from != b.UsedFrom || now.Sub(*b.UsedAt) >= seenEvery {
				if err := s.people.TokenUsed(ctx, b.Token.ID, now, from); err != nil {
					return err
				}
			}
			roles, err := s.people.Roles(ctx, b.User.ID)
			if err != nil {
				return err
			}
			v := visitOf(ctx)
			v.user, v.token = &b.User, &b.Token
			v.person = authz.Person{ID: b.User.ID, SiteAdmin: b.User.SiteAdmin, Roles: roles, Token: b.Grant()}
		}
		next.ServeHTTP(w, r)
		return nil
	})
}

// bearer reads the token of a request (RFC 6750, section 2.1). It is taken from the
// header alone: an address ends up in logs.
func bearer(r *http.Request) (string, bool) {
	scheme, secret, ok := strings.Cut(r.Header.Get("Authorization"), " ")
	secret = strings.TrimSpace(secret)
	return secret, ok && strings.EqualFold(scheme, "Bearer") && secret != "" && len(secret) <= 200
}

// askToken answers a program that sent no token, or one that opens nothing.
func askToken(w http.ResponseWriter, r *http.Request) error {
	if _, sent := bearer(r); sent {
		w.Header().Set("WWW-Authenticate", `Bearer error="invalid_token"`)
		return fault.New(fault.SignIn, "this token opens nothing: it is unknown, revoked or over, or its account is shut")
	}
	w.Header().Set("WWW-Authenticate", "Bearer")
	return fault.New(fault.SignIn, "send a token of this installation in the header Authorization: Bearer")
}

// limitTokens bounds how often one token asks, and one address that sends none.
func (s *Server) limitTokens() func(http.Handler) http.Handler {
	key := func(r *http.Request) (string, error) {
		if v := visitOf(r.Context()); v.token != nil {
			return v.token.ID.String(), nil
		}
		return httprate.CanonicalizeIP(clientOf(r)), nil
	}
	return httprate.LimitBy(s.cfg.AsksPerMinute, time.Minute, key, httprate.WithLimitHandler(
		s.answer(func(http.ResponseWriter, *http.Request) error {
			return fault.New(fault.TooMany, "%s", fmt.Sprintf("a token may ask %d times a minute", s.cfg.AsksPerMinute))
		})))
}
