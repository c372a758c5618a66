package stud

import (
	"errors"
	"math"
	"slices"

	"endcast/internal/domain/units"
)

// Errors of Center.
var (
	// ErrNoGroup is returned for a group without studs.
	ErrNoGroup = errors.New("stud group: no studs")
	// ErrMechanism is returned where a group without extent has to carry a
	// moment.
	ErrMechanism = errors.New("stud group: a single place cannot carry a force that does not pass through it")
	// ErrNotConverged is returned where the instantaneous center was not found;
	// there is then no number to use.
	ErrNotConverged = errors.New("stud group: the instantaneous center was not found")
)

// Turning is the state of a group at its instantaneous center of rotation.
type Turning struct {
	C    float64 // force over the strength of one stud
	X, Z float64 // the center, mm; NaN when the force passes through the centroid
}

// Center finds the instantaneous center of rotation of a group under a pull,
// with curve for the studs and slip for the one farthest from the center (AISC
// Manual Part 7 for the method). The coefficient is the force the group carries
// when that stud reaches slip, over the strength of one stud. It is not divided
// by the fraction the curve reaches at slip, as the printed tables are not.
//
// A force through the centroid gives C = the number of studs. The method itself
// tends to a little less (0.9815 of it for the bolt curve at 0.34 in.), so C
// has a small step at zero eccentricity.
//
// The program shows this value for information; the design uses Elastic,
// because slip capacity in UHPC is not confirmed.
func Center(pts []Point, l Pull, curve Curve, slip units.Length) (Turning, error) {
	g := NewGroup(pts)
	if g.N == 0 {
		return Turning{}, ErrNoGroup
	}
	m1 := g.moment(l)
	if math.Abs(m1) < noLever {
		return Turning{C: float64(g.N), X: math.NaN(), Z: math.NaN()}, nil
	}
	if g.J < 1e-9 {
		return Turning{}, ErrMechanism
	}
	// The method's tolerances are stated for inches, so it works in inches from
	// the centroid.
	const in = float64(units.Inch)
	// Studs back to back stand at one place: they are one point that counts twice.
	buf := make([]float64, 3*g.N)
	s := turningSolver{
		x: buf[:0:g.N], z: buf[g.N : g.N : 2*g.N], n: buf[2*g.N : 2*g.N],
		ex: (l.X - g.CX) / in, ez: (l.Z - g.CZ) / in, ux: l.UX, uz: l.UZ,
		curve: curve, slip: float64(slip), sigma: math.Copysign(1, m1),
	}
	for i, p := range pts {
		if k := slices.Index(pts[:i], p); k < 0 {
			s.x, s.z, s.n = append(s.x, (p.X-g.CX)/in), append(s.z, (p.Z-g.CZ)/in), append(s.n, float64(count(pts[i:], p)))
		}
	}
	j, m := g.J/(in*in), m1/in
	x0, z0 := -l.UZ*j/(float64(g.N)*m), l.UX*j/(float64(g.N)*m)
	// The elastic center first. Small lever arms put it much farther out than
	// the center sought, where the residual has a hump between the two.
	for _, f := range [...]float64{1, 0.7, 0.5, 1.5, 0.3, 2, 0.2, 0.15, 0.1, 0.05, 0.02} {
		x, z := s.newton(x0*f+1e-4, z0*f+1e-4)
		t := s.try(x, z)
		if t.residual() < 1e-6 && t.m*m > 0 {
			return Turning{C: t.c, X: g.CX + x*in, Z: g.CZ + z*in}, nil
		}
	}
	return Turning{}, ErrNotConverged
}

func count(pts []Point, p Point) (n int) {
	for _, q := range pts {
		if q == p {
			n++
		}
	}
	return n
}

type turningSolver struct {
	x, z, n        []float64 // places and the studs at each
	ex, ez, ux, uz float64
	curve          Curve
	slip           float64
	sigma          float64
}

// trial is the state of equilibrium about a trial center.
type trial struct{ c, m, fx, fz float64 }

func (t trial) residual() float64 { return math.Hypot(t.fx, t.fz) }

func (s *turningSolver) try(x, z float64) trial {
	far := 0.0
	for i := range s.x {
		far = max(far, apart2(s.x[i]-x, s.z[i]-z))
	}
	far = math.Sqrt(far)
	m := (s.ex-x)*s.uz - (s.ez-z)*s.ux
	arm := math.Max(math.Abs(m), 1e-12)
	var work, sx, sz float64
	for i := range s.x {
		d := math.Sqrt(apart2(s.x[i]-x, s.z[i]-z))
		if d <= 1e-12 {
			continue
		}
		r := s.n[i] * s.curve.Fraction(units.Length(s.slip*d/far))
		work += r * d
		sx += r * (s.z[i] - z) / d
		sz += r * (s.x[i] - x) / d
	}
	c := work / arm
	return trial{c: c, m: m, fx: c*s.ux + s.sigma*sx, fz: c*s.uz - s.sigma*sz}
}

// apart2 is the square of a distance.
func apart2(x, z float64) float64 { return float64(x*x) + float64(z*z) }

// newton improves a trial center until the forces balance or it can no more. The
// slopes are measured once and then follow from the steps taken (Broyden's rule),
// which spares most of the work; they are measured again where a full step fails.
func (s *turningSolver) newton(x, z float64) (float64, float64) {
	t := s.try(x, z)
	var a, b, c, d float64
	fresh := false
	for range 200 {
		r := t.residual()
		if !(r >= 1e-10*math.Max(1, t.c)) {
			break
		}
		det := a*d - b*c
		if !fresh && math.Abs(det) < 1e-14 {
			a, b, c, d = s.slopes(x, z, t)
			fresh = true
			if det = a*d - b*c; math.Abs(det) < 1e-14 {
				x, z, fresh = x+1e-3, z+1e-3, false
				a, b, c, d = 0, 0, 0, 0
				t = s.try(x, z)
				continue
			}
		}
		dx, dz := (-t.fx*d+t.fz*b)/det, (t.fx*c-t.fz*a)/det
		moved := false
		for step := 1.0; step >= 1e-6; step /= 2 {
			n := s.try(x+step*dx, z+step*dz)
			if n.residual() < r {
				if step < 1 {
					a, b, c, d = 0, 0, 0, 0
				} else if l := dx*dx + dz*dz; l > 0 {
					ex, ez := (n.fx-t.fx-a*dx-b*dz)/l, (n.fz-t.fz-c*dx-d*dz)/l
					a, b, c, d = a+ex*dx, b+ex*dz, c+ez*dx, d+ez*dz
				}
				x, z, t, moved = x+step*dx, z+step*dz, n, true
				break
			}
			if !fresh {
				break
			}
		}
		if !moved && fresh {
			break
		}
		if !moved {
			a, b, c, d = 0, 0, 0, 0
		}
		fresh = false
	}
	return x, z
}

// slopes measures how the residual changes with the center. The step grows with
// the distance of the center: for a small lever arm the center is far away and a
// fixed step drowns in rounding.
func (s *turningSolver) slopes(x, z float64, t trial) (a, b, c, d float64) {
	h := 1e-6 * math.Max(1, math.Hypot(x, z))
	tx, tz := s.try(x+h, z), s.try(x, z+h)
	return (tx.fx - t.fx) / h, (tz.fx - t.fx) / h, (tx.fz - t.fz) / h, (tz.fz - t.fz) / h
}
