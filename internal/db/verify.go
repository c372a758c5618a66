package db

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"reflect"

	"github.com/jackc/pgx/v5"
)

// Difference is one thing that verify found wrong.
type Difference struct {
	Where string // journal entry, table row or end
	What  string
}

// Verified is what verify looked at.
type Verified struct {
	Entries, Rows, Ends int
	Last                string // hash of the last entry, in hex
	Photos              int
	PhotoBytes          int64
	Documents           int // read against their digests
	Signatures          int // checked against the keys of the server
	Differences         []Difference
}

const mostDifferences = 200

// Verify walks the journal's chain, compares every row of the record with the
// last entry that wrote it, and recomputes every stored result, and reads
// every photograph, document and signature. It reads one snapshot and changes nothing.
func (st *Store) Verify(ctx context.Context) (Verified, error) {
	var v Verified
	err := pgx.BeginTxFunc(ctx, st.Pool, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "set local statement_timeout = 0; set local idle_in_transaction_session_timeout = 0"); err != nil {
			return err
		}
		last, err := v.walk(ctx, tx)
		if err != nil {
			return err
		}
		if err := v.rows(ctx, tx, last); err != nil {
			return err
		}
		if err := v.readings(ctx, tx); err != nil {
			return err
		}
		if err := v.samples(ctx, tx); err != nil {
			return err
		}
		if err := v.recompute(ctx, tx); err != nil {
			return err
		}
		if err := v.counts(ctx, tx); err != nil {
			return err
		}
		if err := v.pictures(ctx, tx, st.Folder); err != nil {
			return err
		}
		return v.papers(ctx, tx)
	})
	return v, err
}

func (v *Verified) say(where, what string, args ...any) {
	if len(v.Differences) < mostDifferences {
		v.Differences = append(v.Differences, Difference{where, fmt.Sprintf(what, args...)})
	}
}

// rowKey is a short stand-in for a table and key, and rowSum for a row's JSON.
type rowKey [16]byte
type rowSum [16]byte

func keySum(table, key string) rowKey {
	s := sha256.Sum256([]byte(table + "\n" + key))
	return rowKey(s[:16])
}

func jsonSum(b []byte) rowSum {
	s := sha256.Sum256(b)
	return rowSum(s[:16])
}

