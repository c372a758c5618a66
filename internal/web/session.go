package web

import (
	"context"
	"net/http"
	"time"

	"github.com/alexedwards/scs/pgxstore"
	"github.com/alexedwards/scs/v2"
	"github.com/go-chi/chi/v5/middleware"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// A session lasts a long shift and is then over, used or not.
const sessionLife = 12 * time.Hour

const sweepEvery = 10 * time.Minute

// seenEvery is how often a session notes that it is used: a write on every page would
// cost more than it tells.
const seenEvery = time.Minute

// Keys of what a session holds. Only texts and numbers: the stored form must stay
// readable by the next release.
const (
	keySession = "session"
	keyEpoch   = "epoch"
	keyFlash   = "flash"
)

func newSessions(pool *pgxpool.Pool, secure bool) *scs.SessionManager {
	m := scs.New()
	// The store's own cleaner cannot be stopped without a race, so sweepSessions does it.
	m.Store = pgxstore.NewWithCleanupInterval(pool, 0)
	m.Lifetime = sessionLife
	m.HashTokenInStore = true
	m.Cookie.Name = "session"
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Path = "/"
	m.Cookie.Persist = true
	if secure {
		m.Cookie.Secure = true
		m.Cookie.Name = "__Host-session"
	}
	return m
}

// sweepSessions removes sessions that are over, now and then, until ctx ends.
func (s *Server) sweepSessions(ctx context.Context) {
	tick := time.NewTicker(sweepEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			if err := s.people.SweepSessions(ctx); err != nil && ctx.Err() == nil {
				s.log.ErrorContext(ctx, "sweep sessions", "error", err)
			}
		}
	}
}

// visit is what one request knows of who asks and where. It is made by identify
// and filled by the middleware on the way in.
type visit struct {
	request string // number of the request, in the log and on error pages
	nonce   string
	pattern string
	user    *db.User
	person  authz.Person
	token   *db.Token // by which a program asks for the person
	session uuid.UUID // by which the person is signed in
	program *ProgramHead
	framed  bool // the session is loaded: a page may show who is signed in
}

type visitKey struct{}

// visitOf returns what is known of a request; never nil.
func visitOf(ctx context.Context) *visit {
	if v, ok := ctx.Value(visitKey{}).(*visit); ok {
		return v
	}
	return &visit{}
}

// loadPerson looks up who is signed in, on every request: an account disabled or a
// role taken away a second ago counts.
func (s *Server) loadPerson(next http.Handler) http.Handler {
	return s.answer(func(w http.ResponseWriter, r *http.Request) error {
		ctx := r.Context()
		v := visitOf(ctx)
		v.framed = true
		id, err := uuid.Parse(s.sessions.GetString(ctx, keySession))
		if err != nil {
			next.ServeHTTP(w, r)
			return nil
		}
		now := s.now()
		seen, err := s.people.Visit(ctx, id, now)
		if err != nil && fault.KindOf(err) != fault.NotFound {
			return err
		}
		u := seen.User
		usable := false
		if err == nil {
			if usable, err = s.usable(ctx, u); err != nil {
				return err
			}
		}
		if !usable || !u.Active() || u.SessionEpoch != s.sessions.GetInt(ctx, keyEpoch) {
			if err := s.sessions.Destroy(ctx); err != nil {
				return err
			}
			next.ServeHTTP(w, r)
			return nil
		}
		if from := clientOf(r); from != seen.Address || now.Sub(seen.SeenAt) >= seenEvery {
			if err := s.people.Seen(ctx, id, now, from); err != nil {
				return err
			}
		}
		roles, err := s.people.Roles(ctx, u.ID)
		if err != nil {
			return err
		}
		v.user, v.session = &u, id
		v.person = authz.Person{ID: u.ID, SiteAdmin: u.SiteAdmin, Roles: roles}
		next.ServeHTTP(w, r)
		return nil
	})
}

// usable reports whether an account opens anything here: one of a demonstration
// does so only in a database that the demonstration was loaded into, and only as
// long as it holds nothing else.
func (s *Server) usable(ctx context.Context, u db.User) (bool, error) {
	if !u.Demo {
		return true, nil
	}
	return s.store.DemoOnly(ctx)
}

// openSession signs a person in, under a new token; way is db.ByPassword or
// db.BySignOn. A session that this browser had before is over.
func (s *Server) openSession(r *http.Request, user uuid.UUID, epoch int, way string) error {
	ctx, now := r.Context(), s.now()
	if v := visitOf(ctx); v.user != nil {
		if err := s.people.EndSession(ctx, v.user.ID, v.session, now); err != nil {
			return err
		}
	}
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	open := db.Session{ID: uuid.New(), UserID: user, OpenedAt: now, ExpiresAt: now.Add(sessionLife), Address: clientOf(r), Device: deviceOf(r.UserAgent()), Way: way}
	if err := s.people.OpenSession(ctx, open); err != nil {
		return err
	}
	s.sessions.Put(ctx, keySession, open.ID.String())
	s.sessions.Put(ctx, keyEpoch, epoch)
	return nil
}

// clientOf is the address of the client, as far as proxies are believed.
func clientOf(r *http.Request) string { return middleware.GetClientIP(r.Context()) }

// flash keeps a message for the next page that this person sees.
func (s *Server) flash(r *http.Request, kind ui.FlashKind, text string) {
	old, _ := s.sessions.Get(r.Context(), keyFlash).([]string)
	s.sessions.Put(r.Context(), keyFlash, append(old, string(kind), text))
}

// takeFlashes returns the messages that wait, and forgets them.
func (s *Server) takeFlashes(ctx context.Context) []ui.Flash {
	kept, _ := s.sessions.Pop(ctx, keyFlash).([]string)
	var out []ui.Flash
	for i := 0; i+1 < len(kept); i += 2 {
		out = append(out, ui.Flash{Kind: ui.FlashKind(kept[i]), Text: kept[i+1]})
	}
	return out
}
