package web

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
	"endcast/views/history"
)

// mostJournalRows is how many rows of one kind an entry lists.
const mostJournalRows = 200

// groups sorts the rows of an entry by table, in the order in which they come.
func (h *historian) groups(changes []db.RowChange) []history.Group {
	var order []string
	rows := map[string][]db.RowChange{}
	for _, c := range changes {
		if rows[c.Table] == nil {
			order = append(order, c.Table)
		}
		rows[c.Table] = append(rows[c.Table], c)
	}
	var out []history.Group
	for _, table := range order {
		if g := h.group(table, rows[table]); len(g.Rows) > 0 {
			out = append(out, g)
		}
	}
	return out
}

func (h *historian) group(table string, changes []db.RowChange) history.Group {
	var g history.Group
	added, changed := 0, 0
	for _, c := range changes {
		row := h.row(table, c)
		if len(row.Changes) == 0 && row.Title == "" {
			continue
		}
		if row.Added {
			added++
		} else if len(row.Changes) > 0 {
			changed++
		} else {
			continue
		}
		if len(g.Rows) < mostJournalRows {
			g.Rows = append(g.Rows, row)
		}
	}
	if n := added + changed; n > mostJournalRows {
		g.More = fmt.Sprintf("%d further rows are in the journal and in the export of the record.", n-mostJournalRows)
	}
	g.Title = countWords(table, added, changed)
	g.Open = added+changed <= 3
	return g
}

// countWords says how many rows of a table were added and changed.
func countWords(table string, added, changed int) string {
	words, ok := tableWords[table]
	if !ok {
		words = [2]string{plainWord(table), plainWord(table)}
	}
	name := words[1]
	if added+changed == 1 {
		name = words[0]
	}
	var parts []string
	for _, p := range []struct {
		n    int
		what string
	}{{added, "added"}, {changed, "changed"}} {
		switch {
		case p.n == 1 && added+changed == 1:
			parts = append(parts, p.what)
		case p.n > 0:
			parts = append(parts, strconv.Itoa(p.n)+" "+p.what)
		}
	}
	return name + ": " + strings.Join(parts, ", ")
}

// row is one row in words: every value of a new one, and of a changed one what
// changed.
func (h *historian) row(table string, c db.RowChange) history.Row {
	out := history.Row{Added: c.Old == nil}
	if c.Key != "" {
		out.Href = h.valuePath(table, c.Key, "")
	}
	titles := titleColumns[table]
	var title []string
	for _, col := range titles {
		if v, ok := c.New[col]; ok && v != nil {
			title = append(title, strings.TrimSpace(titleWord(col)+" "+h.value(table, col, c)))
		}
	}
	out.Title = strings.Join(title, ", ")
	for _, col := range slices.Sorted(maps.Keys(c.New)) {
		v := c.New[col]
		if quietColumns[col] && !(col == "step_id" && table == "step_record") {
			continue
		}
		if out.Added {
			if slices.Contains(titles, col) || empty(v) {
				continue
			}
			out.Changes = append(out.Changes, history.Change{Name: columnWord(col), New: h.value(table, col, c)})
		} else if !reflect.DeepEqual(v, c.Old[col]) {
			was := db.RowChange{Table: table, New: c.Old}
			out.Changes = append(out.Changes, history.Change{Name: columnWord(col), Old: h.value(table, col, was), New: h.value(table, col, c)})
		}
	}
	return out
}

func titleWord(col string) string {
	switch col {
	case "x_mm", "z_mm":
		return columnWord(col)
	case "number", "revision", "mark":
		return col
	}
	return ""
}

// empty reports whether a value of a new row says nothing.
func empty(v any) bool {
	switch x := v.(type) {
	case nil:
		return true
	case string:
		return x == ""
	case bool:
		return !x
	case []any:
		return len(x) == 0
	case map[string]any:
		return len(x) == 0
	case float64:
		return x == 0
	}
	return false
}

