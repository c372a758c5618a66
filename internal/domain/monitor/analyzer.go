package monitor

import (
	"math"

	"endcast/internal/domain/fault"
)

// Role is what a channel is to the search for passages.
type Role uint8

// Roles. A channel without a role is only followed by its levels.
const (
	RoleNone        Role = iota
	RoleWeb              // on the corroded web over the bearing
	RolePanel            // in the panel
	RoleStud             // on a stud
	RoleControl          // where the repair cannot change what a truck does
	RoleSlip             // displacement between web and panel
	RoleTemperature      // of the air or of the concrete
)

// strain tells whether passages are sought on channels of the role.
func (r Role) strain() bool { return r >= RoleWeb && r <= RoleControl }

// slow tells whether the signal is kept as it is.
func (r Role) slow() bool { return !r.strain() }

// Channel is one signal of a record.
type Channel struct {
	Name string
	Role Role
	// Sign is +1 where a truck makes the signal rise, -1 where it makes it fall: -1 for
	// vertical strain over the bearing.
	Sign float64
	// Columns are the values of a row whose mean is the signal: one, or the gauges on
	// both faces of a plate, whose mean is free of bending out of its plane.
	Columns []int
}

// Set are the channels of one girder end that belong together, by number; -1 for
// none. The web is needed.
type Set struct{ Web, Control, Panel, Stud, Slip, Temperature int }

// Level is the median of a channel over an hour: what drifts, which the search for
// passages takes off and which must not be forgotten.
type Level struct {
	Hour    int64 // its begin, ns
	Channel int
	Value   float64 // median of the medians of blocks
	Noise   float64 // median standard deviation of the noise; NaN for a slow channel
	Blocks  int
}

// Stretch is how much of a time was loaded.
type Stretch struct {
	From, To  int64
	Occupancy float64 // of the fullest channel
	Channel   int     // that one
	Refused   bool
}

// Sinks take what an Analyzer finds, in the order of time but for events of
// different channels. A nil one is not called.
type Sinks struct {
	Event   func(Event)
	Passage func(Passage)
	Level   func(Level)
	Stretch func(Stretch)
}

// Analyzer finds passages on a stream of rows. Its memory depends on rate and
// channels and not on the length of the stream. It is not safe for two goroutines.
type Analyzer struct {
	p        Params
	rate     float64
	channels []Channel
	sets     []Set
	sinks    Sinks

	grid    *grid
	bench   *bench
	signal  []float64 // of a row
	started bool
	rows    int64
	skipped int64

	t0      int64 // of sample 0 of the unbroken record at hand
	now     int   // samples that the trackers have seen
	mask    int
	tracks  []track
	pending [][]webEvent // by set
	levels  levels
	traffic traffic
}

// track is what is known of one channel.
type track struct {
	seek, against *seeker
	ring          []float64 // smoothed signal, by sample number and mask
	events        []Event   // usable ones that a later web event may still need
	ats           []int     // their peaks
	used          []bool
}

// NewAnalyzer checks parameters, channels and sets and returns an Analyzer for rows
// at rate samples a second.
func NewAnalyzer(p Params, rate float64, channels []Channel, sets []Set, sinks Sinks) (*Analyzer, error) {
	if err := p.Validate(rate); err != nil {
		return nil, err
	}
	if err := checkSets(channels, sets); err != nil {
		return nil, err
	}
	a := &Analyzer{p: p, rate: rate, channels: channels, sets: sets, sinks: sinks,
		signal: make([]float64, len(channels)), pending: make([][]webEvent, len(sets))}
	size := 1
	for float64(size) < rate*(p.Longest+p.Merge+p.SlipFrom+p.Reach+p.SlipReach+3*p.Block+1) {
		size *= 2
	}
	a.mask = size - 1
	a.tracks = make([]track, len(channels))
	for c := range a.tracks {
		a.tracks[c].ring = make([]float64, size)
	}
	a.grid = newGrid(len(channels), rate, p.Bridge, func(f []float64) { a.bench.add(f); a.levels.sample(a) })
	a.levels.init(len(channels))
	a.traffic.init(a)
	return a, nil
}

