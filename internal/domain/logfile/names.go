package logfile

import (
	"fmt"
	"strings"
	"time"
)

// unitOf finds a unit in a text: where exact, the text is nothing else, as in a
// line of units or behind a number; otherwise it is the name of a column, such as
// "Temp (°C)" or "Panel core, degF".
func unitOf(text string, exact bool) (Unit, bool) {
	if strings.TrimSpace(text) == "" {
		return Unit{}, false
	}
	if u, ok := unitWord(text); ok || exact {
		return u, ok
	}
	for _, pair := range []string{"()", "[]", "{}"} {
		if i := strings.IndexByte(text, pair[0]); i >= 0 {
			if j := strings.IndexByte(text[i:], pair[1]); j > 0 {
				if u, ok := unitWord(text[i+1 : i+j]); ok {
					return u, true
				}
			}
		}
	}
	words := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;:_-/|()[]{}", r) })
	for i, w := range words {
		lone := i > 0 && i == len(words)-1 && (w == "C" || w == "F") // "Temp C", "T1_F"
		if strings.EqualFold(w, "deg") && i+1 < len(words) {
			w += words[i+1]
		}
		u, ok := unitWord(w)
		if ok && (lone || strings.ContainsAny(w, "°º℃℉µμ") || len(w) > 3 && !strings.EqualFold(w, "strain")) {
			return u, true
		}
	}
	return Unit{}, false
}

func unitWord(s string) (Unit, bool) {
	f := fold(s)
	for _, u := range units {
		for _, w := range u.words {
			if f == fold(w) {
				return u, true
			}
		}
	}
	return Unit{}, false
}

// name takes names and units of the columns from the header.
func (g *guess) name() {
	m := &g.m
	known := make([]bool, len(m.Values))
	for i := m.Header; i >= 1; i-- {
		f, ok := fields(nil, append([]byte(nil), g.text[i-1]...), m.Separator[0])
		if !ok || len(f) < 2 {
			continue
		}
		found, exact := 0, 0
		for _, c := range m.Values {
			if c.Index <= len(f) {
				if _, ok := unitOf(string(f[c.Index-1]), true); ok {
					exact++
				}
				if len(f[c.Index-1]) > 0 {
					found++
				}
			}
		}
		switch {
		case m.Units == 0 && m.Names == 0 && exact > 0 && exact*2 >= found:
			m.Units = i
		case m.Names == 0 && found > 0 && !onlyWords(f, m.Values, "avg", "smp", "max", "min", "std", "tot", "med"):
			m.Names = i
		default:
			continue
		}
		for k := range m.Values {
			c := &m.Values[k]
			if c.Index > len(f) {
				continue
			}
			cell := string(f[c.Index-1])
			if m.Names == i {
				c.Name = clip([]byte(cell))
			}
			if u, ok := unitOf(cell, m.Units == i); ok && !known[k] {
				c.Unit, known[k] = u.Name, true
			}
		}
		if m.Names > 0 {
			g.clockWords(f)
			break
		}
	}
	for k := range m.Values {
		c := &m.Values[k]
		if c.Name == "" {
			c.Name = fmt.Sprintf("column %d", c.Index)
		}
		if !known[k] {
			if u, ok := g.unitInCells(c.Index); ok {
				c.Unit, known[k] = u.Name, true
			}
		}
		if !known[k] {
			g.doubt(fmt.Sprintf("values.%d.unit", k), "the file does not say in what unit "+columnTitle(*c)+" is; say it", "", "C", "F")
		}
	}
	if len(m.Values) > 1 {
		g.doubt("values", fmt.Sprintf("the file has %d columns of numbers; choose those to read", len(m.Values)))
	}
}

// onlyWords reports whether a header line holds nothing but some words for the
// columns: the way in which each value was formed.
func onlyWords(f [][]byte, cols []Column, words ...string) bool {
	for _, c := range cols {
		if c.Index <= len(f) && len(f[c.Index-1]) > 0 && !oneOf(strings.ToLower(string(f[c.Index-1])), words) {
			return false
		}
	}
	return true
}

func (g *guess) unitInCells(c int) (Unit, bool) {
	for _, f := range g.rows {
		if c <= len(f) {
			if _, rest, ok := number(f[c-1], g.m.Decimal[0]); ok && len(trim(rest)) > 0 {
				return unitOf(string(trim(rest)), true)
			}
		}
	}
	return Unit{}, false
}

// clockWords takes from the name of the time column what it says of its unit or zone.
func (g *guess) clockWords(names [][]byte) {
	c := &g.m.Clock
	if c.Index > len(names) {
		return
	}
	name := strings.ToLower(string(names[c.Index-1]))
	if c.Kind == ElapsedS {
		switch {
		case strings.Contains(name, "min"):
			c.Kind = ElapsedM
		case strings.Contains(name, "hour") || strings.Contains(name, "(h)") || strings.Contains(name, "[h]") || strings.Contains(name, "hrs"):
			c.Kind = ElapsedH
		case !strings.Contains(name, "sec") && !strings.Contains(name, "(s)") && !strings.Contains(name, "[s]"):
			g.doubt("clock.kind", "the first column is taken for elapsed seconds; say what it counts", ElapsedS, ElapsedM, ElapsedH)
		}
	}
	if c.Kind == Dates {
		for _, word := range []string{"utc", "gmt"} {
			if i := strings.Index(name, word); i >= 0 {
				rest := name[i:]
				if j := strings.IndexAny(rest, ")],; "); j >= 0 {
					rest = rest[:j]
				}
				if _, ok := Zone(rest); ok {
					c.Zone = strings.ToUpper(rest)
				}
			}
		}
	}
}

// zone asks for what the times leave open.
func (g *guess) zone() {
	c := &g.m.Clock
	switch c.Kind {
	case Dates:
		if c.Zone != "" {
			return
		}
		var day []byte
		if c.Time > 0 {
			day = g.rows[0][c.Time-1]
		}
		if w, ok := stamp(g.rows[0][c.Index-1], day, c.Order); !ok || !w.has {
			g.doubt("clock.zone", "the times carry no offset; name the zone of the logger's clock")
		}
	case Serial:
		g.doubt("clock.kind", "the first column is taken for a spreadsheet's count of days", Serial, ElapsedS, ElapsedM, ElapsedH)
		g.doubt("clock.zone", "the times carry no offset; name the zone of the logger's clock")
	case ElapsedS, ElapsedM, ElapsedH, ElapsedC:
		if g.m.Names == 0 && c.Kind == ElapsedS {
			g.doubt("clock.kind", "the first column is taken for elapsed seconds; say what it counts", ElapsedS, ElapsedM, ElapsedH)
		}
		g.doubt("clock.start", "the file counts from a start that it does not name; say when that was")
	}
}

// Row is one row of a Preview.
type Row struct {
	At     time.Time
	Line   int
	Values []float64
}
