package web

import (
	"crypto/rand"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/views/account"
	"endcast/views/ui"
)

// tokenDays are the lives to choose from.
var tokenDays = []int{7, 30, 90, 365}

// tokenMark begins every token, so that one that strayed into a file can be found.
const tokenMark = "endcast_"

// accountTokens adds the tokens of the person who asks, and what a new one may be.
func (s *Server) accountTokens(r *http.Request, v *account.View) error {
	ctx, person := r.Context(), visitOf(r.Context()).person
	ids := []uuid.UUID{}
	for id := range person.Roles {
		ids = append(ids, id)
	}
	heads, err := s.cfg.ListPrograms(ctx, ids)
	if err != nil {
		return err
	}
	names := map[uuid.UUID]string{}
	if len(heads) != 1 {
		v.Tokens.Programs = []ui.Option{{Label: "Choose…"}}
	}
	for _, h := range heads {
		names[h.ID] = h.Name
		v.Tokens.Programs = append(v.Tokens.Programs, ui.Option{Value: h.ID.String(), Label: h.Name})
	}
	for _, sc := range authz.Scopes() {
		if sc != authz.ScopeRead {
			v.Tokens.Scopes = append(v.Tokens.Scopes, account.ScopeBox{Name: string(sc), Words: sc.Words(), On: v.Tokens.Ticked[string(sc)]})
		}
	}
	for _, d := range tokenDays {
		v.Tokens.Days = append(v.Tokens.Days, ui.Option{Value: strconv.Itoa(d), Label: strconv.Itoa(d) + " days"})
	}
	list, err := s.people.Tokens(ctx, s.user(r).ID, uuid.Nil)
	if err != nil {
		return err
	}
	for _, t := range list {
		row := tokenRow(t, s.now())
		row.Program = names[t.ProgramID]
		v.Tokens.Rows = append(v.Tokens.Rows, row)
	}
	return nil
}

func tokenRow(t db.Token, now time.Time) account.TokenRow {
	row := account.TokenRow{ID: t.ID.String(), Program: t.ProgramID.String(), ProgramID: t.ProgramID.String(), Name: t.Name, Scopes: strings.Join(t.Scopes, ", "), Until: t.ExpiresAt.UTC().Format(time.DateOnly),
		Used: "never", Open: t.Open(now), State: ui.Mark{State: ui.Good, Text: "open"}}
	if t.UsedAt != nil {
		row.Used = t.UsedAt.UTC().Format(accountTime) + " from " + t.UsedFrom
	}
	switch {
	case t.RevokedAt != nil:
		row.State = ui.Mark{State: ui.Void, Text: "revoked"}
	case !row.Open:
		row.State = ui.Mark{State: ui.Void, Text: "over"}
	}
	return row
}

// tokenAct makes a token of one's own, or revokes one. A new one is on the answer and
// nowhere else.
func (s *Server) tokenAct(w http.ResponseWriter, r *http.Request) error {
	id, err := entry(r)
	if err != nil {
		return err
	}
	v := visitOf(r.Context())
	typed := typedIn(r, "token", "program", "days")
	var bad fault.Invalid
	program, perr := uuid.Parse(typed["program"])
	role, member := v.person.Roles[program]
	if perr != nil || !member {
		bad.Add("program", typed["program"], "choose one of your programs")
	}
	e := db.PeopleEntry{ID: id.String(), ProgramID: program.String(), Actor: repair.Actor{ID: v.user.ID.String(), Name: v.user.Name, Role: role}, UserID: v.user.ID}
	if revoke := r.PostFormValue("revoke"); revoke != "" {
		e.Act = db.PeopleRevoke
		if e.TokenID, err = uuid.Parse(revoke); err != nil || bad.Err() != nil {
			return fault.New(fault.NotFound, "this account has no such token")
		}
		if _, err = s.store.EditPeople(r.Context(), e); err != nil {
			return err
		}
		s.flash(r, ui.Done, "The token is revoked and opens nothing any more.")
		return seeOther(w, r, "/account")
	}
	days, derr := strconv.Atoi(typed["days"])
	if derr != nil || days < 1 || days > int(db.LongestToken.Hours()/24) {
		bad.Add("days", typed["days"], "choose how long it opens something, from 1 to %d days", int(db.LongestToken.Hours()/24))
	}
	ticked := map[string]bool{}
	for _, sc := range r.PostForm["scope"] {
		ticked[sc] = true
	}
	e.Act, e.Token = db.PeopleToken, &db.NewToken{Name: typed["token"], Expires: s.now().UTC().AddDate(0, 0, days), Secret: tokenMark + rand.Text()}
	for sc := range ticked {
		if !authz.Scope(sc).Valid() {
			bad.Add("scope", sc, "there is no scope %q", sc)
		}
	}
	for _, sc := range authz.Scopes() {
		if sc == authz.ScopeRead || ticked[string(sc)] {
			e.Token.Scopes = append(e.Token.Scopes, sc)
		}
	}
	if typed["token"] == "" {
		bad.Add("token", "", "name the program or script that it is for")
	}
	err = bad.Err()
	var rec db.Receipt
	if err == nil {
		rec, err = s.store.EditPeople(r.Context(), e)
	}
	if form, status, ok := refused(r, err); ok {
		return s.accountTyped(w, r, status, account.View{Bad: form.Bad, Tokens: account.Tokens{Typed: typed, Ticked: ticked, Notice: form.Notice, Entry: form.Entry}})
	}
	if err != nil {
		return err
	}
	if rec.Repeated {
		s.flash(r, ui.Notice, "This token was made already. It is shown only once: if it is lost, revoke it and make another.")
		return seeOther(w, r, "/account")
	}
	w.Header().Set("Cache-Control", "no-store")
	return s.accountTyped(w, r, http.StatusOK, account.View{Tokens: account.Tokens{Made: e.Token.Secret, MadeName: e.Token.Name}})
}