func checkSets(channels []Channel, sets []Set) error {
	var v fault.Invalid
	for i, c := range channels {
		if len(c.Columns) == 0 {
			v.Add("channel", c.Name, "channel %d has no column", i+1)
		}
		for _, k := range c.Columns {
			if k < 0 {
				v.Add("channel", c.Name, "column %d is none", k)
			}
		}
		if c.Role.strain() && c.Sign != 1 && c.Sign != -1 {
			v.Add("channel", c.Name, "the direction under a truck must be +1 or -1, got %g", c.Sign)
		}
	}
	for i, s := range sets {
		want := []struct {
			at   int
			role Role
			name string
		}{{s.Web, RoleWeb, "web"}, {s.Control, RoleControl, "control"}, {s.Panel, RolePanel, "panel"}, {s.Stud, RoleStud, "stud"},
			{s.Slip, RoleSlip, "slip"}, {s.Temperature, RoleTemperature, "temperature"}}
		for _, w := range want {
			if w.at == -1 && w.role != RoleWeb {
				continue
			}
			if w.at < 0 || w.at >= len(channels) || channels[w.at].Role != w.role {
				v.Add("set", "", "set %d: channel %d is not one of the %s", i+1, w.at, w.name)
			}
		}
	}
	return v.Err()
}

// Row takes the values at a time, in units of the channels; NaN for none. A row
// that is not later than the one before is left out and counted: Screen says which.
func (a *Analyzer) Row(t int64, values []float64) error {
	for c := range a.channels {
		v, cols := 0.0, a.channels[c].Columns
		for _, k := range cols {
			if k >= len(values) {
				return fault.New(fault.Malformed, "row %d has %d values, channel %s needs column %d", a.rows+1, len(values), a.channels[c].Name, k+1)
			}
			v += values[k]
		}
		if len(cols) > 1 {
			v /= float64(len(cols))
		}
		a.signal[c] = v
	}
	a.rows++
	switch {
	case !a.started:
		a.begin(t)
	case t <= a.grid.last:
		a.skipped++
		return nil
	case float64(t-a.grid.last) > a.p.Restart*1e9:
		a.close()
		a.begin(t)
	}
	a.grid.row(t, a.signal)
	return nil
}

// begin starts an unbroken record.
func (a *Analyzer) begin(t int64) {
	a.started, a.t0, a.now = true, t, 0
	keep := make([]bool, len(a.channels))
	for c, ch := range a.channels {
		keep[c] = ch.Role.slow()
	}
	a.bench = newBench(len(a.channels), keep, a.p, a.rate, a.step)
	for c := range a.tracks {
		k, ch := &a.tracks[c], a.channels[c]
		k.events, k.ats, k.used = k.events[:0], k.ats[:0], k.used[:0]
		if !ch.Role.strain() {
			continue
		}
		count := func(from, n int) { a.traffic.loaded(c, from, n) }
		k.seek = newSeeker(ch.Sign, a.rate, &a.p, count, func(x excursion) { a.event(c, x) })
		k.against = newSeeker(-ch.Sign, a.rate, &a.p, count, nil)
	}
	a.traffic.begin()
	a.levels.begin()
	a.grid.begin(t)
}

// close ends an unbroken record.
func (a *Analyzer) close() {
	a.grid.end()
	a.bench.finish()
	for c := range a.tracks {
		if k := &a.tracks[c]; k.seek != nil {
			k.seek.finish()
			k.against.finish()
		}
	}
	a.resolve(true)
	a.traffic.end(a)
	a.levels.flush(a)
}

// Close ends the stream: what was held back is handed to the sinks.
func (a *Analyzer) Close() Taken {
	if a.started {
		a.close()
		a.started = false
	}
	return Taken{Rows: a.rows, Skipped: a.skipped}
}

// Taken are rows taken, and those of them left out because they were not later
// than the row before.
type Taken struct{ Rows, Skipped int64 }

// time is when a sample of the unbroken record at hand was.
func (a *Analyzer) time(i int) int64 { return a.t0 + int64(math.Round(float64(i)*1e9/a.rate)) }

// step takes the smoothed samples of every channel from the bench.
func (a *Analyzer) step(from int) {
	n := len(a.bench.lines[0].smooth)
	for c := range a.tracks {
		k, l := &a.tracks[c], &a.bench.lines[c]
		for j, v := range l.smooth {
			k.ring[(from+j)&a.mask] = v
		}
	}
	a.now = from + n
	for c := range a.tracks {
		k, l := &a.tracks[c], &a.bench.lines[c]
		if k.seek != nil {
			k.seek.feed(from, l.smooth, l.rough, l.level, l.sigma)
			k.against.feed(from, l.smooth, l.rough, l.level, l.sigma)
		}
		a.traffic.valid(c, from, l.smooth)
	}
	a.resolve(false)
	a.traffic.step(a)
}
