package db

import (
	"context"
	"encoding/json"
	"fmt"
)

// mostRowLines bounds what RowHistory returns.
const mostRowLines = 500

// RowHistory returns the entries that wrote one row of a program's record, newest first,
// each with that row only, and whether there are older ones than it returns.
func (st *Store) RowHistory(ctx context.Context, programID, table, key string) (out []JournalLine, more bool, err error) {
	rows, err := st.Pool.Query(ctx, `select j.seq, j.at, j.actor, j.kind, coalesce(e.name, ''), j.hash, j.body from journal j left join girder_end e on e.id = j.end_id
		where j.program_id = $1 and position(convert_to($2, 'UTF8') in j.body) > 0 order by j.seq desc`, programID, jsonText(key))
	if err != nil {
		return nil, false, fmt.Errorf("history of a row: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var l JournalLine
		var raw []byte
		if err := rows.Scan(&l.Seq, &l.At, &l.Actor, &l.Kind, &l.End, &l.Hash, &raw); err != nil {
			return nil, false, fmt.Errorf("history of a row: %w", err)
		}
		var body journalBody
		if err := json.Unmarshal(raw, &body); err != nil {
			return nil, false, fmt.Errorf("history of a row: entry %d: %w", l.Seq, err)
		}
		for _, r := range body.Rows {
			if r.Table != table || r.Key != key {
				continue
			}
			if len(out) == mostRowLines {
				return out, true, nil
			}
			c := RowChange{Table: r.Table, Key: r.Key}
			_ = json.Unmarshal(r.Old, &c.Old)
			_ = json.Unmarshal(r.New, &c.New)
			l.Captured, l.Role, l.Through, l.Ends, l.Reason, l.Changes = body.Captured, body.Role, body.Through, len(body.Ends), reasonOf(body.Change), []RowChange{c}
			out = append(out, l)
		}
	}
	return out, false, rows.Err()
}

// jsonText is a text as it stands between the quotes of the journal's JSON.
func jsonText(s string) string {
	b, err := json.Marshal(s)
	if err != nil || len(b) < 2 {
		return s
	}
	return string(b[1 : len(b)-1])
}

// reasonOf is the reason given with a change; "" where it asks for none.
func reasonOf(change json.RawMessage) string {
	var why struct{ Reason, Reasons string }
	_ = json.Unmarshal(change, &why) // a change without a reason leaves it empty
	return why.Reason + why.Reasons
}
