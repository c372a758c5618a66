package db

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
)

// RecordTable is a table with the rows that belong to one program. Tables are read
// from the catalogue, so that one added by a later schema is never forgotten.
type RecordTable struct {
	Name    string
	Columns []RecordColumn

	key     string // columns of the primary key, or all
	program string // condition with $1, the program
	end     string // condition with $1 and $2, an end of it; "" where no row belongs to one end
}

// RecordColumn is a column; Type is number, text, yes or no, time, day, json, bytes or id.
type RecordColumn struct{ Name, Type string }

// OfEnd reports whether rows of the table belong to one end.
func (t RecordTable) OfEnd() bool { return t.end != "" }

// LeftTable is a table that no package holds, and why.
type LeftTable struct{ Name, Why string }

// unpacked are the tables that are no part of a program's record, or are in a package
// in another form.
var unpacked = map[string]string{
	"journal":            "it is in journal.jsonl, with exact bodies and hashes",
	"photo_blob":         "the pictures are files, by their hash",
	"raw_file":           "the files are files, by their hash",
	"signing_key":        "the public keys of the server are in signatures/keys.pem; their secret parts never leave it",
	"end_tally":          "what an end adds to counts follows from the record",
	"program_tally":      "counts follow from the record",
	"photo_thumb":        "small copies follow from the originals",
	"app_user":           "accounts belong to the server; person.csv names who had a part in this program, without addresses and passwords",
	"membership":         "person.csv names who has a part in this program",
	"notice_choice":      "what a person wants to be told of belongs to the account",
	"letter":             "digests tell what was on record on a day, and belong to the account",
	"sessions":           "signed-in browsers are no part of the record",
	"receipt":            "answers to entries repeat what the journal says",
	"import_draft":       "files that nobody has put on record go after a day",
	"logger_draft":       "files that nobody has put on record go after a day",
	"logger_draft_piece": "files that nobody has put on record go after a day",
	"tablet_upload":      "pictures on their way are no part of the record yet",
	"tablet_piece":       "pictures on their way are no part of the record yet",
	"strain_mark":        "how far a reading of a file came is no part of the record",
	"schema_migrations":  "the version of the schema is in README.txt",
}

// catalogue is what the database says of its tables.
type catalogue struct {
	columns map[string][]catalogueColumn
	keys    map[string][]string
	refs    map[string][]catalogueRef
}

type catalogueColumn struct {
	Table, Name, Type string
	NotNull           bool
}

type catalogueRef struct{ Table, Column, To string }

func readCatalogue(ctx context.Context, q querier) (catalogue, error) {
	c := catalogue{columns: map[string][]catalogueColumn{}, keys: map[string][]string{}, refs: map[string][]catalogueRef{}}
	b := &pgx.Batch{}
	b.Queue(`select c.relname, a.attname, format_type(a.atttypid, null), a.attnotnull from pg_attribute a join pg_class c on c.oid = a.attrelid
		where c.relnamespace = current_schema()::regnamespace and c.relkind in ('r', 'p') and not c.relispartition and a.attnum > 0 and not a.attisdropped
		order by c.relname, a.attnum`).Query(func(rows pgx.Rows) error {
		all, err := pgx.CollectRows(rows, pgx.RowToStructByPos[catalogueColumn])
		for _, x := range all {
			c.columns[x.Table] = append(c.columns[x.Table], x)
		}
		return err
	})
	b.Queue(`select c.relname, a.attname, r.relname from pg_constraint k join pg_class c on c.oid = k.conrelid join pg_class r on r.oid = k.confrelid
		join pg_attribute a on a.attrelid = k.conrelid and a.attnum = k.conkey[1]
		where k.contype = 'f' and cardinality(k.conkey) = 1 and c.relnamespace = current_schema()::regnamespace order by c.relname, a.attnum`).Query(func(rows pgx.Rows) error {
		all, err := pgx.CollectRows(rows, pgx.RowToStructByPos[catalogueRef])
		for _, x := range all {
			c.refs[x.Table] = append(c.refs[x.Table], x)
		}
		return err
	})
	b.Queue(`select c.relname, array_agg(a.attname::text order by array_position(k.conkey, a.attnum)) from pg_constraint k join pg_class c on c.oid = k.conrelid
		join pg_attribute a on a.attrelid = k.conrelid and a.attnum = any(k.conkey)
		where k.contype = 'p' and c.relnamespace = current_schema()::regnamespace group by c.relname`).Query(func(rows pgx.Rows) error {
		var name string
		var key []string
		_, err := pgx.ForEachRow(rows, []any{&name, &key}, func() error {
			c.keys[name] = slices.Clone(key)
			return nil
		})
		return err
	})
	if err := q.SendBatch(ctx, b).Close(); err != nil {
		return c, fmt.Errorf("read catalogue: %w", err)
	}
	return c, nil
}

