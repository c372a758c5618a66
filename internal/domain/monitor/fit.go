package monitor

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Line is y = At0 + Slope x.
type Line struct{ Slope, At0 float64 }

// LeastSquares fits a line by ordinary least squares and returns the coefficient
// of correlation with it. Fewer than two points, or all x alike, give NaN.
func LeastSquares(x, y []float64) (Line, float64) {
	n := min(len(x), len(y))
	mx, _ := MeanDeviation(x[:n])
	my, _ := MeanDeviation(y[:n])
	var xx, xy, yy float64
	for i := range n {
		dx, dy := x[i]-mx, y[i]-my
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
	}
	slope := xy / xx
	return Line{Slope: slope, At0: my - slope*mx}, xy / math.Sqrt(xx*yy)
}

// Trend is a line through a series that a few wild points do not move, with the 95
// percent interval of its slope.
type Trend struct {
	Line
	Low, High float64 // of the slope; infinite where too few points tell
	N         int
}

// TheilSen takes the median of the slopes of all pairs of points, and the median of
// y less that slope times the median of x (Sen, J. American Statistical Association
// 63, 1968). The interval is Sen's, from the normal approximation of Kendall's count
// with its correction for ties in y; pairs with equal x are left out. Time grows with
// the square of the points: meant for days and weeks, not for samples.
func TheilSen(x, y []float64) Trend {
	n := min(len(x), len(y))
	slopes := make([]float64, 0, n*(n-1)/2)
	for i := range n {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	out := Trend{N: n, Low: math.Inf(-1), High: math.Inf(1)}
	if len(slopes) == 0 {
		out.Slope, out.At0 = math.NaN(), math.NaN()
		return out
	}
	slices.Sort(slopes)
	out.Slope = percentileSorted(slopes, 0.5)
	out.At0 = Median(y[:n]) - out.Slope*Median(x[:n])
	width := distuv.UnitNormal.Quantile(0.975) * math.Sqrt(kendallVariance(x[:n], y[:n]))
	m := float64(len(slopes))
	low, high := int(math.Round((m-width)/2))-1, int(math.Round((m+width)/2))
	if low >= 0 && high < len(slopes) {
		out.Low, out.High = slopes[low], slopes[high]
	}
	return out
}

// kendallVariance is the variance of the count of rising pairs less falling ones.
func kendallVariance(x, y []float64) float64 {
	f := func(n float64) float64 { return n * (n - 1) * (2*n + 5) }
	v := f(float64(len(x)))
	for _, s := range [][]float64{x, y} {
		s = slices.Clone(s)
		slices.Sort(s)
		for i := 0; i < len(s); {
			j := i
			for j < len(s) && s[j] == s[i] {
				j++
			}
			if j == i {
				return math.NaN()
			}
			v -= f(float64(j - i))
			i = j
		}
	}
	return v / 18
}
