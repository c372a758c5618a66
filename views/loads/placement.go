package loads

import (
	"fmt"
	"math"
)

// PlacementData is where a vehicle stands when it gives most at a girder end; lengths
// in any unit.
type PlacementData struct {
	ID, End, Load string
	Span          float64
	SpanText      string
	Far           bool // the bearing is at the right
	At            []float64
	Figures       []string // axle loads as printed
	Distances     []string // from the bearing
	Ordinates     []string // of the influence line
	Lane          string   // lane load as printed; "" for none
	Reaction      string
	Gone          int // axles off the span
}

// Placed draws the axles on the span over the influence line of the end reaction.
func Placed(d PlacementData) Figure {
	const left, right, beam, base, high = 80.0, 80.0, 108.0, 284.0, 74.0
	f := Figure{ID: d.ID, Title: "Governing place of " + d.Load + " for " + d.End, Width: 920, Height: 300}
	long := f.Width - left - right
	x := func(at float64) float64 {
		p := at / math.Max(d.Span, 1) * long
		if d.Far {
			return f.Width - right - p
		}
		return left + p
	}
	if d.Lane != "" {
		f.rect("lane-load", left, beam-12, long, 8)
		f.label("quiet", "middle", (left+f.Width-right)/2, beam-18, d.Lane)
	}
	f.line("beam", left, beam, f.Width-right, beam)
	for _, s := range [2]float64{left, f.Width - right} {
		f.path("support", poly(true, s, beam+2, s-9, beam+17, s+9, beam+17))
	}
	f.up("reaction", x(0), beam+56, beam+19)
	f.label("strong", "middle", x(0), beam+72, d.Reaction)
	f.path("influence", poly(true, x(0), base-high, x(d.Span), base, x(0), base))
	f.label("quiet", "middle", x(d.Span*0.62), base+18, "influence line of the reaction")
	last, up := math.Inf(-1), 0
	order := make([]int, 0, len(d.At))
	for i, at := range d.At {
		if at >= 0 && at <= d.Span {
			order = append(order, i)
		}
	}
	for a := range order { // from left to right, so that figures keep clear of each other
		for b := a + 1; b < len(order); b++ {
			if x(d.At[order[b]]) < x(d.At[order[a]]) {
				order[a], order[b] = order[b], order[a]
			}
		}
	}
	for _, i := range order {
		px := x(d.At[i])
		if px-last < 46 {
			up = (up + 1) % 3
		} else {
			up = 0
		}
		last = px
		top := beam - 60 - float64(up)*13
		f.down("axle", px, top, beam-1)
		f.label("lbl halo", "middle", px, top-4, d.Figures[i])
		y := base - high*(1-d.At[i]/math.Max(d.Span, 1))
		f.line("ordinate", px, base, px, y)
		anchor, shift := "start", 4.0
		if d.Far {
			anchor, shift = "end", -4
		}
		f.label("quiet halo", anchor, px+shift, y-5-float64(up)*12, d.Ordinates[i])
		if d.At[i] > 0 {
			f.label("quiet", "middle", px, base+18+float64(up)*13, d.Distances[i])
		}
	}
	f.dim(left, f.Width-right, base+44, d.SpanText)
	f.Height = base + 58
	f.Desc = fmt.Sprintf("Span %s. Axles on the span, each with its distance from the bearing and the ordinate of the influence line:", d.SpanText)
	for _, i := range order {
		f.Desc += fmt.Sprintf(" %s at %s, ordinate %s;", d.Figures[i], d.Distances[i], d.Ordinates[i])
	}
	f.Desc += " reaction " + d.Reaction + "."
	if d.Gone > 0 {
		f.Note = fmt.Sprintf("%d of its axles stand off the span.", d.Gone)
	}
	return f
}
