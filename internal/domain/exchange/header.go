package exchange

import (
	"fmt"
	"strings"

	"endcast/internal/domain/units"
)

// header says where each column of a table stands and in which unit it is.
type header struct {
	at   map[string]int    // column to place
	unit map[string]string // of a quantity column
	row  int               // where the header stands
}

// head reads the header row, and a row of units below it if there is one. It
// returns the rows that follow.
func head(t table, g grid, opt Options, ps *Problems) (header, []gridRow, bool) {
	h := header{at: map[string]int{}, unit: map[string]string{}}
	if len(g.rows) == 0 {
		ps.add(Problem{Table: t.name, Limit: "is empty: a header row is needed"})
		return h, nil, false
	}
	first := g.rows[0]
	h.row = first.number
	good := true
	refuse := func(column, value, limit string) {
		good = false
		ps.add(Problem{Table: t.name, Row: h.row, Column: column, Value: value, Limit: limit})
	}
	for i, cell := range first.cells {
		if strings.TrimSpace(cell) == "" {
			continue
		}
		name, unit := splitUnit(cell)
		c, ok := t.find(name)
		if !ok {
			refuse("", cell, "is not a column of this table; its columns are "+t.names())
			continue
		}
		if _, twice := h.at[c.name]; twice {
			refuse(c.name, cell, "stands in the header twice")
			continue
		}
		h.at[c.name] = i
		if unit == "" {
			continue
		}
		if c.typ != quantityCell {
			refuse(c.name, cell, "takes no unit")
		} else if label, ok := unitOf(c.kind, unit); ok {
			h.unit[c.name] = label
		} else {
			refuse(c.name, cell, fmt.Sprintf("has a unit that cannot be read: use %s or %s", label0(c.kind, units.US), label0(c.kind, units.SI)))
		}
	}
	for _, c := range t.columns {
		if _, ok := h.at[c.name]; c.required && !ok {
			refuse(c.name, "", "is missing from the header")
		}
	}
	rest := g.rows[1:]
	if len(rest) > 0 {
		if row, ok := unitRow(t, h, rest[0]); ok {
			for name, label := range row {
				if _, given := h.unit[name]; !given {
					h.unit[name] = label
				}
			}
			rest = rest[1:]
		}
	}
	for _, c := range t.columns {
		if _, ok := h.at[c.name]; ok && c.typ == quantityCell && h.unit[c.name] == "" {
			h.unit[c.name] = label0(c.kind, opt.System)
		}
	}
	return h, rest, good
}

// find looks a header up by name or alias.
func (t table) find(name string) (column, bool) {
	name = plainName(name)
	for _, c := range t.columns {
		if c.name == name {
			return c, true
		}
		for _, a := range c.aliases {
			if a == name {
				return c, true
			}
		}
	}
	return column{}, false
}

func (t table) names() string {
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.name
	}
	return strings.Join(names, ", ")
}

// splitUnit parts "length [ft]" or "length (ft)" into name and unit.
func splitUnit(cell string) (name, unit string) {
	s := strings.TrimSpace(cell)
	for _, pair := range []string{"[]", "()"} {
		open := strings.LastIndexByte(s, pair[0])
		if open > 0 && strings.HasSuffix(s, pair[1:]) {
			return strings.TrimSpace(s[:open]), strings.TrimSpace(s[open+1 : len(s)-1])
		}
	}
	return s, ""
}

// label0 is the unit that a family shows a kind in.
func label0(k units.Kind, sys units.System) string { return k.Label(sys) }

// unitOf reads a unit of a kind. The label by which the program itself shows it
// is preferred, so that "inches" becomes "in".
func unitOf(k units.Kind, name string) (string, bool) {
	// What begins like a number would join the number before it.
	if name == "" || len(name) > 16 || strings.ContainsAny(name[:1], "0123456789.,-+/^") {
		return "", false
	}
	one, err := k.Parse("1 "+name, units.US)
	if err != nil {
		return "", false
	}
	for _, sys := range []units.System{units.US, units.SI} {
		if v, err := k.Parse("1 "+label0(k, sys), sys); err == nil && v == one {
			return label0(k, sys), true
		}
	}
	return name, true
}

// unitRow recognises a row of units: every cell that is not empty is the unit of
// its column, but for a first word such as "unit".
func unitRow(t table, h header, row gridRow) (map[string]string, bool) {
	place := map[int]column{}
	for name, i := range h.at {
		place[i], _ = t.column(name)
	}
	out := map[string]string{}
	for i, cell := range row.cells {
		s := strings.TrimSpace(cell)
		s = strings.TrimSpace(strings.TrimSuffix(strings.TrimPrefix(strings.TrimSuffix(strings.TrimPrefix(s, "["), "]"), "("), ")"))
		if s == "" || s == "-" {
			continue
		}
		c := place[i]
		if c.typ != quantityCell {
			if i == 0 && (plainName(s) == "unit" || plainName(s) == "units") {
				continue
			}
			return nil, false
		}
		if strings.ContainsAny(s[:1], "0123456789.,-+") {
			return nil, false
		}
		label, ok := unitOf(c.kind, s)
		if !ok {
			return nil, false
		}
		out[c.name] = label
	}
	return out, len(out) > 0
}
