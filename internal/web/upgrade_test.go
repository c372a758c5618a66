package web_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/migrations"
)

// computedTables hold what follows from the record: an upgrade computes them anew.
var computedTables = []string{"end_state", "result", "outlook", "schema_migrations"}

// oldDatabase is a database at an earlier version of the schema, with what a program of that
// version would have written.
type oldDatabase struct {
	t    *testing.T
	conn *pgx.Conn
}

// columns are the columns of each table now.
func (o oldDatabase) columns() map[string]map[string]bool {
	rows, err := o.conn.Query(o.t.Context(), "select table_name, column_name from information_schema.columns where table_schema = 'public'")
	require.NoError(o.t, err)
	out := map[string]map[string]bool{}
	var table, column string
	_, err = pgx.ForEachRow(rows, []any{&table, &column}, func() error {
		if out[table] == nil {
			out[table] = map[string]bool{}
		}
		out[table][column] = true
		return nil
	})
	require.NoError(o.t, err)
	return out
}

// rows are the rows of every table that is no computed one, each as JSON by column.
func (o oldDatabase) rows(tables map[string]map[string]bool) map[string][]string {
	out := map[string][]string{}
	for table, columns := range tables {
		if slices.Contains(computedTables, table) {
			continue
		}
		names := []string{}
		for c := range columns {
			names = append(names, c)
		}
		rows, err := o.conn.Query(o.t.Context(), `select (select jsonb_object_agg(key, value) from jsonb_each(to_jsonb(t)) where key = any($1))::text from `+pgx.Identifier{table}.Sanitize()+` t order by 1`, names)
		require.NoError(o.t, err)
		list, err := pgx.CollectRows(rows, pgx.RowTo[string])
		require.NoError(o.t, err)
		out[table] = list
	}
	return out
}

// member is a name and a value of a JSON object, in its order.
type member struct {
	Name  string
	Value json.RawMessage
}

func membersOf(t *testing.T, object []byte) []member {
	dec := json.NewDecoder(bytes.NewReader(object))
	_, err := dec.Token()
	require.NoError(t, err)
	var out []member
	for dec.More() {
		name, err := dec.Token()
		require.NoError(t, err)
		m := member{Name: name.(string)}
		require.NoError(t, dec.Decode(&m.Value))
		out = append(out, m)
	}
	return out
}

func objectOf(t *testing.T, members []member) json.RawMessage {
	var b bytes.Buffer
	for i, m := range members {
		b.WriteByte("{,"[min(i, 1)])
		name, err := json.Marshal(m.Name)
		require.NoError(t, err)
		b.Write(name)
		b.WriteByte(':')
		b.Write(m.Value)
	}
	if len(members) == 0 {
		b.WriteByte('{')
	}
	b.WriteByte('}')
	return b.Bytes()
}

