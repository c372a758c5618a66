package monitor

import "math"

// grid lays rows with uneven time stamps on an even grid. It hands over frames, one
// value a channel and grid point, in order. A value between two samples lies on
// the straight line between them, but never across more than the bridge; beyond it
// and where a channel gave no number the frame holds NaN.
type grid struct {
	period float64 // ns
	snap   int64   // ns: a sample this near to a grid point is taken as it is
	bridge int64   // ns
	emit   func(frame []float64)

	t0     int64 // of grid point 0
	last   int64 // time of the last row
	filled int64 // last grid point that some row passed
	out    int64 // next grid point to hand over
	lastT  []int64
	lastV  []float64
	has    []bool
	doneTo []int64     // last grid point that a channel has its value for
	wait   [][]float64 // frames not handed over, by grid point modulo their number
}

func newGrid(channels int, rate, bridge float64, emit func([]float64)) *grid {
	period := 1e9 / rate
	g := &grid{period: period, snap: int64(period / 20), bridge: int64(max(bridge*1e9, 1.5*period)), emit: emit,
		lastT: make([]int64, channels), lastV: make([]float64, channels), has: make([]bool, channels), doneTo: make([]int64, channels)}
	g.wait = make([][]float64, int(float64(g.bridge)/period)+4)
	for i := range g.wait {
		g.wait[i] = make([]float64, channels)
	}
	return g
}

// begin makes t the time of grid point 0.
func (g *grid) begin(t int64) {
	g.t0, g.last, g.filled, g.out = t, t, -1, 0
	for c := range g.has {
		g.has[c], g.doneTo[c] = false, -1
	}
}

// at is the time of a grid point.
func (g *grid) at(k int64) int64 { return g.t0 + int64(math.Round(float64(k)*g.period)) }

// reaches is the last grid point that a sample at t, or one a hair later, passes.
func (g *grid) reaches(t int64) int64 {
	k := int64(float64(t-g.t0+g.snap) / g.period)
	for g.at(k+1) <= t+g.snap {
		k++
	}
	for g.at(k) > t+g.snap {
		k--
	}
	return k
}

// row takes the values at t, which must be later than the row before.
func (g *grid) row(t int64, values []float64) {
	to := g.reaches(t)
	if to == g.filled+1 && to == g.out && t-g.at(to) <= g.snap && g.plain(t, to, values) {
		return
	}
	size := int64(len(g.wait))
	for g.filled < to {
		if g.filled+1-g.out >= size {
			g.handOver()
		}
		g.filled++
		f := g.wait[g.filled%size]
		for c := range f {
			f[c] = math.NaN()
		}
	}
	ready := to
	for c, v := range values {
		if v == v && !math.IsInf(v, 0) {
			g.fill(c, t, v, to)
		} else if g.has[c] && g.lastT[c]+g.bridge < t {
			g.doneTo[c] = to // nothing can fill it any more
		}
		if !g.has[c] {
			g.doneTo[c] = to
		}
		ready = min(ready, g.doneTo[c])
	}
	g.last = t
	for g.out <= ready {
		g.handOver()
	}
}

// plain takes a row that falls on the next grid point with a number for every channel
// while nothing waits, as nearly every row does. It reports false where one is missing.
func (g *grid) plain(t, to int64, values []float64) bool {
	for _, v := range values {
		if v-v != 0 { // NaN or infinite
			return false
		}
	}
	f := g.wait[to%int64(len(g.wait))]
	copy(f, values)
	for c, v := range values {
		g.lastT[c], g.lastV[c], g.has[c], g.doneTo[c] = t, v, true, to
	}
	g.filled, g.last = to, t
	g.emit(f)
	g.out++
	return true
}

// fill gives channel c its values up to grid point to, after a sample v at t.
func (g *grid) fill(c int, t int64, v float64, to int64) {
	joined := g.has[c] && t-g.lastT[c] <= g.bridge
	size := int64(len(g.wait))
	for k := max(g.doneTo[c]+1, g.out); k <= to; k++ {
		at := g.at(k)
		switch {
		case at-t <= g.snap && t-at <= g.snap:
			g.wait[k%size][c] = v
		case joined && at-g.lastT[c] <= g.snap:
			g.wait[k%size][c] = g.lastV[c]
		case joined:
			g.wait[k%size][c] = g.lastV[c] + (v-g.lastV[c])*float64(at-g.lastT[c])/float64(t-g.lastT[c])
		}
	}
	g.lastT[c], g.lastV[c], g.has[c], g.doneTo[c] = t, v, true, to
}

func (g *grid) handOver() {
	g.emit(g.wait[g.out%int64(len(g.wait))])
	g.out++
}

// end hands over what waits.
func (g *grid) end() {
	for g.out <= g.filled {
		g.handOver()
	}
}
