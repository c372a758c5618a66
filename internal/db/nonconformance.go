package db

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// NonconformanceLine is one nonconformance with the end that it was found at.
type NonconformanceLine struct {
	repair.Nonconformance
	EndName     string `db:"end_name"`
	SupportName string `db:"support_name"`
	Face        string `db:"face"`
	RaisedName  string `db:"raised_name"`
}

// NonconformanceFilter narrows the list of nonconformances.
type NonconformanceFilter struct {
	Open, Closed bool
	Critical     bool
	End          string  // name of an end
	Cause        *string // as causes are counted (repair.CauseOf); nil for any
}

// NonconformanceList is one page of nonconformances with the number of all that
// the filter meets.
type NonconformanceList struct {
	Rows  []NonconformanceLine
	Total int
}

// ListNonconformances returns one page of the nonconformances of a program:
// critical and open ones first, then the oldest open, then the last closed. Page
// counts from 1.
func (st *Store) ListNonconformances(ctx context.Context, programID string, f NonconformanceFilter, page, size int) (NonconformanceList, error) {
	cond := []string{"n.program_id = $1::uuid"}
	args := []any{programID}
	if f.Open {
		cond = append(cond, "n.closed_at is null")
	}
	if f.Closed {
		cond = append(cond, "n.closed_at is not null")
	}
	if f.Critical {
		cond = append(cond, "n.critical")
	}
	if f.End != "" {
		args = append(args, f.End)
		cond = append(cond, "e.name = upper($2)")
	}
	if f.Cause != nil {
		// The same as repair.CauseOf.
		args = append(args, *f.Cause, repair.CauseLength)
		cond = append(cond, fmt.Sprintf(`rtrim(left(lower(btrim(regexp_replace(n.cause, '\s+', ' ', 'g'))), $%d), '. ') = $%d`, len(args), len(args)-1))
	}
	cols := make([]string, len(nonconformances.cols))
	for i, c := range nonconformances.cols {
		cols[i] = "n." + c
	}
	from := ` from nonconformance n join girder_end e on e.id = n.end_id join support s on s.id = e.support_id join app_user u on u.id = n.raised_by
		where ` + strings.Join(cond, " and ")
	var out NonconformanceList
	b := &pgx.Batch{}
	b.Queue("select count(*)"+from, args...).QueryRow(func(row pgx.Row) error { return row.Scan(&out.Total) })
	sql := fmt.Sprintf(`select %s, e.name as end_name, s.name as support_name, e.face, u.name as raised_name%s
		order by n.closed_at is not null, not n.critical, case when n.closed_at is null then n.raised_at end, n.closed_at desc, n.number limit %d offset %d`,
		strings.Join(cols, ", "), from, size, max(page-1, 0)*size)
	b.Queue(sql, args...).Query(func(rows pgx.Rows) (err error) {
		out.Rows, err = pgx.CollectRows(rows, pgx.RowToStructByName[NonconformanceLine])
		return err
	})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return out, fmt.Errorf("list nonconformances: %w", err)
	}
	return out, nil
}

// NonconformanceScope loads the end of a nonconformance by its number in the
// program.
func (st *Store) NonconformanceScope(ctx context.Context, programID string, number int) (*repair.Scope, error) {
	var end string
	err := st.Pool.QueryRow(ctx, "select end_id::text from nonconformance where program_id = $1::uuid and number = $2", programID, number).Scan(&end)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, fault.New(fault.NotFound, "this program has no nonconformance %d", number)
	}
	if err != nil {
		return nil, fmt.Errorf("nonconformance: %w", err)
	}
	return loadScope(ctx, st.Pool, programID, []string{end})
}

// NonconformanceNumber returns the number of the nonconformance that an entry
// raised.
func (st *Store) NonconformanceNumber(ctx context.Context, entryID string) (int, error) {
	var raw []byte
	if err := st.Pool.QueryRow(ctx, "select body from journal where entry_id = $1::uuid", entryID).Scan(&raw); err != nil {
		return 0, fmt.Errorf("nonconformance of entry: %w", err)
	}
	var body journalBody
	if err := json.Unmarshal(raw, &body); err != nil {
		return 0, fmt.Errorf("nonconformance of entry: %w", err)
	}
	for _, r := range body.Rows {
		var n repair.Nonconformance
		if r.Table == nonconformances.name && json.Unmarshal(r.New, &n) == nil {
			return n.Number, nil
		}
	}
	return 0, fault.New(fault.NotFound, "this entry raised no nonconformance")
}
