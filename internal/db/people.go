package db

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/domain/fault"
)

// People keeps accounts and what each is in each program. Accounts are disabled,
// never deleted: the history of a program refers to them.
type People struct {
	Pool *pgxpool.Pool
}

// User is one account, without its password.
type User struct {
	ID           uuid.UUID  `db:"id"`
	Email        string     `db:"email"`
	Name         string     `db:"name"`
	SiteAdmin    bool       `db:"site_admin"`
	Demo         bool       `db:"demo"`
	Units        *string    `db:"units"` // "us", "si", or nil: as the program shows them
	CreatedAt    time.Time  `db:"created_at"`
	DisabledAt   *time.Time `db:"disabled_at"`
	FailedLogins int        `db:"failed_logins"`
	LockedUntil  *time.Time `db:"locked_until"`
	SessionEpoch int        `db:"session_epoch"`
}

// Active reports whether the account may be used.
func (u User) Active() bool { return u.DisabledAt == nil }

// Locked reports whether signing in is paused at the given time.
func (u User) Locked(now time.Time) bool { return u.LockedUntil != nil && now.Before(*u.LockedUntil) }

const userColumns = `id, email, name, site_admin, demo, units, created_at, disabled_at, failed_logins, locked_until, session_epoch`

// NewUser is what an account starts with.
type NewUser struct {
	Email, Name  string
	PasswordHash string // as package password makes it
	SiteAdmin    bool
	Demo         bool
}

// Create opens an account. A second one with the same email, whatever its case, is
// refused as a duplicate; an empty name or a text that is no email as invalid fields.
func (p People) Create(ctx context.Context, n NewUser) (User, error) {
	return createAccount(ctx, p.Pool, n)
}

func createAccount(ctx context.Context, q querier, n NewUser) (User, error) {
	n.Email, n.Name = strings.TrimSpace(n.Email), strings.TrimSpace(n.Name)
	var bad fault.Invalid
	if at := strings.IndexByte(n.Email, '@'); at < 1 || at == len(n.Email)-1 {
		bad.Add("email", n.Email, "an email has a name, an @ and a host")
	}
	if n.Name == "" {
		bad.Add("name", n.Name, "a name is needed")
	}
	if err := bad.Err(); err != nil {
		return User{}, err
	}
	id, err := uuid.NewV7()
	if err != nil {
		return User{}, fmt.Errorf("make account id: %w", err)
	}
	const insert = `INSERT INTO app_user (id, email, name, password_hash, site_admin, demo)
		VALUES (@id, @email, @name, @hash, @site_admin, @demo) RETURNING ` + userColumns
	rows, _ := q.Query(ctx, insert, pgx.StrictNamedArgs{"id": id, "email": n.Email, "name": n.Name,
		"hash": n.PasswordHash, "site_admin": n.SiteAdmin, "demo": n.Demo})
	u, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[User])
	if uniqueViolation(err, "app_user_email_key") {
		return User{}, fault.Wrap(fault.Duplicate, err, "there is an account for %s already", n.Email)
	}
	if err != nil {
		return User{}, fmt.Errorf("create account: %w", err)
	}
	return u, nil
}

// ByID returns an account, or fault.NotFound.
func (p People) ByID(ctx context.Context, id uuid.UUID) (User, error) {
	rows, _ := p.Pool.Query(ctx, `SELECT `+userColumns+` FROM app_user WHERE id = $1`, id)
	u, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[User])
	return u, noAccount(err)
}

// Credentials is what signing in needs to know of an account.
type Credentials struct {
	User
	PasswordHash string `db:"password_hash"`
}

// Credentials returns the account of an email in any case, or fault.NotFound.
func (p People) Credentials(ctx context.Context, email string) (Credentials, error) {
	const q = `SELECT ` + userColumns + `, password_hash FROM app_user WHERE lower(email) = lower($1)`
	rows, _ := p.Pool.Query(ctx, q, strings.TrimSpace(email))
	c, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[Credentials])
	return c, noAccount(err)
}

// CredentialsByID is Credentials for somebody who is signed in already.
func (p People) CredentialsByID(ctx context.Context, id uuid.UUID) (Credentials, error) {
	rows, _ := p.Pool.Query(ctx, `SELECT `+userColumns+`, password_hash FROM app_user WHERE id = $1`, id)
	c, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[Credentials])
	return c, noAccount(err)
}