// value puts one value of a row into words and the reader's units.
func (h *historian) value(table, col string, c db.RowChange) string {
	switch v := c.New[col].(type) {
	case nil:
		return "none"
	case bool:
		return yesNo(v)
	case float64:
		return h.quantity(table, col, v, c.New)
	case string:
		return h.text(col, v, c.New)
	case []any:
		if col == "requires" {
			return strconv.Itoa(len(v)) + " conditions"
		}
		if len(v) > 0 {
			if _, many := v[0].(map[string]any); many { // such as what an approval stood on: its own page shows the lines
				return strconv.Itoa(len(v)) + " lines"
			}
		}
		parts := make([]string, len(v))
		for i, x := range v {
			if n, ok := x.(float64); ok {
				parts[i] = h.quantity(table, col, n, c.New)
				continue
			}
			parts[i] = plainWord(fmt.Sprint(x))
		}
		if len(parts) == 0 {
			return "none"
		}
		return strings.Join(parts, ", ")
	default:
		return fmt.Sprint(v)
	}
}

// quantity prints a number in the unit that its column stands for.
func (h *historian) quantity(table, col string, v float64, row map[string]any) string {
	switch {
	case col == "lane_n_mm":
		return units.LineLoads.Format(v, h.sys, -1)
	case table == "load_part" && col == "value":
		kind, _ := row["kind"].(string)
		return partValue(kind, v, h.sys)
	}
	for suffix, k := range map[string]units.Kind{"_mm": units.Lengths, "_mpa": units.Stresses, "_n": units.Forces, "_c": units.Temperatures, "_deg": units.Angles, "_h": units.Hours} {
		if strings.HasSuffix(col, suffix) {
			return k.Format(v, h.sys, -1)
		}
	}
	switch {
	case strings.HasSuffix(col, "_l"):
		return units.Volumes.Format(v*1e6, h.sys, -1) // a liter is 1e6 mm3
	case strings.HasSuffix(col, "_pct"):
		return strconv.FormatFloat(v, 'f', -1, 64) + "%"
	case strings.HasSuffix(col, "_days"):
		return units.Days.Format(v, h.sys, -1)
	case table == "basis_setting" && col == "value":
		key, _ := row["key"].(string)
		if d, ok := basis.Lookup(basis.Key(key)); ok {
			k, _ := units.KindNamed(string(d.Unit))
			return k.Working(v, h.sys)
		}
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// text prints a text of a row: a name for a key, a moment in the program's time,
// plain words for a stored word.
func (h *historian) text(col, v string, row map[string]any) string {
	switch {
	case v == "":
		return "empty"
	case col == "superseded_by":
		if v == row["id"] {
			return "withdrawn"
		}
		return "by a later reading"
	case col == "input_digest" || col == "sha256":
		return shortDigest(v)
	case col == "section_id":
		s, _ := h.sc.Section(v)
		return s.Name
	case strings.HasSuffix(col, "support_id"):
		s, _ := h.sc.Support(v)
		return s.Name
	case col == "step_id":
		for _, st := range h.sc.Steps {
			if st.ID == v {
				return st.Name
			}
		}
	case col == "face":
		if w := faceWords[v]; w != "" {
			return w
		}
	case col == "key":
		if d, ok := basis.Lookup(basis.Key(v)); ok {
			return d.Name
		}
	}
	if n := h.who[v]; n != "" {
		return n
	}
	if strings.HasSuffix(col, "_at") || col == "at" || col == "today" || strings.HasSuffix(col, "_due") || strings.HasSuffix(col, "_start") {
		if t, err := time.Parse(time.RFC3339Nano, v); err == nil {
			return h.when(t)
		}
	}
	if wordColumns[col] {
		return plainWord(v)
	}
	return v
}

// wordColumns hold one of a few stored words.
var wordColumns = map[string]bool{"kind": true, "state": true, "decision": true, "outcome": true, "disposition": true, "proposed": true, "zone": true, "subject": true,
	"bearing_kind": true, "curing": true, "method": true, "rust": true, "duty": true}
