package monitor

import "math"

// normalBelow is the chance that a normal value with mean 0 and standard deviation
// 1 falls below z.
func normalBelow(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// normalQuantile is the value that such a value stays below with chance p.
func normalQuantile(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

// betaBelow is the regularized incomplete beta function I_x(a, b), by its
// continued fraction (Abramowitz and Stegun, Handbook of Mathematical Functions,
// 26.5.8) in Lentz's form.
func betaBelow(x, a, b float64) float64 {
	switch {
	case !(x > 0):
		return 0
	case x >= 1:
		return 1
	case x > (a+1)/(a+b+2):
		return 1 - betaBelow(1-x, b, a)
	}
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	lab, _ := math.Lgamma(a + b)
	front := math.Exp(lab-la-lb+a*math.Log(x)+b*math.Log1p(-x)) / a
	const tiny = 1e-300
	c, d := 1.0, 1-(a+b)*x/(a+1)
	d = 1 / nonzero(d, tiny)
	f := d
	for m := 1.0; m < 10_000; m++ {
		even := m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		d, c = 1/nonzero(1+even*d, tiny), nonzero(1+even/c, tiny)
		f *= d * c
		odd := -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		d, c = 1/nonzero(1+odd*d, tiny), nonzero(1+odd/c, tiny)
		step := d * c
		f *= step
		if math.Abs(step-1) < 1e-15 {
			break
		}
	}
	return front * f
}

func nonzero(x, tiny float64) float64 {
	if math.Abs(x) < tiny {
		return tiny
	}
	return x
}

// betaQuantile finds x with I_x(a, b) = p by halving.
func betaQuantile(p, a, b float64) float64 {
	low, high := 0.0, 1.0
	for range 100 {
		mid := (low + high) / 2
		if mid == low || mid == high {
			break
		}
		if betaBelow(mid, a, b) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// proportion is the two-sided Clopper-Pearson interval, Biometrika 26 (1934), of a
// chance after k of n; confidence such as 0.95.
func proportion(k, n int, confidence float64) (low, high float64) {
	if n <= 0 {
		return 0, 1
	}
	tail, x, m := (1-confidence)/2, float64(k), float64(n)
	low, high = 0, 1
	if k > 0 {
		low = betaQuantile(tail, x, m-x+1)
	}
	if k < n {
		high = betaQuantile(1-tail, x+1, m-x)
	}
	return low, high
}
