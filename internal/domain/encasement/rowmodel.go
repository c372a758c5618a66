package encasement

import (
	"errors"
	"math"

	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// Row is one horizontal row of the load-share model: the studs of both faces in
// it, and the part of the load that enters the web there.
type Row struct {
	Studs int
	Load  units.Force
}

// RowModel shares a load between web and panel through rows of studs, counted
// from the top. Web and panel are bars, each row slips by the difference of
// their displacements, and each bar stands on a spring.
type RowModel struct {
	Rows  []Row
	Pitch []units.Length // between row i and the next, one fewer than rows
	Law   stud.Law       // one stud

	WebEA   units.Force // E times the area of web that goes with the group
	PanelEA units.Force
	// WebBase is the spring of the corroded web below the group; zero means the
	// web path is lost. PanelBase is the spring of the panel below it; +Inf is
	// a rigid seat.
	WebBase   units.Stiffness
	PanelBase units.Stiffness
	// WebCap is the force at which the corroded web gives no more; zero means
	// no cap.
	WebCap units.Force
	Gap    units.Length // clear gap under the panel foot
}

// Share is what the row model finds.
type Share struct {
	Load      units.Force
	Panel     units.Force // force the studs hand to the panel
	Web       units.Force // force left in the web below the group
	Fraction  float64     // panel over load
	Peak      units.Force // largest force on one stud
	Rows      []units.Force
	SlipTop   units.Length
	SlipFoot  units.Length // slip of the lowest row
	Closure   float64      // (panel + web - load)/load
	LoadSteps int
}

// Errors of the row model. A model that does not converge gives no number.
var (
	ErrShareInput       = errors.New("load share: rows, pitches, stiffness and law must be given and above zero")
	ErrShareUnconverged = errors.New("load share: no equilibrium was found")
)

// Stand-ins for a spring that is missing, a seat that is rigid and an open gap,
// and the slope past the web cap. They keep the equations solvable without
// touching the result: 1e-6 and 1e10 kip/in., in N/mm.
const (
	kipPerInch = float64(units.Kip) / float64(units.Inch)
	looseSeat  = 1e-6 * kipPerInch
	rigidSeat  = 1e10 * kipPerInch
	capSlope   = 1e-4
)

// Load is the sum of the loads of the rows.
func (m RowModel) Load() units.Force {
	var r units.Force
	for _, x := range m.Rows {
		r += x.Load
	}
	return r
}

func (m RowModel) valid() bool {
	n := len(m.Rows)
	if n == 0 || len(m.Pitch) != n-1 || m.Law == nil {
		return false
	}
	for _, r := range m.Rows {
		if r.Studs < 0 || !(math.Abs(float64(r.Load)) < math.Inf(1)) {
			return false
		}
	}
	for _, p := range m.Pitch {
		if !(p > 0) || math.IsInf(float64(p), 1) {
			return false
		}
	}
	ok := func(x float64) bool { return x > 0 && !math.IsInf(x, 1) }
	return ok(float64(m.WebEA)) && ok(float64(m.PanelEA)) && m.WebBase >= 0 && !math.IsInf(float64(m.WebBase), 1) &&
		m.PanelBase >= 0 && m.WebCap >= 0 && m.Gap >= 0 && !math.IsInf(float64(m.Gap), 1)
}

// Solve finds equilibrium by Newton's method with step halving; the residual
// allowed is 1e-9 of the load. Every spring of the model has a slope above zero,
// so there is one equilibrium and the way to it does not matter: the whole load
// is tried at once, and only where that finds no balance is it raised in equal
// steps. Where those find none either the error says so and there is no result.
func (m RowModel) Solve() (Share, error) {
	var s rowSolver
	return s.solve(m)
}

// steps is how many equal load steps are tried last.
func (m RowModel) steps() int {
	steps := m.Law.Steps()
	switch {
	case m.Gap > 0 && steps > 1:
		return 80
	case m.Gap > 0:
		return 20
	case m.WebCap > 0:
		return max(steps, 60)
	}
	return steps
}

// rowSolver holds the displacements, web and panel of each row in turn, so the
// tangent matrix has two diagonals on either side of the main one.
type rowSolver struct {
	m          RowModel
	load       float64
	bars       []float64 // EA/p of the web and the panel between rows, in turn
	kWeb, kPan float64
	u, trial   []float64
	f, ft, du  []float64
	a          [][bandWidth]float64
	// the memory behind the slices above
	buf, barBuf []float64
	band        [][bandWidth]float64
}

// solve balances a model; a solver may be used again and keeps its memory.
func (s *rowSolver) solve(m RowModel) (Share, error) {
	if !m.valid() {
		return Share{}, ErrShareInput
	}
	s.reset(m)
	for _, steps := range [...]int{1, 5, m.steps()} {
		if s.climb(steps) {
			return s.share(steps), nil
		}
	}
	return Share{}, ErrShareUnconverged
}

// climb raises the load in equal steps from zero displacement.
func (s *rowSolver) climb(steps int) bool {
	clear(s.u)
	if s.m.Gap > 0 {
		for i := range s.u {
			s.u[i] = 1e-4 * float64(units.Inch)
		}
	}
	for k := 1; k <= steps; k++ {
		if !s.balance(float64(k) / float64(steps)) {
			return false
		}
	}
	return true
}

func (s *rowSolver) reset(m RowModel) {
	n := 2 * len(m.Rows)
	if cap(s.buf) < 5*n {
		s.buf, s.band = make([]float64, 5*n), make([][bandWidth]float64, n)
		s.barBuf = make([]float64, n)
	}
	buf := s.buf[:5*n]
	s.u, s.trial, s.f, s.ft, s.du = buf[:n], buf[n:2*n], buf[2*n:3*n], buf[3*n:4*n], buf[4*n:]
	s.a, s.bars = s.band[:n], s.barBuf[:2*len(m.Pitch)]
	s.m, s.load = m, float64(m.Load())
	for i, p := range m.Pitch {
		s.bars[2*i], s.bars[2*i+1] = float64(m.WebEA)/float64(p), float64(m.PanelEA)/float64(p)
	}
	s.kWeb, s.kPan = float64(m.WebBase), float64(m.PanelBase)
	if s.kWeb == 0 {
		s.kWeb = looseSeat
	}
	if math.IsInf(s.kPan, 1) {
		s.kPan = rigidSeat
	}
}

// webSeat is the force and slope of the spring under the web.
func (s *rowSolver) webSeat(u float64) (float64, float64) {
	n := s.kWeb * u
	limit := float64(s.m.WebCap)
	if limit > 0 && math.Abs(n) > limit {
		h := capSlope * s.kWeb
		return math.Copysign(limit+h*(math.Abs(u)-limit/s.kWeb), u), h
	}
	return n, s.kWeb
}

// panelSeat is the force and slope of the spring under the panel, which only
// presses once the gap is closed.
func (s *rowSolver) panelSeat(u float64) (float64, float64) {
	d := u - float64(s.m.Gap)
	if s.kPan == 0 || d <= 0 {
		return looseSeat * d, looseSeat
	}
	return s.kPan * d, s.kPan
}

// residual writes the out-of-balance force of every node into f and, when
// tangent is set, the stiffness into the band. It returns the largest.
func (s *rowSolver) residual(u, f []float64, mu float64, tangent bool) float64 {
	if tangent {
		clear(s.a)
	}
	last := len(s.m.Rows) - 1
	for i, row := range s.m.Rows {
		w, p := 2*i, 2*i+1
		q, k := s.m.Law.Force(u[w] - u[p])
		q, k = q*float64(row.Studs), k*float64(row.Studs)
		f[w] = mu*float64(row.Load) - q
		f[p] = q
		if tangent {
			s.a[w][diagonal] += k
			s.a[p][diagonal] += k
			s.a[w][diagonal+1] -= k
			s.a[p][diagonal-1] -= k
		}
	}
	for i, b := range s.bars {
		n := b * (u[i] - u[i+2])
		f[i] -= n
		f[i+2] += n
		if tangent {
			s.a[i][diagonal] += b
			s.a[i+2][diagonal] += b
			s.a[i][diagonal+2] -= b
			s.a[i+2][diagonal-2] -= b
		}
	}
	nw, kw := s.webSeat(u[2*last])
	np, kp := s.panelSeat(u[2*last+1])
	f[2*last] -= nw
	f[2*last+1] -= np
	if tangent {
		s.a[2*last][diagonal] += kw
		s.a[2*last+1][diagonal] += kp
	}
	var worst float64
	for _, x := range f {
		if a := math.Abs(x); !(a <= worst) {
			worst = a
		}
	}
	return worst
}

func (s *rowSolver) balance(mu float64) bool {
	tol := 1e-9 * math.Max(float64(units.Kip), math.Abs(s.load))
	for range 200 {
		r := s.residual(s.u, s.f, mu, true)
		if r < tol {
			return true
		}
		copy(s.du, s.f)
		if !solveBand(s.a, s.du) {
			return false
		}
		step := 1.0
		for {
			for i := range s.u {
				s.trial[i] = s.u[i] + step*s.du[i]
			}
			if s.residual(s.trial, s.ft, mu, false) < r || step < 1e-4 {
				break
			}
			step /= 2
		}
		copy(s.u, s.trial)
	}
	return false
}

func (s *rowSolver) share(steps int) Share {
	last := len(s.m.Rows) - 1
	out := Share{Load: units.Force(s.load), Rows: make([]units.Force, len(s.m.Rows)), LoadSteps: steps}
	for i, row := range s.m.Rows {
		q, _ := s.m.Law.Force(s.u[2*i] - s.u[2*i+1])
		out.Rows[i] = units.Force(q * float64(row.Studs))
		out.Panel += out.Rows[i]
		if row.Studs > 0 && math.Abs(q) > math.Abs(float64(out.Peak)) {
			out.Peak = units.Force(q)
		}
	}
	w, _ := s.webSeat(s.u[2*last])
	out.Web = units.Force(w)
	out.SlipTop = units.Length(s.u[0] - s.u[1])
	out.SlipFoot = units.Length(s.u[2*last] - s.u[2*last+1])
	if s.load != 0 {
		out.Fraction = float64(out.Panel) / s.load
		out.Closure = (float64(out.Panel) + w - s.load) / s.load
	}
	return out
}
