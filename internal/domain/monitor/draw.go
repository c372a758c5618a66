package monitor

import "math"

// Draw is a random stream that gives the same numbers in any language: splitmix64
// for words (Steele, Lea and Flood, OOPSLA 2014), 53 bits of a word for a uniform
// number, Box and Muller's pairs for normal ones. The zero value is seed 0.
type Draw struct {
	state uint64
	kept  float64
	has   bool
}

// NewDraw returns a stream that starts at a seed.
func NewDraw(seed uint64) *Draw { return &Draw{state: seed} }

// Word returns 64 random bits.
func (d *Draw) Word() uint64 {
	d.state += 0x9E3779B97F4A7C15
	z := d.state
	z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9
	z = (z ^ (z >> 27)) * 0x94D049BB133111EB
	return z ^ (z >> 31)
}

// Uniform returns a number between 0 and 1, never either.
func (d *Draw) Uniform() float64 { return (float64(d.Word()>>11) + 0.5) / (1 << 53) }

// Normal returns a number with mean 0 and standard deviation 1. Every second call
// takes the second half of a pair and draws nothing.
func (d *Draw) Normal() float64 {
	if d.has {
		d.has = false
		return d.kept
	}
	r := math.Sqrt(-2 * math.Log(d.Uniform()))
	sin, cos := math.Sincos(2 * math.Pi * d.Uniform())
	d.kept, d.has = r*sin, true
	return r * cos
}

// Exponential returns a waiting time with the given mean.
func (d *Draw) Exponential(mean float64) float64 { return -mean * math.Log(d.Uniform()) }

// Index returns a whole number from 0 to n-1; n must be positive.
func (d *Draw) Index(n int) int { return min(int(d.Uniform()*float64(n)), n-1) }
