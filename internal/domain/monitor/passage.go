package monitor

import "math"

// Passage is one truck as the gauges of an end show it. What a gauge did not show,
// or what is not there, is NaN.
type Passage struct {
	Set         int
	Web         Event
	Control     float64 // peak of the control gauge
	Ratio       float64 // web over control, of the sizes of both
	Panel       float64 // peak of the panel's own event, if it has one at this time
	Stud        float64 // likewise
	PanelAtPeak float64 // the panel where the web peaks, event or not
	Slip        float64 // at the peak less at rest, mm
	Temperature float64
}

// Coincident tells whether panel or stud show the passage too.
func (p Passage) Coincident() bool { return p.Panel == p.Panel || p.Stud == p.Stud }

// webEvent waits for the other gauges.
type webEvent struct {
	pass Passage
	at   int // sample of the peak
}

// event takes an excursion of channel c.
func (a *Analyzer) event(c int, x excursion) {
	sign := a.channels[c].Sign
	e := Event{Channel: c, From: a.time(x.from), At: a.time(x.at), To: a.time(x.to), Peak: sign * x.peak, Rough: sign * x.rough,
		Area: sign * x.area / a.rate, Rise: float64(x.at-x.from) / a.rate, Level: x.level, Sigma: x.sigma, Temperature: math.NaN()}
	switch {
	case float64(x.to-x.from+1)/a.rate > a.p.Longest:
		e.Flag = TooLong
	case x.cut:
		e.Flag = Cut
	}
	k := &a.tracks[c]
	if e.Flag == Usable {
		k.events, k.ats, k.used = append(k.events, e), append(k.ats, x.at), append(k.used, false)
	}
	if a.channels[c].Role == RoleWeb {
		for i, s := range a.sets {
			if s.Web == c {
				e.Temperature = a.value(s.Temperature, x.at)
				a.pending[i] = append(a.pending[i], webEvent{pass: a.around(i, e, x), at: x.at})
			}
		}
	}
	a.traffic.event(a, e, x.at)
}

// around reads the channels that need no event of their own.
func (a *Analyzer) around(set int, e Event, x excursion) Passage {
	s, nan := a.sets[set], math.NaN()
	p := Passage{Set: set, Web: e, Control: nan, Ratio: nan, Panel: nan, Stud: nan, PanelAtPeak: nan, Slip: nan, Temperature: e.Temperature}
	if e.Flag != Usable {
		return p
	}
	if s.Panel >= 0 {
		sign, reach, best := a.channels[s.Panel].Sign, int(math.Round(a.p.Reach*a.rate)), math.Inf(-1)
		for i := x.at - reach; i <= x.at+reach; i++ {
			if v := sign * a.value(s.Panel, i); v > best {
				best = v
			}
		}
		if !math.IsInf(best, -1) {
			p.PanelAtPeak = sign * best
		}
	}
	if s.Slip >= 0 {
		p.Slip = a.slip(s.Slip, x)
	}
	return p
}

// slip is the mean around the peak less the median at rest before the passage; NaN
// where a sample of either is missing or before the record.
func (a *Analyzer) slip(c int, x excursion) float64 {
	reach := int(math.Round(a.p.SlipReach * a.rate))
	from, to := x.from-int(math.Round(a.p.SlipFrom*a.rate)), x.from-int(math.Round(a.p.SlipTo*a.rate))
	if from <= 0 || to <= from {
		return math.NaN()
	}
	peak := 0.0
	for i := x.at - reach; i <= x.at+reach; i++ {
		peak += a.value(c, i)
	}
	rest := make([]float64, 0, to-from)
	for i := from; i < to; i++ {
		v := a.value(c, i)
		if v != v {
			return math.NaN()
		}
		rest = append(rest, v)
	}
	return peak/float64(2*reach+1) - medianIn(rest)
}

// value is the smoothed signal of a channel at a sample; NaN for none.
func (a *Analyzer) value(c, i int) float64 {
	if c < 0 || i < 0 || i >= a.now || i < a.now-len(a.tracks[c].ring) {
		return math.NaN()
	}
	return a.tracks[c].ring[i&a.mask]
}

// resolve joins the web events that nothing can still change with what the other
// gauges showed, in order of time.
func (a *Analyzer) resolve(all bool) {
	before, after := int(math.Round(a.p.ControlBefore*a.rate)), int(math.Round(a.p.ControlAfter*a.rate))
	near := int(math.Round(a.p.Coincide * a.rate))
	for i, s := range a.sets {
		done := 0
		for _, w := range a.pending[i] {
			if !all && !a.settled(s, w.at+max(after, near)) {
				break
			}
			done++
			if w.pass.Web.Flag == Usable {
				a.join(s, &w, before, after, near)
			}
			a.traffic.passage(a, w.pass, w.at)
		}
		a.pending[i] = a.pending[i][:copy(a.pending[i], a.pending[i][done:])]
	}
	a.forget()
}

// settled tells whether no event with a peak up to sample i can still come.
func (a *Analyzer) settled(s Set, i int) bool {
	if a.now <= i {
		return false
	}
	for _, c := range [...]int{s.Control, s.Panel, s.Stud} {
		if c >= 0 {
			if from, open := a.tracks[c].seek.openFrom(a.now); open && from <= i {
				return false
			}
		}
	}
	return true
}

func (a *Analyzer) join(s Set, w *webEvent, before, after, near int) {
	if s.Control >= 0 {
		k := &a.tracks[s.Control]
		for j, at := range k.ats {
			if d := at - w.at; d >= -before && d <= after && !(math.Abs(k.events[j].Peak) <= math.Abs(w.pass.Control)) {
				w.pass.Control = k.events[j].Peak
			}
		}
		w.pass.Ratio = math.Abs(w.pass.Web.Peak / w.pass.Control)
	}
	w.pass.Panel, w.pass.Stud = a.nearest(s.Panel, w.at, near), a.nearest(s.Stud, w.at, near)
}

// nearest takes the unused event of a channel whose peak is nearest to a sample.
func (a *Analyzer) nearest(c, at, near int) float64 {
	if c < 0 {
		return math.NaN()
	}
	k, best := &a.tracks[c], -1
	for j, t := range k.ats {
		if !k.used[j] && abs(t-at) <= near && (best < 0 || abs(t-at) < abs(k.ats[best]-at)) {
			best = j
		}
	}
	if best < 0 {
		return math.NaN()
	}
	k.used[best] = true
	return k.events[best].Peak
}

// forget drops events that no web event can need any more.
func (a *Analyzer) forget() {
	oldest := a.now
	for i := range a.pending {
		if len(a.pending[i]) > 0 {
			oldest = min(oldest, a.pending[i][0].at)
		}
	}
	// A web event that is still open began at most its longest time ago.
	limit := oldest - int((a.p.Longest+a.p.Merge+a.p.ControlBefore+a.p.Coincide+2*a.p.Block)*a.rate)
	for c := range a.tracks {
		k := &a.tracks[c]
		n := 0
		for n < len(k.ats) && k.ats[n] < limit {
			n++
		}
		if n > 0 {
			k.events, k.ats, k.used = append(k.events[:0], k.events[n:]...), append(k.ats[:0], k.ats[n:]...), append(k.used[:0], k.used[n:]...)
		}
	}
}
