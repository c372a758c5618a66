package web

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/views/account"
	"endcast/views/ui"
)

// accountTime is how the account page writes a time: it belongs to no program, and so
// to no time zone of one.
const accountTime = "2006-01-02 15:04 UTC"

// accountSessions adds the open sessions of the person who asks.
func (s *Server) accountSessions(r *http.Request, v *account.View) error {
	open, err := s.people.Sessions(r.Context(), s.user(r).ID, s.now())
	if err != nil {
		return err
	}
	here := visitOf(r.Context()).session
	for _, x := range open {
		v.Sessions = append(v.Sessions, account.SessionRow{ID: x.ID.String(), Device: x.Device, Address: x.Address, Since: x.OpenedAt.UTC().Format(accountTime),
			Seen: x.SeenAt.UTC().Format(accountTime), Way: wayWords(x.Way), Here: x.ID == here})
	}
	return nil
}

func wayWords(way string) string {
	if way == db.BySignOn {
		return "single sign-on"
	}
	return "password"
}

// sessionEnd ends one session of one's own, or all others.
func (s *Server) sessionEnd(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	ctx, v := r.Context(), visitOf(r.Context())
	which := r.PostFormValue("session")
	if which == "others" {
		n, err := s.people.EndOtherSessions(ctx, v.user.ID, v.session, s.now())
		if err != nil {
			return err
		}
		s.flash(r, ui.Done, fmt.Sprintf("%d other %s over.", n, map[bool]string{true: "session is", false: "sessions are"}[n == 1]))
		return seeOther(w, r, "/account")
	}
	id, err := uuid.Parse(which)
	if err != nil {
		return fault.New(fault.Malformed, "the form does not say which session to end")
	}
	if err := s.people.EndSession(ctx, v.user.ID, id, s.now()); err != nil {
		return err
	}
	s.flash(r, ui.Done, "The session is over.")
	return seeOther(w, r, "/account")
}

// signedInWords says to whoever keeps the people how far somebody is signed in, without
// where from.
func signedInWords(open []db.Session) string {
	if len(open) == 0 {
		return "no session is open"
	}
	words := fmt.Sprintf("%d sessions", len(open))
	if len(open) == 1 {
		words = "1 session"
	}
	return words + ", seen last " + open[0].SeenAt.UTC().Format(accountTime)
}

// Parts of what browsers say of themselves, and what people call that. The first that
// is found counts: most browsers also name those that they resemble.
var (
	deviceBrowsers = [][2]string{{"Edg/", "Edge"}, {"OPR/", "Opera"}, {"Firefox/", "Firefox"}, {"FxiOS/", "Firefox"}, {"CriOS/", "Chrome"}, {"Chrome/", "Chrome"}, {"Safari/", "Safari"}}
	deviceSystems  = [][2]string{{"iPad", "iPad"}, {"iPhone", "iPhone"}, {"Android", "Android"}, {"Windows", "Windows"}, {"Mac OS X", "Mac"}, {"CrOS", "Chromebook"}, {"Linux", "Linux"}}
)

// deviceOf puts what a browser says of itself into words that its owner knows it by. It
// is a hint and no proof: a browser may say anything.
func deviceOf(userAgent string) string {
	find := func(words [][2]string) string {
		for _, w := range words {
			if strings.Contains(userAgent, w[0]) {
				return w[1]
			}
		}
		return ""
	}
	browser, system := find(deviceBrowsers), find(deviceSystems)
	switch {
	case browser != "" && system != "":
		return browser + " on " + system
	case browser != "" || system != "":
		return browser + system
	}
	return "unknown browser"
}
