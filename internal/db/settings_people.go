package db

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// Acts on the people of a program, as the journal names them.
const (
	PeopleAdd     = "people.add"
	PeopleRole    = "people.role"
	PeopleRemove  = "people.remove"
	PeopleDisable = "people.disable"
	PeopleEnable  = "people.enable"
	PeopleSignOut = "people.sign_out"
	PeopleToken   = "people.token"        // made by the person themselves
	PeopleRevoke  = "people.token_revoke" // by the person or whoever keeps the people
)

// PeopleActs lists every act on the people of a program.
func PeopleActs() []string {
	return []string{PeopleAdd, PeopleRole, PeopleRemove, PeopleDisable, PeopleEnable, PeopleSignOut, PeopleToken, PeopleRevoke}
}

// PeopleEntry is one change of who may do what in a program. It goes to the same
// journal as the edits of the record, under an id of its own.
type PeopleEntry struct {
	ID        string
	ProgramID string
	Actor     repair.Actor
	Act       string
	UserID    uuid.UUID
	Role      authz.Role // for PeopleAdd and PeopleRole
	// New is the account to open first, for PeopleAdd; UserID is not read then.
	New *NewUser
	// Token is the token to make, for PeopleToken, and TokenID the one to revoke, for
	// PeopleRevoke.
	Token   *NewToken
	TokenID uuid.UUID
}

// PeopleChange is what the journal keeps of a PeopleEntry.
type PeopleChange struct {
	User    string     `json:"user"`
	Email   string     `json:"email"`
	Name    string     `json:"name"`
	Account string     `json:"account,omitempty"` // "opened" with the entry
	Was     authz.Role `json:"was,omitempty"`
	Role    authz.Role `json:"role,omitempty"`
	// Token names the token of PeopleToken and PeopleRevoke, with its scopes and its end.
	Token   string     `json:"token,omitempty"`
	Scopes  []string   `json:"scopes,omitempty"`
	Expires *time.Time `json:"expires,omitempty"`
}

// EditPeople carries one change of people through, and journals it, in one
// transaction. A repeated entry is answered with the first answer. It refuses to
// leave a program without an administrator who can sign in.
func (st *Store) EditPeople(ctx context.Context, e PeopleEntry) (Receipt, error) {
	if _, err := uuid.Parse(e.ID); err != nil {
		return Receipt{}, fault.New(fault.Malformed, "the entry has no identifier; open the page again")
	}
	request := peopleDigest(e)
	for range 3 {
		var rec Receipt
		err := pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) (err error) {
			rec, err = st.editPeople(ctx, tx, e, request)
			return err
		})
		if !again(err) {
			return rec, err
		}
	}
	return Receipt{}, fault.New(fault.Unavailable, "too many changes at once; try again")
}

// peopleDigest leaves passwords and secrets out: a form sent twice makes others.
func peopleDigest(e PeopleEntry) []byte {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%s\n%s\n%s\n%s\n", e.ProgramID, e.Actor.ID, e.Act, e.UserID, e.Role)
	if e.New != nil {
		fmt.Fprintf(h, "%s\n%s\n", e.New.Email, e.New.Name)
	}
	if e.Token != nil {
		fmt.Fprintf(h, "%s\n%v\n", e.Token.Name, e.Token.Scopes)
	}
	if e.TokenID != uuid.Nil {
		fmt.Fprintln(h, e.TokenID)
	}
	return h.Sum(nil)
}

func (st *Store) editPeople(ctx context.Context, tx pgx.Tx, e PeopleEntry, request []byte) (Receipt, error) {
	_, rec, answered, err := begin(ctx, tx, Entry{ID: e.ID, ProgramID: e.ProgramID, Actor: e.Actor}, request)
	if err != nil || answered {
		return rec, err
	}
	var p repair.Program
	// The program's row stands for its list of people: changes of it come one by one.
	err = tx.QueryRow(ctx, "select id::text, today from program where id = $1 for no key update", e.ProgramID).Scan(&p.ID, &p.Today)
	if errors.Is(err, pgx.ErrNoRows) {
		return rec, fault.New(fault.NotFound, "there is no such program")
	}
	if err != nil {
		return rec, fmt.Errorf("people: %w", err)
	}
	now := st.clock(Entry{}, p)
	change, err := st.actOnPeople(ctx, tx, e, now)
	if err != nil {
		return rec, err
	}
	raw, err := json.Marshal(change)
	if err != nil {
		return rec, fmt.Errorf("people: %w", err)
	}
	var entry journalEntry
	b := &pgx.Batch{}
	follows := queueJournalTip(b, &entry, p.ID)
	if err := tx.SendBatch(ctx, b).Close(); err != nil {
		return rec, fmt.Errorf("people: %w", err)
	}
	if entry.Body, err = json.Marshal(journalBody{Follows: follows, Captured: now, Role: string(e.Actor.Role), Through: e.Actor.Through, Change: raw, Rows: []rowChange{}}); err != nil {
		return rec, fmt.Errorf("people: %w", err)
	}
	entry.At, entry.EntryID, entry.ActorID, entry.Actor, entry.Kind, entry.ProgramID = now, e.ID, e.Actor.ID, e.Actor.Name, e.Act, &p.ID
	rec = Receipt{EntryID: e.ID, Versions: map[string]int64{}}
	last := &pgx.Batch{}
	rec.Seq = queueJournal(last, &entry)
	answer, err := json.Marshal(rec)
	if err != nil {
		return rec, fmt.Errorf("people: %w", err)
	}
	last.Queue("insert into receipt (entry_id, actor_id, request, answer, at) values ($1, $2, $3, $4, $5)", e.ID, e.Actor.ID, request, answer, now)
	return rec, tx.SendBatch(ctx, last).Close()
}

