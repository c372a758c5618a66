package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/units"
)

// PlanEnd is one end as the plan of the bridge shows it.
type PlanEnd struct {
	Name      string
	Span      int
	Side      string
	Girder    int
	Support   string // code
	Face      string
	Skew      units.Angle
	StepOrd   int
	StepCode  string
	StepName  string
	Closed    bool
	Track     string
	Why       string
	OutOfDate bool
	NCR       int
	Critical  bool
}

// PlanEnds returns every end of a program in the order of the bridge, up to a
// limit: a plan with more marks than that is drawn as counts.
func (st *Store) PlanEnds(ctx context.Context, programID string, limit int) ([]PlanEnd, error) {
	rows, err := st.Pool.Query(ctx, `select s.name, e.span_no, e.side, e.girder_no, s.support_code, e.face, e.skew_deg, s.step_ord, s.step_code, s.step_name,
			s.closed, s.track, s.reason_text, s.out_of_date, s.open_ncr,
			s.open_ncr > 0 and exists (select from nonconformance n where n.end_id = s.end_id and n.critical and n.closed_at is null)
		from end_state s join girder_end e on e.id = s.end_id where s.program_id = $1 order by s.sort_key limit $2`, programID, limit)
	if err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[PlanEnd])
}

// LineCount is how many ends of one bearing line are at one step.
type LineCount struct {
	Support, Face string
	StepOrd       int
	StepCode      string
	Closed        bool
	Count         int
}

// LineCounts counts the ends of a program by bearing line and step.
func (st *Store) LineCounts(ctx context.Context, programID string) ([]LineCount, error) {
	rows, err := st.Pool.Query(ctx, `select s.support_code, e.face, s.step_ord, s.step_code, s.closed, count(*)
		from end_state s join girder_end e on e.id = s.end_id where s.program_id = $1 group by 1, 2, 3, 4, 5 order by 1, 2, 3`, programID)
	if err != nil {
		return nil, fmt.Errorf("bearing lines: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[LineCount])
}

// Summary is the head count of a program.
type Summary struct {
	Ends, Closed, Short, OutOfDate, NCR, Waiting, NeverSurveyed int
}

// Summarise counts what the head of the bridge page shows.
func (st *Store) Summarise(ctx context.Context, programID string) (Summary, error) {
	rows, err := st.Pool.Query(ctx, `select count(*), count(*) filter (where closed),
			count(*) filter (where not closed and capacity_n < demand_n), count(*) filter (where out_of_date and not closed),
			count(*) filter (where open_ncr > 0), count(*) filter (where design_state = 'submitted'), count(*) filter (where loss_max is null)
		from end_state where program_id = $1`, programID)
	if err != nil {
		return Summary{}, fmt.Errorf("summary: %w", err)
	}
	return pgx.CollectExactlyOneRow(rows, pgx.RowToStructByPos[Summary])
}