func (c catalogue) column(table, name string) (catalogueColumn, bool) {
	for _, x := range c.columns[table] {
		if x.Name == name {
			return x, true
		}
	}
	return catalogueColumn{}, false
}

// ofProgram is the condition for the rows of a program: by its own column, or by way
// of what a row belongs to. "" where there is no way.
func (c catalogue) ofProgram(table string, seen ...string) string {
	if table == "program" {
		return "id = $1::uuid"
	}
	if _, ok := c.column(table, "program_id"); ok {
		return "program_id = $1::uuid"
	}
	for _, r := range c.refs[table] {
		if col, _ := c.column(table, r.Column); !col.NotNull || r.To == "app_user" || r.To == table || slices.Contains(seen, r.To) {
			continue
		}
		if cond := c.ofProgram(r.To, append(seen, table)...); cond != "" {
			return c.by(r, cond)
		}
	}
	return ""
}

// by is the condition for rows that refer to rows that meet cond.
func (c catalogue) by(r catalogueRef, cond string) string {
	key := "id"
	if k := c.keys[r.To]; len(k) == 1 {
		key = k[0]
	}
	return r.Column + " in (select " + key + " from " + r.To + " where " + cond + ")"
}

const poursOfEnd = "(select pour_id from pour_end where end_id = $2::uuid)"

// ofEnd is the condition for the rows that belong to one end, its castings included;
// "" where rows belong to no single end.
func (c catalogue) ofEnd(table string, seen ...string) string {
	_, poured := c.column(table, "pour_id")
	end, has := c.column(table, "end_id")
	switch {
	case table == "program":
		return ""
	case table == "girder_end":
		return "id = $2::uuid"
	case table == "pour":
		return "id in " + poursOfEnd
	case poured && has && !end.NotNull:
		return "(end_id = $2::uuid or end_id is null and pour_id in " + poursOfEnd + ")"
	case has:
		return "end_id = $2::uuid"
	case poured:
		return "pour_id in " + poursOfEnd
	}
	for _, r := range c.refs[table] {
		if col, _ := c.column(table, r.Column); !col.NotNull || r.To == "app_user" || r.To == table || slices.Contains(seen, r.To) {
			continue
		}
		if cond := c.ofEnd(r.To, append(seen, table)...); cond != "" {
			return c.by(r, cond)
		}
	}
	return ""
}

// recordTables are the tables that hold rows of programs, by name, and those that a
// package leaves out.
func recordTables(ctx context.Context, q querier) (in []RecordTable, out []LeftTable, err error) {
	c, err := readCatalogue(ctx, q)
	if err != nil {
		return nil, nil, err
	}
	names := make([]string, 0, len(c.columns))
	for name := range c.columns {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		why, left := unpacked[name]
		cond := c.ofProgram(name)
		switch {
		case left:
			out = append(out, LeftTable{name, why})
			continue
		case cond == "":
			out = append(out, LeftTable{name, "its rows belong to the server and to no program"})
			continue
		}
		t := RecordTable{Name: name, program: cond, end: c.ofEnd(name), key: strings.Join(c.keys[name], ", ")}
		for _, col := range c.columns[name] {
			t.Columns = append(t.Columns, RecordColumn{col.Name, plainType(col.Type)})
		}
		if t.key == "" {
			t.key = "1"
		}
		in = append(in, t)
	}
	return in, out, nil
}

func plainType(sql string) string {
	switch {
	case strings.HasSuffix(sql, "[]"), sql == "json", sql == "jsonb":
		return "json"
	case sql == "double precision", sql == "real", sql == "integer", sql == "bigint", sql == "smallint", sql == "numeric":
		return "number"
	case sql == "boolean":
		return "yes or no"
	case sql == "timestamp with time zone":
		return "time"
	case sql == "date":
		return "day"
	case sql == "bytea":
		return "bytes"
	case sql == "uuid":
		return "id"
	}
	return "text"
}

// expression is how a column is read as text.
func (c RecordColumn) expression() string {
	switch c.Type {
	case "time":
		return `to_char(` + c.Name + ` at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"')`
	case "yes or no":
		return "case " + c.Name + " when true then 'yes' when false then 'no' end"
	case "bytes":
		return "'sha256 ' || encode(sha256(" + c.Name + "), 'hex') || ', ' || octet_length(" + c.Name + ") || ' bytes'"
	case "json":
		return "to_json(" + c.Name + ")::text"
	}
	return c.Name + "::text"
}

// statement reads the rows of a program, or of one end of it and what they share.
func (t RecordTable) statement(end bool) string {
	cols := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		cols[i] = c.expression()
	}
	cond := t.program
	if end && t.end != "" {
		cond += " and " + t.end
	}
	return "select " + strings.Join(cols, ", ") + " from " + t.Name + " where " + cond + " order by " + t.key
}