// walk checks the chain and returns the sum of every row as last written.
func (v *Verified) walk(ctx context.Context, tx pgx.Tx) (map[rowKey]rowSum, error) {
	last := map[rowKey]rowSum{}
	prev := make([]byte, sha256.Size)
	before := map[string]chainLink{} // by program
	rows, err := tx.Query(ctx, `select seq, at, entry_id, program_id, end_id, actor_id, actor, kind, body, prev_hash, hash from journal order by seq`)
	if err != nil {
		return nil, fmt.Errorf("verify journal: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		e, err := pgx.RowToStructByPos[journalEntry](rows)
		if err != nil {
			return nil, fmt.Errorf("verify journal: %w", err)
		}
		v.Entries++
		where := fmt.Sprintf("journal entry %d", e.Seq)
		if e.Seq != int64(v.Entries) {
			v.say(where, "entry %d is missing", v.Entries)
			v.Entries = int(e.Seq)
		}
		if !bytes.Equal(e.PrevHash, prev) {
			v.say(where, "does not follow the entry before it")
		}
		if !bytes.Equal(e.sum(), e.Hash) {
			v.say(where, "its content does not match its hash")
		}
		prev = e.Hash
		var body journalBody
		if err := json.Unmarshal(e.Body, &body); err != nil {
			v.say(where, "its body cannot be read")
			continue
		}
		if e.ProgramID != nil {
			if was := before[*e.ProgramID]; body.Follows != nil && *body.Follows != was {
				v.say(where, "does not follow entry %d, the one before it in its program", was.Seq)
			}
			before[*e.ProgramID] = chainLink{e.Seq, hex.EncodeToString(e.Hash)}
		}
		for _, r := range body.Rows {
			last[keySum(r.Table, r.Key)] = jsonSum(r.New)
		}
	}
	v.Last = hex.EncodeToString(prev)
	return last, rows.Err()
}

// rows compares each stored row with what the journal says of it.
func (v *Verified) rows(ctx context.Context, tx pgx.Tx, last map[rowKey]rowSum) error {
	all := []func() error{
		func() error { return compare(ctx, tx, v, last, programs) },
		func() error { return compare(ctx, tx, v, last, settings) },
		func() error { return compare(ctx, tx, v, last, steps) },
		func() error { return compare(ctx, tx, v, last, supports) },
		func() error { return compare(ctx, tx, v, last, spans) },
		func() error { return compare(ctx, tx, v, last, sections) },
		func() error { return compare(ctx, tx, v, last, windows) },
		func() error { return compare(ctx, tx, v, last, ends) },
		func() error { return compare(ctx, tx, v, last, surveys) },
		func() error { return compare(ctx, tx, v, last, readings) },
		func() error { return compare(ctx, tx, v, last, holes) },
		func() error { return compare(ctx, tx, v, last, designs) },
		func() error { return compare(ctx, tx, v, last, studs) },
		func() error { return compare(ctx, tx, v, last, reviews) },
		func() error { return compare(ctx, tx, v, last, reviewNotes) },
		func() error { return compare(ctx, tx, v, last, questions) },
		func() error { return compare(ctx, tx, v, last, answers) },
		func() error { return compare(ctx, tx, v, last, stepRecords) },
		func() error { return compare(ctx, tx, v, last, cleanings) },
		func() error { return compare(ctx, tx, v, last, collars) },
		func() error { return compare(ctx, tx, v, last, inspections) },
		func() error { return compare(ctx, tx, v, last, nonconformances) },
		func() error { return compare(ctx, tx, v, last, photos) },
		func() error { return compare(ctx, tx, v, last, testStuds) },
		func() error { return compare(ctx, tx, v, last, formChecks) },
		func() error { return compare(ctx, tx, v, last, deckCores) },
		func() error { return compare(ctx, tx, v, last, pours) },
		func() error { return compare(ctx, tx, v, last, pourEnds) },
		func() error { return compare(ctx, tx, v, last, batches) },
		func() error { return compare(ctx, tx, v, last, specimens) },
		func() error { return compare(ctx, tx, v, last, spanDemands) },
		func() error { return compare(ctx, tx, v, last, loadParts) },
		func() error { return compare(ctx, tx, v, last, endDemands) },
		func() error { return compare(ctx, tx, v, last, trucks) },
		func() error { return compare(ctx, tx, v, last, procedures) },
		func() error { return compare(ctx, tx, v, last, assumptions) },
		func() error { return compare(ctx, tx, v, last, mockups) },
		func() error { return compare(ctx, tx, v, last, mockupDecisions) },
		func() error { return compare(ctx, tx, v, last, specimenPlans) },
		func() error { return compare(ctx, tx, v, last, loggerMaps) },
		func() error { return compare(ctx, tx, v, last, batchEnds) },
		func() error { return compare(ctx, tx, v, last, setReviews) },
		func() error { return compare(ctx, tx, v, last, curingLogs) },
		func() error { return compare(ctx, tx, v, last, strengthTests) },
		func() error { return compare(ctx, tx, v, last, gateDecisions) },
		func() error { return compare(ctx, tx, v, last, waivers) },
		func() error { return compare(ctx, tx, v, last, sensors) },
		func() error { return compare(ctx, tx, v, last, recordings) },
		func() error { return compare(ctx, tx, v, last, strainSetups) },
		func() error { return compare(ctx, tx, v, last, strainVerdicts) },
		func() error { return compare(ctx, tx, v, last, windowKinds) },
		func() error { return compare(ctx, tx, v, last, confirmations) },
		func() error { return compare(ctx, tx, v, last, crews) },
		func() error { return compare(ctx, tx, v, last, stepEfforts) },
		func() error { return compare(ctx, tx, v, last, shiftStock) },
		func() error { return compare(ctx, tx, v, last, windowChoices) },
		func() error { return compare(ctx, tx, v, last, promises) },
		func() error { return compare(ctx, tx, v, last, exclusions) },
		func() error { return compare(ctx, tx, v, last, documents) },
		func() error { return compare(ctx, tx, v, last, signatures) },
		func() error { return compare(ctx, tx, v, last, stepTicks) },
		func() error { return compare(ctx, tx, v, last, releases) },
	}
	for _, f := range all {
		if err := f(); err != nil {
			return err
		}
	}
	if n := len(last); n > 0 {
		v.say("record", "%d row(s) that the journal wrote are gone", n)
	}
	return nil
}

func compare[T any](ctx context.Context, tx pgx.Tx, v *Verified, last map[rowKey]rowSum, k kept[T]) error {
	return k.stream(ctx, tx, "true", func(row T) error {
		v.Rows++
		key := k.keyOf(&row)
		where := k.name + " " + key
		b, err := json.Marshal(row)
		if err != nil {
			return err
		}
		sum, ok := last[keySum(k.name, key)]
		switch {
		case !ok:
			v.say(where, "is not in the journal")
		case sum != jsonSum(b):
			v.say(where, "differs from what the journal last wrote")
		}
		delete(last, keySum(k.name, key))
		return nil
	})
}

// recompute evaluates every end again, some hundred at a time, and compares.
func (v *Verified) recompute(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, "select program_id, id from girder_end order by program_id, id")
	if err != nil {
		return fmt.Errorf("verify results: %w", err)
	}
	type ref struct{ Program, End string }
	refs, err := pgx.CollectRows(rows, pgx.RowToStructByPos[ref])
	if err != nil {
		return fmt.Errorf("verify results: %w", err)
	}
	for len(refs) > 0 {
		n := 0
		var ids []string
		for n < len(refs) && n < 200 && refs[n].Program == refs[0].Program {
			ids = append(ids, refs[n].End)
			n++
		}
		if err := v.recomputeSome(ctx, tx, refs[0].Program, ids); err != nil {
			return err
		}
		refs = refs[n:]
	}
	return nil
}

