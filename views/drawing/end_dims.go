package drawing

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"endcast/internal/domain/units"
)

// measureText prints a length for a dimension, without idle zeros: two decimals of
// an inch, three below one inch, one of a millimeter. The unit stands in the note.
func measureText(v float64, sys units.System) string {
	digits := 2
	switch {
	case sys == units.SI:
		digits = 1
	case math.Abs(v) < float64(units.Inch):
		digits = 3
	}
	s := units.Lengths.Figure(v, sys, digits)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// link is one part of a chain of dimensions.
type link struct {
	a, b float64
	text string
}

// chain makes the parts between sorted marks. Equal parts that follow each other
// join to "4 @ 3", the way a draftsman writes them.
func chain(marks []float64, sys units.System) []link {
	var out []link
	for i := 1; i < len(marks); {
		pitch := marks[i] - marks[i-1]
		j := i
		for j+1 < len(marks) && math.Abs(marks[j+1]-marks[j]-pitch) < 0.5 {
			j++
		}
		text := measureText(pitch, sys)
		if k := j - i + 1; k > 1 {
			text = strconv.Itoa(k) + " @ " + text
		}
		out = append(out, link{marks[i-1], marks[j], text})
		i = j + 1
	}
	return out
}

// edged is the chain from a first edge over some sorted marks to a last edge. The
// distances to the edges never join the equal spacings between.
func edged(first float64, marks []float64, last float64, sys units.System) []link {
	var out []link
	if len(marks) == 0 {
		return chain(distinct([]float64{first, last}, 0.5), sys)
	}
	out = append(out, chain(distinct([]float64{first, marks[0]}, 0.5), sys)...)
	out = append(out, chain(marks, sys)...)
	if last > marks[len(marks)-1]+0.5 {
		out = append(out, chain([]float64{marks[len(marks)-1], last}, sys)...)
	}
	return out
}

// distinct sorts values and drops those within tol of the one before.
func distinct(vs []float64, tol float64) []float64 {
	vs = slices.Clone(vs)
	slices.Sort(vs)
	return slices.CompactFunc(vs, func(a, b float64) bool { return math.Abs(b-a) < tol })
}

// chainAcross draws a chain along the sheet at the height y, with lines down to
// foot; place turns mm into pixels. A text that does not fit is lifted over its
// neighbor.
func (l *endLayout) chainAcross(parts []link, y, foot float64, place func(float64) float64) {
	lifted := false
	for i, p := range parts {
		a, b := place(p.a), place(p.b)
		if i == 0 {
			l.lines = append(l.lines, segment{a, foot, a, beyond(y, foot), "ext"})
		}
		l.lines = append(l.lines, segment{b, foot, b, beyond(y, foot), "ext"},
			segment{a, y, b, y, "dim"}, slash(a, y))
		at := y - 4
		if lifted = wide(p.text, 11.5)+6 > math.Abs(b-a) && !lifted; lifted {
			at = y - 15
		}
		l.texts = append(l.texts, label{X: (a + b) / 2, Y: at, Text: p.text, Class: "lbl halo", Anchor: "middle"})
	}
	if k := len(parts); k > 0 {
		l.lines = append(l.lines, slash(place(parts[k-1].b), y))
	}
}

// chainUp draws a chain along z at the place x, with lines to foot. The text
// reads from the right-hand side of the sheet.
func (l *endLayout) chainUp(parts []link, x, foot float64) {
	lifted := false
	for i, p := range parts {
		a, b := l.z(p.a), l.z(p.b)
		if i == 0 {
			l.lines = append(l.lines, segment{foot, a, beyond(x, foot), a, "ext"})
		}
		l.lines = append(l.lines, segment{foot, b, beyond(x, foot), b, "ext"},
			segment{x, a, x, b, "dim"}, slash(x, a))
		at := x - 4
		if lifted = wide(p.text, 11.5)+6 > math.Abs(b-a) && !lifted; lifted {
			at = x + 12
		}
		l.texts = append(l.texts, label{X: at, Y: (a + b) / 2, Text: p.text, Class: "lbl halo", Anchor: "middle", Turn: -90})
	}
	if k := len(parts); k > 0 {
		l.lines = append(l.lines, slash(x, l.z(parts[k-1].b)))
	}
}

// beyond is the end of an extension line: five pixels past its dimension.
func beyond(at, foot float64) float64 {
	if at < foot {
		return at - 5
	}
	return at + 5
}
