package monitor

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
)

// Bridge is how strain gauges are wired. v below is the voltage over the excitation,
// as a plain number, zero taken off.
type Bridge string

// Bridges. Active gauges feel the strain, Poisson gauges that across it.
const (
	NoBridge    Bridge = ""             // no strain gauge, or the logger converts
	Quarter     Bridge = "quarter"      // one active gauge
	HalfBending Bridge = "half_bending" // two active ones on opposite faces, strained oppositely
	HalfPoisson Bridge = "half_poisson" // one active, one Poisson
	FullBending Bridge = "full_bending" // four active, two each way
	FullPoisson Bridge = "full_poisson" // two active, two Poisson
)

var wheatstone = calc.Clause{Document: "Wheatstone bridge", Article: "one or more arms changed", Tag: basis.Read}

var (
	voltage  = calc.Param{Symbol: "v", Name: "output over excitation, less zero", Dim: calc.Scalar}
	factor   = calc.Param{Symbol: "k_g", Name: "gauge factor", Dim: calc.Scalar}
	poisson  = calc.Param{Symbol: "nu", Name: "Poisson's ratio", Dim: calc.Scalar}
	formulas = map[Bridge]*calc.Formula{
		Quarter: calc.Define(calc.Def{Symbol: "epsilon", Name: "strain, quarter bridge", Dim: calc.Strain, Clause: wheatstone,
			Expr: "4*v/(k_g*(1 - 2*v))", Params: []calc.Param{voltage, factor}}),
		HalfBending: calc.Define(calc.Def{Symbol: "epsilon", Name: "strain, half bridge in bending", Dim: calc.Strain, Clause: wheatstone,
			Expr: "2*v/k_g", Params: []calc.Param{voltage, factor}}),
		HalfPoisson: calc.Define(calc.Def{Symbol: "epsilon", Name: "strain, half bridge with a Poisson gauge", Dim: calc.Strain, Clause: wheatstone,
			Expr: "4*v/(k_g*(1 + nu - 2*v*(1 - nu)))", Params: []calc.Param{voltage, factor, poisson}}),
		FullBending: calc.Define(calc.Def{Symbol: "epsilon", Name: "strain, full bridge in bending", Dim: calc.Strain, Clause: wheatstone,
			Expr: "v/k_g", Params: []calc.Param{voltage, factor}}),
		FullPoisson: calc.Define(calc.Def{Symbol: "epsilon", Name: "strain, full bridge with two Poisson gauges", Dim: calc.Strain, Clause: wheatstone,
			Expr: "2*v/(k_g*(1 + nu - v*(1 - nu)))", Params: []calc.Param{voltage, factor, poisson}}),
	}
	shuntStrain = calc.Define(calc.Def{Symbol: "epsilon_s", Name: "strain that a resistor across the gauge stands for", Dim: calc.Strain, Clause: wheatstone,
		Expr: "-R_g/(k_g*(R_g + R_c))", Params: []calc.Param{{Symbol: "R_g", Name: "resistance of the gauge, ohm", Dim: calc.Scalar}, factor,
			{Symbol: "R_c", Name: "resistor, ohm", Dim: calc.Scalar}}})
	leadLoss = calc.Define(calc.Def{Symbol: "eta", Name: "part of the strain left by the leads", Dim: calc.Scalar, Clause: wheatstone,
		Expr: "R_g/(R_g + n_l*R_l)", Params: []calc.Param{{Symbol: "R_g", Name: "resistance of the gauge, ohm", Dim: calc.Scalar},
			{Symbol: "n_l", Name: "conductors in the arm of the gauge", Dim: calc.Scalar}, {Symbol: "R_l", Name: "resistance of one, ohm", Dim: calc.Scalar}}})
	leadDrift = calc.Define(calc.Def{Symbol: "epsilon_l", Name: "false strain of two-wire leads", Dim: calc.Strain, Clause: wheatstone,
		Expr: "alpha_l*T_d*2*R_l/(k_g*R_g)", Params: []calc.Param{{Symbol: "alpha_l", Name: "change of resistance per degree", Dim: calc.Expansion},
			{Symbol: "T_d", Name: "change of temperature", Dim: calc.TemperatureStep}, {Symbol: "R_l", Name: "resistance of one conductor, ohm", Dim: calc.Scalar}, factor,
			{Symbol: "R_g", Name: "resistance of the gauge, ohm", Dim: calc.Scalar}}})
	wireStrain = calc.Define(calc.Def{Symbol: "epsilon", Name: "strain from load, vibrating wire", Dim: calc.Strain,
		Clause: calc.Clause{Document: "manual of a maker of vibrating wire gauges", Article: "gauge in or on concrete", Tag: basis.Read},
		Expr:   "(r_1 - r_0)*B + (T_1 - T_0)*(alpha_w - alpha_m)",
		Params: []calc.Param{{Symbol: "r_1", Name: "reading", Dim: calc.Strain}, {Symbol: "r_0", Name: "reading at zero", Dim: calc.Strain},
			{Symbol: "B", Name: "factor of the batch", Dim: calc.Scalar}, {Symbol: "T_1", Name: "temperature", Dim: calc.TemperatureStep},
			{Symbol: "T_0", Name: "temperature at zero", Dim: calc.TemperatureStep}, {Symbol: "alpha_w", Name: "expansion of the wire", Dim: calc.Expansion},
			{Symbol: "alpha_m", Name: "expansion of what it sits in", Dim: calc.Expansion}}})
)

