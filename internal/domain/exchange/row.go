package exchange

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// row reads the cells of one row and notes what it cannot take.
type row struct {
	t     table
	h     header
	g     *grid
	opt   Options
	ps    *Problems
	cells []string
	n     int  // number of the row
	bad   bool // something was refused
	typed Typed
}

// cell is the text of a column: trimmed, with plain line ends, without the mark
// against formulas. A column that the table lacks is empty.
func (r *row) cell(name string) string {
	i, ok := r.h.at[name]
	if !ok || i >= len(r.cells) {
		return ""
	}
	s := strings.ReplaceAll(strings.ReplaceAll(r.cells[i], "\r\n", "\n"), "\r", "\n")
	return unguard(strings.TrimSpace(s))
}

func (r *row) refuse(name, limit string, args ...any) {
	r.bad = true
	r.ps.add(Problem{Table: r.t.name, Row: r.n, Column: name, Value: r.cell(name), Limit: fmt.Sprintf(limit, args...)})
}

// text reads a text; one that is needed may not be empty.
func (r *row) text(name string, needed bool) string {
	s := r.cell(name)
	most := maxText
	if c, ok := r.t.column(name); ok && c.most > 0 {
		most = c.most
	}
	switch {
	case s == "" && needed:
		r.refuse(name, "is needed")
	case utf8.RuneCountInString(s) > most:
		r.refuse(name, "has more than %d characters", most)
		return ""
	case !printable(s):
		r.refuse(name, "holds a control character")
		return ""
	}
	return s
}

func printable(s string) bool {
	for _, c := range s {
		if c != '\n' && c != '\t' && (unicode.IsControl(c) || c == utf8.RuneError || c == 0xFFFE || c == 0xFFFF) {
			return false
		}
	}
	return true
}

// whole reads a whole number within limits; blank gives 0 unless it is needed.
func (r *row) whole(name string, needed bool, least, most int) int {
	s := r.cell(name)
	if s == "" {
		if needed {
			r.refuse(name, "is needed")
		}
		return 0
	}
	// A workbook stores 3 as 3, and sometimes as 3.0.
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || v != math.Trunc(v) || v < float64(least) || v > float64(most) {
		r.refuse(name, "must be a whole number from %d to %d", least, most)
		return 0
	}
	return int(v)
}

// choice reads one of the column's words; blank gives "" unless it is needed.
func (r *row) choice(name string, needed bool) string {
	s := r.cell(name)
	if s == "" {
		if needed {
			r.refuse(name, "is needed")
		}
		return ""
	}
	c, _ := r.t.column(name)
	for _, w := range c.choices {
		if plainName(s) == plainName(w) {
			return w
		}
	}
	r.refuse(name, "must be one of %s", strings.Join(c.choices, ", "))
	return ""
}

// yes reads yes or no; blank is no.
func (r *row) yes(name string) bool {
	switch plainName(r.cell(name)) {
	case "yes", "y", "true", "1", "x":
		return true
	case "", "no", "n", "false", "0":
		return false
	}
	r.refuse(name, "must be yes or no")
	return false
}

// list reads texts parted by semicolons.
func (r *row) list(name string) []string {
	var out []string
	for _, s := range strings.Split(r.text(name, false), ";") {
		if s = strings.TrimSpace(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// quantity reads a number with or without its own unit, and keeps what was typed.
// ok is false when the cell is blank or refused.
func (r *row) quantity(name string, needed bool) (v float64, ok bool) {
	s := r.cell(name)
	if s == "" {
		if needed {
			r.refuse(name, "is needed")
		}
		return 0, false
	}
	c, _ := r.t.column(name)
	v, typed, err := readQuantity(c.kind, s, r.h.unit[name], r.g.comma)
	if err != "" {
		r.refuse(name, "%s", err)
		return 0, false
	}
	if r.typed == nil {
		r.typed = Typed{}
	}
	r.typed[name] = typed
	return v, true
}

func (r *row) length(name string, needed bool) units.Length {
	v, _ := r.quantity(name, needed)
	return units.Length(v)
}

// optional reads a length that may be blank.
func (r *row) optional(name string) *units.Length {
	if v, ok := r.quantity(name, false); ok {
		l := units.Length(v)
		return &l
	}
	return nil
}

// readQuantity reads a cell of a column whose unit is given. The second result is
// what was typed, always with its unit; the third says what is wrong.
func readQuantity(k units.Kind, cell, unit string, comma bool) (float64, string, string) {
	if len(cell) > maxQuantity {
		return 0, "", fmt.Sprintf("is longer than %d characters", maxQuantity)
	}
	if comma && strings.Count(cell, ",") == 1 && !strings.Contains(cell, ".") {
		cell = strings.Replace(cell, ",", ".", 1)
	}
	// With the column's unit first: it fails for a cell that has one of its own.
	with := cell + " " + unit
	if v, err := k.Parse(with, units.US); err == nil {
		return v + 0, with, "" // + 0 turns -0 into 0
	}
	v, err := k.Parse(cell, units.US)
	if err == nil {
		return v + 0, cell, ""
	}
	return 0, "", problemOf(err)
}

// problemOf is the text of a units error without the value, which stands beside.
func problemOf(err error) string {
	if e, ok := err.(*units.Error); ok {
		return e.Problem + "; wanted is " + e.Want
	}
	return err.Error()
}

// end reads the name of an end.
func (r *row) end(name string) girder.Name {
	s := r.cell(name)
	if s == "" {
		r.refuse(name, "is needed")
		return girder.Name{}
	}
	n, err := girder.ParseName(s)
	if err != nil {
		r.refuse(name, "must be span, N or F, a hyphen and the girder line, such as 2F-3")
	}
	return n
}

var timeForms = []string{time.RFC3339Nano, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04Z07:00",
	"2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02"}

// moment reads a date and time. A time without an offset is of the zone of the
// import; dates that could be read two ways (7/8/2027) are refused.
func (r *row) moment(name string) time.Time {
	s := r.cell(name)
	if s == "" {
		r.refuse(name, "is needed")
		return time.Time{}
	}
	zone := r.opt.Zone
	if zone == nil {
		zone = time.UTC
	}
	at, ok := time.Time{}, false
	for _, form := range timeForms {
		if t, err := time.ParseInLocation(form, s, zone); err == nil {
			at, ok = t, true
			break
		}
	}
	if days, err := strconv.ParseFloat(s, 64); !ok && r.g.workbook && err == nil && days >= 1 && days < 2_958_466 {
		if t, err := excelize.ExcelDateToTime(days, r.g.date1904); err == nil {
			t = t.Round(time.Second)
			at, ok = time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), 0, zone), true
		}
	}
	if !ok || at.Year() < 1900 || at.Year() > 2200 {
		r.refuse(name, "must be a date and time such as 2027-07-16 22:40")
		return time.Time{}
	}
	if now := r.opt.Now; !now.IsZero() && at.After(now) {
		r.refuse(name, "lies after the moment of the import, %s", now.In(zone).Format("2006-01-02 15:04"))
		return time.Time{}
	}
	return at.UTC()
}
