package outlook

import (
	"math"
	"math/rand/v2"
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

const (
	// MostSamples bounds one answer, so that a slip of a digit cannot stall a page.
	MostSamples = 1_000_000
	// stream tells the generator of Chance from any other with the same seed.
	stream = 0x656e6463617374
	// confidence of the interval of the chance.
	confidence = 0.95
	// leastYield is the part of the yield strength that no sample falls below: a
	// normal distribution has no lower end, steel has.
	leastYield = 0.2
)

// trailAt is where the chance is written down on the way.
var trailAt = [...]int{100, 300, 1000, 3000, 10_000, 30_000, 100_000, 300_000, 1_000_000}

// Chance samples the capacity of an end and counts how often it falls below the
// demand. The same arguments give the same answer: the seed is the caller's, taken
// from the digest of the inputs, and nothing else is random.
//
// Each sample gives the web strength and the stiffeners' strength a draw each from
// a normal distribution, all readings one common error, each reading an error of
// its own, and then takes the capacity from map, procedure and checks as
// resistance.Evaluate does. No reading counts as thicker than the plate was as new
// or as less than nothing, whatever its error: that is the rule of the map, and
// keeps a sound plate from gaining strength. Geometry and survey must have been
// validated. A nil survey scatters the steel only.
func Chance(b basis.Basis, pr resistance.Procedure, g girder.Geometry, s *survey.Survey, demand units.Force, seed uint64, samples int) Odds {
	out := Odds{Samples: max(0, min(samples, MostSamples)), Seed: seed, Demand: demand, Interval: "Clopper-Pearson, 95 %",
		Inputs: scatterOf(b, pr, g, s)}
	trial := pr.Trial(b, g, s)
	base := trial.Base()
	out.Capacity, _ = trial.Capacity(&base)
	out.In, out.Out = words(out.Inputs, g, s, out.Samples)
	out.Low, out.High = exactInterval(0, 0, confidence)
	if out.Samples == 0 {
		return out
	}
	d := newDraw(b, g, s, out.Inputs, trial)
	d.rng = rand.New(rand.NewPCG(seed, stream))
	got := make([]float64, out.Samples)
	next := 0
	for i := range got {
		c, upper := d.sample()
		got[i] = float64(c)
		if !(c >= demand) { // a capacity that is no number counts as below
			out.Below++
		}
		if !(upper >= demand) {
			out.UpperBelow++
		}
		if next < len(trailAt) && i+1 == trailAt[next] {
			out.Trail = append(out.Trail, step(out.Below, i+1))
			next++
		}
	}
	last := step(out.Below, out.Samples)
	if n := len(out.Trail); n == 0 || out.Trail[n-1].Samples != out.Samples {
		out.Trail = append(out.Trail, last)
	}
	out.Chance, out.Low, out.High = last.Chance, last.Low, last.High
	out.UpperChance = float64(out.UpperBelow) / float64(out.Samples)
	out.describe(got)
	return out
}

func step(below, n int) Step {
	s := Step{Samples: n, Below: below, Chance: float64(below) / float64(n)}
	s.Low, s.High = exactInterval(below, n, confidence)
	return s
}

// describe takes mean, deviation and percentiles; it sorts the samples.
func (o *Odds) describe(got []float64) {
	n := float64(len(got))
	sum, off := 0.0, 0.0
	for _, v := range got {
		sum += v
	}
	mean := sum / n
	for _, v := range got {
		off += float64((v - mean) * (v - mean))
	}
	o.Mean = units.Force(mean)
	if n > 1 {
		o.Spread = units.Force(math.Sqrt(off / (n - 1)))
	}
	slices.Sort(got)
	o.P05, o.P50, o.P95 = percentile(got, 0.05), percentile(got, 0.50), percentile(got, 0.95)
}

// percentile interpolates between the sorted samples on either side.
func percentile(sorted []float64, p float64) units.Force {
	at := p * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return units.Force(sorted[len(sorted)-1])
	}
	return units.Force(sorted[i] + float64((sorted[i+1]-sorted[i])*(at-float64(i))))
}

// draw makes one sample after the other.
type draw struct {
	rng   *rand.Rand
	trial *resistance.Trial
	from  Scatter
	base  resistance.State
	state resistance.State

	read   []int     // readings that were taken, of all
	spread []float64 // of each of them: error of reading and between readings
	biased []float64 // 1 where the bias of the survey counts, 0 where not

	flange, plate bool // were read
	plateSpread   float64
	plateBiased   float64
	plates        bool
}

func newDraw(b basis.Basis, g girder.Geometry, s *survey.Survey, from Scatter, trial *resistance.Trial) *draw {
	d := &draw{trial: trial, from: from, base: trial.Base(), state: trial.Base(), plates: g.Stiffener != nil}
	if s == nil {
		return d
	}
	for i, r := range s.Readings {
		if r.NoAccess {
			continue
		}
		m := methodOf(s, r.Face)
		d.read = append(d.read, i)
		d.spread = append(d.spread, math.Hypot(repeatability(b, m), from.Map))
		d.biased = append(d.biased, biased(m))
	}
	d.flange = s.FlangeThickness != nil
	d.plate = d.plates && s.StiffenerThickness != nil
	m := plateMethod(s)
	d.plateSpread, d.plateBiased = repeatability(b, m), biased(m)
	return d
}

// biased is 1 for the method that reads rough steel as thicker than it is.
func biased(m survey.Method) float64 {
	if m == survey.Ultrasonic {
		return 1
	}
	return 0
}

// sample scatters the steel once. It draws the same numbers in the same order
// whatever the deviations, so that two runs with one seed differ by these alone.
func (d *draw) sample() (capacity, upper units.Force) {
	f, x := d.from, &d.state
	x.Yield = max(leastYield, f.YieldMean*(1+float64(f.YieldScatter*d.rng.NormFloat64())))
	if d.plates {
		x.StiffenerYield = max(leastYield, f.YieldMean*(1+float64(f.YieldScatter*d.rng.NormFloat64())))
	}
	model := max(0, f.ModelMean*(1+float64(f.ModelScatter*d.rng.NormFloat64())))
	common := f.Calibration * d.rng.NormFloat64()
	bias := f.BiasLow + float64((f.BiasHigh-f.BiasLow)*d.rng.Float64())
	for k, i := range d.read {
		x.Web[i] = d.base.Web[i] + common - float64(bias*d.biased[k]) + float64(d.spread[k]*d.rng.NormFloat64())
	}
	plate := func(read bool, t units.Length) units.Length {
		if !read {
			return t
		}
		return t + units.Length(common-float64(bias*d.plateBiased)+float64(d.plateSpread*d.rng.NormFloat64()))
	}
	x.Flange, x.Stiffener = plate(d.flange, d.base.Flange), plate(d.plate, d.base.Stiffener)
	capacity, upper = d.trial.Capacity(x)
	return capacity * units.Force(model), upper * units.Force(model)
}
