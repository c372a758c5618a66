package monitor

import (
	"fmt"
	"math"
)

// GuessRate is how many rows a second come, from the times of the first of them in
// nanoseconds; 0 where they do not tell. Steps of more than one and a half medians are
// gaps and do not count, nor do repeated or backward times; the mean of the others
// stands above the rounding of times to a millisecond or a minute. A rate within 0.2
// percent of whole rows a second, or of whole seconds a row, is taken as that.
func GuessRate(times []int64) float64 {
	var steps []float64
	for i, top := 1, int64(0); i < len(times); i++ {
		top = max(times[i-1], top)
		if d := times[i] - top; d > 0 {
			steps = append(steps, float64(d))
		}
	}
	if len(steps) == 0 {
		return 0
	}
	middle, sum, n := Median(steps), 0.0, 0
	for _, d := range steps {
		if d <= 1.5*middle {
			sum, n = sum+d, n+1
		}
	}
	step := sum / float64(n) / 1e9 // s
	if step < 1 {
		return whole(1 / step)
	}
	return 1 / whole(step)
}

// whole is the whole number next to x where it is as good as that.
func whole(x float64) float64 {
	if r := math.Round(x); r > 0 && math.Abs(x-r) <= 0.002*x {
		return r
	}
	return x
}

// RateWords say a rate the way loggers are set: rows a second, or the time between two.
func RateWords(rate float64) string {
	switch {
	case !(rate > 0):
		return ""
	case rate > 1:
		return fmt.Sprintf("%.4g rows a second", rate)
	case rate == 1:
		return "one row a second"
	}
	step := 1 / rate
	switch {
	case step < 119:
		return fmt.Sprintf("one row every %.4g s", step)
	case step < 2*3600-1:
		return fmt.Sprintf("one row every %.4g min", step/60)
	}
	return fmt.Sprintf("one row every %.4g h", step/3600)
}
