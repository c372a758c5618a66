package db

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/authz"
)

// SigningKey is a key of the server, by which anybody can tell that a document came from
// it unaltered. One is in use; those of before stay, without their secret part.
type SigningKey struct {
	ID      string // SHA-256 of the public key in its standard form (SubjectPublicKeyInfo), in hex
	Public  ed25519.PublicKey
	Made    time.Time
	Retired *time.Time // nil: in use
}

// PEM is the public key as common tools read it.
func (k SigningKey) PEM() []byte {
	der, err := x509.MarshalPKIXPublicKey(k.Public)
	if err != nil {
		panic("db: " + err.Error()) // an ed25519 key always has this form
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der})
}

func roleOf(s string) authz.Role { return authz.Role(s) }

func keyID(public ed25519.PublicKey) (string, error) {
	der, err := x509.MarshalPKIXPublicKey(public)
	return sha(der), err
}

func signingKeys(ctx context.Context, q querier) ([]SigningKey, error) {
	rows, err := q.Query(ctx, "select id, public, made_at, retired_at from signing_key order by made_at, id")
	if err != nil {
		return nil, fmt.Errorf("keys: %w", err)
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (SigningKey, error) {
		var k SigningKey
		var public []byte
		err := row.Scan(&k.ID, &public, &k.Made, &k.Retired)
		k.Public = public
		return k, err
	})
}

// SigningKeys lists the keys of the server, oldest first, without their secret parts.
func (st *Store) SigningKeys(ctx context.Context) ([]SigningKey, error) {
	return signingKeys(ctx, st.Pool)
}

// EnsureSigningKey makes the first key where there is none. Of two servers that start at
// once one makes it.
func (st *Store) EnsureSigningKey(ctx context.Context) error {
	return pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error { return ensureKey(ctx, tx, st.Now()) })
}

func ensureKey(ctx context.Context, tx pgx.Tx, now time.Time) error {
	var have bool
	if err := tx.QueryRow(ctx, "select exists (select from signing_key where retired_at is null)").Scan(&have); err != nil {
		return fmt.Errorf("key: %w", err)
	}
	if have {
		return nil
	}
	if _, err := tx.Exec(ctx, "lock table signing_key in share row exclusive mode"); err != nil {
		return fmt.Errorf("key: %w", err)
	}
	if err := tx.QueryRow(ctx, "select exists (select from signing_key where retired_at is null)").Scan(&have); err != nil || have {
		return err
	}
	public, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return fmt.Errorf("key: %w", err)
	}
	id, err := keyID(public)
	if err != nil {
		return fmt.Errorf("key: %w", err)
	}
	_, err = tx.Exec(ctx, "insert into signing_key (id, public, seed, made_at) values ($1, $2, $3, $4)", id, []byte(public), private.Seed(), now.UTC())
	if err != nil {
		return fmt.Errorf("key: %w", err)
	}
	return nil
}

// RotateSigningKey puts a new key into use and returns it. The one of before keeps its
// public part for ever, and its secret part is forgotten: nothing more is signed by it.
func (st *Store) RotateSigningKey(ctx context.Context) (SigningKey, error) {
	err := pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "lock table signing_key in share row exclusive mode"); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, "update signing_key set retired_at = $1, seed = null where retired_at is null", st.Now().UTC()); err != nil {
			return err
		}
		return ensureKey(ctx, tx, st.Now())
	})
	if err != nil {
		return SigningKey{}, fmt.Errorf("change the key: %w", err)
	}
	keys, err := st.SigningKeys(ctx)
	if err != nil || len(keys) == 0 {
		return SigningKey{}, errors.Join(err, errors.New("no key"))
	}
	return keys[len(keys)-1], nil
}

// Signer returns the key in use, and what signs with it.
func (st *Store) Signer(ctx context.Context) (SigningKey, func([]byte) []byte, error) {
	var k SigningKey
	var public, seed []byte
	read := func() error {
		return st.Pool.QueryRow(ctx, "select id, public, made_at, seed from signing_key where retired_at is null").Scan(&k.ID, &public, &k.Made, &seed)
	}
	err := read()
	if errors.Is(err, pgx.ErrNoRows) {
		if err = st.EnsureSigningKey(ctx); err == nil {
			err = read()
		}
	}
	if err != nil {
		return k, nil, fmt.Errorf("key: %w", err)
	}
	if len(seed) != ed25519.SeedSize {
		return k, nil, errors.New("key: its secret part is damaged")
	}
	private := ed25519.NewKeyFromSeed(seed)
	if k.Public = public; !k.Public.Equal(private.Public()) {
		return k, nil, errors.New("key: its parts do not belong together")
	}
	return k, func(message []byte) []byte { return ed25519.Sign(private, message) }, nil
}
