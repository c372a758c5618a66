package db

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

// Bounds of tokens.
const (
	MostTokens       = 20 // that open anything, of one person in one program
	LongestToken     = 366 * 24 * time.Hour
	longestTokenName = 80
)

// Token is what is kept of a token: never the token itself. It acts for its person in
// one program.
type Token struct {
	ID        uuid.UUID  `db:"id"`
	UserID    uuid.UUID  `db:"user_id"`
	ProgramID uuid.UUID  `db:"program_id"`
	Name      string     `db:"name"`
	Scopes    []string   `db:"scopes"`
	CreatedAt time.Time  `db:"created_at"`
	ExpiresAt time.Time  `db:"expires_at"`
	UsedAt    *time.Time `db:"used_at"`
	UsedFrom  string     `db:"used_from"`
	RevokedAt *time.Time `db:"revoked_at"`
	RevokedBy string     `db:"revoked_by"`
}

// Open reports whether the token still opens anything.
func (t Token) Open(now time.Time) bool { return t.RevokedAt == nil && now.Before(t.ExpiresAt) }

// Grant is the scopes of the token as package authz reads them.
func (t Token) Grant() *authz.Token {
	out := &authz.Token{Program: t.ProgramID}
	for _, s := range t.Scopes {
		out.Scopes = append(out.Scopes, authz.Scope(s))
	}
	return out
}

const tokenColumns = `id, user_id, program_id, name, scopes, created_at, expires_at, used_at, used_from, revoked_at, revoked_by`

// NewToken is what a token starts with. Secret is what the person is shown, once.
type NewToken struct {
	Name    string
	Scopes  []authz.Scope
	Expires time.Time
	Secret  string
}

// TokenHash is what is kept of a secret. The secret is drawn at random and long, so that
// a hash made in no time is safe.
func TokenHash(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}

// createToken makes a token for a person in a program, within a transaction. Now is the
// real time: a token of a demonstration does not live on the demonstration's day.
func createToken(ctx context.Context, q querier, user uuid.UUID, program string, n NewToken, now time.Time) error {
	n.Name = strings.TrimSpace(n.Name)
	var bad fault.Invalid
	if length := len([]rune(n.Name)); length == 0 || length > longestTokenName {
		bad.Add("token", n.Name, "the name must have from 1 to %d characters, got %d", longestTokenName, length)
	}
	scopes := []string{string(authz.ScopeRead)}
	for _, s := range n.Scopes {
		if !s.Valid() {
			bad.Add("scopes", string(s), "there is no scope %q; the scopes are %v", s, authz.Scopes())
		} else if !slices.Contains(scopes, string(s)) {
			scopes = append(scopes, string(s))
		}
	}
	if !n.Expires.After(now) || n.Expires.Sub(now) > LongestToken {
		bad.Add("expires", n.Expires.UTC().Format(time.DateOnly), "a token must end within %d days from now", int(LongestToken.Hours()/24))
	}
	if err := bad.Err(); err != nil {
		return err
	}
	var open int
	err := q.QueryRow(ctx, `SELECT count(*) FROM api_token WHERE user_id = $1 AND program_id = $2 AND revoked_at IS NULL AND expires_at > $3`, user, program, now).Scan(&open)
	if err != nil {
		return fmt.Errorf("count tokens: %w", err)
	}
	if open >= MostTokens {
		return fault.New(fault.Refused, "this account has %d tokens in this program, at most %d: revoke one that is not needed", open, MostTokens)
	}
	_, err = q.Exec(ctx, `INSERT INTO api_token (id, user_id, program_id, name, hash, scopes, created_at, expires_at)
		VALUES (@id, @user, @program, @name, @hash, @scopes, @now, @expires)`, pgx.StrictNamedArgs{"id": uuid.Must(uuid.NewV7()), "user": user,
		"program": program, "name": n.Name, "hash": TokenHash(n.Secret), "scopes": scopes, "now": now, "expires": n.Expires})
	if err != nil {
		return fmt.Errorf("create token: %w", err)
	}
	return nil
}

// revokeToken ends a token of a person in a program, for good, and returns its name.
func revokeToken(ctx context.Context, q querier, user uuid.UUID, program string, token uuid.UUID, by string, now time.Time) (string, error) {
	var name string
	err := q.QueryRow(ctx, `UPDATE api_token SET revoked_at = coalesce(revoked_at, $4), revoked_by = CASE WHEN revoked_at IS NULL THEN $5 ELSE revoked_by END
		WHERE id = $3 AND user_id = $1 AND program_id = $2 RETURNING name`, user, program, token, now, by).Scan(&name)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", fault.New(fault.NotFound, "this account has no such token in this program")
	}
	if err != nil {
		return "", fmt.Errorf("revoke token: %w", err)
	}
	return name, nil
}

// Bearer is whom a token acts for.
type Bearer struct {
	Token
	User User
}

// ByToken returns the token of a secret and its person, or fault.NotFound for one that
// opens nothing: unknown, revoked, over, or of an account that is shut.
func (p People) ByToken(ctx context.Context, secret string, now time.Time) (Bearer, error) {
	none := fault.New(fault.NotFound, "this token opens nothing: it is unknown, revoked or over, or its account is shut")
	rows, _ := p.Pool.Query(ctx, `SELECT `+tokenColumns+` FROM api_token WHERE hash = $1`, TokenHash(secret))
	t, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[Token])
	if errors.Is(err, pgx.ErrNoRows) {
		return Bearer{}, none
	}
	if err != nil {
		return Bearer{}, fmt.Errorf("read token: %w", err)
	}
	u, err := p.ByID(ctx, t.UserID)
	if err != nil {
		return Bearer{}, err
	}
	if !t.Open(now) || !u.Active() {
		return Bearer{}, none
	}
	return Bearer{Token: t, User: u}, nil
}

// TokenUsed notes that a token was used, and from where.
func (p People) TokenUsed(ctx context.Context, token uuid.UUID, at time.Time, from string) error {
	if _, err := p.Pool.Exec(ctx, `UPDATE api_token SET used_at = $2, used_from = $3 WHERE id = $1`, token, at, from); err != nil {
		return fmt.Errorf("note token: %w", err)
	}
	return nil
}

// Tokens returns the tokens of a person, the newest first; of one program, or of every
// program for uuid.Nil.
func (p People) Tokens(ctx context.Context, user, program uuid.UUID) ([]Token, error) {
	rows, _ := p.Pool.Query(ctx, `SELECT `+tokenColumns+` FROM api_token WHERE user_id = $1 AND ($2 = '00000000-0000-0000-0000-000000000000'::uuid OR program_id = $2)
		ORDER BY created_at DESC, id DESC LIMIT 200`, user, program)
	out, err := pgx.CollectRows(rows, pgx.RowToStructByName[Token])
	if err != nil {
		return nil, fmt.Errorf("list tokens: %w", err)
	}
	return out, nil
}
