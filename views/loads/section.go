package loads

import (
	"fmt"
	"math"
)

// SectionData is the cross section of a span, lengths in mm, seen ahead station.
type SectionData struct {
	ID, Span                    string
	Girders                     int
	Spacing                     float64
	Depth, Flange, TopFlange    float64
	Web, FlangeThick            float64
	Known                       bool // the deck is on record
	Deck, Haunch                float64
	OverLeft, OverRight         float64
	EdgeLeft, EdgeRight         float64
	Lanes                       int
	LaneWidth                   float64
	SpacingText, RoadwayText    string
	OverLeftText, OverRightText string
	EdgeLeftText, EdgeRightText string
	DeckText, LaneText          string
}

// Section draws the cross section to scale: girders, deck, curbs and the lanes that
// are loaded. Curbs are as high as a barrier commonly is, which nobody entered.
func Section(d SectionData) Figure {
	const left, right, barrier = 70.0, 70.0, 810.0
	f := Figure{ID: d.ID, Title: "Cross section of " + d.Span, Width: 920}
	outer := float64(d.Girders-1) * d.Spacing
	total := outer + d.OverLeft + d.OverRight
	if !d.Known {
		total = outer + 2*d.Spacing*0.4
	}
	scale := math.Min((f.Width-left-right)/math.Max(total, 1), 0.09)
	start := (f.Width - total*scale) / 2
	first := start + d.OverLeft*scale
	if !d.Known {
		first = start + d.Spacing*0.4*scale
	}
	at := func(i int) float64 { return first + float64(i)*d.Spacing*scale }
	last := at(d.Girders - 1)
	deckTop := 112.0
	steel := deckTop
	if d.Known {
		steel += (d.Deck + d.Haunch) * scale
		f.deck(d, scale, first, last, deckTop, barrier)
	}
	depth := math.Max(d.Depth, 400) * scale
	for i := range d.Girders {
		f.iron(d, at(i), steel, depth, scale)
		if d.Known && d.Haunch > 0 {
			w := d.TopFlange * scale
			f.rect("slab", at(i)-w/2, deckTop+d.Deck*scale, w, d.Haunch*scale)
		}
		f.label("strong", "middle", at(i), steel+depth+18, fmt.Sprintf("%d", i+1))
	}
	y := steel + depth + 44
	for i := range d.Girders {
		f.line("ext", at(i), steel+depth+24, at(i), y+6)
	}
	for i := 1; i < d.Girders; i++ {
		text := ""
		if i == 1 {
			text = d.SpacingText
		}
		f.dim(at(i-1), at(i), y, text)
	}
	if d.Known {
		f.line("ext", start, deckTop+d.Deck*scale+6, start, y+6)
		f.line("ext", start+total*scale, deckTop+d.Deck*scale+6, start+total*scale, y+6)
		f.dim(start, first, y, "")
		f.dim(last, start+total*scale, y, "")
		f.label("lbl", "end", math.Max(start, 40)-6, y+4, d.OverLeftText)
		f.label("lbl", "start", start+total*scale+8, y+4, d.OverRightText)
	}
	f.Height = y + 18
	f.Desc = d.words()
	return f
}

// iron is one girder, cut.
func (f *Figure) iron(d SectionData, x, top, depth, scale float64) {
	tf := math.Max(d.FlangeThick*scale, 2.2)
	tw := math.Max(d.Web*scale, 1.8)
	wide, over := math.Max(d.Flange*scale, 10), math.Max(d.TopFlange*scale, 10)
	f.rect("steel-cut", x-over/2, top, over, tf)
	f.rect("steel-cut", x-wide/2, top+depth-tf, wide, tf)
	f.rect("steel-cut", x-tw/2, top+tf, tw, depth-2*tf)
}

// deck is the slab with its curbs, the roadway between them and its lanes.
func (f *Figure) deck(d SectionData, scale, first, last, top, barrier float64) {
	l, r := first-d.OverLeft*scale, last+d.OverRight*scale
	cl, cr := first-d.EdgeLeft*scale, last+d.EdgeRight*scale
	high := barrier * scale
	f.rect("slab", l, top, r-l, math.Max(d.Deck*scale, 3))
	for _, c := range [2][2]float64{{l, cl}, {cr, r}} {
		if c[1]-c[0] > 0.5 {
			f.rect("curb", c[0], top-high, c[1]-c[0], high)
		}
	}
	y := top - high - 16
	f.line("ext", cl, top-2, cl, y-6)
	f.line("ext", cr, top-2, cr, y-6)
	f.dim(cl, cr, y, d.RoadwayText)
	if d.Lanes > 0 {
		each := math.Min(d.LaneWidth*scale, (cr-cl)/float64(d.Lanes))
		from := (cl+cr)/2 - each*float64(d.Lanes)/2
		for i := range d.Lanes + 1 {
			f.line("lane-edge", from+float64(i)*each, top-high*0.8, from+float64(i)*each, top)
		}
		for i := range d.Lanes {
			f.label("quiet", "middle", from+(float64(i)+0.5)*each, top-8, fmt.Sprintf("lane %d", i+1))
		}
	}
	for _, g := range [2]struct {
		web, curb float64
		text      string
	}{{first, cl, d.EdgeLeftText}, {last, cr, d.EdgeRightText}} {
		f.line("center", g.web, top-high*0.45, g.web, top)
		f.label("quiet", "middle", (g.web+g.curb)/2, top-high-34, g.text)
	}
	f.label("lbl", "start", r+8, top+d.Deck*scale/2+4, "deck "+d.DeckText)
}

func (d SectionData) words() string {
	out := fmt.Sprintf("Seen ahead station, girder 1 on the left: %d girders, spacing %s.", d.Girders, d.SpacingText)
	if d.Known {
		out += fmt.Sprintf(" Deck %s, overhangs %s and %s, web of the outer girder to the curb %s on the left and %s on the right, roadway %s, lanes loaded %d.",
			d.DeckText, d.OverLeftText, d.OverRightText, d.EdgeLeftText, d.EdgeRightText, d.RoadwayText, d.Lanes)
	}
	return out
}
