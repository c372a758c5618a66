package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// EndLine is a row of girder ends that stand on one side of one support: the ends
// of one side of one span.
type EndLine struct {
	Span     int
	Side     string
	Face     string
	Support  string // what the owner calls it
	Station  units.Length
	Ends     int
	Open     int
	Waiting  int // whose next step is for the role asked about
	Critical int // with an open critical finding
}

// waitsFor is true of an open end that a role must act at: to clear what stops it,
// or to do its next step where nothing does. The role is $2.
const waitsFor = `(not t.closed and (t.actor = $2 or t.reason = '' and exists (select from step p where p.program_id = t.program_id and p.code = t.step_code and $2 = any(p.performers))))`

// EndLines returns the lines of a program in the order of the bridge.
func (st *Store) EndLines(ctx context.Context, programID, role string) ([]EndLine, error) {
	rows, err := st.Pool.Query(ctx, `select e.span_no, e.side, e.face, s.name, s.station_mm, count(*)::int, count(*) filter (where not t.closed)::int,
			count(*) filter (where `+waitsFor+`)::int,
			count(*) filter (where exists (select from nonconformance n where n.end_id = e.id and n.critical and n.closed_at is null))::int
		from girder_end e join end_state t on t.end_id = e.id join support s on s.id = e.support_id
		where e.program_id = $1::uuid group by 1, 2, 3, 4, 5, s.ord order by 1, 2 desc`, programID, role)
	if err != nil {
		return nil, fmt.Errorf("lines of ends: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[EndLine])
}

// FieldEnd is an end as the field pages list it.
type FieldEnd struct {
	repair.State
	Girder      int    `db:"girder_no"`
	SupportName string `db:"support_name"`
	Face        string `db:"face"`
	Mine        bool   `db:"mine"` // waits for the role asked about
}

const fieldEndFrom = ` from end_state t join girder_end e on e.id = t.end_id join support s on s.id = e.support_id where t.program_id = $1::uuid `

// LineEnds returns the ends of one side of one span, by girder.
func (st *Store) LineEnds(ctx context.Context, programID, role string, span int, side string) ([]FieldEnd, error) {
	return st.fieldEnds(ctx, "and e.span_no = $3 and e.side = $4 order by e.girder_no", programID, role, span, side)
}

// ActorEnds returns the ends that wait for a role, those that wait longest first.
func (st *Store) ActorEnds(ctx context.Context, programID, role string, limit int) ([]FieldEnd, error) {
	return st.fieldEnds(ctx, "and "+waitsFor+" order by t.since nulls last, t.sort_key limit $3", programID, role, limit)
}

func (st *Store) fieldEnds(ctx context.Context, tail string, args ...any) ([]FieldEnd, error) {
	sql := "select t." + strings.Join(states.cols, ", t.") + ", e.girder_no, s.name as support_name, e.face, " + waitsFor + " as mine" + fieldEndFrom + tail
	rows, err := st.Pool.Query(ctx, sql, args...)
	if err != nil {
		return nil, fmt.Errorf("ends of the field: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[FieldEnd])
}
