// Package drawing makes the drawings of Endcast: the plan of a bridge with one
// mark an end, the elevation of a girder end with its loss map and its stud
// layout, and the small charts. Each is a figure with an SVG inside, drawn to
// scale, with text as text.
//
// Where things go is computed first, by plain functions from data to points that
// tests check with numbers; the templates only print those points. Coordinates
// are CSS pixels of the unscaled drawing, x to the right and y downward. Colors,
// weights of line and lettering are classes of static/css/drawing.css.
package drawing

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// point is a place on the sheet.
type point struct{ X, Y float64 }

// segment is a straight line.
type segment struct {
	X1, Y1, X2, Y2 float64
	Class          string
}

// outline is a path; Fill is a paint such as url(#pattern), "" for what the class says.
type outline struct{ D, Class, Fill string }

// label is a line of text. Anchor is "start", "middle" or "end"; Turn is in
// degrees clockwise about the anchor.
type label struct {
	X, Y   float64
	Text   string
	Class  string
	Anchor string
	Turn   float64
}

// box is an upright rectangle by its upper left corner.
type box struct{ X, Y, W, H float64 }

func (b box) right() float64  { return b.X + b.W }
func (b box) bottom() float64 { return b.Y + b.H }
func (b box) middle() point   { return point{b.X + b.W/2, b.Y + b.H/2} }

// span makes a box from two opposite corners in any order.
func span(x1, y1, x2, y2 float64) box {
	return box{math.Min(x1, x2), math.Min(y1, y2), math.Abs(x2 - x1), math.Abs(y2 - y1)}
}

// d is the box as the data of a path.
func (b box) d() string {
	return new(pen).move(b.X, b.Y).to(b.right(), b.Y).to(b.right(), b.bottom()).to(b.X, b.bottom()).close().String()
}

// n prints a coordinate with at most two decimals. What is no number prints as 0:
// a browser would drop the whole shape otherwise.
func n(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	var room [24]byte
	b := strconv.AppendFloat(room[:0], v, 'f', 2, 64)
	for b[len(b)-1] == '0' {
		b = b[:len(b)-1]
	}
	if b[len(b)-1] == '.' {
		b = b[:len(b)-1]
	}
	if string(b) == "-0" {
		return "0"
	}
	return string(b)
}

// mm prints a measure for a data attribute: the shortest text that reads back the
// same, empty for what is no number.
func mm(v float64) string {
	if !finite(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// at is the transform that moves a shape drawn about the origin to a place.
func at(x, y float64) string { return "translate(" + n(x) + " " + n(y) + ")" }

func turn(l label) string { return "rotate(" + n(l.Turn) + " " + n(l.X) + " " + n(l.Y) + ")" }

func viewBox(w, h float64) string { return "0 0 " + n(w) + " " + n(h) }

// pen writes the data of a path.
type pen struct{ b strings.Builder }

func (p *pen) op(c byte, vs ...float64) *pen {
	p.b.WriteByte(c)
	for i, v := range vs {
		s := n(v)
		if i > 0 && s[0] != '-' {
			p.b.WriteByte(' ')
		}
		p.b.WriteString(s)
	}
	return p
}

func (p *pen) move(x, y float64) *pen { return p.op('M', x, y) }
func (p *pen) to(x, y float64) *pen   { return p.op('L', x, y) }
func (p *pen) close() *pen            { p.b.WriteByte('Z'); return p }
func (p *pen) String() string         { return p.b.String() }

// circle adds a full circle.
func (p *pen) circle(x, y, r float64) *pen {
	return p.move(x-r, y).op('a', r, r, 0, 1, 0, 2*r, 0).op('a', r, r, 0, 1, 0, -2*r, 0).close()
}

// poly joins the points and closes the shape.
func poly(ps ...point) string {
	p := new(pen)
	for i, q := range ps {
		if i == 0 {
			p.move(q.X, q.Y)
			continue
		}
		p.to(q.X, q.Y)
	}
	return p.close().String()
}

// wide estimates the width of a text in pixels. The lettering of the drawings is
// narrowed; a figure of it takes 0.53 of its size, measured in a browser.
func wide(text string, size float64) float64 {
	return 0.53 * size * float64(utf8.RuneCountInString(text))
}

// clip shortens a text to the given number of characters.
func clip(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most-1]) + "…"
}

// ident makes a text fit for the id of an element.
func ident(text, otherwise string) string {
	out := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			return r
		}
		return -1
	}, text)
	if out == "" || out[0] == '-' || out[0] >= '0' && out[0] <= '9' {
		return otherwise + out
	}
	return out
}

// finite reports whether all values are numbers.
func finite(vs ...float64) bool {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