// strain is what formulas say, in microstrain, without their bookkeeping: it runs
// once a sample.
func (b Bridge) strain(v, factor, poisson float64) float64 {
	switch b {
	case Quarter:
		return 4e6 * v / (factor * (1 - 2*v))
	case HalfBending:
		return 2e6 * v / factor
	case HalfPoisson:
		return 4e6 * v / (factor * (1 + poisson - 2*v*(1-poisson)))
	case FullBending:
		return 1e6 * v / factor
	case FullPoisson:
		return 2e6 * v / (factor * (1 + poisson - v*(1-poisson)))
	}
	return math.NaN()
}

// takesPoisson tells whether the bridge has Poisson gauges.
func (b Bridge) takesPoisson() bool { return b == HalfPoisson || b == FullPoisson }

// Input is what a logger writes.
type Input string

// Inputs.
const (
	Counts      Input = "counts"      // of its converter
	MillivoltV  Input = "mv_v"        // millivolt of output for a volt of excitation
	Engineering Input = "engineering" // microstrain, mm, degrees Celsius, m/s2 or MPa already
)

// Shunt is a check with a known resistor across the gauge.
type Shunt struct {
	Resistor  float64 // ohm
	Indicated float64 // microstrain that the logger showed for it, with its sign
}

// Calibration is how a number of the logger becomes a measurement.
type Calibration struct {
	Input    Input
	PerCount float64 // mV/V for a count where Bridge is set, otherwise the unit that Gain takes
	Bridge   Bridge
	Factor   float64 // gauge factor, from the label of the pack
	Poisson  float64
	Gauge    float64 // resistance of the gauge, ohm
	Lead     float64 // resistance of one conductor of the leads, ohm; 0: corrected by the logger
	Wires    int     // 2 or 3 to a quarter bridge
	Gain     float64 // without a bridge: mm, degrees Celsius, m/s2 or MPa for one of the input
	Offset   float64 // added after Gain, for thermometers and the like
	Reversed bool    // wired so that tension reads negative
	Low      float64 // range of the logger in what it writes; Low = High: not known
	High     float64
	Shunt    *Shunt
}

// Validate says what of a calibration cannot be used; strain tells what kind of
// sensor it is for.
func (c Calibration) Validate(strain bool) error {
	var v fault.Invalid
	positive := func(field string, x, most float64) {
		if !(x > 0 && x <= most) {
			v.Add(field, "", "%g must be above 0 and at most %g", x, most)
		}
	}
	switch c.Input {
	case Counts:
		if !(math.Abs(c.PerCount) > 0 && math.Abs(c.PerCount) < 1e9) {
			v.Add("per_count", "", "%g: a count must stand for something", c.PerCount)
		}
	case MillivoltV, Engineering:
	default:
		v.Add("input", string(c.Input), "must be counts, mv_v or engineering")
	}
	_, bridge := formulas[c.Bridge]
	switch {
	case c.Bridge != NoBridge && !bridge:
		v.Add("bridge", string(c.Bridge), "is no bridge that is known here")
	case bridge && (!strain || c.Input == Engineering):
		v.Add("bridge", string(c.Bridge), "only a strain gauge whose logger does not convert has a bridge")
	case bridge:
		positive("factor", c.Factor, 10)
		if c.Bridge.takesPoisson() {
			positive("poisson", c.Poisson, 0.5)
		}
		if c.Bridge == Quarter && c.Lead > 0 {
			positive("gauge", c.Gauge, 1e5)
			if c.Wires != 2 && c.Wires != 3 {
				v.Add("wires", "", "%d: the leads of a quarter bridge are 2 or 3", c.Wires)
			}
		}
	case strain && c.Input != Engineering:
		v.Add("bridge", "", "a strain gauge needs its bridge, unless the logger writes microstrain")
	case c.Input != Engineering && !(math.Abs(c.Gain) > 0 && math.Abs(c.Gain) < 1e12):
		v.Add("gain", "", "%g: one of the input must stand for something", c.Gain)
	}
	if s := c.Shunt; s != nil {
		positive("gauge", c.Gauge, 1e5)
		positive("factor", c.Factor, 10)
		positive("shunt", s.Resistor, 1e9)
		if !(math.Abs(s.Indicated) > 0) {
			v.Add("shunt_indicated", "", "%g: a shunt must have shown something", s.Indicated)
		}
	}
	if !(c.Lead >= 0 && c.Lead < 1e4) || !(c.Low <= c.High) || math.IsNaN(c.Offset) || math.IsInf(c.Offset, 0) {
		v.Add("calibration", "", "lead %g, range %g to %g, offset %g: must be numbers, the range rising", c.Lead, c.Low, c.High, c.Offset)
	}
	return v.Err()
}

