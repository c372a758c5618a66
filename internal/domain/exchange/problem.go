package exchange

import (
	"fmt"
	"strings"

	"endcast/internal/domain/fault"
)

// MaxProblems is how many problems are listed; beyond it they are counted.
const MaxProblems = 1000

// Problem is one cell, row or file that cannot be taken. Row counts as the file
// shows it, from 1; zero when the whole table is meant. Column is empty when the
// whole row is meant.
type Problem struct {
	Table  string
	Row    int
	Column string
	Value  string // as it stands in the cell, shortened
	Limit  string // what is wrong, and what would be right
}

// String is the problem on one line.
func (p Problem) String() string {
	s := p.Table
	if p.Row > 0 {
		s += fmt.Sprintf(" row %d", p.Row)
	}
	if p.Column != "" {
		s += ", " + p.Column
	}
	if p.Value != "" {
		s += fmt.Sprintf(" %q", p.Value)
	}
	return s + ": " + p.Limit
}

// Problems is everything that is wrong with an import.
type Problems struct {
	List  []Problem // at most MaxProblems
	Total int
}

// Error lists the first few problems and says how many there are.
func (ps *Problems) Error() string {
	const shown = 5
	parts := make([]string, 0, shown+1)
	for i, p := range ps.List {
		if i == shown {
			break
		}
		parts = append(parts, p.String())
	}
	if more := ps.Total - len(parts); more > 0 {
		parts = append(parts, fmt.Sprintf("and %d more", more))
	}
	return "import: " + strings.Join(parts, "; ")
}

// Unwrap gives the problems as the fields of a form, named "Table:row:column".
func (ps *Problems) Unwrap() error {
	v := &fault.Invalid{}
	for _, p := range ps.List {
		v.Fields = append(v.Fields, fault.Field{Field: fmt.Sprintf("%s:%d:%s", p.Table, p.Row, p.Column), Typed: p.Value, Reason: p.Limit})
	}
	return v
}

// add notes a problem; a long value is shortened.
func (ps *Problems) add(p Problem) {
	ps.Total++
	if len(ps.List) >= MaxProblems {
		return
	}
	if r := []rune(p.Value); len(r) > 80 {
		p.Value = string(r[:79]) + "…"
	}
	p.Value = strings.ToValidUTF8(p.Value, "�")
	ps.List = append(ps.List, p)
}

// err returns ps as an error, or nil when nothing is wrong.
func (ps *Problems) err() error {
	if ps.Total == 0 {
		return nil
	}
	return ps
}
