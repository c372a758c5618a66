package drawing

import "math"

const defaultOverhang = 914.4 // 3 ft; common practice, no source

// bridge is the cleaned-up geometry of a plan, in mm.
type bridge struct {
	station []float64 // of each support
	tan     []float64 // shift ahead of the bearing line for each mm to the right
	spans   []Span
	over    float64
	spacing float64 // least girder spacing
	short   float64 // least span
	half    float64 // greatest half width of the deck
}

// measure takes stations where they rise from support to support, and lengths of
// spans otherwise, so that half-entered data still give a drawing.
func measure(d PlanData) bridge {
	b := bridge{over: float64(d.Overhang), spacing: math.Inf(1), short: math.Inf(1)}
	if !(b.over > 0) || !finite(b.over) {
		b.over = defaultOverhang
	}
	count := min(len(d.Supports)-1, len(d.Spans))
	if count < 1 {
		return b
	}
	b.spans = d.Spans[:count]
	rising := true
	for i := range count {
		a, c := float64(d.Supports[i].Station), float64(d.Supports[i+1].Station)
		rising = rising && finite(a, c) && c > a
	}
	for i, s := range d.Supports[:count+1] {
		switch {
		case rising:
			b.station = append(b.station, float64(s.Station))
		case i == 0:
			b.station = append(b.station, 0)
		default:
			l := float64(b.spans[i-1].Length)
			if !(l > 0) || !finite(l) {
				l = 20000 // a span nobody has measured yet still needs a place
			}
			b.station = append(b.station, b.station[i-1]+l)
		}
		t := 0.0
		if a := float64(s.Skew); finite(a) && math.Abs(a) <= 75 {
			t = math.Tan(a * math.Pi / 180)
		}
		b.tan = append(b.tan, t)
	}
	for i := range b.spans {
		b.short = min(b.short, b.station[i+1]-b.station[i])
		b.spacing = min(b.spacing, b.pitch(i))
		b.half = max(b.half, b.deck(i))
	}
	return b
}

// pitch is the girder spacing of a span.
func (b bridge) pitch(span int) float64 {
	s := float64(b.spans[span].Spacing)
	if !(s > 0) || !finite(s) {
		return 2000
	}
	return s
}

// across is how far a girder line stands right of the middle.
func (b bridge) across(span, girder int) float64 {
	return (float64(girder) - float64(b.spans[span].Girders+1)/2) * b.pitch(span)
}

// deck is the half width of the deck over a span.
func (b bridge) deck(span int) float64 {
	return float64(max(b.spans[span].Girders, 1)-1)/2*b.pitch(span) + b.over
}

// at is the station of the bearing line at a distance right of the middle.
func (b bridge) at(support int, across float64) float64 {
	return b.station[support] + across*b.tan[support]
}

// reach is how far the skewed lines of a strip stand out beyond its supports.
func (b bridge) reach(from, to int) (before, after float64) {
	for i := from; i <= to; i++ {
		skew := b.half * math.Abs(b.tan[i])
		before = max(before, skew-(b.station[i]-b.station[from]))
		after = max(after, skew-(b.station[to]-b.station[i]))
	}
	return before, after
}

// lengths are those of all strips: lengths[i][j] runs from support i to support j.
func (b bridge) lengths() [][]float64 {
	out := make([][]float64, len(b.station))
	for i := range out {
		out[i] = make([]float64, len(b.station))
		before, after := math.Inf(-1), math.Inf(-1)
		for j := i; j < len(out); j++ {
			skew := b.half * math.Abs(b.tan[j])
			before, after = max(before, skew-b.station[j]), max(after, skew+b.station[j])
			out[i][j] = before + after
		}
	}
	return out
}

func (b bridge) length(from, to int) float64 {
	before, after := b.reach(from, to)
	return b.station[to] - b.station[from] + before + after
}

// pack cuts the bridge into the given number of strips of nearly equal length and
// returns the supports at which they begin and end. A cut at a continuous support
// counts as a strip eight percent longer, so that joints are preferred.
func (b bridge) pack(strips int) (cuts []int, longest float64) {
	count := len(b.spans)
	lengths := b.lengths()
	cost := func(from, to int) float64 {
		l := lengths[from][to]
		if from > 0 && b.spans[from-1].Continuous {
			l *= 1.08
		}
		return l
	}
	best := make([][]float64, strips+1) // best[k][i]: longest of k strips up to support i
	from := make([][]int, strips+1)
	for k := range best {
		best[k] = make([]float64, count+1)
		from[k] = make([]int, count+1)
		for i := range best[k] {
			best[k][i] = math.Inf(1)
		}
	}
	best[0][0] = 0
	for k := 1; k <= strips; k++ {
		for i := k; i <= count; i++ {
			for j := k - 1; j < i; j++ {
				if c := max(best[k-1][j], cost(j, i)); c < best[k][i] {
					best[k][i], from[k][i] = c, j
				}
			}
		}
	}
	cuts = []int{count}
	for k, i := strips, count; k > 0; k-- {
		i = from[k][i]
		cuts = append([]int{i}, cuts...)
	}
	for i := range strips {
		longest = max(longest, b.length(cuts[i], cuts[i+1]))
	}
	return cuts, longest
}

// fewest counts the strips needed when none may be longer than most, which at
// least one span must fit.
func (b bridge) fewest(most float64) int {
	strips, from := 1, 0
	for to := 1; to <= len(b.spans); to++ {
		if to-from > 1 && b.length(from, to) > most {
			strips++
			from = to - 1
		}
	}
	return strips
}

// fit chooses the scale in pixels a mm and the cuts: the fewest strips at which
// marks keep their distance, drawn as large as those strips allow.
func (b bridge) fit(room, target, setback float64, bars bool) (scale float64, cuts []int) {
	need := max(target/b.spacing, (2*setback+target)/b.short)
	most := max(widestMark, target) / b.spacing
	if bars {
		need = (2*barSetback + barWidth + 8) / b.short
		most = max(need, 0.02)
	}
	strips := b.fewest(room / need)
	cuts, longest := b.pack(strips)
	return max(need, min(room/longest, max(most, need))), cuts
}
