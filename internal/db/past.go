package db

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// Past is the record of one end as it stood after an entry of the journal, with the
// program and the castings that it stood in. What follows from the rows (results, state,
// outlook) is computed anew from them, by the method of this program: no such number is in
// the journal.
type Past struct {
	Scope *repair.Scope
	Seq   int64     // the last entry of the program that counts
	At    time.Time // when it arrived
	Actor string
	Kind  string
	Later int // entries of the program since
}

// EndAt is the record of an end as it stood after the last entry of the program that is not
// after seq. The error is a fault.NotFound where nothing was on record yet.
//
// It takes the rows as they are now and walks the later entries: the first of them that
// wrote a row says what the row was before. Nothing is ever removed from the record, so
// each row of then is among those of now.
func (st *Store) EndAt(ctx context.Context, programID, name string, seq int64) (Past, error) {
	return st.past(ctx, programID, name, "seq <= $2", seq)
}

// EndAtTime is EndAt after the last entry that had arrived at a moment.
func (st *Store) EndAtTime(ctx context.Context, programID, name string, at time.Time) (Past, error) {
	return st.past(ctx, programID, name, "at <= $2", at.UTC())
}

func (st *Store) past(ctx context.Context, programID, name, cond string, arg any) (Past, error) {
	var p Past
	err := pgx.BeginTxFunc(ctx, st.Pool, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		id, err := endID(ctx, tx, programID, name)
		if err != nil {
			return err
		}
		err = tx.QueryRow(ctx, "select seq, at, actor, kind from journal where program_id = $1 and "+cond+" order by seq desc limit 1", programID, arg).Scan(&p.Seq, &p.At, &p.Actor, &p.Kind)
		if errors.Is(err, pgx.ErrNoRows) {
			return fault.New(fault.NotFound, "nothing of this program was on record then")
		}
		if err != nil {
			return fmt.Errorf("past: %w", err)
		}
		var was earlier
		if was, p.Later, err = readEarlier(ctx, tx, programID, p.Seq); err != nil {
			return err
		}
		if p.Scope, err = loadScope(ctx, tx, programID, []string{id}); err != nil {
			return err
		}
		return was.goBack(p.Scope)
	})
	if err != nil {
		return Past{}, err
	}
	return p, nil
}

// endID finds an end of a program by its name or identifier.
func endID(ctx context.Context, q querier, programID, name string) (id string, err error) {
	err = q.QueryRow(ctx, "select id::text from girder_end where program_id = $1 and (name = upper($2) or id::text = $2)", programID, name).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", fault.New(fault.NotFound, "there is no girder end %s in this program", short(name))
	}
	if err != nil {
		return "", fmt.Errorf("end: %w", err)
	}
	return id, nil
}

// earlier holds rows as they were at a moment, by table and key: those that changed
// since, and nil for those that came since.
type earlier map[string]json.RawMessage

func rowName(table, key string) string { return table + "\n" + key }

// readEarlier walks the entries of a program after one of them and counts them.
func readEarlier(ctx context.Context, q querier, programID string, seq int64) (earlier, int, error) {
	rows, err := q.Query(ctx, "select seq, body from journal where program_id = $1 and seq > $2 order by seq", programID, seq)
	if err != nil {
		return nil, 0, fmt.Errorf("past: %w", err)
	}
	was, n := earlier{}, 0
	var no int64
	var body []byte
	_, err = pgx.ForEachRow(rows, []any{&no, &body}, func() error {
		n++
		var b struct {
			Rows []struct {
				Table string          `json:"table"`
				Key   string          `json:"key"`
				Old   json.RawMessage `json:"old"`
			} `json:"rows"`
		}
		if err := json.Unmarshal(body, &b); err != nil {
			return fmt.Errorf("entry %d: %w", no, err)
		}
		for _, r := range b.Rows {
			name := rowName(r.Table, r.Key)
			if _, seen := was[name]; !seen {
				was[name] = r.Old
			}
		}
		return nil
	})
	if err != nil {
		return nil, 0, fmt.Errorf("past: %w", err)
	}
	return was, n, nil
}

// goBack turns the rows of a scope with one end into those of then, and computes what
// follows from them.
func (was earlier) goBack(s *repair.Scope) error {
	r := s.Ends[0]
	one := []repair.End{r.End}
	if err := was.rows(reflect.ValueOf(&one).Elem()); err != nil {
		return err
	}
	if len(one) == 0 {
		return fault.New(fault.NotFound, "the girder end %s was not on record yet", r.End.Name)
	}
	r.End = one[0]
	progs := []repair.Program{s.Program}
	if err := was.rows(reflect.ValueOf(&progs).Elem()); err != nil {
		return err
	}
	if len(progs) == 0 {
		return fault.New(fault.NotFound, "the program was not on record yet")
	}
	s.Program = progs[0]
	for _, v := range []reflect.Value{reflect.ValueOf(s).Elem(), reflect.ValueOf(r).Elem()} {
		for i := range v.NumField() {
			if !v.Type().Field(i).IsExported() {
				continue
			}
			if err := was.rows(v.Field(i)); err != nil {
				return err
			}
		}
	}
	s.NextPour, s.NextNonconformance = 0, 0 // nothing is ever written from a record of the past
	r.State, r.Results, r.Outlook = nil, nil, nil
	return s.Recompute()
}

// rows turns a list of rows of the record into those of then; other values stay.
func (was earlier) rows(list reflect.Value) error {
	if list.Kind() != reflect.Slice {
		return nil
	}
	k, ok := keptTables[list.Type().Elem()]
	if !ok {
		return nil
	}
	out := reflect.Zero(list.Type())
	for i := range list.Len() {
		row := list.Index(i)
		old, touched := was[rowName(k.name, k.keyOf(row.Addr().Interface()))]
		switch {
		case !touched:
			out = reflect.Append(out, row)
		case old != nil:
			then := reflect.New(list.Type().Elem())
			if err := json.Unmarshal(old, then.Interface()); err != nil {
				return fmt.Errorf("row of %s as it was: %w", k.name, err)
			}
			out = reflect.Append(out, then.Elem())
		}
	}
	list.Set(out)
	return nil
}

// BesideEntries are the numbers of the entries of an end just before and after one of its
// program's; 0 where there is none.
func (st *Store) BesideEntries(ctx context.Context, programID, endID string, seq int64) (before, after int64, err error) {
	const of = "from journal j where (j.end_id = $2::text::uuid or (j.program_id = $1 and j.end_id is null and convert_from(j.body, 'UTF8')::jsonb -> 'ends' ? $2::text))"
	err = st.Pool.QueryRow(ctx, "select coalesce((select max(j.seq) "+of+" and j.seq < $3), 0), coalesce((select min(j.seq) "+of+" and j.seq > $3), 0)", programID, endID, seq).Scan(&before, &after)
	if err != nil {
		return 0, 0, fmt.Errorf("entries beside: %w", err)
	}
	return before, after, nil
}
