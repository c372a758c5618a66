package uhpc

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// Law is the law of a strength curve.
type Law string

// Laws of strength curves.
const (
	LawGain        Law = "gain"        // plateau, start, scale and shape: FHWA-HRT-12-064
	LawExponential Law = "exponential" // plateau, time and power
	LawLogarithm   Law = "logarithm"   // a straight line on the logarithm of age
	LawModelCode   Law = "model_code"  // fib Model Code 2010, beta_cc
)

// Name is the law in words.
func (l Law) Name() string {
	switch l {
	case LawGain:
		return "plateau with a start, four parameters"
	case LawExponential:
		return "plateau reached by a power of age, three parameters"
	case LawLogarithm:
		return "line on the logarithm of age, two parameters"
	case LawModelCode:
		return "fib Model Code 2010"
	}
	return string(l)
}

// Curve is strength against age. A strength that is never reached has no age: ok
// is then false, never an infinity. More age is never less strength.
type Curve interface {
	Law() Law
	At(p *calc.Pad, days float64) units.Stress
	Reaches(strength units.Stress) (days float64, ok bool)
	Validate() error
}

// Law implements Curve.
func (Gain) Law() Law { return LawGain }

// Exponential is a curve that nears its plateau by a power of age; it begins at age
// zero.
type Exponential struct {
	Plateau units.Stress
	Time    float64 // days at which it has 1/e of the plateau
	Power   float64
}

var exponential = calc.Define(calc.Def{Symbol: "f_t", Name: "expected strength", Expr: "f_u*exp(-(tau/t)^alpha)", Dim: calc.Stress,
	Params: []calc.Param{{Symbol: "f_u", Name: "plateau of the curve", Dim: calc.Stress}, {Symbol: "tau", Name: "time of the curve", Dim: calc.Days},
		{Symbol: "t", Name: "age", Dim: calc.Days}, {Symbol: "alpha", Name: "power", Dim: calc.Scalar}},
	Clause: calc.Clause{Document: "three-parameter form of maturity practice", Tag: basis.Memory}})

// Law implements Curve.
func (Exponential) Law() Law { return LawExponential }

// At is the expected strength at an age in days.
func (e Exponential) At(p *calc.Pad, days float64) units.Stress {
	if !(days > 0) {
		return 0
	}
	return units.Stress(exponential.Eval(p, float64(e.Plateau), e.Time, days, e.Power))
}

// Reaches is the age in days at which the curve reaches a strength.
func (e Exponential) Reaches(strength units.Stress) (float64, bool) {
	switch {
	case !(strength < e.Plateau):
		return 0, false
	case strength <= 0:
		return 0, true
	}
	return solved(e.Time * math.Pow(-math.Log(float64(strength/e.Plateau)), -1/e.Power))
}

// Validate refuses a curve that is none.
func (e Exponential) Validate() error {
	if finite(float64(e.Plateau)) && e.Plateau > 0 && e.Time > 0 && e.Time <= 365 && e.Power > 0 && e.Power <= 10 {
		return nil
	}
	return fault.New(fault.Refused, "strength curve: plateau must be above 0, time above 0 and at most 365 days, power above 0 and at most 10, got %s, %g, %g",
		both(units.Stresses, float64(e.Plateau)), e.Time, e.Power)
}

// Logarithm is a straight line on the logarithm of age. It has no plateau, so it
// means nothing far beyond what was tested.
type Logarithm struct {
	AtOne units.Stress // at one day
	Slope units.Stress // for each e-fold of age
}

var logarithm = calc.Define(calc.Def{Symbol: "f_t", Name: "expected strength", Expr: "max(0[MPa], f_1 + c*ln(t/1[d]))", Dim: calc.Stress,
	Params: []calc.Param{{Symbol: "f_1", Name: "strength at one day", Dim: calc.Stress}, {Symbol: "c", Name: "gain with the logarithm of age", Dim: calc.Stress},
		{Symbol: "t", Name: "age", Dim: calc.Days}},
	Clause: calc.Clause{Document: "logarithmic form of maturity practice", Tag: basis.Memory}})

// Law implements Curve.
func (Logarithm) Law() Law { return LawLogarithm }

// At is the expected strength at an age in days, never below zero.
func (l Logarithm) At(p *calc.Pad, days float64) units.Stress {
	if !(days > 0) {
		return 0
	}
	return units.Stress(logarithm.Eval(p, float64(l.AtOne), float64(l.Slope), days))
}

// Reaches is the age in days at which the curve reaches a strength.
func (l Logarithm) Reaches(strength units.Stress) (float64, bool) {
	if !finite(float64(strength)) {
		return 0, false
	}
	return solved(math.Exp(float64((max(strength, 0) - l.AtOne) / l.Slope)))
}

// Validate refuses a curve that is none.
func (l Logarithm) Validate() error {
	if finite(float64(l.AtOne)) && finite(float64(l.Slope)) && l.Slope > 0 {
		return nil
	}
	return fault.New(fault.Refused, "strength curve: the gain with the logarithm of age must be above 0, got %s", both(units.Stresses, float64(l.Slope)))
}

// ModelCode is the curve of fib Model Code 2010, made for ordinary and high-strength
// concrete: this material lies outside it.
type ModelCode struct {
	At28 units.Stress
	S    float64 // 0.20, 0.25 or 0.38 by the class of cement, 0.20 above 60 MPa
}

var modelCode = calc.Define(calc.Def{Symbol: "f_t", Name: "expected strength", Expr: "f_28*exp(s*(1 - sqrt(28[d]/t)))", Dim: calc.Stress,
	Params: []calc.Param{{Symbol: "f_28", Name: "strength at 28 days", Dim: calc.Stress}, {Symbol: "s", Name: "coefficient of the cement", Dim: calc.Scalar},
		{Symbol: "t", Name: "age", Dim: calc.Days}},
	Clause: calc.Clause{Document: "fib Model Code", Article: "Eq. 5.1-51, Table 5.1-9", Edition: "2010", Tag: basis.Read}})

// Law implements Curve.
func (ModelCode) Law() Law { return LawModelCode }

// At is the expected strength at an age in days.
func (m ModelCode) At(p *calc.Pad, days float64) units.Stress {
	if !(days > 0) {
		return 0
	}
	return units.Stress(modelCode.Eval(p, float64(m.At28), m.S, days))
}

// Reaches is the age in days at which the curve reaches a strength; it nears
// exp(s) times the strength at 28 days and never has it.
func (m ModelCode) Reaches(strength units.Stress) (float64, bool) {
	switch {
	case !(float64(strength) < float64(m.At28)*math.Exp(m.S)):
		return 0, false
	case strength <= 0:
		return 0, true
	}
	root := 1 - math.Log(float64(strength/m.At28))/m.S
	return solved(28 / (root * root))
}

// Validate refuses a curve that is none.
func (m ModelCode) Validate() error {
	if finite(float64(m.At28)) && m.At28 > 0 && m.S > 0 && m.S <= 1 {
		return nil
	}
	return fault.New(fault.Refused, "strength curve: strength at 28 days must be above 0, coefficient above 0 and at most 1, got %s, %g", both(units.Stresses, float64(m.At28)), m.S)
}

// solved passes an age on, unless it is beyond a century: a curve that needs that
// long does not reach the strength.
func solved(days float64) (float64, bool) {
	if !(days <= 36525) {
		return 0, false
	}
	return days, true
}
