package web

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// curingSums keeps what the curing records last shown say, by the digests of their
// readings and the settings: the same readings always give the same sums, so that a
// log of a million rows is walked over once and not with every page. The zero value
// is ready.
type curingSums struct {
	mu sync.Mutex
	of map[string]uhpc.CuringResult
	// fits are the strength curves of programs, by their last journal entry.
	fits map[string]programCurve
}

// mostSums bounds what is kept; full, it begins anew.
const mostSums = 512

// curingKeys are the settings that a sum depends on.
var curingKeys = []basis.Key{basis.MaturityDatum, basis.MaturityDatumWarm, basis.MaturityQ, basis.MaturityReference, basis.CuringGapLow, basis.CuringGapVoid, basis.CuringHot,
	basis.CuringStop, basis.CuringCold, basis.CuringRise, basis.CuringEveryEarly, basis.CuringEveryLate, basis.CuringEarlyHours}

// sensorsOf sums up the logs of one casting for an end, a sensor at a time: several
// files of one sensor follow each other. An empty end takes those of the whole casting.
func (s *Server) sensorsOf(ctx context.Context, logs []repair.CuringLog, pourID, endID string, b basis.Basis) ([]uhpc.Sensor, error) {
	type key struct{ name, place string }
	parts := map[key][]repair.CuringLog{}
	var order []key
	for _, l := range logs {
		if l.PourID != pourID || l.WithdrawnAt != nil || l.EndID != nil && *l.EndID != endID {
			continue
		}
		k := key{l.Sensor, l.Place}
		if parts[k] == nil {
			order = append(order, k)
		}
		parts[k] = append(parts[k], l)
	}
	slices.SortFunc(order, func(a, b key) int { return cmp.Or(strings.Compare(a.name, b.name), strings.Compare(a.place, b.place)) })
	var out []uhpc.Sensor
	for _, k := range order {
		r, err := s.sumOf(ctx, parts[k], b)
		if err != nil {
			return nil, err
		}
		out = append(out, uhpc.Sensor{Name: k.name, Place: uhpc.Place(k.place), Result: r})
	}
	return out, nil
}

// sumOf sums up the logs of one sensor.
func (s *Server) sumOf(ctx context.Context, logs []repair.CuringLog, b basis.Basis) (uhpc.CuringResult, error) {
	slices.SortFunc(logs, func(a, b repair.CuringLog) int {
		return cmp.Or(firstOf(a).Compare(firstOf(b)), strings.Compare(a.ID, b.ID))
	})
	covered := logs[0].CoveredAt
	var name strings.Builder
	for _, l := range logs {
		if l.CoveredAt.Before(covered) {
			covered = l.CoveredAt
		}
		name.WriteString(l.ReadingsDigest + " ")
	}
	fmt.Fprint(&name, covered.UnixMicro())
	for _, k := range curingKeys {
		fmt.Fprint(&name, " ", b.Value(k))
	}
	s.sums.mu.Lock()
	r, ok := s.sums.of[name.String()]
	s.sums.mu.Unlock()
	if ok {
		return r, nil
	}
	a := uhpc.NewAccumulator(covered, b)
	for _, l := range logs {
		err := s.store.StreamReadings(ctx, l.ID, func(t uhpc.Temperature) error {
			_ = a.Add(t.At, t.Value) // files of one sensor may overlap: what is on record already is passed over
			return nil
		})
		if err != nil {
			return r, err
		}
	}
	r = a.Result(b)
	s.sums.mu.Lock()
	if len(s.sums.of) >= mostSums || s.sums.of == nil {
		s.sums.of = map[string]uhpc.CuringResult{}
	}
	s.sums.of[name.String()] = r
	s.sums.mu.Unlock()
	return r, nil
}

func firstOf(l repair.CuringLog) time.Time {
	if l.FirstAt == nil {
		return l.CoveredAt
	}
	return *l.FirstAt
}

// programCurve is the strength curve of a program with the sets behind it.
type programCurve struct {
	entry int64
	fit   uhpc.Fit
	left  []string // sets that are left out
}

// curveFor is the curve that forecasts go by: the program's own where one is kept,
// else that of the design basis.
func (c programCurve) curveFor(specified units.Stress, b basis.Basis) uhpc.Strengthening {
	if own, ok := c.fit.Strengthening(b); ok {
		return own
	}
	return uhpc.DefaultStrengthening(specified, b)
}

// programCurve fits the strength curve of a program, once for each state of its
// record.
func (s *Server) programCurve(ctx context.Context, programID string, b basis.Basis) (programCurve, error) {
	entry, err := s.store.LastEntry(ctx, programID)
	if err != nil {
		return programCurve{}, err
	}
	s.sums.mu.Lock()
	c, ok := s.sums.fits[programID]
	s.sums.mu.Unlock()
	if ok && entry > 0 && c.entry == entry {
		return c, nil
	}
	list, err := s.store.Castings(ctx, programID)
	if err != nil {
		return programCurve{}, err
	}
	curing := b.Value(basis.GainTemperature)
	var failed error
	sensors := map[string][]uhpc.Sensor{}
	age := func(p repair.Pour, cure uhpc.Cure, at time.Time) (float64, bool) {
		got, ok := sensors[p.ID]
		if !ok {
			if got, err = s.sensorsOf(ctx, list.CuringLogs, p.ID, "", b); err != nil {
				failed = err
			}
			sensors[p.ID] = got
		}
		return specimenAge(got, cure, at, curing, b)
	}
	c = programCurve{entry: entry}
	var points []uhpc.Point
	points, c.left = repair.CurvePoints(list.Pours, list.Batches, list.Specimens, list.SetReviews, age, b)
	if failed != nil {
		return c, failed
	}
	c.fit = uhpc.FitCurve(points, units.Temperature(curing), b)
	s.sums.mu.Lock()
	if s.sums.fits == nil || len(s.sums.fits) >= mostSums {
		s.sums.fits = map[string]programCurve{}
	}
	s.sums.fits[programID] = c
	s.sums.mu.Unlock()
	return c, nil
}

// specimenAge is the equivalent age of specimens at their break: by the sensor
// beside them, and for match-cured ones by the sensor that governs the casting.
func specimenAge(sensors []uhpc.Sensor, cure uhpc.Cure, at time.Time, curing float64, b basis.Basis) (float64, bool) {
	var r *uhpc.CuringResult
	for i := range sensors {
		if sensors[i].Place == uhpc.AtSpecimen {
			r = &sensors[i].Result
		}
	}
	if r == nil && cure == uhpc.MatchCure {
		if g, ok := uhpc.Govern(sensors, b); ok && !g.Air {
			r = &sensors[g.Sensor].Result
		}
	}
	if r == nil || r.Void {
		return 0, false
	}
	m, ok := r.At(at)
	if !ok {
		return 0, false
	}
	h := m.Maturity.AgesAt(units.Temperature(curing), b)[uhpc.Equivalent]
	return h, h > 0
}