// actOnPeople writes the change itself and returns what the journal keeps of it.
func (st *Store) actOnPeople(ctx context.Context, tx pgx.Tx, e PeopleEntry, now time.Time) (PeopleChange, error) {
	id := e.UserID
	c := PeopleChange{Role: e.Role}
	if (e.Act == PeopleAdd || e.Act == PeopleRole) && !e.Role.Valid() {
		var bad fault.Invalid
		bad.Add("role", string(e.Role), "choose a role")
		return c, bad.Err()
	}
	if e.New != nil && e.Act == PeopleAdd {
		u, err := createAccount(ctx, tx, *e.New)
		if err != nil {
			return c, err
		}
		id, c.Account = u.ID, "opened"
	}
	err := tx.QueryRow(ctx, `select u.id::text, u.email, u.name, coalesce(m.role, '') from app_user u
		left join membership m on m.user_id = u.id and m.program_id = $2 where u.id = $1`, id, e.ProgramID).Scan(&c.User, &c.Email, &c.Name, &c.Was)
	if err := noAccount(err); err != nil {
		return c, err
	}
	if e.Act == PeopleAdd && c.Was != "" {
		var bad fault.Invalid
		bad.Add("email", c.Email, "%s is in this program already, as %s", c.Name, c.Was)
		return c, bad.Err()
	}
	if e.Act != PeopleAdd && c.Was == "" {
		return c, fault.New(fault.NotFound, "nobody of that account has a role in this program")
	}
	if c.Was == authz.Administrator && slices.Contains([]string{PeopleRole, PeopleRemove, PeopleDisable}, e.Act) && e.Role != authz.Administrator {
		if err := anotherAdministrator(ctx, tx, e.ProgramID, id); err != nil {
			return c, err
		}
	}
	switch e.Act {
	case PeopleAdd, PeopleRole:
		_, err = tx.Exec(ctx, `insert into membership (user_id, program_id, role) values ($1, $2, $3)
			on conflict (user_id, program_id) do update set role = excluded.role`, id, e.ProgramID, string(e.Role))
	case PeopleRemove:
		_, err = tx.Exec(ctx, "delete from membership where user_id = $1 and program_id = $2", id, e.ProgramID)
	case PeopleDisable:
		err = one(ctx, tx, disableAccount, id, now)
	case PeopleEnable:
		err = one(ctx, tx, enableAccount, id)
	case PeopleToken:
		if e.Token == nil || e.Actor.ID != c.User {
			return c, fault.New(fault.Malformed, "a token is made by the person that it acts for")
		}
		c.Token, c.Expires = e.Token.Name, &e.Token.Expires
		for _, s := range e.Token.Scopes {
			c.Scopes = append(c.Scopes, string(s))
		}
		err = createToken(ctx, tx, id, e.ProgramID, *e.Token, st.Now().UTC())
	case PeopleRevoke:
		by := "administrator"
		if e.Actor.ID == c.User {
			by = "person"
		}
		c.Token, err = revokeToken(ctx, tx, id, e.ProgramID, e.TokenID, by, st.Now().UTC())
	case PeopleSignOut:
		err = one(ctx, tx, signOutAccount, id, now)
	default:
		err = fault.New(fault.Malformed, "people of a program cannot be %q", e.Act)
	}
	return c, err
}

func anotherAdministrator(ctx context.Context, tx pgx.Tx, programID string, but uuid.UUID) error {
	var others int
	err := tx.QueryRow(ctx, `select count(*) from membership m join app_user u on u.id = m.user_id
		where m.program_id = $1 and m.role = 'administrator' and u.disabled_at is null and u.id <> $2`, programID, but).Scan(&others)
	if err != nil {
		return fmt.Errorf("people: %w", err)
	}
	if others == 0 {
		return fault.New(fault.Refused, "this is the only administrator of the program: make somebody else one first")
	}
	return nil
}

// PeopleChangeOf reads what an entry of the journal says of people.
func PeopleChangeOf(c SettingChange) PeopleChange {
	var out PeopleChange
	_ = json.Unmarshal(c.Change, &out)
	return out
}