// LoginFailed counts a failed attempt. From the limit on, the account takes no
// sign-in until lockFor has passed; the count then starts anew.
func (p People) LoginFailed(ctx context.Context, id uuid.UUID, now time.Time, limit int, lockFor time.Duration) error {
	const q = `UPDATE app_user SET
		failed_logins = CASE WHEN failed_logins + 1 >= @limit THEN 0 ELSE failed_logins + 1 END,
		locked_until  = CASE WHEN failed_logins + 1 >= @limit THEN @until ELSE locked_until END
		WHERE id = @id`
	_, err := p.Pool.Exec(ctx, q, pgx.StrictNamedArgs{"id": id, "limit": limit, "until": now.Add(lockFor)})
	if err != nil {
		return fmt.Errorf("count failed sign-in: %w", err)
	}
	return nil
}

// LoginSucceeded clears the count of failed attempts.
func (p People) LoginSucceeded(ctx context.Context, id uuid.UUID) error {
	_, err := p.Pool.Exec(ctx, `UPDATE app_user SET failed_logins = 0, locked_until = NULL
		WHERE id = $1 AND (failed_logins <> 0 OR locked_until IS NOT NULL)`, id)
	if err != nil {
		return fmt.Errorf("clear failed sign-ins: %w", err)
	}
	return nil
}

// SetPassword stores a new hash, lifts a lock and ends every session of the
// account. It returns the number that sessions opened from now on must carry.
func (p People) SetPassword(ctx context.Context, id uuid.UUID, hash string) (epoch int, err error) {
	const q = `WITH over AS (UPDATE open_session SET ended_at = now(), ended_by = 'password' WHERE user_id = $1 AND ended_at IS NULL)
		UPDATE app_user SET password_hash = $2, session_epoch = session_epoch + 1, failed_logins = 0,
		locked_until = NULL WHERE id = $1 RETURNING session_epoch`
	err = p.Pool.QueryRow(ctx, q, id, hash).Scan(&epoch)
	return epoch, noAccount(err)
}

// Rehash stores a hash of the same password made with newer parameters.
func (p People) Rehash(ctx context.Context, id uuid.UUID, hash string) error {
	return one(ctx, p.Pool, `UPDATE app_user SET password_hash = $2 WHERE id = $1`, id, hash)
}

const (
	disableAccount = `WITH over AS (UPDATE open_session SET ended_at = $2, ended_by = 'shut' WHERE user_id = $1 AND ended_at IS NULL),
		dead AS (UPDATE api_token SET revoked_at = $2, revoked_by = 'shut' WHERE user_id = $1 AND revoked_at IS NULL)
		UPDATE app_user SET disabled_at = coalesce(disabled_at, $2), session_epoch = session_epoch + 1 WHERE id = $1`
	signOutAccount = `WITH over AS (UPDATE open_session SET ended_at = $2, ended_by = 'administrator' WHERE user_id = $1 AND ended_at IS NULL)
		UPDATE app_user SET session_epoch = session_epoch + 1 WHERE id = $1`
	enableAccount = `UPDATE app_user SET disabled_at = NULL, failed_logins = 0, locked_until = NULL WHERE id = $1`
)

// Disable shuts an account, ends its sessions and revokes its tokens for good. It stays in
// every history.
func (p People) Disable(ctx context.Context, id uuid.UUID, at time.Time) error {
	return one(ctx, p.Pool, disableAccount, id, at)
}

// Enable opens a disabled account again.
func (p People) Enable(ctx context.Context, id uuid.UUID) error {
	return one(ctx, p.Pool, enableAccount, id)
}

// SetUnits stores in which units a person reads: "us", "si", or nil for those of
// each program.
func (p People) SetUnits(ctx context.Context, id uuid.UUID, units *string) error {
	return one(ctx, p.Pool, `UPDATE app_user SET units = $2 WHERE id = $1`, id, units)
}

// List returns every account of the installation, by name.
func (p People) List(ctx context.Context) ([]User, error) {
	rows, _ := p.Pool.Query(ctx, `SELECT `+userColumns+` FROM app_user ORDER BY lower(name), id`)
	out, err := pgx.CollectRows(rows, pgx.RowToStructByName[User])
	if err != nil {
		return nil, fmt.Errorf("list accounts: %w", err)
	}
	return out, nil
}

// one runs an update that must touch exactly one account.
func one(ctx context.Context, q querier, sql string, args ...any) error {
	tag, err := q.Exec(ctx, sql, args...)
	if err != nil {
		return fmt.Errorf("change account: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return fault.New(fault.NotFound, "there is no such account")
	}
	return nil
}

func noAccount(err error) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.Wrap(fault.NotFound, err, "there is no such account")
	}
	if err != nil {
		return fmt.Errorf("read account: %w", err)
	}
	return nil
}

func uniqueViolation(err error, constraint string) bool {
	e, ok := errors.AsType[*pgconn.PgError](err)
	return ok && e.Code == "23505" && e.ConstraintName == constraint
}
