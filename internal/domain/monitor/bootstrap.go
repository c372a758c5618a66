package monitor

import (
	"cmp"
	"math"
	"slices"
)

// Interval is a value with its 95 percent interval. Without enough to draw from Low
// and High are NaN.
type Interval struct {
	Value, Low, High float64
	N                int // values behind it
	Blocks           int // days, hours or passages that were drawn, of the smaller side
}

// known tells whether the interval has ends.
func (i Interval) known() bool { return i.Low == i.Low && i.High == i.High }

// none is an interval of nothing.
var none = Interval{Value: math.NaN(), Low: math.NaN(), High: math.NaN()}

// Blocked are values that come in blocks which are alike inside: the passages of
// one day. Resampling whole blocks keeps what they have in common.
type Blocked struct {
	values []float64 // rising
	block  []int     // of each value, from 0
	blocks int
	sizes  []int // of the blocks
}

// Block sorts values into blocks by key; NaN is left out. values and keys are of
// one length.
func Block(values []float64, keys []int64) Blocked {
	type pair struct {
		v float64
		k int64
	}
	pairs := make([]pair, 0, len(values))
	for i, v := range values {
		if v == v {
			pairs = append(pairs, pair{v, keys[i]})
		}
	}
	slices.SortFunc(pairs, func(a, b pair) int { return cmp.Or(cmp.Compare(a.v, b.v), cmp.Compare(a.k, b.k)) })
	known := make([]int64, 0, len(pairs))
	for _, p := range pairs {
		known = append(known, p.k)
	}
	slices.Sort(known) // blocks are numbered by key, whatever their values: the draw is the same for every statistic
	known = slices.Compact(known)
	b := Blocked{values: make([]float64, len(pairs)), block: make([]int, len(pairs)), blocks: len(known), sizes: make([]int, len(known))}
	for i, p := range pairs {
		b.values[i] = p.v
		b.block[i], _ = slices.BinarySearch(known, p.k)
		b.sizes[b.block[i]]++
	}
	return b
}

// Each makes a block of every value.
func Each(values []float64) Blocked {
	keys := make([]int64, len(values))
	for i := range keys {
		keys[i] = int64(i)
	}
	return Block(values, keys)
}

// Len is how many values there are.
func (b Blocked) Len() int { return len(b.values) }

// Blocks is how many blocks hold values.
func (b Blocked) Blocks() int { return b.blocks }

// Percentile is that of all values, type 7.
func (b Blocked) Percentile(p float64) float64 { return percentileSorted(b.values, p) }

// draw fills times with how often each block is drawn, as many as there are.
func (b Blocked) draw(d *Draw, times []int) {
	clear(times)
	for range times {
		times[d.Index(len(times))]++
	}
}

// drawn is the percentile of the resample that takes each block so many times.
func (b Blocked) drawn(times []int, p float64) float64 {
	n := 0
	for k, w := range times {
		n += w * b.sizes[k]
	}
	h := float64(n-1) * p
	at := int(h)
	seen := 0
	for i, k := range b.block {
		seen += times[k]
		if seen <= at {
			continue
		}
		if f := h - float64(at); f > 0 && seen == at+1 { // the next one is another value
			for j := i + 1; j < len(b.block); j++ {
				if times[b.block[j]] > 0 {
					return between(b.values[i], b.values[j], f)
				}
			}
		}
		return b.values[i]
	}
	return math.NaN()
}

// Resampling says how an interval is drawn. The same seed gives the same interval.
type Resampling struct {
	Times int
	Seed  uint64
	Least int // fewest blocks of either side; below it an interval has no ends
}

// RatioOf is the percentile p of a over that of b, with its percentile interval:
// each time the blocks of a, then those of b, are drawn with replacement (Efron,
// Annals of Statistics 7, 1979).
func (r Resampling) RatioOf(a, b Blocked, p float64) Interval {
	if a.Len() == 0 || b.Len() == 0 {
		return none
	}
	out := Interval{Value: a.Percentile(p) / b.Percentile(p), Low: math.NaN(), High: math.NaN(), N: min(a.Len(), b.Len()), Blocks: min(a.blocks, b.blocks)}
	d, ta, tb := NewDraw(r.Seed), make([]int, a.blocks), make([]int, b.blocks)
	r.fill(&out, func() float64 {
		a.draw(d, ta)
		b.draw(d, tb)
		return a.drawn(ta, p) / b.drawn(tb, p)
	})
	return out
}

// Of is the percentile p of a with its interval. shift may change each drawn value,
// for what else is not known exactly; nil for nothing.
func (r Resampling) Of(a Blocked, p float64, shift func(value float64, d *Draw) float64) Interval {
	if a.Len() == 0 {
		return none
	}
	out := Interval{Value: a.Percentile(p), Low: math.NaN(), High: math.NaN(), N: a.Len(), Blocks: a.blocks}
	d, t := NewDraw(r.Seed), make([]int, a.blocks)
	r.fill(&out, func() float64 {
		a.draw(d, t)
		v := a.drawn(t, p)
		if shift != nil {
			v = shift(v, d)
		}
		return v
	})
	return out
}

// Part is how many of the values are not zero, as a part, with its interval.
func (r Resampling) Part(a Blocked) Interval {
	if a.Len() == 0 {
		return none
	}
	hits := make([]float64, a.blocks)
	all := 0.0
	for i, k := range a.block {
		if a.values[i] != 0 {
			hits[k]++
			all++
		}
	}
	out := Interval{Value: all / float64(a.Len()), Low: math.NaN(), High: math.NaN(), N: a.Len(), Blocks: a.blocks}
	d, t := NewDraw(r.Seed), make([]int, a.blocks)
	r.fill(&out, func() float64 {
		a.draw(d, t)
		h, n := 0.0, 0.0
		for k, w := range t {
			h, n = h+float64(w)*hits[k], n+float64(w*a.sizes[k])
		}
		return h / n
	})
	return out
}

// fill sets the ends from so many draws.
func (r Resampling) fill(out *Interval, draw func() float64) {
	if r.Times < 1 || out.Blocks < max(1, r.Least) {
		return
	}
	v := make([]float64, r.Times)
	for i := range v {
		v[i] = draw()
	}
	out.Low, out.High = Percentile(v, 0.025), Percentile(v, 0.975)
}
