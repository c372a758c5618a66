package db

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// rankOrders are the orders of the list of repair: expressions of end_state, each
// ascending and never null; the name comes last. Each has its index.
var rankOrders = map[string][]string{
	"":        {"rank_class", "rank_key", "(-coalesce(chance, 0))", "reserve"}, // that of outlook.Rank
	"chance":  {"(-coalesce(chance, -1))"},
	"fall":    {"coalesce(fall_early, 'infinity')"},
	"rating":  {"coalesce(rating_least, 'infinity')"},
	"reserve": {"reserve"},
}

const rankName = `(name collate "C")`

// RankOrders are the orders that Ranking knows, the order of repair first.
func RankOrders() []string { return []string{"", "chance", "fall", "rating", "reserve"} }

// RankFilter narrows a ranking. Zero fields do not narrow.
type RankFilter struct {
	Closed  bool // with closed ends; they are left out otherwise
	Span    int
	Support string // code
	Verdict string // outlook.Verdict of the fall
}

// RankRow is one end of a ranking.
type RankRow struct {
	repair.State
	Place          int      `db:"-"` // from 1
	ChanceLow      *float64 `db:"chance_low"`
	ChanceHigh     *float64 `db:"chance_high"`
	Samples        *int     `db:"samples"`
	FallYear       *float64 `db:"fall_year"`
	FallLate       *float64 `db:"fall_late"`
	RatingNew      *float64 `db:"rating_new"`
	RatingCorroded *float64 `db:"rating_corroded"`
	RatingRepaired *float64 `db:"rating_repaired"`
	RatingWelded   *float64 `db:"rating_welded"`
}

// RankPage is one page of a ranking. Next is where the page after it begins, empty
// on the last.
type RankPage struct {
	Rows []RankRow
	Next string
}

// rankCursor is where a page ended: the values that the order compares.
type rankCursor struct {
	Order string   `json:"o"`
	Keys  []string `json:"k"` // as PostgreSQL writes numbers
	Name  string   `json:"n"`
	Place int      `json:"p"`
}

// Ranking returns ends in one of RankOrders from where a page before it ended; an
// empty after is the beginning. It goes along an index, whatever the page, so that a
// hundred thousand ends cost no more than a hundred. It refuses an unknown order and
// an after that is none of this order.
func (st *Store) Ranking(ctx context.Context, programID string, f RankFilter, order, after string, size int) (RankPage, error) {
	exprs, ok := rankOrders[order]
	if !ok {
		return RankPage{}, fault.New(fault.Malformed, "there is no order %q", short(order))
	}
	cond, args := []string{"s.program_id = $1::uuid"}, []any{programID}
	add := func(c string, v any) {
		args = append(args, v)
		cond = append(cond, strings.ReplaceAll(c, "?", fmt.Sprintf("$%d", len(args))))
	}
	if !f.Closed {
		cond = append(cond, "not closed")
	}
	if f.Span > 0 {
		add("sort_key like ? || '%'", fmt.Sprintf("%03d", f.Span))
	}
	if f.Support != "" {
		add("s.support_code = ?", f.Support)
	}
	if f.Verdict != "" {
		add("s.fall_verdict = ?", f.Verdict)
	}
	place := 0
	if after != "" {
		cur, err := readCursor(order, after, len(exprs))
		if err != nil {
			return RankPage{}, err
		}
		place = cur.Place
		marks := make([]string, 0, len(exprs)+1)
		for i, k := range cur.Keys {
			kind := "double precision"
			if exprs[i] == "rank_class" { // of the column's own type, or the index does not serve
				if kind = "smallint"; !slices.Contains([]string{"0", "1", "2", "3", "4", "5", "9"}, k) {
					return RankPage{}, errCursor
				}
			}
			args = append(args, k)
			marks = append(marks, fmt.Sprintf("$%d::text::%s", len(args), kind))
		}
		args = append(args, cur.Name)
		marks = append(marks, fmt.Sprintf(`$%d::text collate "C"`, len(args)))
		cond = append(cond, fmt.Sprintf("(%s, %s) > (%s)", strings.Join(exprs, ", "), rankName, strings.Join(marks, ", ")))
	}
	cols := make([]string, len(states.cols))
	for i, c := range states.cols {
		cols[i] = "s." + c
	}
	// The page first, along its index; the outlook beside it afterwards.
	sql := fmt.Sprintf(`with page as materialized (select *, array[%s]::text[] as at from end_state s where %s order by %s, %s limit %d)
		select %s, s.at, o.chance_low, o.chance_high, o.samples, o.fall_year, o.fall_late, o.rating_new, o.rating_corroded, o.rating_repaired, o.rating_welded
		from page s left join outlook o using (end_id) order by %s, %s`,
		strings.Join(texts(exprs), ", "), strings.Join(cond, " and "), strings.Join(exprs, ", "), rankName, size+1,
		strings.Join(cols, ", "), strings.Join(qualified(exprs), ", "), `(s.name collate "C")`)
	rows, err := st.Pool.Query(ctx, sql, args...)
	if err != nil {
		return RankPage{}, fmt.Errorf("ranking: %w", err)
	}
	type rankAt struct {
		RankRow
		At []string `db:"at"`
	}
	got, err := pgx.CollectRows(rows, pgx.RowToStructByName[rankAt])
	if err != nil {
		return RankPage{}, fmt.Errorf("ranking: %w", err)
	}
	var out RankPage
	for i, x := range got {
		if i == size {
			last := got[size-1]
			out.Next = rankCursor{Order: order, Keys: last.At, Name: last.Name, Place: place + size}.text()
			break
		}
		x.Place = place + i + 1
		out.Rows = append(out.Rows, x.RankRow)
	}
	return out, nil
}

