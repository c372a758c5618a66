package uhpc

import (
	"fmt"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Method is one way to sum up a history of temperature.
type Method uint8

// Methods. The temperature-time factor stands twice, with the datum of an agency
// and with a higher one: the first is the cautious one in heat, the second in the
// cold, and no published datum for this material was found.
const (
	Factor Method = iota
	FactorWarm
	Equivalent
	Fib
	methodCount
)

// Maturity is what each method has summed up: Celsius degrees times hours for the
// two factors, hours for the two ages.
type Maturity [methodCount]float64

// MethodInfo describes a method to its reader.
type MethodInfo struct {
	Method  Method
	Key     string
	Name    string
	Kind    units.Kind // of the sum
	Formula string
	Source  string
	Tag     basis.Tag
	Words   string   // its parameters
	Limits  []string // where it holds
}

const (
	kelvin    = 273.15 // 0 degrees Celsius in kelvin, exact
	gapsWords = "a gap counts by its lower end, and a long one ends the record"
)

// The temperature of an interval is the mean of its two ends.
var (
	factorGained = calc.Define(calc.Def{Symbol: "M", Name: "temperature-time factor of an interval", Expr: "(T - T_0)*t", Dim: calc.Maturity,
		Params: []calc.Param{{Symbol: "T", Name: "temperature of the interval", Dim: calc.Temperature}, {Symbol: "T_0", Name: "datum", Dim: calc.Temperature},
			{Symbol: "t", Name: "length of the interval", Dim: calc.Hours}},
		Clause: calc.Clause{Document: "Iowa DOT IM 383", Tag: basis.Read}})
	equivalentGained = calc.Define(calc.Def{Symbol: "t_e", Name: "equivalent age of an interval", Expr: "exp(-Q*(1/Theta - 1/Theta_s))*t", Dim: calc.Hours,
		Params: []calc.Param{{Symbol: "Q", Name: "activation energy over the gas constant, in kelvin", Dim: calc.Scalar}, {Symbol: "Theta", Name: "temperature of the interval, in kelvin", Dim: calc.Scalar},
			{Symbol: "Theta_s", Name: "reference temperature, in kelvin", Dim: calc.Scalar}, {Symbol: "t", Name: "length of the interval", Dim: calc.Hours}},
		Clause: calc.Clause{Document: "ASTM C1074", Tag: basis.Memory}})
	// The constants are the ones printed: 273, not 273.15, and 13.65, which is not
	// 4000/293, so that an hour at 20 degrees Celsius counts 0.9981 h.
	fibGained = calc.Define(calc.Def{Symbol: "t_T", Name: "temperature-adjusted age of an interval", Expr: "exp(13.65 - 4000/(273 + T))*t", Dim: calc.Hours,
		Params: []calc.Param{{Symbol: "T", Name: "temperature of the interval, in degrees Celsius", Dim: calc.Scalar}, {Symbol: "t", Name: "length of the interval", Dim: calc.Hours}},
		Clause: calc.Clause{Document: "fib Model Code", Article: "Eq. 5.1-85", Edition: "2010", Tag: basis.Read}})
)

// scale holds the parameters of the methods, taken once from the basis.
type scale struct{ datum, datumWarm, q, reference float64 }

func scaleOf(b basis.Basis) scale {
	return scale{b.Value(basis.MaturityDatum), b.Value(basis.MaturityDatumWarm), b.Value(basis.MaturityQ), b.Value(basis.MaturityReference)}
}

// gained is what hours at a temperature give. At or below its datum a factor gains
// nothing, and at or below the first datum no method does.
func (s scale) gained(p *calc.Pad, t, hours float64) Maturity {
	var m Maturity
	if !(t > s.datum) || !(hours > 0) {
		return m
	}
	m[Factor] = factorGained.Eval(p, t, s.datum, hours)
	if t > s.datumWarm {
		m[FactorWarm] = factorGained.Eval(p, t, s.datumWarm, hours)
	}
	m[Equivalent] = equivalentGained.Eval(p, s.q, kelvin+t, kelvin+s.reference, hours)
	m[Fib] = fibGained.Eval(p, t, hours)
	return m
}

// Gained is what hours at a steady temperature give by each method.
func Gained(p *calc.Pad, t units.Temperature, hours float64, b basis.Basis) Maturity {
	return scaleOf(b).gained(p, float64(t), hours)
}

// AgesAt turns a maturity into the hours that the same material would have needed
// at a steady temperature: the one that the ages of a strength curve belong to. At
// that temperature each method gives the hours of the clock, whatever its own unit
// and reference. A method that gains nothing at that temperature says zero.
func (m Maturity) AgesAt(t units.Temperature, b basis.Basis) Maturity {
	return m.agesAt(scaleOf(b).gained(nil, float64(t), 1))
}

func (m Maturity) agesAt(hour Maturity) Maturity {
	var out Maturity
	for i := range m {
		if hour[i] > 0 {
			out[i] = m[i] / hour[i]
		}
	}
	return out
}

// plus adds a gain to m.
func (m Maturity) plus(g Maturity) Maturity {
	for i := range m {
		m[i] += g[i]
	}
	return m
}

// Least is the smallest of the values and the method that gives it, the most
// cautious one where they are ages.
func (m Maturity) Least() (float64, Method) {
	at := Method(0)
	for i := range methodCount {
		if m[i] < m[at] {
			at = i
		}
	}
	return m[at], at
}

// Greatest is the largest of the values and the method that gives it.
func (m Maturity) Greatest() (float64, Method) {
	at := Method(0)
	for i := range methodCount {
		if m[i] > m[at] {
			at = i
		}
	}
	return m[at], at
}

// MatchingDatum is the datum at which the temperature-time factor is as sensitive
// as an equivalent age with q, for small changes about the reference temperature:
// the slopes of both, over their values, are the same there. Derived here.
func MatchingDatum(q float64, reference units.Temperature) units.Temperature {
	k := kelvin + float64(reference)
	return reference - units.Temperature(k*k/q)
}

// Methods describes the methods with the parameters of a basis.
func Methods(b basis.Basis) []MethodInfo {
	datum := func(key basis.Key) (string, string, basis.Tag) {
		d, _ := basis.Lookup(key)
		return both(units.Temperatures, b.Value(key)), d.Source, d.Tag
	}
	low, lowSource, lowTag := datum(basis.MaturityDatum)
	warm, warmSource, warmTag := datum(basis.MaturityDatumWarm)
	ref, _, _ := datum(basis.MaturityReference)
	q := b.Value(basis.MaturityQ)
	d, _ := basis.Lookup(basis.MaturityQ)
	match := MatchingDatum(q, units.Temperature(b.Value(basis.MaturityReference)))
	mixture := "made for ordinary concrete: a relation to strength must come from breaks of this very mixture"
	return []MethodInfo{
		{Method: Factor, Key: "factor", Name: "temperature-time factor, datum " + low, Kind: units.Maturities, Formula: "sum of (T - T0) dt", Source: lowSource, Tag: lowTag,
			Words:  "datum " + low,
			Limits: []string{mixture, "a low datum counts too much in the cold, where it is not the cautious one", gapsWords}},
		{Method: FactorWarm, Key: "factor_warm", Name: "temperature-time factor, datum " + warm, Kind: units.Maturities, Formula: "sum of (T - T0) dt", Source: warmSource, Tag: warmTag,
			Words:  "datum " + warm,
			Limits: []string{mixture, "a high datum counts too much in heat, where it is not the cautious one", gapsWords}},
		{Method: Equivalent, Key: "equivalent_age", Name: "equivalent age at " + ref, Kind: units.Hours, Formula: "sum of exp(-Q (1/T - 1/Ts)) dt, in kelvin", Source: d.Source, Tag: d.Tag,
			Words: fmt.Sprintf("Q %g K, reference %s; a datum of %s would be as sensitive about the reference", q, ref, both(units.Temperatures, float64(match))),
			Limits: []string{mixture, "no published activation energy of this material was found",
				"activation energy and datum depend on each other: neither means much alone (ACI Materials Journal 113-2, 2016, read in abstract)", gapsWords}},
		{Method: Fib, Key: "fib", Name: "temperature-adjusted age of the Model Code", Kind: units.Hours, Formula: "sum of exp(13.65 - 4000/(273 + T)) dt", Source: "fib Model Code 2010, Eq. 5.1-85", Tag: basis.Read,
			Words:  "by its own constants an hour at 20 °C counts 0.9981 h",
			Limits: []string{mixture, "the code's concretes end at a mean strength of 130 MPa (read for its creep part); this material lies outside", gapsWords}},
	}
}