// Left is the part of the strain that the leads of a quarter bridge leave. Three
// wires keep one conductor in the arm of the gauge, two wires both.
func (c Calibration) Left(p *calc.Pad) float64 {
	if c.Bridge != Quarter || !(c.Lead > 0) {
		return 1
	}
	n := 1.0
	if c.Wires == 2 {
		n = 2
	}
	return leadLoss.Eval(p, c.Gauge, n, c.Lead)
}

// Span is what the shunt should have shown over what it did show, which every strain
// of the gauge is multiplied with; 1 without a check. Fine is false where it lies
// further from 1 than the basis allows, or has the wrong sign: find out why before
// using the gauge.
func (c Calibration) Span(b basis.Basis, p *calc.Pad) (span float64, fine bool) {
	if c.Shunt == nil {
		return 1, true
	}
	span = 1e6 * shuntStrain.Eval(p, c.Gauge, c.Factor, c.Shunt.Resistor) / c.Shunt.Indicated
	return span, math.Abs(span-1) <= b.Value(basis.GaugeSpan)
}

// Drift is the false strain of two-wire leads that warm up by so many degrees,
// microstrain.
func (c Calibration) Drift(b basis.Basis, p *calc.Pad, degrees float64) float64 {
	if c.Bridge != Quarter || c.Wires != 2 {
		return 0
	}
	return 1e6 * leadDrift.Eval(p, b.Value(basis.GaugeCopper), degrees, c.Lead, c.Factor, c.Gauge)
}

// Converter turns what a logger writes into a measurement. The zero value gives NaN.
type Converter struct {
	bridge          Bridge
	engineering     bool
	scale           float64 // of the input to V/V or the input of gain
	factor, poisson float64
	gain, offset    float64
	zero            float64
	out             float64 // span and leads
}

// Converter makes one, for a zero as the logger wrote it. The span of a shunt check
// counts only where it is fine.
func (c Calibration) Converter(b basis.Basis, strain bool, zero float64) (Converter, error) {
	if err := c.Validate(strain); err != nil {
		return Converter{}, err
	}
	k := Converter{bridge: c.Bridge, engineering: c.Input == Engineering, scale: 1, factor: c.Factor, poisson: c.Poisson, gain: c.Gain, offset: c.Offset, zero: zero, out: 1}
	if c.Input == Counts {
		k.scale = c.PerCount
	}
	if span, fine := c.Span(b, nil); fine {
		k.out = span
	}
	if c.Bridge != NoBridge {
		k.scale /= 1000 // mV/V to V/V
		if c.Shunt == nil {
			k.out /= c.Left(nil) // a shunt at the logger's terminals sees the leads as well
		}
		if c.Reversed {
			k.scale = -k.scale
		}
	} else if c.Reversed {
		k.out = -k.out
	}
	return k, nil
}

// Value is the measurement for what the logger wrote: microstrain, mm, degrees
// Celsius, m/s2 or MPa.
func (k Converter) Value(raw float64) float64 {
	x := (raw - k.zero) * k.scale
	switch {
	case k.bridge != NoBridge:
		return k.bridge.strain(x, k.factor, k.poisson) * k.out
	case k.engineering:
		return x * k.out
	}
	return x*k.gain*k.out + k.offset
}

// Sheet writes one conversion down. It shows the same value as Value.
func (c Calibration) Sheet(b basis.Basis, p *calc.Pad, zero, raw float64) {
	f, ok := formulas[c.Bridge]
	if !ok {
		return
	}
	x := (raw - zero) / 1000
	if c.Input == Counts {
		x *= c.PerCount
	}
	if c.Reversed {
		x = -x
	}
	if c.Bridge.takesPoisson() {
		f.Eval(p, x, c.Factor, c.Poisson)
	} else {
		f.Eval(p, x, c.Factor)
	}
	if c.Shunt != nil {
		if _, fine := c.Span(b, p); !fine {
			p.Note("The shunt check lies outside its limit; it is not applied.")
		}
		return
	}
	c.Left(p)
}

// WireReading is one reading of a vibrating wire gauge. It takes about a reading a
// minute: good for dead load, curing and drift, useless for trucks.
type WireReading struct{ Micro, Temperature float64 }

// WireStrain is the strain from load between two readings, in microstrain. expansion
// is that of what the gauge sits in, microstrain per degree.
func WireStrain(b basis.Basis, p *calc.Pad, batch, expansion float64, zero, now WireReading) float64 {
	return 1e6 * wireStrain.Eval(p, now.Micro*1e-6, zero.Micro*1e-6, batch, now.Temperature, zero.Temperature, b.Value(basis.GaugeWireExpansion)*1e-6, expansion*1e-6)
}

// ThermalOutput is what a bonded gauge shows from warmth alone, microstrain, by the
// polynomial of its lot in degrees Celsius, constant first. Take it off series over
// days; passages of trucks need it not.
func ThermalOutput(lot []float64, celsius float64) float64 {
	y := 0.0
	for i := len(lot) - 1; i >= 0; i-- {
		y = y*celsius + lot[i]
	}
	return y
}
