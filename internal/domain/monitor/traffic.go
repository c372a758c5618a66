package monitor

import "math"

// traffic counts loaded time in stretches of a record, holds passages and events
// back until their stretch is over and marks those of a stretch with too much of
// it. The baseline is a median: where a gauge is loaded for long it sinks into the
// load, which makes peaks too small, and more so than the count then shows.
// Therefore excursions against the direction of the channel count too.
type traffic struct {
	samples int // of a stretch
	first   int // oldest stretch not over
	slots   [4]stretchCount
	wait    []waiting
}

// stretchCount counts samples by channel.
type stretchCount struct{ valid, loaded []int }

// waiting is an event or a passage that is held back.
type waiting struct {
	at      int
	event   Event
	passage *Passage
}

func (t *traffic) init(a *Analyzer) {
	t.samples = int(math.Round(a.p.Stretch * a.rate))
	for i := range t.slots {
		t.slots[i] = stretchCount{valid: make([]int, len(a.channels)), loaded: make([]int, len(a.channels))}
	}
}

func (t *traffic) begin() {
	t.first, t.wait = 0, t.wait[:0]
	for i := range t.slots {
		t.slots[i].clear()
	}
}

func (s *stretchCount) clear() { clear(s.valid); clear(s.loaded) }

func (t *traffic) slot(i int) *stretchCount { return &t.slots[max(i/t.samples, t.first)%len(t.slots)] }

// loaded counts an excursion; a long one may span stretches.
func (t *traffic) loaded(c, from, n int) {
	for n > 0 {
		part := min(n, t.samples-from%t.samples)
		if from/t.samples >= t.first { // what is over is over
			t.slot(from).loaded[c] += part
		}
		from, n = from+part, n-part
	}
}

// valid counts the samples that hold a number.
func (t *traffic) valid(c, from int, smooth []float64) {
	for j := 0; j < len(smooth); {
		part := min(len(smooth)-j, t.samples-(from+j)%t.samples)
		n := part
		for _, v := range smooth[j : j+part] {
			if v != v {
				n--
			}
		}
		t.slot(from + j).valid[c] += n
		j += part
	}
}

func (t *traffic) event(a *Analyzer, e Event, at int) {
	if a.sinks.Event != nil {
		t.wait = append(t.wait, waiting{at: at, event: e})
	}
}

func (t *traffic) passage(a *Analyzer, p Passage, at int) {
	if a.sinks.Passage != nil {
		t.wait = append(t.wait, waiting{at: at, passage: &p})
	}
}

// step closes the stretch that nothing can still change and whose successor is
// half there.
func (t *traffic) step(a *Analyzer) {
	lag := t.samples/2 + int((a.p.Longest+a.p.Merge+a.p.ControlAfter+a.p.Coincide)*a.rate)
	for a.now >= (t.first+1)*t.samples+lag {
		t.release(a, t.first, t.first)
		t.first++
	}
}

// end closes what is left. A rest of less than half a stretch counts with the one
// before: a few seconds with a truck in them are no crowd.
func (t *traffic) end(a *Analyzer) {
	last := max(0, a.now-1) / t.samples
	for t.first <= last {
		to := t.first
		if to+1 == last && (a.now-last*t.samples)*2 < t.samples {
			to = last
		}
		t.release(a, t.first, to)
		t.first = to + 1
	}
}

// release hands over what waits of the stretches from first to last, which count
// as one.
func (t *traffic) release(a *Analyzer, first, last int) {
	out := Stretch{From: a.time(first * t.samples), To: a.time(min((last+1)*t.samples, a.now)), Channel: -1}
	for c := range a.channels {
		valid, loaded := 0, 0
		for i := first; i <= last; i++ {
			s := &t.slots[i%len(t.slots)]
			valid, loaded = valid+s.valid[c], loaded+s.loaded[c]
		}
		if valid > 0 && a.channels[c].Role.strain() && (out.Channel < 0 || float64(loaded)/float64(valid) > out.Occupancy) {
			out.Occupancy, out.Channel = float64(loaded)/float64(valid), c
		}
	}
	for i := first; i <= last; i++ {
		t.slots[i%len(t.slots)].clear()
	}
	out.Refused = out.Occupancy > a.p.Occupancy
	if a.sinks.Stretch != nil {
		a.sinks.Stretch(out)
	}
	kept := t.wait[:0]
	for _, w := range t.wait {
		switch {
		case w.at >= (last+1)*t.samples:
			kept = append(kept, w)
		case w.passage != nil:
			if out.Refused {
				w.passage.Web.Flag = max(w.passage.Web.Flag, Crowded)
			}
			a.sinks.Passage(*w.passage)
		default:
			if out.Refused {
				w.event.Flag = max(w.event.Flag, Crowded)
			}
			a.sinks.Event(w.event)
		}
	}
	t.wait = kept
}

// levels gathers the medians of blocks by the hour.
type levels struct {
	hour  int64
	seen  int // blocks of the record at hand
	value [][]float64
	noise [][]float64
}

const hour = int64(3600e9)

func (l *levels) init(channels int) {
	l.value, l.noise = make([][]float64, channels), make([][]float64, channels)
}

func (l *levels) begin() { l.seen = 0 }

// sample looks whether a block was closed.
func (l *levels) sample(a *Analyzer) {
	if a.sinks.Level == nil || a.bench.block == l.seen {
		return
	}
	b := a.bench
	at := a.time(l.seen * b.n)
	if h := at - ((at%hour)+hour)%hour; h != l.hour {
		l.flush(a)
		l.hour = h
	}
	for c := range b.lines {
		line, i := &b.lines[c], l.seen%len(b.lines[c].meds)
		if v := line.meds[i]; v == v {
			l.value[c] = append(l.value[c], v)
		}
		if v := line.noise[i]; v == v && !line.keep {
			l.noise[c] = append(l.noise[c], v)
		}
	}
	l.seen = b.block
}

func (l *levels) flush(a *Analyzer) {
	for c := range l.value {
		if n := len(l.value[c]); n > 0 {
			a.sinks.Level(Level{Hour: l.hour, Channel: c, Value: medianIn(l.value[c]), Noise: medianIn(l.noise[c]), Blocks: n})
		}
		l.value[c], l.noise[c] = l.value[c][:0], l.noise[c][:0]
	}
}
