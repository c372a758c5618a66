package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
)

// Lists that a program reads to the end go on after the last row of the page before: a
// row that comes meanwhile moves none of them to another page.

// EndStanding is where an end stands, with the version that an edit of it must name.
type EndStanding struct {
	repair.State
	Version int64 `db:"version" json:"version"`
}

// EndsAfter returns the ends of a program along the bridge, after the one of a sort key
// and identifier ("" and "": from the first).
func (st *Store) EndsAfter(ctx context.Context, programID string, f ListFilter, key, id string, size int) ([]EndStanding, error) {
	where, args := f.where(programID)
	if id != "" {
		args = append(args, key, id)
		where += fmt.Sprintf(" and (sort_key, end_id) > ($%d, $%d::uuid)", len(args)-1, len(args))
	}
	cols := strings.Join(states.cols, ", ")
	rows, err := st.Pool.Query(ctx, fmt.Sprintf(`select s.*, g.version from (select %s from end_state where %s order by sort_key, end_id limit %d) s
		join girder_end g on g.id = s.end_id order by s.sort_key, s.end_id`, cols, where, size), args...)
	if err != nil {
		return nil, fmt.Errorf("ends after: %w", err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByName[EndStanding])
	if err != nil {
		return nil, fmt.Errorf("ends after: %w", err)
	}
	return out, nil
}

// EndIDs returns the identifiers of ends by name or identifier, as they were asked for;
// one that the program does not have is left out.
func (st *Store) EndIDs(ctx context.Context, programID string, names []string) (map[string]string, error) {
	rows, err := st.Pool.Query(ctx, `select n, e.id::text from unnest($2::text[]) n join girder_end e on e.program_id = $1 and (e.name = upper(n) or e.id::text = n)`, programID, names)
	if err != nil {
		return nil, fmt.Errorf("ends: %w", err)
	}
	out := map[string]string{}
	var name, id string
	if _, err := pgx.ForEachRow(rows, []any{&name, &id}, func() error { out[name] = id; return nil }); err != nil {
		return nil, fmt.Errorf("ends: %w", err)
	}
	return out, nil
}

// CastingsAfter returns the pours of a program in order of number, after one.
func (st *Store) CastingsAfter(ctx context.Context, programID string, number int64, size int) (CastingList, error) {
	rows, err := st.Pool.Query(ctx, "select id::text from pour where program_id = $1 and number > $2 order by number limit $3", programID, number, size)
	if err != nil {
		return CastingList{}, fmt.Errorf("castings after: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return CastingList{}, fmt.Errorf("castings after: %w", err)
	}
	list, err := st.castingsOf(ctx, ids, "pour_id = any($1::text[]::uuid[])", ids)
	if err != nil {
		return list, err
	}
	at := map[string]int{}
	for i, id := range ids {
		at[id] = i
	}
	sorted := make([]repair.Pour, len(list.Pours))
	for _, p := range list.Pours {
		sorted[at[p.ID]] = p
	}
	list.Pours = sorted
	return list, nil
}

// SpecimensAfter returns the specimens of a program in order of mark, after one.
func (st *Store) SpecimensAfter(ctx context.Context, programID, mark string, size int) ([]repair.Specimen, error) {
	rows, err := st.Pool.Query(ctx, fmt.Sprintf("select %s from specimen where program_id = $1 and mark > $2 order by mark limit $3", strings.Join(specimens.cols, ", ")), programID, mark, size)
	if err != nil {
		return nil, fmt.Errorf("specimens after: %w", err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByName[repair.Specimen])
	if err != nil {
		return nil, fmt.Errorf("specimens after: %w", err)
	}
	return out, nil
}

// NonconformanceStanding is a nonconformance with the end that it was found at.
type NonconformanceStanding struct {
	repair.Nonconformance
	EndName    string `db:"end_name" json:"end_name"`
	EndVersion int64  `db:"end_version" json:"end_version"` // what an edit of it must name
}

// NonconformancesAfter returns the nonconformances of a program in order of number, after
// one.
func (st *Store) NonconformancesAfter(ctx context.Context, programID string, f NonconformanceFilter, number int64, size int) ([]NonconformanceStanding, error) {
	cols := make([]string, len(nonconformances.cols))
	for i, c := range nonconformances.cols {
		cols[i] = "n." + c
	}
	rows, err := st.Pool.Query(ctx, fmt.Sprintf(`select %s, e.name as end_name, e.version as end_version from nonconformance n join girder_end e on e.id = n.end_id
		where n.program_id = $1 and n.number > $2 and ($3 = '' or e.name = upper($3)) and (not $4 or n.closed_at is null) and (not $5 or n.closed_at is not null)
		order by n.number limit $6`, strings.Join(cols, ", ")), programID, number, f.End, f.Open, f.Closed, size)
	if err != nil {
		return nil, fmt.Errorf("nonconformances after: %w", err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByName[NonconformanceStanding])
	if err != nil {
		return nil, fmt.Errorf("nonconformances after: %w", err)
	}
	return out, nil
}