func texts(exprs []string) []string {
	out := make([]string, len(exprs))
	for i, e := range exprs {
		out[i] = "(" + e + ")::text"
	}
	return out
}

// qualified is exprs over the page, which is joined to a table with columns of the
// same names.
func qualified(exprs []string) []string {
	out := slices.Clone(exprs)
	for i := range out {
		for _, c := range []string{"rank_class", "rank_key", "chance", "reserve", "fall_early", "rating_least"} {
			out[i] = strings.ReplaceAll(out[i], c, "s."+c)
		}
	}
	return out
}

func (c rankCursor) text() string {
	raw, err := json.Marshal(c)
	if err != nil { // strings and numbers have a form
		return ""
	}
	return base64.RawURLEncoding.EncodeToString(raw)
}

var errCursor = fault.New(fault.Malformed, "the list was asked to go on from a place that it does not have; begin at its top")

func readCursor(order, text string, keys int) (rankCursor, error) {
	var c rankCursor
	raw, err := base64.RawURLEncoding.DecodeString(text)
	if err == nil {
		err = json.Unmarshal(raw, &c)
	}
	if err != nil || c.Order != order || len(c.Keys) != keys || slices.ContainsFunc(c.Keys, func(k string) bool { return !isNumber(k) }) {
		return c, errCursor
	}
	return c, nil
}

// isNumber reports whether k is what PostgreSQL writes for a number.
func isNumber(k string) bool {
	_, err := strconv.ParseFloat(k, 64)
	return err == nil && len(k) < 40
}

// OutlookOf returns the stored outlook of an end, by name or identifier; nil for one
// that was never computed.
func (st *Store) OutlookOf(ctx context.Context, programID, name string) (*repair.Outlook, error) {
	rows, err := st.Pool.Query(ctx, outlooks.selectWhere(`end_id = (select id from girder_end where program_id = $1::uuid and (name = upper($2) or id::text = $2))`), programID, name)
	if err != nil {
		return nil, fmt.Errorf("outlook: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByName[repair.Outlook])
	if err != nil {
		return nil, fmt.Errorf("outlook: %w", err)
	}
	if len(list) == 0 {
		return nil, nil
	}
	return &list[0], nil
}

// SpanLoads loads the program with one span's ends, its cross section and the parts
// of its dead load, by the number of the span.
func (st *Store) SpanLoads(ctx context.Context, programID string, number int) (*repair.Scope, repair.Span, error) {
	frame, err := st.Frame(ctx, programID)
	if err != nil {
		return nil, repair.Span{}, err
	}
	i := slices.IndexFunc(frame.Spans, func(x repair.Span) bool { return x.Number == number })
	if i < 0 {
		return nil, repair.Span{}, fault.New(fault.NotFound, "there is no span %d in this program", number)
	}
	sp := frame.Spans[i]
	ids, err := st.reached(ctx, programID, sp.ID)
	if err != nil {
		return nil, sp, err
	}
	if len(ids) == 0 {
		return frame, sp, nil
	}
	s, err := st.Ends(ctx, programID, ids)
	return s, sp, err
}