func (v *Verified) recomputeSome(ctx context.Context, tx pgx.Tx, programID string, ids []string) error {
	was, err := loadScope(ctx, tx, programID, ids)
	if err != nil {
		return err
	}
	is := was.Clone()
	for _, r := range is.Ends {
		r.Outlook = nil // an unchanged part would be taken over as it stands
	}
	if err := is.Recompute(); err != nil {
		return err
	}
	for i, r := range is.Ends {
		v.Ends++
		o := was.Ends[i]
		where := "end " + r.End.Name
		if !reflect.DeepEqual(o.Outlook, r.Outlook) {
			v.say(where, "its stored outlook differs from the recomputed one: %s", rowDifference(o.Outlook, r.Outlook))
		}
		if !reflect.DeepEqual(o.Tally, r.Tally) {
			v.say(where, "what it adds to the counts of its program differs from what is recomputed")
		}
		if !reflect.DeepEqual(o.State, r.State) {
			v.say(where, "its stored state differs from the recomputed one: %s", rowDifference(o.State, r.State))
		}
		if len(o.Results) != len(r.Results) {
			v.say(where, "has %d stored results, recomputed %d", len(o.Results), len(r.Results))
			continue
		}
		for j := range r.Results {
			a, b := o.Results[j], r.Results[j]
			if !sameJSON(a.Checks, b.Checks) {
				v.say(where, "its stored %s checks differ from the recomputed ones", b.Subject)
			}
			a.Checks, b.Checks = nil, nil
			if !reflect.DeepEqual(a, b) {
				v.say(where, "its stored %s result differs from the recomputed one", b.Subject)
			}
		}
	}
	return nil
}

// sameJSON compares documents that PostgreSQL may have laid out anew.
func sameJSON(a, b []byte) bool {
	var x, y any
	if json.Unmarshal(a, &x) != nil || json.Unmarshal(b, &y) != nil {
		return false
	}
	return reflect.DeepEqual(x, y)
}

// rowDifference names the first column in which two rows of one end differ.
func rowDifference[T any](a, b []T) string {
	if len(a) != 1 || len(b) != 1 {
		return fmt.Sprintf("%d row(s) stored", len(a))
	}
	va, vb := reflect.ValueOf(a[0]), reflect.ValueOf(b[0])
	for i := range va.NumField() {
		if !reflect.DeepEqual(va.Field(i).Interface(), vb.Field(i).Interface()) {
			return va.Type().Field(i).Tag.Get("db")
		}
	}
	return "no field"
}