// forget takes out of the journal what a program of this version did not know: rows of tables
// that are not there, and values of columns that are not. What was taken out of none stays
// byte for byte. The chain of hashes is made as that program would have made it.
func (o oldDatabase) forget(columns map[string]map[string]bool) (changed int) {
	ctx, t := o.t.Context(), o.t
	type entry struct {
		Seq                  int64
		At                   time.Time
		EntryID              string
		ProgramID, EndID     *string
		ActorID, Actor, Kind string
		Body, PrevHash, Hash []byte
	}
	rows, err := o.conn.Query(ctx, "select seq, at, entry_id::text, program_id::text, end_id::text, actor_id::text, actor, kind, body, prev_hash, hash from journal order by seq")
	require.NoError(t, err)
	entries, err := pgx.CollectRows(rows, pgx.RowToStructByPos[entry])
	require.NoError(t, err)
	strip := func(table string, row []byte) []byte {
		if len(row) == 0 || string(row) == "null" {
			return row
		}
		all := membersOf(t, row)
		kept := slices.DeleteFunc(slices.Clone(all), func(m member) bool { return !columns[table][m.Name] })
		if len(kept) == len(all) {
			return row
		}
		return objectOf(t, kept)
	}
	prev := make([]byte, sha256.Size)
	last := map[string]map[string]any{}
	_, err = o.conn.Exec(ctx, "alter table journal disable trigger user")
	require.NoError(t, err)
	for _, e := range entries {
		var body map[string]json.RawMessage
		require.NoError(t, json.Unmarshal(e.Body, &body))
		var list []struct {
			Table string          `json:"table"`
			Key   string          `json:"key"`
			Old   json.RawMessage `json:"old,omitempty"`
			New   json.RawMessage `json:"new"`
		}
		require.NoError(t, json.Unmarshal(body["rows"], &list))
		touched := false
		kept := list[:0]
		for _, r := range list {
			if columns[r.Table] == nil {
				touched = true
				continue
			}
			older, newer := strip(r.Table, r.Old), strip(r.Table, r.New)
			touched = touched || !bytes.Equal(older, r.Old) || !bytes.Equal(newer, r.New)
			r.Old, r.New = older, newer
			kept = append(kept, r)
		}
		program := ""
		if e.ProgramID != nil {
			program = *e.ProgramID
		}
		if follows := last[program]; touched || follows != nil && follows["moved"] == true {
			body["rows"], err = json.Marshal(kept)
			require.NoError(t, err)
			if body["follows"] != nil {
				delete(follows, "moved")
				if follows == nil {
					follows = map[string]any{"seq": 0, "hash": ""}
				}
				body["follows"], err = json.Marshal(follows)
				require.NoError(t, err)
			}
			e.Body, err = json.Marshal(body)
			require.NoError(t, err)
			changed++
		}
		h := sha256.New()
		part := func(b []byte) {
			_ = binary.Write(h, binary.BigEndian, uint64(len(b)))
			h.Write(b)
		}
		number := func(n int64) []byte { return binary.BigEndian.AppendUint64(nil, uint64(n)) }
		text := func(s *string) []byte {
			if s == nil {
				return nil
			}
			return []byte(*s)
		}
		for _, b := range [][]byte{prev, number(e.Seq), number(e.At.UnixMicro()), []byte(e.EntryID), text(e.ProgramID), text(e.EndID), []byte(e.ActorID), []byte(e.Actor), []byte(e.Kind), e.Body} {
			part(b)
		}
		was := e.Hash
		e.PrevHash, e.Hash = prev, h.Sum(nil)
		prev = e.Hash
		last[program] = map[string]any{"seq": e.Seq, "hash": hex.EncodeToString(e.Hash), "moved": !bytes.Equal(was, e.Hash)}
		_, err = o.conn.Exec(ctx, "update journal set body = $2, prev_hash = $3, hash = $4 where seq = $1", e.Seq, e.Body, e.PrevHash, e.Hash)
		require.NoError(t, err)
	}
	_, err = o.conn.Exec(ctx, "alter table journal enable trigger user")
	require.NoError(t, err)
	return changed
}

// TestEveryEarlierSchemaIsUpgradedWithItsData takes a program with one of everything back to
// each version of the schema, with the journal that a program of that version would have
// written, upgrades it, and asks that every row is there and that verify finds nothing.
func TestEveryEarlierSchemaIsUpgradedWithItsData(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	dsn := p.Pool.Config().ConnString()
	ctx := context.WithoutCancel(t.Context())
	schema, err := db.OpenSchema(ctx, dsn, migrations.FS)
	require.NoError(t, err)
	defer func() { _ = schema.Close() }()
	conn, err := pgx.Connect(ctx, dsn)
	require.NoError(t, err)
	defer func() { _ = conn.Close(ctx) }()
	old := oldDatabase{t, conn}
	for v := schema.Latest() - 1; v >= 2; v-- {
		name := fmt.Sprintf("from version %d", v)
		require.NoError(t, schema.Down(ctx, v), name)
		columns := old.columns()
		// Counts follow from the record and are made anew; verify holds them to it below.
		delete(columns, "end_tally")
		delete(columns, "program_tally")
		changed := old.forget(columns)
		_, err := conn.Exec(ctx, "update end_state set method_version = 'of then'")
		require.NoError(t, err)
		before := old.rows(columns)
		require.NotEmpty(t, before["journal"], name)
		require.NotEmpty(t, before["specimen"], name)
		count := 0
		for _, list := range before {
			count += len(list)
		}

		require.NoError(t, schema.Up(ctx), name)
		pool, err := db.Open(ctx, dsn)
		require.NoError(t, err)
		store := db.NewStore(pool)
		_, err = store.Refresh(ctx, nil) // as the server does when it starts
		require.NoError(t, err, name)
		found, err := store.Verify(ctx)
		require.NoError(t, err, name)
		require.Empty(t, found.Differences, name)
		require.Equal(t, 4, found.Ends)
		require.Equal(t, before, old.rows(columns), name)
		pool.Close()
		t.Logf("%s: %d rows of %d tables kept, %d entries in the words of then", name, count, len(before), changed)
	}
}
