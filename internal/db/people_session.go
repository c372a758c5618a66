package db

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
)

// Ways in which a session was opened.
const (
	ByPassword = "password"
	BySignOn   = "sign_on"
)

// Session is one browser that is, or was, signed in. Address and device are what the
// browser said when it was opened, the address later that of its last request.
type Session struct {
	ID        uuid.UUID `db:"id"`
	UserID    uuid.UUID `db:"user_id"`
	OpenedAt  time.Time `db:"opened_at"`
	SeenAt    time.Time `db:"seen_at"`
	ExpiresAt time.Time `db:"expires_at"`
	Address   string    `db:"address"`
	Device    string    `db:"device"`
	Way       string    `db:"way"`
}

const sessionColumns = `id, user_id, opened_at, seen_at, expires_at, address, device, way`

// OpenSession notes a browser that has just signed in.
func (p People) OpenSession(ctx context.Context, s Session) error {
	_, err := p.Pool.Exec(ctx, `INSERT INTO open_session (`+sessionColumns+`)
		VALUES (@id, @user, @opened, @opened, @expires, @address, @device, @way)`,
		pgx.StrictNamedArgs{"id": s.ID, "user": s.UserID, "opened": s.OpenedAt, "expires": s.ExpiresAt, "address": s.Address, "device": s.Device, "way": s.Way})
	if err != nil {
		return fmt.Errorf("open session: %w", err)
	}
	return nil
}

// Visitor is who is signed in by a session, and when the session was seen last.
type Visitor struct {
	User
	SeenAt  time.Time `db:"seen_at"`
	Address string    `db:"address"`
}

// Visit returns who is signed in by a session, or fault.NotFound for one that is over.
func (p People) Visit(ctx context.Context, session uuid.UUID, now time.Time) (Visitor, error) {
	rows, _ := p.Pool.Query(ctx, `SELECT u.*, s.seen_at, s.address FROM open_session s
		JOIN (SELECT `+userColumns+` FROM app_user) u ON u.id = s.user_id
		WHERE s.id = $1 AND s.ended_at IS NULL AND s.expires_at > $2`, session, now)
	v, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[Visitor])
	if errors.Is(err, pgx.ErrNoRows) {
		return v, fault.Wrap(fault.NotFound, err, "the session is over")
	}
	if err != nil {
		return v, fmt.Errorf("read session: %w", err)
	}
	return v, nil
}

// Seen notes that a session was used, and from where.
func (p People) Seen(ctx context.Context, session uuid.UUID, at time.Time, address string) error {
	if _, err := p.Pool.Exec(ctx, `UPDATE open_session SET seen_at = $2, address = $3 WHERE id = $1`, session, at, address); err != nil {
		return fmt.Errorf("note session: %w", err)
	}
	return nil
}

// Sessions returns the sessions of a person that are not over, the one seen last first.
func (p People) Sessions(ctx context.Context, user uuid.UUID, now time.Time) ([]Session, error) {
	rows, _ := p.Pool.Query(ctx, `SELECT `+sessionColumns+` FROM open_session
		WHERE user_id = $1 AND ended_at IS NULL AND expires_at > $2 ORDER BY seen_at DESC, id`, user, now)
	out, err := pgx.CollectRows(rows, pgx.RowToStructByName[Session])
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", err)
	}
	return out, nil
}

// EndSession ends one session of a person; it is fault.NotFound for one of somebody else.
// One that is over already stays as it ended.
func (p People) EndSession(ctx context.Context, user, session uuid.UUID, at time.Time) error {
	tag, err := p.Pool.Exec(ctx, `UPDATE open_session SET ended_at = coalesce(ended_at, $3),
		ended_by = CASE WHEN ended_at IS NULL THEN 'person' ELSE ended_by END WHERE id = $2 AND user_id = $1`, user, session, at)
	if err != nil {
		return fmt.Errorf("end session: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return fault.New(fault.NotFound, "this account has no such session")
	}
	return nil
}

// EndOtherSessions ends every session of a person but one, and returns how many those were.
func (p People) EndOtherSessions(ctx context.Context, user, but uuid.UUID, at time.Time) (int, error) {
	tag, err := p.Pool.Exec(ctx, `UPDATE open_session SET ended_at = $3, ended_by = 'person'
		WHERE user_id = $1 AND id <> $2 AND ended_at IS NULL AND expires_at > $3`, user, but, at)
	if err != nil {
		return 0, fmt.Errorf("end sessions: %w", err)
	}
	return int(tag.RowsAffected()), nil
}
