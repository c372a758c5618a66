package stud

import (
	"math"

	"endcast/internal/domain/units"
)

// Curve is a load and slip curve of one stud as a fraction of its strength: the
// force at slip s is Fraction(s) times the strength. No curve measured in UHPC
// is confirmed, so results that lean on a curve are run with several and the
// envelope is reported.
type Curve struct {
	Name   string
	Source string
	form   curveForm
	a, b   float64 // meaning depends on the form; slips in mm
	start  float64 // slip at which the curve leaves zero, mm
}

type curveForm uint8

const (
	powerOfExponential curveForm = iota // (1 - exp(-b s))^a
	hyperbola                           // a t / (1 + b t), t = s - start
	elasticPlastic                      // s / a up to 1
)

// The curves the program knows. Only the exponential forms serve the load-share
// model, because only they rise without end and have a slope everywhere.
var (
	// OllgaardSlutterFisher is the usual curve for studs in ordinary concrete;
	// from memory. It gives too small a slip for the push-outs it was set
	// against here, so it is not a safe estimate of slip.
	OllgaardSlutterFisher = Curve{Name: "Ollgaard-Slutter-Fisher", Source: "Ollgaard, Slutter and Fisher 1971, from memory",
		a: 0.4, b: 18 / float64(units.Inch)}
	// FHWAFit is a least-squares fit to the mean curve of five push-outs with
	// precast panels in FHWA-HRT-20-005, Fig. 93; rms difference 0.029.
	FHWAFit = Curve{Name: "fit to FHWA precast push-outs", Source: "fitted to FHWA-HRT-20-005 (2019), Fig. 93, read second-hand",
		a: 0.65, b: 15.8 / float64(units.Inch)}
	// HighStrength and NormalStrength are the pair published for the two
	// concrete classes in J. Constr. Steel Res. 36 (1996); from memory.
	HighStrength = Curve{Name: "high-strength concrete, 1996", Source: "J. Constr. Steel Res. 36 (1996) 15-29, from memory",
		form: hyperbola, a: 4.44, b: 4.24, start: 0.031}
	NormalStrength = Curve{Name: "normal-strength concrete, 1996", Source: "J. Constr. Steel Res. 36 (1996) 15-29, from memory",
		form: hyperbola, a: 2.24, b: 1.98, start: 0.058}
	// Hyperbolic2008 is a hyperbola published in 2008; from memory.
	Hyperbolic2008 = Curve{Name: "hyperbola, 2008", Source: "hyperbolic fit of 2008, from memory",
		form: hyperbola, a: 1 / 0.5, b: 0.97 / 0.5}
	// Bilinear rises straight to 0.5 mm and is flat after it.
	Bilinear = Curve{Name: "bilinear", Source: "documentation of an open-source library, read second-hand",
		form: elasticPlastic, a: 0.5}
	// AISCBolt is the bolt curve of the AISC Manual, Part 7, used to check the
	// instantaneous-center solver against printed tables.
	AISCBolt = Curve{Name: "bolt", Source: "AISC Manual Part 7", a: 0.55, b: 10 / float64(units.Inch)}
)

// BoltSlip is the deformation of the farthest bolt in the AISC tables, 0.34 in.
const BoltSlip = 0.34 * units.Inch

// Exponential is a curve (1 - exp(-b s))^a with the caller's own constants; b is
// per millimetre. Constants that are not above zero give a curve that is zero.
func Exponential(name, source string, a, bPerMM float64) Curve {
	return Curve{Name: name, Source: source, a: a, b: bPerMM}
}

// Fraction is the force at slip s over the strength. It is zero for slips that
// are not above zero.
func (c Curve) Fraction(s units.Length) float64 {
	x := float64(s)
	switch c.form {
	case hyperbola:
		t := x - c.start
		if !(t > 0) {
			return 0
		}
		return c.a * t / (1 + c.b*t)
	case elasticPlastic:
		return math.Max(0, math.Min(1, x/c.a))
	default:
		if !(x > 0) || !(c.a > 0) || !(c.b > 0) {
			return 0
		}
		return math.Pow(-math.Expm1(-c.b*x), c.a)
	}
}

// SlipAt is the slip at which the curve reaches fraction q of the strength, NaN
// where it never does.
func (c Curve) SlipAt(q float64) units.Length {
	if !(q >= 0) {
		return units.Length(math.NaN())
	}
	switch c.form {
	case hyperbola:
		if q == 0 {
			return units.Length(c.start)
		}
		if c.a-q*c.b <= 0 {
			return units.Length(math.NaN())
		}
		return units.Length(c.start + q/(c.a-q*c.b))
	case elasticPlastic:
		if q > 1 {
			return units.Length(math.NaN())
		}
		return units.Length(q * c.a)
	default:
		if q >= 1 {
			return units.Length(math.NaN())
		}
		return units.Length(-math.Log1p(-math.Pow(q, 1/c.a)) / c.b)
	}
}

// Law gives the force of one stud at a slip and its slope, both odd in the slip:
// N and N/mm for a slip in mm.
type Law interface {
	Force(slip float64) (force, slope float64)
	// Steps is how many equal load steps the solver needs for this law.
	Steps() int
}

// LinearLaw is a spring of K newtons a millimetre.
type LinearLaw struct{ K units.Stiffness }

// Force implements Law.
func (l LinearLaw) Force(s float64) (float64, float64) { return float64(l.K) * s, float64(l.K) }

// Steps implements Law.
func (LinearLaw) Steps() int { return 1 }

// straightTo is the slip up to which a curve is replaced by its chord: the
// slope of an exponential curve with a power below one has no limit at zero.
// 0.002 in.; our proposal.
const straightTo = 0.002 * float64(units.Inch)

// CurveLaw is an exponential curve scaled by the strength Qu of one stud.
type CurveLaw struct {
	Qu   float64 // N
	a, b float64
	k0   float64 // slope of the chord, N/mm
}

// NewCurveLaw makes the law from an exponential curve; ok is false for a curve
// of another form or a strength that is not above zero.
func NewCurveLaw(c Curve, qu units.Force) (law CurveLaw, ok bool) {
	if c.form != powerOfExponential || !(c.a > 0) || !(c.b > 0) || !(qu > 0) || math.IsInf(float64(qu), 0) {
		return CurveLaw{}, false
	}
	l := CurveLaw{Qu: float64(qu), a: c.a, b: c.b}
	l.k0 = l.Qu * math.Pow(-math.Expm1(-l.b*straightTo), l.a) / straightTo
	return l, true
}

// Force implements Law.
func (l CurveLaw) Force(s float64) (float64, float64) {
	m := math.Abs(s)
	if m <= straightTo {
		return l.k0 * s, l.k0
	}
	e := math.Exp(-l.b * m)
	base := -math.Expm1(-l.b * m)
	f := l.Qu * math.Pow(base, l.a)
	return math.Copysign(f, s), f * l.a * l.b * e / base
}

// Steps implements Law.
func (CurveLaw) Steps() int { return 40 }
