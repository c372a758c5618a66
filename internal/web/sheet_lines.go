package web

import (
	"encoding/xml"
	"io"
	"strings"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
	"endcast/views/sheet"
	"endcast/views/ui"
)

// starts sorts what a part starts from into words, given values by origin, and
// what is computed before its first check.
func (e *endReader) starts(part *sheet.Part, ls []calc.Line) {
	for _, l := range ls {
		switch l.Kind {
		case calc.Remark:
			part.Notes = append(part.Notes, ui.Sentence(e.say(l.Note)))
		case calc.Computed:
			part.Derived = append(part.Derived, e.lines([]calc.Line{l}, calc.Clause{})...)
		default:
			part.Starts = given(part.Starts, l.Origin, sheet.Line{Name: l.Name, Working: l.SubstitutionMathML(e.sys)})
		}
	}
}

// given puts a value to those of the same origin.
func given(groups []sheet.Given, origin string, l sheet.Line) []sheet.Given {
	for i := range groups {
		if groups[i].Origin == origin {
			groups[i].Lines = append(groups[i].Lines, l)
			return groups
		}
	}
	return append(groups, sheet.Given{Origin: origin, Lines: []sheet.Line{l}})
}

// lines turns the working into lines of print. The clause of a line is left out
// where it is that of the check, which prints it over them.
func (e *endReader) lines(ls []calc.Line, over calc.Clause) []sheet.Line {
	var out []sheet.Line
	for _, l := range ls {
		row := sheet.Line{Name: l.Name, Origin: l.Origin}
		switch {
		case l.Kind == calc.Remark:
			row = sheet.Line{Note: ui.Sentence(e.say(l.Note))}
		case l.Kind == calc.Computed && l.Formula != nil:
			row.Formula, row.Working = l.Formula.MathML(), l.WorkingMathML(e.sys)
			if l.Clause != over && l.Clause.Document != "" {
				row.Origin = clauseText(l.Clause)
			}
		default:
			row.Working = l.SubstitutionMathML(e.sys)
		}
		row.Fit = fit(row)
		out = append(out, row)
	}
	return out
}

// say gives the words of a rule in the units of the reader.
func (e *endReader) say(text string) string { return units.Reword(text, e.sys) }

// sayAll is say for a list.
func (e *endReader) sayAll(list []string) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = e.say(s)
	}
	return out
}

// clauseText is a clause with how well it is confirmed.
func clauseText(c calc.Clause) string {
	if tag := tagText(c.Tag); tag != "" {
		return c.String() + " (" + tag + ")"
	}
	return c.String()
}

// Room for the mathematics of a line beside its name, and the gap between formula
// and numbers, in ems of its own type.
const (
	roomBeside = 45.0
	roomGap    = 1.5
)

// fit says how a line is set: formula and numbers in one row, the numbers under
// the formula, or both across the whole sheet.
func fit(l sheet.Line) string {
	f, w := mathWidth(l.Formula), mathWidth(l.Working)
	switch {
	case l.Note != "":
		return ""
	case f+roomGap+w <= roomBeside:
		return "one-row"
	case max(f, w) <= roomBeside:
		return "two-rows"
	}
	return "across"
}

// mathWidth estimates the width of a formula in ems, a little on the wide side.
// It never fails: what it cannot read counts as its length in characters.
func mathWidth(math string) float64 {
	d := xml.NewDecoder(strings.NewReader(math))
	type part struct {
		name       string
		wide, tall float64 // sum, and widest
		kids       int
	}
	stack := []part{{name: "mrow"}}
	put := func(w float64) {
		top := &stack[len(stack)-1]
		if top.kids++; top.kids > 1 && (top.name == "msub" || top.name == "msup" || top.name == "msubsup") {
			w *= 0.72
		}
		top.wide, top.tall = top.wide+w, max(top.tall, w)
	}
	for {
		tok, err := d.Token()
		if err != nil {
			if err != io.EOF {
				return float64(len([]rune(math))) / 2
			}
			return stack[0].wide
		}
		switch x := tok.(type) {
		case xml.StartElement:
			stack = append(stack, part{name: x.Name.Local})
		case xml.EndElement:
			p := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			switch p.name {
			case "mfrac", "mtable":
				put(p.tall + 0.3)
			case "msqrt":
				put(p.wide + 0.8)
			case "mtd":
				put(p.wide + 0.8)
			default:
				put(p.wide)
			}
		case xml.CharData:
			put(glyphs(stack[len(stack)-1].name, string(x)))
		}
	}
}

// glyphs estimates the width of the text of one element.
func glyphs(in, text string) float64 {
	n := float64(len([]rune(text)))
	switch {
	case in == "mo" && strings.ContainsAny(text, "\u2061\u2062"):
		return 0.1
	case in == "mo" && strings.ContainsAny(text, "=+−×"):
		return 1.15
	case in == "mo":
		return 0.45 * n
	}
	return 0.56 * n
}
