package monitor

import "math"

// bench takes the slow part off every channel of one unbroken record, keeping the
// channels in step.
//
// The baseline is the median of each block of samples, then the running median of
// the blocks, centered and shrinking at the ends of the record, placed at the
// centers of the blocks and joined by straight lines; before the first and behind
// the last center it is constant. A block that is cut short by the end of the
// record gives no median. The noise is that of the block's first differences:
// 1.4826 times their median absolute deviation over the square root of two, and
// the running median of the blocks. What comes out lags by half the window.
type bench struct {
	n     int // samples of a block
	half  int // blocks on each side of the window
	h     int // samples on each side of the centered mean
	count int // samples in the block at hand
	block int // its number
	lines []line
	sink  func(from int) // of the smoothed samples, after every channel has them

	next    int // first sample without a baseline yet
	carried int // samples before next that wait in front of tail
	scratch []float64
}

// line is one channel on the bench.
type line struct {
	keep  bool        // as it is: no baseline taken off
	raw   [][]float64 // blocks, by number modulo their count
	meds  []float64   // of blocks, likewise
	noise []float64   // standard deviation in blocks, likewise
	prev  float64     // last sample of the block before, NaN at first

	base, before float64   // baseline at this center and the one before
	sigma        float64   // of the stretch that was handed over last
	level        float64   // baseline at its end
	y            []float64 // carried samples and the new ones, less the baseline
	smooth       []float64 // result of the last step
	rough        []float64 // the same samples, not smoothed
}

func newBench(channels int, keep []bool, p Params, rate float64, sink func(from int)) *bench {
	b := &bench{n: int(math.Round(p.Block * rate)), half: p.Window / 2, h: max(0, (int(math.Round(p.Smooth*rate))-1)/2), sink: sink}
	b.lines = make([]line, channels)
	b.scratch = make([]float64, max(b.n+1, p.Window))
	for c := range b.lines {
		l := &b.lines[c]
		l.keep = keep[c]
		l.raw = make([][]float64, b.half+3)
		for i := range l.raw {
			l.raw[i] = make([]float64, b.n)
		}
		l.meds, l.noise = make([]float64, p.Window), make([]float64, p.Window)
		l.prev, l.base, l.before, l.sigma = math.NaN(), math.NaN(), math.NaN(), math.NaN()
		l.y = make([]float64, 0, 2*b.n+4*b.h+8)
		l.smooth = make([]float64, 0, 2*b.n+4*b.h+8)
	}
	return b
}

// add takes one frame.
func (b *bench) add(frame []float64) {
	slot, at := b.block%(b.half+3), b.count
	for c, v := range frame {
		b.lines[c].raw[slot][at] = v
	}
	b.count++
	if b.count < b.n {
		return
	}
	for c := range b.lines {
		b.lines[c].close(b.block, slot, b.scratch)
	}
	b.count = 0
	b.block++
	if done := b.block - 1 - b.half; done >= 0 {
		b.settle(done, b.block)
	}
}

// close finds median and noise of a full block.
func (l *line) close(block, slot int, scratch []float64) {
	x := l.raw[slot]
	s := scratch[:0]
	for _, v := range x {
		if v == v {
			s = append(s, v)
		}
	}
	i := block % len(l.meds)
	l.meds[i], l.noise[i] = math.NaN(), math.NaN()
	if 2*len(s) >= len(x) {
		l.meds[i] = medianIn(s)
		if !l.keep {
			l.noise[i] = noiseOf(x, l.prev, scratch)
		}
	}
	l.prev = x[len(x)-1]
}

// noiseOf is the standard deviation of white noise under a slow signal. prev is
// the sample before x, NaN for none.
func noiseOf(x []float64, prev float64, scratch []float64) float64 {
	d := scratch[:0]
	for _, v := range x {
		if s := v - prev; s == s {
			d = append(d, s)
		}
		prev = v
	}
	if len(d) < 3 {
		return math.NaN()
	}
	return spreadIn(d) / math.Sqrt2
}

// running is the median over the blocks around one, of those below end.
func (b *bench) running(of []float64, block, end int) float64 {
	s := b.scratch[:0]
	for k := max(0, block-b.half); k < min(end, block+b.half+1); k++ {
		if v := of[k%len(of)]; v == v {
			s = append(s, v)
		}
	}
	return medianIn(s)
}

// settle gives the samples up to the center of a block their baseline, end being
// the number of full blocks so far.
func (b *bench) settle(block, end int) {
	// The last sample not behind the center, which for an even count lies between two.
	to := b.n*block + (b.n-1)/2 + 1
	for c := range b.lines {
		l := &b.lines[c]
		l.before = l.base
		l.base, l.sigma = 0, 0
		if !l.keep {
			l.base, l.sigma = b.running(l.meds, block, end), b.running(l.noise, block, end)
		}
		from, step := l.before, 0.0
		switch {
		case block == 0 || from != from:
			from = l.base
		case l.base == l.base:
			step = (l.base - from) / float64(b.n)
		}
		center := float64(b.n*(block-1)) + float64(b.n-1)/2
		b.take(l, to, from, step, center)
		if l.base != l.base {
			l.base = from // nothing new: go on with the old one
		}
		l.level = l.base
	}
	b.pass(to, false)
}

// take appends the samples from next to to, less the baseline.
func (b *bench) take(l *line, to int, from, step, center float64) {
	for i := b.next; i < to; {
		blk, at := i/b.n, i%b.n
		x := l.raw[blk%len(l.raw)]
		stop := min(b.n, at+to-i)
		for _, v := range x[at:stop] {
			l.y = append(l.y, v-(from+step*(float64(i)-center)))
			i++
		}
	}
}

// pass smooths what can be smoothed and hands it on; last tells that no sample
// follows.
func (b *bench) pass(to int, last bool) {
	b.next = to
	first := to - len(b.lines[0].y) + b.carried // first sample not handed on
	n := 0
	for c := range b.lines {
		l := &b.lines[c]
		n = len(l.y) - b.h
		if last {
			n = len(l.y)
		}
		l.smooth = l.smooth[:0]
		for i := b.carried; i < n; i++ {
			l.smooth = append(l.smooth, meanAround(l.y, i, b.h))
		}
		l.rough = l.y[min(b.carried, len(l.y)):max(n, min(b.carried, len(l.y)))]
	}
	if n > b.carried {
		b.sink(first)
		drop := max(0, n-b.h)
		for c := range b.lines {
			l := &b.lines[c]
			l.y = l.y[:copy(l.y, l.y[drop:])]
		}
		b.carried = n - drop
	}
}

// meanAround is the mean of the numbers among y[i-h] to y[i+h], NaN where y[i] is.
func meanAround(y []float64, i, h int) float64 {
	if i >= h && i+h < len(y) {
		sum := 0.0
		for _, v := range y[i-h : i+h+1] {
			sum += v
		}
		if sum == sum {
			return sum / float64(2*h+1)
		}
	}
	if v := y[i]; v != v {
		return v
	}
	sum, n := 0.0, 0
	for _, v := range y[max(0, i-h):min(len(y), i+h+1)] {
		if v == v {
			sum += v
			n++
		}
	}
	return sum / float64(n)
}

// finish hands on everything that waits. The bench must not be used after it.
func (b *bench) finish() {
	for block := max(0, b.block-b.half); block < b.block; block++ {
		b.settle(block, b.block)
	}
	to := b.n*b.block + b.count
	if to == b.next && b.carried == len(b.lines[0].y) {
		return
	}
	for c := range b.lines {
		l := &b.lines[c]
		b.take(l, to, l.base, 0, 0)
	}
	b.pass(to, true)
}
