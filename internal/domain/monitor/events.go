package monitor

import "math"

// Flag says why an event cannot be used, or that it can.
type Flag uint8

// Flags.
const (
	Usable  Flag = iota
	TooLong      // a stopped vehicle, or drift
	Cut          // it touches a gap or an end of the record: its peak may be missing
	Crowded      // its stretch holds too much loaded time for the baseline to be right
)

// String is the flag in words.
func (f Flag) String() string {
	return [...]string{"usable", "too long", "cut by a gap", "too much traffic"}[min(f, Crowded)]
}

// Event is a passage as one channel shows it.
type Event struct {
	Channel     int
	From, At    int64   // first sample and peak, ns
	To          int64   // last sample
	Peak        float64 // of the smoothed signal less the baseline, with its sign
	Rough       float64 // the same, not smoothed
	Area        float64 // under the smoothed signal, times seconds
	Rise        float64 // s from first sample to peak
	Level       float64 // baseline
	Sigma       float64 // standard deviation of the noise
	Temperature float64 // NaN without a thermometer
	Flag        Flag
}

// Seconds is how long the event lasts.
func (e Event) Seconds() float64 { return float64(e.To-e.From) / 1e9 }

// excursion is a time beyond the threshold, by sample numbers.
type excursion struct {
	from, to, at      int
	peak, rough, area float64 // in the direction of the channel
	level, sigma      float64
	on, cut           bool
}

// seeker finds the excursions of one channel in one direction.
type seeker struct {
	sign       float64
	rate       float64
	p          *Params
	merge      int // samples: excursions whose begin is nearer to the end of the one before are one
	count      func(from, samples int)
	found      func(excursion) // nil: only count
	run        excursion
	in         bool
	blind      bool // the sample before was missing
	kept       excursion
	has        bool
	sampleTime float64
}

func newSeeker(sign, rate float64, p *Params, count func(from, samples int), found func(excursion)) *seeker {
	s := &seeker{sign: sign, rate: rate, p: p, count: count, found: found, blind: true, sampleTime: 1 / rate}
	// (begin - end)/rate < Merge, in whole samples.
	s.merge = int(math.Ceil(p.Merge*rate - 1e-9))
	return s
}

// feed takes samples in order; from is the number of the first.
func (s *seeker) feed(from int, smooth, rough []float64, level, sigma float64) {
	if sigma != sigma {
		sigma = 0
	}
	root := math.Sqrt(float64(max(1, int(math.Round(s.p.Smooth*s.rate)))))
	on, off := max(s.p.OnSigma*sigma/root, s.p.OnLeast), max(s.p.OffSigma*sigma/root, s.p.OffLeast)
	for j, v := range smooth {
		z := s.sign * v
		if z > off {
			s.above(from+j, z, s.sign*rough[j], on, level, sigma)
			continue
		}
		if s.in {
			s.in = false
			s.end(v != v)
		}
		if s.has && from+j+1-s.kept.to >= s.merge {
			s.flush()
		}
		s.blind = v != v
	}
}

func (s *seeker) above(i int, z, rough, on, level, sigma float64) {
	if !s.in {
		s.in = true
		s.run = excursion{from: i, to: i, at: i, peak: z, rough: rough, level: level, sigma: sigma, cut: s.blind}
		if s.has && i-s.kept.to >= s.merge {
			s.flush()
		}
	}
	r := &s.run
	r.to = i
	r.area += z
	if z > r.peak {
		r.peak, r.at, r.level, r.sigma = z, i, level, sigma
	}
	r.rough = max(r.rough, rough)
	r.on = r.on || z > on
	s.blind = false
}

// end closes the run at hand.
func (s *seeker) end(cut bool) {
	r := s.run
	r.cut = r.cut || cut
	if !r.on {
		return
	}
	s.count(r.from, r.to-r.from+1)
	if s.found == nil {
		return
	}
	if !s.has {
		s.kept, s.has = r, true
		return
	}
	k := &s.kept // near enough: one passage
	k.to, k.area, k.cut, k.rough = r.to, k.area+r.area, k.cut || r.cut, max(k.rough, r.rough)
	if r.peak > k.peak {
		k.peak, k.at, k.level, k.sigma = r.peak, r.at, r.level, r.sigma
	}
}

func (s *seeker) flush() {
	s.has = false
	if float64(s.kept.to-s.kept.from+1)*s.sampleTime >= s.p.Shortest-1e-9 {
		s.found(s.kept)
	}
}

// finish closes what is open at the end of the record.
func (s *seeker) finish() {
	if s.in {
		s.in = false
		s.end(true)
	}
	if s.has {
		s.flush()
	}
}

// openFrom is the first sample of the excursion that is not reported yet, if it
// may still become a passage at sample now.
func (s *seeker) openFrom(now int) (int, bool) {
	from := s.run.from
	if s.has {
		from = s.kept.from
	}
	if !s.has && !s.in || float64(now-from)*s.sampleTime > s.p.Longest {
		return 0, false
	}
	return from, true
}
