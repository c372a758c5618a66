package web

import (
	"net/http"
	"time"

	"github.com/go-chi/httprate"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/password"
	"endcast/views/ui"
)

const signPattern = programPrefix + "/documents/{document}/sign"

// signingsPerMinute bounds the attempts of one person to sign.
const signingsPerMinute = 10

// limitSigning bounds how often one person may try to sign. The bound on wrong passwords
// is that of signing in, and holds over restarts.
func (s *Server) limitSigning() func(http.Handler) http.Handler {
	key := func(r *http.Request) (string, error) {
		if u := visitOf(r.Context()).user; u != nil {
			return u.ID.String(), nil
		}
		return "nobody", nil
	}
	return httprate.LimitBy(signingsPerMinute, time.Minute, key, httprate.WithLimitHandler(
		s.answer(func(http.ResponseWriter, *http.Request) error {
			return fault.New(fault.TooMany, "there were too many attempts to sign")
		})))
}

// documentSign puts a person's signature on a document.
func (s *Server) documentSign(w http.ResponseWriter, r *http.Request) error {
	p, err := s.openPaper(r)
	if err != nil {
		return err
	}
	if _, err := entry(r); err != nil {
		return err
	}
	sent := signSent{entry: r.PostFormValue("entry"), meaning: r.PostFormValue("meaning")}
	err = s.passwordAgain(r)
	if err == nil {
		err = s.sign(r, p)
	}
	if err == nil {
		s.flash(r, ui.Done, "Signed as "+repair.MeaningWords(sent.meaning)+".")
		return seeOther(w, r, s.program(r).Path("documents", numberOf(p.Number)))
	}
	status := http.StatusUnprocessableEntity
	switch k := fault.KindOf(err); k {
	case fault.Fields, fault.Refused:
	case fault.Conflict:
		status = http.StatusConflict
	case fault.TooMany:
		status = http.StatusTooManyRequests
	default:
		return err
	}
	if bad, ok := asFields(err); ok {
		sent.bad = bad
	} else {
		sent.problem = ui.Sentence(fault.Message(err))
	}
	if status == http.StatusConflict {
		sent.entry = ""
	}
	if p, err = s.openPaper(r); err != nil { // as it is now: another may have signed meanwhile
		return err
	}
	return s.documentPage(w, r, status, p, sent)
}

// sign makes the statement and both signatures of the server, and takes them through the
// one door, where the record is compared with that of the document.
func (s *Server) sign(r *http.Request, p db.Paper) error {
	ctx := r.Context()
	pdf, err := s.store.PaperFile(ctx, p.Document)
	if err != nil {
		return err
	}
	key, with, err := s.store.Signer(ctx)
	if err != nil {
		return err
	}
	program, err := s.store.Program(ctx, p.ProgramID)
	if err != nil {
		return err
	}
	at, meaning := s.store.Today(program), r.PostFormValue("meaning")
	text := repair.Statement(p.Document, program.Code, meaning, s.actor(r), at, key.ID)
	var ends []db.EndRef
	if p.EndID != nil {
		ends = []db.EndRef{{ID: *p.EndID}}
	}
	_, err = s.edit(r, ends, at, repair.SignDocument{Number: p.Number, SHA256: r.PostFormValue("sha256"), Meaning: meaning,
		KeyID: key.ID, Public: key.Public, Text: text, OfFile: with(pdf), OfStatement: with([]byte(text))})
	return err
}

// passwordAgain asks whoever is signed in for the password once more, with the checks and
// the limits of signing in.
func (s *Server) passwordAgain(r *http.Request) error {
	ctx := r.Context()
	c, err := s.people.CredentialsByID(ctx, s.user(r).ID)
	if err != nil {
		return err
	}
	usable, err := s.usable(ctx, c.User)
	if err != nil {
		return err
	}
	now := s.now()
	switch {
	case !usable || !c.Active():
		return fault.New(fault.Forbidden, "this account is shut and signs nothing")
	case c.Locked(now):
		return fault.New(fault.TooMany, "signing is paused for this account after repeated wrong passwords: wait 15 minutes, or ask an administrator")
	}
	if r.PostFormValue("password") == "" && s.confirmed(ctx, true) {
		return nil // the sign-on service asked them instead, a moment ago
	}
	ok, _, err := password.Matches(r.PostFormValue("password"), c.PasswordHash)
	if err != nil {
		return err
	}
	if !ok {
		if err := s.people.LoginFailed(ctx, c.ID, now, loginLimit, loginPause); err != nil {
			return err
		}
		var bad fault.Invalid
		bad.Add("password", "", "the password is not that of your account; nothing was signed")
		return bad.Err()
	}
	return s.people.LoginSucceeded(ctx, c.ID)
}
