package db

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// bearsOn tells the entries of the journal after $2 that bear on an end $3 of a program
// $1. Documents and signatures say nothing of the end itself.
const bearsOn = `j.program_id = $1::uuid and j.seq > $2 and j.kind not like 'document.%' and
	(j.end_id = $3::text::uuid or (j.end_id is null and convert_from(j.body, 'UTF8')::jsonb -> 'ends' ? $3::text))`

// LastBearing returns the number and the hash, in hex, of the last entry of the journal that
// bears on an end, or on anything in the program for an empty end. Read it before the
// record: what is read later is at least as new.
func (st *Store) LastBearing(ctx context.Context, programID, endID string) (seq int64, hash string, err error) {
	q, args := "select j.seq, j.hash from journal j where j.program_id = $1::uuid and j.kind not like 'document.%' order by j.seq desc limit 1", []any{programID}
	if endID != "" {
		q, args = "select j.seq, j.hash from journal j where "+bearsOn+" order by j.seq desc limit 1", []any{programID, int64(0), endID}
	}
	var sum []byte
	err = st.Pool.QueryRow(ctx, q, args...).Scan(&seq, &sum)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return 0, "", fmt.Errorf("last entry: %w", err)
	}
	return seq, hex.EncodeToString(sum), nil
}

// loadPapers adds to a scope what a change of documents reads.
func loadPapers(ctx context.Context, tx pgx.Tx, s *repair.Scope, w repair.Want) error {
	if !w.Papers {
		return nil
	}
	since := w.Since
	b := &pgx.Batch{}
	b.Queue("select coalesce(max(number), 0) + 1 from document where program_id = $1::uuid", s.Program.ID).QueryRow(func(row pgx.Row) error {
		return row.Scan(&s.NextDocument)
	})
	if w.Document > 0 {
		documents.queue(b, &s.Documents, "program_id = $1::uuid and number = $2", s.Program.ID, w.Document)
		signatures.queue(b, &s.Signatures, "document_id in (select id from document where program_id = $1::uuid and number = $2)", s.Program.ID, w.Document)
	}
	if w.States && len(s.Ends) == 0 {
		states.queue(b, &s.States, ofProgram, s.Program.ID)
	}
	if err := tx.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("load documents: %w", err)
	}
	if len(s.Documents) == 1 {
		since = s.Documents[0].JournalSeq
	}
	if len(s.Ends) != 1 {
		return nil
	}
	if err := tx.QueryRow(ctx, "select count(*) from journal j where "+bearsOn, s.Program.ID, since, s.Ends[0].End.ID).Scan(&s.EntriesSince); err != nil {
		return fmt.Errorf("entries since: %w", err)
	}
	return nil
}

// States returns the states of all ends of a program, with the program itself, in the
// order of lists.
func (st *Store) States(ctx context.Context, programID string) (*repair.Scope, error) {
	sc, err := st.Frame(ctx, programID)
	if err != nil {
		return nil, err
	}
	rows, err := st.Pool.Query(ctx, states.selectWhere(ofProgram)+", sort_key", programID)
	if err != nil {
		return nil, fmt.Errorf("states: %w", err)
	}
	if sc.States, err = pgx.CollectRows(rows, pgx.RowToStructByName[repair.State]); err != nil {
		return nil, fmt.Errorf("states: %w", err)
	}
	return sc, nil
}

// Paper is a document with its signatures and the name of its end; "" for one of the
// program.
type Paper struct {
	repair.Document
	End        string
	Signatures []repair.Signature
}

// Papers returns the documents of a program, or of one of its ends, newest first: a page
// of them from the one after skip on, and how many there are.
func (st *Store) Papers(ctx context.Context, programID, endID string, skip, most int) (out []Paper, total int, err error) {
	cond, args := "d.program_id = $1::uuid", []any{programID}
	if endID != "" {
		cond, args = cond+" and d.end_id = $2::text::uuid", append(args, endID)
	}
	var docs []repair.Document
	names := map[string]string{}
	b := &pgx.Batch{}
	b.Queue("select count(*) from document d where "+cond, args...).QueryRow(func(row pgx.Row) error { return row.Scan(&total) })
	list := fmt.Sprintf("select d.id from document d where %s order by d.number desc limit %d offset %d", cond, most, max(skip, 0))
	documents.queue(b, &docs, "id in ("+list+")", args...)
	var signed []repair.Signature
	signatures.queue(b, &signed, "document_id in ("+list+")", args...)
	b.Queue("select e.id::text, e.name from girder_end e where e.id in (select d.end_id from document d where d.id in ("+list+"))", args...).Query(func(rows pgx.Rows) error {
		var id, name string
		_, err := pgx.ForEachRow(rows, []any{&id, &name}, func() error { names[id] = name; return nil })
		return err
	})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return nil, 0, fmt.Errorf("documents: %w", err)
	}
	for _, d := range docs {
		p := Paper{Document: d}
		if d.EndID != nil {
			p.End = names[*d.EndID]
		}
		for _, g := range signed {
			if g.DocumentID == d.ID {
				p.Signatures = append(p.Signatures, g)
			}
		}
		out = append(out, p)
	}
	sortPapers(out)
	return out, total, nil
}

// Paper returns one document by its number.
func (st *Store) Paper(ctx context.Context, programID string, number int) (Paper, error) {
	var docs []repair.Document
	var p Paper
	b := &pgx.Batch{}
	documents.queue(b, &docs, "program_id = $1::uuid and number = $2", programID, number)
	signatures.queue(b, &p.Signatures, "document_id in (select id from document where program_id = $1::uuid and number = $2)", programID, number)
	b.Queue("select coalesce(max(e.name), '') from document d join girder_end e on e.id = d.end_id where d.program_id = $1::uuid and d.number = $2", programID, number).
		QueryRow(func(row pgx.Row) error { return row.Scan(&p.End) })
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return p, fmt.Errorf("document: %w", err)
	}
	if len(docs) != 1 {
		return p, fault.New(fault.NotFound, "there is no such document in this program")
	}
	p.Document = docs[0]
	sortSignatures(p.Signatures)
	return p, nil
}

// PaperFile returns the bytes of a document as they were made. Bytes that do not have the
// digest of the document are an error, never an answer.
func (st *Store) PaperFile(ctx context.Context, d repair.Document) ([]byte, error) {
	var buf bytes.Buffer
	if err := st.RawFile(ctx, d.SHA256, &buf); err != nil {
		return nil, err
	}
	if got := sha(buf.Bytes()); got != d.SHA256 {
		return nil, fault.New(fault.Internal, "document %d is damaged: its bytes do not have the digest on record", d.Number)
	}
	return buf.Bytes(), nil
}

// PaperOf returns the number of the latest document of a kind that was made from a record
// with a digest, of an end or, for an empty one, of the program; zero for none.
func (st *Store) PaperOf(ctx context.Context, programID, endID, kind, record string) (int, error) {
	var n int
	err := st.Pool.QueryRow(ctx, `select coalesce(max(number), 0) from document where program_id = $1::uuid and kind = $3 and record_digest = $4 and
		end_id is not distinct from nullif($2, '')::uuid`, programID, endID, kind, record).Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("document: %w", err)
	}
	return n, nil
}
