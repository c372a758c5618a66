package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

// Member is somebody with a role in a program.
type Member struct {
	User
	Role authz.Role `db:"role"`
}

// Roles returns what a person is in each program.
func (p People) Roles(ctx context.Context, user uuid.UUID) (map[uuid.UUID]authz.Role, error) {
	rows, _ := p.Pool.Query(ctx, `SELECT program_id, role FROM membership WHERE user_id = $1`, user)
	out := map[uuid.UUID]authz.Role{}
	var program uuid.UUID
	var role authz.Role
	_, err := pgx.ForEachRow(rows, []any{&program, &role}, func() error {
		out[program] = role
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read roles: %w", err)
	}
	return out, nil
}

// Members returns everybody with a role in a program, disabled accounts included,
// by name.
func (p People) Members(ctx context.Context, program uuid.UUID) ([]Member, error) {
	const q = `SELECT ` + userColumns + `, role
		FROM app_user JOIN (SELECT user_id, role FROM membership WHERE program_id = $1) m ON m.user_id = id
		ORDER BY lower(name), id`
	rows, _ := p.Pool.Query(ctx, q, program)
	out, err := pgx.CollectRows(rows, pgx.RowToStructByName[Member])
	if err != nil {
		return nil, fmt.Errorf("list members: %w", err)
	}
	return out, nil
}

// SetRole gives a person a role in a program, in place of the one held before.
func (p People) SetRole(ctx context.Context, user, program uuid.UUID, role authz.Role) error {
	if !role.Valid() {
		var bad fault.Invalid
		bad.Add("role", string(role), "role must be one of %v, got %q", authz.Roles(), role)
		return bad.Err()
	}
	_, err := p.Pool.Exec(ctx, `INSERT INTO membership (user_id, program_id, role) VALUES ($1, $2, $3)
		ON CONFLICT (user_id, program_id) DO UPDATE SET role = excluded.role`, user, program, role)
	if err != nil {
		return fmt.Errorf("set role: %w", err)
	}
	return nil
}

// RemoveRole takes a person out of a program. It is no error if the person had no
// role there.
func (p People) RemoveRole(ctx context.Context, user, program uuid.UUID) error {
	_, err := p.Pool.Exec(ctx, `DELETE FROM membership WHERE user_id = $1 AND program_id = $2`, user, program)
	if err != nil {
		return fmt.Errorf("remove role: %w", err)
	}
	return nil
}

// SweepSessions removes the sessions that are over.
func (p People) SweepSessions(ctx context.Context) error {
	if _, err := p.Pool.Exec(ctx, `DELETE FROM sessions WHERE expiry < now()`); err != nil {
		return fmt.Errorf("remove sessions that are over: %w", err)
	}
	return nil
}
