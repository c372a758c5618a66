package db

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
)

// Identity is an account of a sign-on service: the service and what it calls the person.
// Both together never change hands; an email may.
type Identity struct {
	Issuer, Subject string
	Email           string // as the service tells it
	Verified        bool   // the service says that the email is theirs
}

// SignedOn returns the account that an identity belongs to. One that belongs to none is
// bound, once and for good, to the account with its email, if the service has verified
// that and the account has no other identity of that service. It never opens an account
// and gives no role. The error is a fault.NotFound where no account is found.
func (p People) SignedOn(ctx context.Context, who Identity, now time.Time) (u User, bound bool, err error) {
	if who.Issuer == "" || who.Subject == "" {
		return u, false, fault.New(fault.Malformed, "the sign-on service does not say who signed in")
	}
	err = pgx.BeginFunc(ctx, p.Pool, func(tx pgx.Tx) error {
		rows, _ := tx.Query(ctx, `SELECT `+userColumns+` FROM app_user WHERE id = (SELECT user_id FROM sign_on WHERE issuer = $1 AND subject = $2)`, who.Issuer, who.Subject)
		u, err = pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[User])
		if !errors.Is(err, pgx.ErrNoRows) {
			return noAccount(err)
		}
		if !who.Verified {
			return fault.New(fault.NotFound, "this identity belongs to no account")
		}
		rows, _ = tx.Query(ctx, `SELECT `+userColumns+` FROM app_user a WHERE lower(email) = lower($1) AND NOT demo AND disabled_at IS NULL
			AND NOT EXISTS (SELECT FROM sign_on s WHERE s.user_id = a.id AND s.issuer = $2) FOR NO KEY UPDATE`, strings.TrimSpace(who.Email), who.Issuer)
		if u, err = pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[User]); err != nil {
			return noAccount(err)
		}
		bound = true
		return link(ctx, tx, u.ID, who, now)
	})
	return u, bound, err
}

// Link says that an identity of a sign-on service is an account here. An identity that
// belongs to another account, and an account with another identity of that service, are
// refused.
func (p People) Link(ctx context.Context, user uuid.UUID, who Identity, now time.Time) error {
	return pgx.BeginFunc(ctx, p.Pool, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "SELECT FROM app_user WHERE id = $1 FOR NO KEY UPDATE", user); err != nil {
			return fmt.Errorf("link: %w", err)
		}
		var other string
		err := tx.QueryRow(ctx, "SELECT subject FROM sign_on WHERE user_id = $1 AND issuer = $2", user, who.Issuer).Scan(&other)
		if err == nil {
			return fault.New(fault.Duplicate, "the account is %q at this sign-on service already: unlink that first", other)
		}
		if !errors.Is(err, pgx.ErrNoRows) {
			return fmt.Errorf("link: %w", err)
		}
		return link(ctx, tx, user, who, now)
	})
}

func link(ctx context.Context, q querier, user uuid.UUID, who Identity, now time.Time) error {
	_, err := q.Exec(ctx, "INSERT INTO sign_on (issuer, subject, user_id, email, linked_at) VALUES ($1, $2, $3, $4, $5)", who.Issuer, who.Subject, user, who.Email, now)
	if uniqueViolation(err, "sign_on_pkey") {
		return fault.Wrap(fault.Duplicate, err, "this identity belongs to another account already")
	}
	if err != nil {
		return fmt.Errorf("link: %w", err)
	}
	return nil
}

// Unlink takes every identity of a sign-on service off an account and ends its sessions; it
// returns how many identities those were.
func (p People) Unlink(ctx context.Context, user uuid.UUID, now time.Time) (int, error) {
	var n int
	err := pgx.BeginFunc(ctx, p.Pool, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, "DELETE FROM sign_on WHERE user_id = $1", user)
		if err != nil {
			return fmt.Errorf("unlink: %w", err)
		}
		n = int(tag.RowsAffected())
		return one(ctx, tx, signOutAccount, user, now)
	})
	return n, err
}
