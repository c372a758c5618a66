package outlook

import "math"

// exactInterval is the two-sided Clopper-Pearson interval of a chance after below
// of n samples, Biometrika 26 (1934): it holds the true chance at least as often
// as it says, also where few or no samples fall below.
func exactInterval(below, n int, confidence float64) (low, high float64) {
	if n <= 0 {
		return 0, 1
	}
	tail, x, m := (1-confidence)/2, float64(below), float64(n)
	low, high = 0, 1
	if below > 0 {
		low = betaQuantile(tail, x, m-x+1)
	}
	if below < n {
		high = betaQuantile(1-tail, x+1, m-x)
	}
	return low, high
}

// studentQuantile is the value that Student's t with df degrees of freedom stays
// below with probability p, for p from one half to one.
func studentQuantile(p, df float64) float64 {
	// P(|T| > t) is the incomplete beta function at df/(df + t^2).
	x := betaQuantile(2*(1-p), df/2, 0.5)
	return math.Sqrt(df * (1 - x) / x)
}

// StudentQuantile is the value that Student's t stays below with probability p,
// from one half to one, with df degrees of freedom.
func StudentQuantile(p, df float64) float64 { return studentQuantile(p, df) }

// betaQuantile finds x with betaPart(x, a, b) = p by halving.
func betaQuantile(p, a, b float64) float64 {
	low, high := 0.0, 1.0
	for range 80 {
		mid := (low + high) / 2
		if mid == low || mid == high {
			break
		}
		if betaPart(mid, a, b) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// betaPart is the regularized incomplete beta function, by its continued fraction
// (Abramowitz and Stegun, Handbook of Mathematical Functions, 26.5.8).
func betaPart(x, a, b float64) float64 {
	switch {
	case !(x > 0):
		return 0
	case x >= 1:
		return 1
	case x > (a+1)/(a+b+2):
		return 1 - betaPart(1-x, b, a)
	}
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	lab, _ := math.Lgamma(a + b)
	front := math.Exp(lab-la-lb+float64(a*math.Log(x))+float64(b*math.Log1p(-x))) / a
	const tiny = 1e-300
	// Lentz's way of working the fraction from its front.
	f, c, d := 1.0, 1.0, 0.0
	for i := range 10000 {
		m := float64(i / 2)
		var num float64
		switch {
		case i == 0:
			num = 1
		case i%2 == 0:
			num = m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		default:
			num = -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		}
		if d = 1 + num*d; math.Abs(d) < tiny {
			d = tiny
		}
		if c = 1 + num/c; math.Abs(c) < tiny {
			c = tiny
		}
		d = 1 / d
		f *= c * d
		if math.Abs(1-c*d) < 1e-14 {
			break
		}
	}
	return front * (f - 1)
}
