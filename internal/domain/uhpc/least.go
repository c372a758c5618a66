package uhpc

import "math"

// law is a curve with parameters, for least squares. Everything here is plain
// arithmetic in a fixed order, so the same sets give the same curve on every
// machine of one kind.
type law struct {
	params int
	// eval is the value at x, with its derivative by each parameter.
	eval func(p [4]float64, x float64, grad *[4]float64) float64
	// linear is the parameter that the value is proportional to, which a start is
	// solved for.
	linear int
	low    [4]float64
	high   [4]float64
	// starts are the values tried for the parameters that are not linear.
	starts [4][]float64
}

// fitLaw finds the parameters of least squares: the best starts of a grid, each
// followed by damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963) within
// the bounds. It returns the sum of squares, infinite where nothing was found.
func fitLaw(l law, x, y []float64) (best [4]float64, least float64) {
	type start struct {
		p   [4]float64
		sum float64
	}
	const kept = 8
	var starts []start
	var walk func(k int, p [4]float64)
	walk = func(k int, p [4]float64) {
		if k == l.params {
			p[l.linear] = 1
			var gy, gg float64
			for i := range x {
				g := l.eval(p, x[i], nil)
				gy, gg = gy+float64(g*y[i]), gg+float64(g*g)
			}
			if gg > 0 {
				p[l.linear] = gy / gg
			}
			l.clamp(&p)
			s := start{p, l.squares(p, x, y)}
			at := len(starts)
			for at > 0 && s.sum < starts[at-1].sum {
				at--
			}
			if at < kept {
				starts = append(starts, start{})
				copy(starts[at+1:], starts[at:])
				starts[at] = s
				starts = starts[:min(len(starts), kept)]
			}
			return
		}
		if k == l.linear {
			walk(k+1, p)
			return
		}
		for _, v := range l.starts[k] {
			p[k] = v
			walk(k+1, p)
		}
	}
	walk(0, [4]float64{})
	least = math.Inf(1)
	for _, s := range starts {
		if p, sum := l.descend(s.p, x, y); sum < least {
			best, least = p, sum
		}
	}
	return best, least
}

func (l law) clamp(p *[4]float64) {
	for k := range l.params {
		p[k] = min(max(p[k], l.low[k]), l.high[k])
	}
}

func (l law) squares(p [4]float64, x, y []float64) float64 {
	sum := 0.0
	for i := range x {
		d := y[i] - l.eval(p, x[i], nil)
		sum += d * d
	}
	return sum
}

// descend takes damped steps until they no longer help.
func (l law) descend(p [4]float64, x, y []float64) ([4]float64, float64) {
	sum, damp := l.squares(p, x, y), 1e-3
	for range 500 {
		var a [4][4]float64
		var g [4]float64
		for i := range x {
			var grad [4]float64
			d := y[i] - l.eval(p, x[i], &grad)
			for j := range l.params {
				g[j] += grad[j] * d
				for k := range l.params {
					a[j][k] += grad[j] * grad[k]
				}
			}
		}
		better := false
		for damp < 1e12 {
			m := a
			for k := range l.params {
				m[k][k] += damp*a[k][k] + 1e-12
			}
			step, ok := solve(m, g, l.params)
			if !ok {
				damp *= 10
				continue
			}
			q := p
			for k := range l.params {
				q[k] += step[k]
			}
			l.clamp(&q)
			if next := l.squares(q, x, y); next < sum {
				better = sum-next > 1e-14*sum
				p, sum, damp = q, next, max(damp/10, 1e-9)
				break
			}
			damp *= 10
		}
		if !better {
			break
		}
	}
	return p, sum
}

// solve works out a small set of linear equations by elimination with pivots; ok
// is false where they do not determine the answer.
func solve(a [4][4]float64, b [4]float64, n int) (out [4]float64, ok bool) {
	for c := range n {
		pivot := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[pivot][c]) {
				pivot = r
			}
		}
		if !(math.Abs(a[pivot][c]) > 1e-300) {
			return out, false
		}
		a[c], a[pivot], b[c], b[pivot] = a[pivot], a[c], b[pivot], b[c]
		for r := c + 1; r < n; r++ {
			f := a[r][c] / a[c][c]
			for k := c; k < n; k++ {
				a[r][k] -= f * a[c][k]
			}
			b[r] -= f * b[c]
		}
	}
	for c := n - 1; c >= 0; c-- {
		v := b[c]
		for k := c + 1; k < n; k++ {
			v -= a[c][k] * out[k]
		}
		out[c] = v / a[c][c]
	}
	return out, true
}

// gainLaw has plateau, start, and the logarithms of scale and shape; the start lies
// before the first age tested.
func gainLaw(first, most float64) law {
	l := law{params: 4, low: [4]float64{0, 0, math.Log(0.01), math.Log(0.05)}, high: [4]float64{3 * most, 0.999 * min(first, 28), math.Log(365), math.Log(10)}}
	for _, part := range []float64{0, 0.2, 0.4, 0.6, 0.8, 0.95} {
		l.starts[1] = append(l.starts[1], part*min(first, 28))
	}
	for _, a := range []float64{0.3, 1, 2, 4, 8, 20, 60} {
		l.starts[2] = append(l.starts[2], math.Log(a))
	}
	for _, b := range []float64{0.2, 0.35, 0.5, 0.8, 1.2, 2} {
		l.starts[3] = append(l.starts[3], math.Log(b))
	}
	l.eval = func(p [4]float64, x float64, grad *[4]float64) float64 {
		if !(x > p[1]) {
			return 0
		}
		a, b := math.Exp(p[2]), math.Exp(p[3])
		u := math.Pow((x-p[1])/a, b)
		e := math.Exp(-u)
		if grad != nil {
			*grad = [4]float64{1 - e, -p[0] * e * b * u / (x - p[1]), -p[0] * e * b * u, p[0] * e * u * b * math.Log((x-p[1])/a)}
		}
		return p[0] * (1 - e)
	}
	return l
}

// exponentialLaw has plateau and the logarithms of time and power.
func exponentialLaw(most float64) law {
	l := law{params: 3, low: [4]float64{0, math.Log(0.01), math.Log(0.05)}, high: [4]float64{3 * most, math.Log(365), math.Log(10)}}
	for _, tau := range []float64{0.1, 0.3, 0.6, 1, 2, 4, 10} {
		l.starts[1] = append(l.starts[1], math.Log(tau))
	}
	for _, a := range []float64{0.2, 0.4, 0.6, 0.8, 1.2, 2} {
		l.starts[2] = append(l.starts[2], math.Log(a))
	}
	l.eval = func(p [4]float64, x float64, grad *[4]float64) float64 {
		if !(x > 0) {
			return 0
		}
		tau, a := math.Exp(p[1]), math.Exp(p[2])
		v := math.Pow(tau/x, a)
		f := math.Exp(-v)
		if grad != nil {
			*grad = [4]float64{f, -p[0] * f * a * v, -p[0] * f * v * math.Log(tau/x) * a}
		}
		return p[0] * f
	}
	return l
}
