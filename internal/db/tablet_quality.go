package db

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

// StudFinding is one finding at one stud with what a chart of rejects groups by.
type StudFinding struct {
	DesignID   string    `db:"design_id"`
	Mark       string    `db:"mark"`
	Face       string    `db:"face"`
	Row        int       `db:"row_no"`
	Col        int       `db:"col_no"`
	Flange     float64   `db:"flange_mm"` // from the nearer flange
	Outcome    string    `db:"outcome"`
	Welder     string    `db:"welder"`
	CapturedAt time.Time `db:"captured_at"`
}

// StudFindings returns every finding of a program in the order in which they were
// made.
func (st *Store) StudFindings(ctx context.Context, programID string) ([]StudFinding, error) {
	rows, err := st.Pool.Query(ctx, `select c.design_id::text, c.mark, s.face, s.row_no, s.col_no, least(s.z_mm, n.depth_mm - n.flange_thickness_mm - n.top_flange_thickness_mm - s.z_mm) as flange_mm, c.outcome, c.welder, c.captured_at
		from collar c join stud s on s.design_id = c.design_id and s.mark = c.mark and not s.removed join girder_end e on e.id = c.end_id join section n on n.id = e.section_id
		where e.program_id = $1::uuid order by c.captured_at, c.arrived_at, c.id`, programID)
	if err != nil {
		return nil, fmt.Errorf("findings at studs: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[StudFinding])
}
