// Package loads shows what a girder end must carry and by what: the vehicles, the
// loads of a span and the demand of an end, each with its drawing and the table
// beside it.
package loads

import (
	"math"
	"strconv"
	"strings"
)

// Figure is a drawing made of plain shapes, in pixels with y down.
type Figure struct {
	ID            string
	Title, Desc   string
	Caption, Note string
	Width, Height float64
	shapes        []shape
}

type shape struct {
	kind, class    string
	x1, y1, x2, y2 float64
	text, anchor   string
}

func (f *Figure) line(class string, x1, y1, x2, y2 float64) {
	f.shapes = append(f.shapes, shape{kind: "line", class: class, x1: x1, y1: y1, x2: x2, y2: y2})
}

func (f *Figure) rect(class string, x, y, w, h float64) {
	f.shapes = append(f.shapes, shape{kind: "rect", class: class, x1: x, y1: y, x2: math.Max(w, 0), y2: math.Max(h, 0)})
}

func (f *Figure) circle(class string, x, y, r float64) {
	f.shapes = append(f.shapes, shape{kind: "circle", class: class, x1: x, y1: y, x2: r})
}

func (f *Figure) path(class, d string) {
	f.shapes = append(f.shapes, shape{kind: "path", class: class, text: d})
}

func (f *Figure) label(class, anchor string, x, y float64, text string) {
	f.shapes = append(f.shapes, shape{kind: "text", class: class, anchor: anchor, x1: x, y1: y, text: text})
}

// down is an arrow from y1 down to its point at y2.
func (f *Figure) down(class string, x, y1, y2 float64) {
	f.line(class, x, y1, x, y2-5)
	f.path("solid", poly(true, x, y2, x-3.2, y2-8, x+3.2, y2-8))
}

// up is an arrow from y1 up to its point at y2.
func (f *Figure) up(class string, x, y1, y2 float64) {
	f.line(class, x, y1, x, y2+5)
	f.path("solid", poly(true, x, y2, x-3.2, y2+8, x+3.2, y2+8))
}

// dim is a dimension line with its text over it.
func (f *Figure) dim(x1, x2, y float64, text string) {
	f.line("dim", x1, y, x2, y)
	for _, x := range [2]float64{x1, x2} {
		f.line("dim slash", x-3, y+3, x+3, y-3)
	}
	if text != "" {
		f.label("lbl halo", "middle", (x1+x2)/2, y-4, text)
	}
}

// poly is a path through points given as x, y, x, y and so on.
func poly(closed bool, xy ...float64) string {
	var b strings.Builder
	for i := 0; i+1 < len(xy); i += 2 {
		if i == 0 {
			b.WriteByte('M')
		} else {
			b.WriteByte('L')
		}
		b.WriteString(px(xy[i]) + " " + px(xy[i+1]))
	}
	if closed {
		b.WriteByte('Z')
	}
	return b.String()
}

func px(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

func (f Figure) viewBox() string { return "0 0 " + px(f.Width) + " " + px(f.Height) }
