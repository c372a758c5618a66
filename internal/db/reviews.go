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
	Revision   int            `db:"revision"` // the submitted one, or the approved one that is out of date
	Designer   string         `db:"designer"` // name
	DesignerID string         `db:"designer_id"`
	Submitted  *time.Time     `db:"submitted_at"` // of the latest revision, while it waits
	Approved   *time.Time     `db:"approved_at"`  // latest approval or confirmation of the revision
	Approver   string         `db:"approver"`
	NewSurvey  *int           `db:"new_survey"` // number of the latest survey, where it came after the approval
	Corrected  int            `db:"corrected"`  // readings that came after the approval
	Window     *time.Time     `db:"window_at"`  // begin of the next granted window of the end's access
	Urgency    repair.Urgency `db:"urgency"`
	Alike      int            `db:"alike"` // submitted revisions of this layout, this one among them
}

// ReviewList is one page of designs that wait, with the number of all.
type ReviewList struct {
	Rows  []ReviewRow
	Total int
}

const waits = "(design_state = 'submitted' or out_of_date)"

// Reviews returns the designs of a program that wait for the owner's engineer, the
// most urgent first: see repair.Urgency, whose numbers the order gives. Page counts
// from 1.
func (st *Store) Reviews(ctx context.Context, programID string, now time.Time, limits repair.ReviewLimits, page, size int) (ReviewList, error) {
	var out ReviewList
	b := &pgx.Batch{}
	b.Queue("select count(*) from end_state where program_id = $1::uuid and "+waits, programID).QueryRow(func(row pgx.Row) error {
		return row.Scan(&out.Total)
	})
	cols := make([]string, len(states.cols))
	for i, c := range states.cols {
		cols[i] = "s." + c
	}
	b.Queue(`with w as (select kind, min(starts_at) as at from access_window
			where program_id = $1::uuid and state in ('granted', 'shortened') and ends_at > $2 group by kind),
		placed as (select e.end_id, w.at as window_at, e.waits_since, e.sort_key, e.capacity_n / nullif(e.demand_n, 0) as carries,
			case when e.stale = 'stops' then 0 when w.at <= $5 then 1 when e.waits_since < $6 then 2 when e.capacity_n < e.demand_n then 3 else 4 end as urgency
			from end_state e left join w on w.kind = e.access where e.program_id = $1::uuid and `+waits+`),
		s as materialized (select x.*, p.window_at, p.urgency, x.design_state = 'submitted' as asked, row_number() over () as place from (select * from placed
			order by urgency, case urgency when 1 then extract(epoch from window_at) when 3 then carries else extract(epoch from waits_since) end nulls last, waits_since, sort_key
			limit $3 offset $4) p join end_state x on x.end_id = p.end_id)
		select `+strings.Join(cols, ", ")+`, s.window_at, s.urgency, d.revision, coalesce(u.name, '') as designer, d.designed_by::text as designer_id,
			case when s.asked then d.submitted_at end as submitted_at, a.at as approved_at, coalesce(a.reviewer_name, '') as approver,
			case when v.arrived_at > a.at then v.number end as new_survey,
			(select count(*) from reading r where r.end_id = s.end_id and r.captured_at > a.at and r.survey_id = v.id and not s.asked) as corrected,
			case when s.waits_layout = '' then 0 else (select count(*) from end_state l where l.program_id = s.program_id and l.waits_layout = s.waits_layout) end as alike
		from s
		join lateral (select id, revision, designed_by, submitted_at from design
			where end_id = s.end_id and (s.asked or state in ('approved', 'approved_as_noted')) order by revision desc limit 1) d on true
		left join app_user u on u.id = d.designed_by
		left join lateral (select at, reviewer_name from review where design_id = d.id and decision <> 'returned' order by at desc limit 1) a on true
		left join lateral (select id, number, arrived_at from survey where end_id = s.end_id order by number desc limit 1) v on true
		order by s.place`, programID, now, size, max(page-1, 0)*size, now.Add(limits.WindowNear), now.Add(-limits.WaitLong)).Query(func(rows pgx.Rows) (err error) {
		out.Rows, err = pgx.CollectRows(rows, pgx.RowToStructByName[ReviewRow])
		return err
	})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return out, fmt.Errorf("designs to review: %w", err)
	}
	return out, nil
}

// Alike names the ends whose submitted revision has the layout of that of an end, on
// the same section, in the order of the bridge and at most so many.
func (st *Store) Alike(ctx context.Context, programID, name string, most int) ([]string, error) {
	rows, err := st.Pool.Query(ctx, `select l.name from end_state s join end_state l on l.program_id = s.program_id and l.waits_layout = s.waits_layout
		where s.program_id = $1::uuid and s.name = $2 and s.waits_layout <> '' order by l.sort_key limit $3`, programID, name, most)
	if err != nil {
		return nil, fmt.Errorf("like designs: %w", err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("like designs: %w", err)
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
