package encasement

import (
	"errors"
	"math"

	"endcast/internal/domain/units"
)

// ErrWebHeldTooMuch is returned where the load already in the web when the
// panel hardens is at or above what the corroded web can carry.
var ErrWebHeldTooMuch = errors.New("load share: the load in the web at hardening is not below the residual web strength")

// Staged is a load share with what the web carried before the panel hardened.
type Staged struct {
	Share
	Before   units.Force // in the web when the panel hardened
	WebTotal units.Force // before plus the web's part of what came after
}

// SolveStaged shares what is added after the panel hardened. The rows hold the
// whole load; before is the part that was in the web by then (dead load less
// what a jack took out). The panel takes none of it.
func (m RowModel) SolveStaged(before units.Force) (Staged, error) {
	var s rowSolver
	return s.staged(m, before)
}

func (s *rowSolver) staged(m RowModel, before units.Force) (Staged, error) {
	total := m.Load()
	if !(before >= 0) || !(before <= total) || !(total > 0) {
		return Staged{}, ErrShareInput
	}
	if m.WebCap > 0 && before >= m.WebCap {
		return Staged{}, ErrWebHeldTooMuch
	}
	k := float64(total-before) / float64(total)
	later := m
	later.Rows = make([]Row, len(m.Rows))
	for i, r := range m.Rows {
		later.Rows[i] = Row{Studs: r.Studs, Load: r.Load * units.Force(k)}
	}
	if m.WebCap > 0 {
		later.WebCap = m.WebCap - before
	}
	out, err := s.solve(later)
	if err != nil {
		return Staged{}, err
	}
	return Staged{Share: out, Before: before, WebTotal: before + out.Web}, nil
}

// LoadAtSlip is the load, with the web path lost, at which the top row has
// slipped by limit. qu is the strength of one stud; loads up to 0.999 of the
// sum of strengths are searched. A load at which the model finds no balance
// counts as beyond the slip.
func (m RowModel) LoadAtSlip(limit units.Length, qu units.Force) (units.Force, error) {
	if !m.valid() || !(limit > 0) || !(qu > 0) || !(m.Load() > 0) {
		return 0, ErrShareInput
	}
	m.WebBase, m.WebCap = 0, 0
	n, total := 0, float64(m.Load())
	for _, r := range m.Rows {
		n += r.Studs
	}
	var solver rowSolver
	at := func(r float64) bool { // within the slip
		t := m
		t.Rows = make([]Row, len(m.Rows))
		for i, row := range m.Rows {
			t.Rows[i] = Row{Studs: row.Studs, Load: row.Load * units.Force(r/total)}
		}
		s, err := solver.solve(t)
		return err == nil && math.Abs(float64(s.SlipTop)) <= float64(limit)
	}
	lo, hi := 0.0, 0.999*float64(n)*float64(qu)
	if at(hi) {
		return units.Force(hi), nil
	}
	for range 40 {
		mid := (lo + hi) / 2
		if at(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return units.Force(lo), nil
}
