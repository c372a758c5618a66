package monitor

import "math"

// Bin is a span of samples in a picture: what it reaches, so that no peak is lost
// however far one zooms out.
type Bin struct {
	Min, Max float64 // NaN where no sample holds a number
	N        int     // samples that hold one
}

// nothing is a bin of no samples.
var nothing = Bin{Min: math.NaN(), Max: math.NaN()}

// with is the bin of both.
func (b Bin) with(o Bin) Bin {
	switch {
	case b.N == 0:
		return o
	case o.N == 0:
		return b
	}
	return Bin{Min: min(b.Min, o.Min), Max: max(b.Max, o.Max), N: b.N + o.N}
}

// of is the bin of samples; a value that is no finite number counts as missing.
func of(samples []float64) Bin {
	out := nothing
	for _, v := range samples {
		if v != v || math.IsInf(v, 0) {
			continue
		}
		if out.N == 0 {
			out.Min, out.Max = v, v
		}
		out.Min, out.Max, out.N = min(out.Min, v), max(out.Max, v), out.N+1
	}
	return out
}

// Thin divides samples into at most so many bins of nearly one width, in order.
func Thin(samples []float64, bins int) []Bin {
	bins = min(bins, len(samples))
	if bins < 1 {
		return nil
	}
	out := make([]Bin, bins)
	for i := range out {
		out[i] = of(samples[i*len(samples)/bins : (i+1)*len(samples)/bins])
	}
	return out
}

const (
	// pyramidBase is how many samples a bin of the lowest level holds.
	pyramidBase = 64
	// pyramidStep is how many bins make one of the next level.
	pyramidStep = 4
)

// Pyramid keeps the extremes of a channel at every scale, so that any part of
// millions of samples is drawn from a few bins. It takes a sixteenth of the space of
// the samples: 24 bytes for 64 of them and a third more for the levels above.
// The zero value is empty. Reading and adding must not happen at once.
type Pyramid struct {
	levels [][]Bin // only full bins
	rest   []float64
}

// Add appends samples.
func (p *Pyramid) Add(samples ...float64) {
	for len(samples) > 0 {
		n := min(len(samples), pyramidBase-len(p.rest))
		p.rest, samples = append(p.rest, samples[:n]...), samples[n:]
		if len(p.rest) == pyramidBase {
			p.push(0, of(p.rest))
			p.rest = p.rest[:0]
		}
	}
}

func (p *Pyramid) push(level int, b Bin) {
	if level == len(p.levels) {
		p.levels = append(p.levels, nil)
	}
	l := append(p.levels[level], b)
	p.levels[level] = l
	if len(l)%pyramidStep == 0 {
		sum := nothing
		for _, x := range l[len(l)-pyramidStep:] {
			sum = sum.with(x)
		}
		p.push(level+1, sum)
	}
}

// Len is how many samples were added.
func (p *Pyramid) Len() int {
	if len(p.levels) == 0 {
		return len(p.rest)
	}
	return len(p.levels[0])*pyramidBase + len(p.rest)
}

// View divides the samples from one to before another into at most so many bins. No
// extreme is lost. raw gives samples from and up to those asked for, for the ends of
// bins that lie inside one of the lowest level; with nil a bin takes in the whole of
// it, up to 63 samples of its neighbor.
func (p *Pyramid) View(from, to, bins int, raw func(from, to int) []float64) []Bin {
	from, to = max(0, from), min(to, p.Len())
	bins = min(bins, to-from)
	if bins < 1 {
		return nil
	}
	out := make([]Bin, bins)
	for i := range out {
		// Divided so that a long record times many bins stays within a word.
		width, rest := (to-from)/bins, (to-from)%bins
		out[i] = p.span(from+i*width+i*rest/bins, from+(i+1)*width+(i+1)*rest/bins, raw)
	}
	return out
}

// span is the bin of samples from a to before b.
func (p *Pyramid) span(a, b int, raw func(from, to int) []float64) Bin {
	out := nothing
	for a < b {
		level, size := p.widest(a, b)
		if level >= 0 {
			out = out.with(p.levels[level][a/size])
			a += size
			continue
		}
		stop := min(b, (a/pyramidBase+1)*pyramidBase)
		out = out.with(p.part(a, stop, raw))
		a = stop
	}
	return out
}

// widest is the highest level with a bin that begins at a and ends by b; -1 for none.
func (p *Pyramid) widest(a, b int) (level, size int) {
	level, size = -1, pyramidBase
	for l, s := 0, pyramidBase; l < len(p.levels) && a%s == 0 && a+s <= b && a/s < len(p.levels[l]); l, s = l+1, s*pyramidStep {
		level, size = l, s
	}
	return level, size
}

// part is the bin of samples inside one bin of the lowest level.
func (p *Pyramid) part(a, b int, raw func(from, to int) []float64) Bin {
	full := 0
	if len(p.levels) > 0 {
		full = len(p.levels[0]) * pyramidBase
	}
	switch {
	case a >= full:
		return of(p.rest[a-full : b-full])
	case raw == nil:
		return p.levels[0][a/pyramidBase]
	}
	return of(raw(a, b))
}
