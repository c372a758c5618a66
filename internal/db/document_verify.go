package db

import (
	"bytes"
	"cmp"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
)

func sha(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

func sortPapers(list []Paper) {
	slices.SortFunc(list, func(a, b Paper) int { return cmp.Compare(b.Number, a.Number) })
	for i := range list {
		sortSignatures(list[i].Signatures)
	}
}

func sortSignatures(list []repair.Signature) {
	slices.SortFunc(list, func(a, b repair.Signature) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
}

// papers reads every document against its digest, and checks every signature over the
// bytes and over its statement with the key that it names.
func (v *Verified) papers(ctx context.Context, tx pgx.Tx) error {
	keys, err := signingKeys(ctx, tx)
	if err != nil {
		return err
	}
	codes := map[string]string{}
	rows, err := tx.Query(ctx, "select id::text, code from program")
	if err != nil {
		return fmt.Errorf("verify documents: %w", err)
	}
	var id, code string
	if _, err := pgx.ForEachRow(rows, []any{&id, &code}, func() error { codes[id] = code; return nil }); err != nil {
		return fmt.Errorf("verify documents: %w", err)
	}
	var docs []repair.Document
	var signed []repair.Signature
	b := &pgx.Batch{}
	documents.queue(b, &docs, "true")
	signatures.queue(b, &signed, "true")
	if err := tx.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("verify documents: %w", err)
	}
	for _, d := range docs {
		v.Documents++
		where := fmt.Sprintf("document %d of %s", d.Number, codes[d.ProgramID])
		data, err := rawBytes(ctx, tx, d.SHA256)
		if err != nil {
			return err
		}
		if sha(data) != d.SHA256 || int64(len(data)) != d.Size {
			v.say(where, "its bytes are not those on record: %d bytes with the digest %.12s, on record %d with %.12s", len(data), sha(data), d.Size, d.SHA256)
		}
		for _, g := range signed {
			if g.DocumentID == d.ID {
				v.Signatures++
				v.signature(where+", signature as "+repair.MeaningWords(g.Meaning)+" by "+g.ByName, d, g, codes[d.ProgramID], keys, data)
			}
		}
	}
	return nil
}

func (v *Verified) signature(where string, d repair.Document, g repair.Signature, code string, keys []SigningKey, data []byte) {
	i := slices.IndexFunc(keys, func(k SigningKey) bool { return k.ID == g.KeyID })
	if i < 0 {
		v.say(where, "the key %.12s of the server that it names is not on record", g.KeyID)
		return
	}
	if !ed25519.Verify(keys[i].Public, data, g.OfFile) {
		v.say(where, "the signature does not fit the bytes of the document")
	}
	if !ed25519.Verify(keys[i].Public, []byte(g.Statement), g.OfStatement) {
		v.say(where, "the signature does not fit the statement")
	}
	by := repair.Actor{ID: g.ByUser, Name: g.ByName, Role: roleOf(g.ByRole)}
	if g.Statement != repair.Statement(d, code, g.Meaning, by, g.At, g.KeyID) {
		v.say(where, "the statement is not what the record says")
	}
}

// rawBytes is a kept file within a transaction; none where it is gone.
func rawBytes(ctx context.Context, q querier, sum string) ([]byte, error) {
	rows, err := q.Query(ctx, "select bytes from raw_file where sha256 = $1 order by piece", sum)
	if err != nil {
		return nil, fmt.Errorf("read file: %w", err)
	}
	pieces, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
	if err != nil {
		return nil, fmt.Errorf("read file: %w", err)
	}
	return bytes.Join(pieces, nil), nil
}

// Signatures are the public keys of the server and the signatures on documents of the
// record.
func (s *Snapshot) Signatures(ctx context.Context) (keys []SigningKey, signed []repair.Signature, err error) {
	if keys, err = signingKeys(ctx, s.tx); err != nil {
		return nil, nil, err
	}
	b := &pgx.Batch{}
	signatures.queue(b, &signed, "document_id in (select id from document where program_id = $1::uuid and ($2 = '' or end_id::text = $2))", s.id, s.endID)
	if err := s.tx.SendBatch(ctx, b).Close(); err != nil {
		return nil, nil, fmt.Errorf("signatures: %w", err)
	}
	return keys, signed, nil
}
