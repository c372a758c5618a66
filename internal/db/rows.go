package db

import (
	"context"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"github.com/jackc/pgx/v5"
)

// A kept is a table whose rows the one door for edits reads, compares and
// writes. T has a db tag on every field, which is the column of that name.
type kept[T any] struct {
	name   string
	key    []string // columns that identify a row
	cols   []string
	fields []int
	keyIdx []int
	insert string
	update string
}

// keptTables are all tables whose rows the journal may hold, by the type of a row.
var keptTables = map[reflect.Type]keptTable{}

type keptTable struct {
	name  string
	keyOf func(row any) string // row is a pointer
}

func keep[T any](name string, key ...string) kept[T] {
	k := kept[T]{name: name, key: key}
	t := reflect.TypeFor[T]()
	for i := range t.NumField() {
		if c := t.Field(i).Tag.Get("db"); c != "" {
			k.cols = append(k.cols, c)
			k.fields = append(k.fields, i)
		}
	}
	marks := make([]string, len(k.cols))
	sets := make([]string, 0, len(k.cols))
	where := make([]string, 0, len(key))
	for i, c := range k.cols {
		marks[i] = fmt.Sprintf("$%d", i+1)
		isKey := false
		for _, kc := range key {
			if kc == c {
				isKey = true
			}
		}
		if isKey {
			where = append(where, fmt.Sprintf("%s = $%d", c, i+1))
			k.keyIdx = append(k.keyIdx, k.fields[i])
		} else {
			sets = append(sets, fmt.Sprintf("%s = $%d", c, i+1))
		}
	}
	k.insert = fmt.Sprintf("insert into %s (%s) values (%s)", name, strings.Join(k.cols, ", "), strings.Join(marks, ", "))
	k.update = fmt.Sprintf("update %s set %s where %s", name, strings.Join(sets, ", "), strings.Join(where, " and "))
	keptTables[t] = keptTable{name: name, keyOf: func(row any) string { return k.keyOf(row.(*T)) }}
	return k
}

// selectWhere is the statement that loads rows; cond may use $1.
func (k kept[T]) selectWhere(cond string) string {
	return fmt.Sprintf("select %s from %s where %s order by %s", strings.Join(k.cols, ", "), k.name, cond, strings.Join(k.key, ", "))
}

// queue adds a load of rows to a batch; they are appended to *into when it runs.
func (k kept[T]) queue(b *pgx.Batch, into *[]T, cond string, args ...any) {
	b.Queue(k.selectWhere(cond), args...).Query(func(rows pgx.Rows) error {
		got, err := pgx.CollectRows(rows, pgx.RowToStructByName[T])
		if err != nil {
			return fmt.Errorf("load %s: %w", k.name, err)
		}
		*into = append(*into, got...)
		return nil
	})
}

// stream calls f for every row that meets cond, in key order.
func (k kept[T]) stream(ctx context.Context, q querier, cond string, f func(T) error, args ...any) error {
	rows, err := q.Query(ctx, k.selectWhere(cond), args...)
	if err != nil {
		return fmt.Errorf("read %s: %w", k.name, err)
	}
	defer rows.Close()
	for rows.Next() {
		row, err := pgx.RowToStructByName[T](rows)
		if err != nil {
			return fmt.Errorf("read %s: %w", k.name, err)
		}
		if err := f(row); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (k kept[T]) keyOf(row *T) string {
	v := reflect.ValueOf(row).Elem()
	parts := make([]string, len(k.keyIdx))
	for i, f := range k.keyIdx {
		parts[i] = v.Field(f).String()
	}
	return strings.Join(parts, "/")
}

func (k kept[T]) args(row *T) []any {
	v := reflect.ValueOf(row).Elem()
	out := make([]any, len(k.fields))
	for i, f := range k.fields {
		out[i] = v.Field(f).Interface()
	}
	return out
}

// A rowChange is one row of a journal entry: what it was and what it became.
type rowChange struct {
	Table string          `json:"table"`
	Key   string          `json:"key"`
	Old   json.RawMessage `json:"old,omitempty"`
	New   json.RawMessage `json:"new"`
}

// diff queues the writes that turn before into after and reports them. A row
// that is gone from after is an error: nothing on record is ever removed.
func (k kept[T]) diff(b *pgx.Batch, before, after []T) ([]rowChange, error) {
	old := make(map[string]*T, len(before))
	for i := range before {
		old[k.keyOf(&before[i])] = &before[i]
	}
	var out []rowChange
	seen := 0
	for i := range after {
		row := &after[i]
		key := k.keyOf(row)
		was, ok := old[key]
		if ok {
			seen++
			if reflect.DeepEqual(*was, *row) {
				continue
			}
		}
		ch := rowChange{Table: k.name, Key: key}
		var err error
		if ch.New, err = json.Marshal(row); err != nil {
			return nil, fmt.Errorf("journal %s: %w", k.name, err)
		}
		if ok {
			if ch.Old, err = json.Marshal(was); err != nil {
				return nil, fmt.Errorf("journal %s: %w", k.name, err)
			}
			b.Queue(k.update, k.args(row)...)
		} else {
			b.Queue(k.insert, k.args(row)...)
		}
		out = append(out, ch)
	}
	if seen != len(before) {
		return nil, fmt.Errorf("edit would remove %d row(s) of %s; records are only ever added to", len(before)-seen, k.name)
	}
	return out, nil
}
