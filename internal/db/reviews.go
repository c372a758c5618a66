package db

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
)

// ReviewRow is one design that waits for the owner's engineer: submitted, or
// approved and out of date since.
type ReviewRow struct {
	repair.State
	Revision   int        `db:"revision"` // the submitted one, or the approved one that is out of date
	Designer   string     `db:"designer"` // name
	DesignerID string     `db:"designer_id"`
	Submitted  *time.Time `db:"submitted_at"` // of the latest revision, while it waits
	Approved   *time.Time `db:"approved_at"`  // latest approval or confirmation of the revision
	Approver   string     `db:"approver"`
	NewSurvey  *int       `db:"new_survey"` // number of the latest survey, where it came after the approval
	Corrected  int        `db:"corrected"`  // readings that came after the approval
	Window     *time.Time `db:"window_at"`  // begin of the next granted window of the end's access
}

// ReviewList is one page of designs that wait, with the number of all.
type ReviewList struct {
	Rows  []ReviewRow
	Total int
}

const waits = "(design_state = 'submitted' or out_of_date)"

// Reviews returns the designs of a program that wait for the owner's engineer.
// Submitted ones come first: those whose end carries less than its demand before
// the others, the longest waiting first; then approved ones that went out of date,
// in the same order. Page counts from 1.
func (st *Store) Reviews(ctx context.Context, programID string, now time.Time, page, size int) (ReviewList, error) {
	var out ReviewList
	b := &pgx.Batch{}
	b.Queue("select count(*) from end_state where program_id = $1::uuid and "+waits, programID).QueryRow(func(row pgx.Row) error {
		return row.Scan(&out.Total)
	})
	cols := make([]string, len(states.cols))
	for i, c := range states.cols {
		cols[i] = "s." + c
	}
	b.Queue(`with s as (select *, design_state = 'submitted' as asked from end_state where program_id = $1::uuid and `+waits+`)
		select `+strings.Join(cols, ", ")+`, d.revision, coalesce(u.name, '') as designer, d.designed_by::text as designer_id,
			case when s.asked then d.submitted_at end as submitted_at, a.at as approved_at, coalesce(a.reviewer_name, '') as approver,
			case when v.arrived_at > a.at then v.number end as new_survey,
			(select count(*) from reading r where r.end_id = s.end_id and r.captured_at > a.at and r.survey_id = v.id and not s.asked) as corrected,
			(select min(w.starts_at) from access_window w where w.program_id = s.program_id and w.kind = s.access
				and w.state in ('granted', 'shortened') and w.ends_at > $2) as window_at
		from s
		join lateral (select id, revision, designed_by, submitted_at from design
			where end_id = s.end_id and (s.asked or state in ('approved', 'approved_as_noted')) order by revision desc limit 1) d on true
		left join app_user u on u.id = d.designed_by
		left join lateral (select at, reviewer_name from review where design_id = d.id and decision <> 'returned' order by at desc limit 1) a on true
		left join lateral (select id, number, arrived_at from survey where end_id = s.end_id order by number desc limit 1) v on true
		order by s.asked desc, (s.capacity_n < s.demand_n) desc nulls last, coalesce(case when s.asked then d.submitted_at end, v.arrived_at, a.at), s.sort_key
		limit $3 offset $4`, programID, now, size, max(page-1, 0)*size).Query(func(rows pgx.Rows) (err error) {
		out.Rows, err = pgx.CollectRows(rows, pgx.RowToStructByName[ReviewRow])
		return err
	})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return out, fmt.Errorf("designs to review: %w", err)
	}
	return out, nil
}

// ReviewCount is how many designs of a program wait for the owner's engineer.
func (st *Store) ReviewCount(ctx context.Context, programID string) (int, error) {
	var n int
	err := st.Pool.QueryRow(ctx, "select count(*) from end_state where program_id = $1::uuid and "+waits, programID).Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("count designs to review: %w", err)
	}
	return n, nil
}
