package monitor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/published"
)

// divider is the output of a bridge of four resistors over its excitation: the
// physics that the formulas must undo. The arms are those of the gauges in order
// around the bridge.
func divider(r1, r2, r3, r4 float64) float64 { return r1/(r1+r2) - r4/(r3+r4) }

// output is what a bridge gives at a strain, by its resistors.
func output(b Bridge, e, k, nu float64) float64 {
	a, p := 1+k*e, 1-nu*k*e
	switch b {
	case Quarter:
		return divider(a, 1, 1, 1)
	case HalfBending:
		return divider(a, 1-k*e, 1, 1)
	case HalfPoisson:
		return divider(a, p, 1, 1)
	case FullBending:
		return divider(a, 1-k*e, a, 1-k*e)
	}
	return divider(a, p, a, p)
}

func TestPublishedGauges(t *testing.T) {
	t.Parallel()
	b := basis.Basis{}
	gauge := func(r float64) Calibration {
		return Calibration{Input: MillivoltV, Bridge: Quarter, Factor: 2, Gauge: r, Lead: 2.07, Wires: 3}
	}
	shunt := func(r, rc float64) float64 {
		c := gauge(r)
		c.Shunt = &Shunt{Resistor: rc, Indicated: 1}
		span, _ := c.Span(b, nil)
		return span
	}
	exact := 1000 * output(Quarter, 1e-3, 2, 0)
	k, err := Calibration{Input: MillivoltV, Bridge: Quarter, Factor: 2}.Converter(b, true, 0.25)
	require.NoError(t, err)
	two := gauge(350)
	two.Wires = 2
	got := map[string]float64{"output_linear": exact, "output_exact": exact, "strain": k.Value(exact + 0.25),
		"shunt_350_174650": shunt(350, 174650), "shunt_120_59880": shunt(120, 59880), "shunt_350_100000": shunt(350, 100000), "shunt_120_100000": shunt(120, 100000),
		"lead_350": gauge(350).Left(nil), "lead_120": gauge(120).Left(nil), "drift": two.Drift(b, nil, 10)}
	tab := published.Open(t, "strain_gauge.csv")
	for _, row := range tab.Rows {
		tab.Within(row, "value", got[row.Text("item")], row.Number("tolerance"))
	}
	tab.Done(len(got))
}

// Each conversion undoes the resistors, and the printed formula gives the same.
func TestEveryBridgeComesBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SampledFrom([]Bridge{Quarter, HalfBending, HalfPoisson, FullBending, FullPoisson}).Draw(t, "bridge")
		e := rapid.Float64Range(-5000, 5000).Draw(t, "strain")
		c := Calibration{Input: Counts, PerCount: 1e-4, Bridge: b, Factor: rapid.Float64Range(1.9, 2.2).Draw(t, "factor"), Poisson: 0.3, Reversed: rapid.Bool().Draw(t, "reversed")}
		v := output(b, e*1e-6, c.Factor, 0.3) * 1000 / c.PerCount
		if c.Reversed {
			v = -v
		}
		zero := rapid.Float64Range(-1e4, 1e4).Draw(t, "zero")
		k, err := c.Converter(basis.Basis{}, true, zero)
		require.NoError(t, err)
		require.InDelta(t, e, k.Value(v+zero), 1e-6)
		p := calc.NewPad()
		c.Sheet(basis.Basis{}, p, zero, v+zero)
		require.InDelta(t, e*1e-6, p.Lines()[0].Value, 1e-12, "the sheet shows the same")
	})
}

func TestOtherConversions(t *testing.T) {
	t.Parallel()
	b := basis.Basis{}
	s := Sensor{Kind: Displacement, Calibration: Calibration{Input: Counts, PerCount: 0.01, Gain: 0.5}, Zero: Zero{Raw: 100}}
	k, err := s.Converter(b)
	require.NoError(t, err)
	require.InDelta(t, 0.5, k.Value(200), 1e-12, "mm")
	s = Sensor{Kind: Thermometer, Calibration: Calibration{Input: MillivoltV, Gain: 100, Offset: -50}, Zero: Zero{Raw: 7}}
	k, err = s.Converter(b)
	require.NoError(t, err)
	require.InDelta(t, 25, k.Value(0.75), 1e-12, "a thermometer has no zero")
	s = Sensor{Kind: Embedded, Calibration: Calibration{Input: Engineering, Reversed: true}, Zero: Zero{Raw: -1000}}
	k, err = s.Converter(b)
	require.NoError(t, err)
	require.InDelta(t, -20, k.Value(-980), 1e-12)
	require.True(t, math.IsNaN(k.Value(math.NaN())))

	c := Calibration{Input: MillivoltV, Bridge: Quarter, Factor: 2, Gauge: 350, Lead: 2.07, Wires: 3}
	plain, err := Calibration{Input: MillivoltV, Bridge: Quarter, Factor: 2}.Converter(b, true, 0)
	require.NoError(t, err)
	k, err = c.Converter(b, true, 0)
	require.NoError(t, err)
	require.InEpsilon(t, 352.07/350, k.Value(0.4)/plain.Value(0.4), 1e-12, "the leads took it away")
	c.Shunt = &Shunt{Resistor: 174650, Indicated: -990}
	k, err = c.Converter(b, true, 0)
	require.NoError(t, err)
	require.InEpsilon(t, 1000.0/990, k.Value(0.4)/plain.Value(0.4), 1e-9, "the shunt sees the leads too")
	c.Shunt.Indicated = -900
	k, err = c.Converter(b, true, 0)
	require.NoError(t, err)
	require.InDelta(t, plain.Value(0.4), k.Value(0.4), 1e-9, "a shunt that is far off is not applied")

	// By hand: (2100-2000)*0.975 + 10*(12.2-10.2) = 97.5 + 20.
	require.InDelta(t, 117.5, WireStrain(b, nil, 0.975, 10.2, WireReading{2000, 10}, WireReading{2100, 20}), 1e-9)
	require.InDelta(t, 1+2*3+3*9, ThermalOutput([]float64{1, 2, 3}, 3), 1e-12)
	require.Zero(t, ThermalOutput(nil, 20))
}

func TestWrongCalibrations(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]Calibration{
		"input":   {},
		"bridge":  {Input: MillivoltV},
		"unknown": {Input: MillivoltV, Bridge: "third"},
		"twice":   {Input: Engineering, Bridge: Quarter, Factor: 2},
		"factor":  {Input: MillivoltV, Bridge: Quarter},
		"poisson": {Input: MillivoltV, Bridge: FullPoisson, Factor: 2},
		"wires":   {Input: MillivoltV, Bridge: Quarter, Factor: 2, Gauge: 350, Lead: 1},
		"counts":  {Input: Counts, Bridge: Quarter, Factor: 2},
		"shunt":   {Input: MillivoltV, Bridge: Quarter, Factor: 2, Gauge: 350, Shunt: &Shunt{Resistor: 1e5}},
		"range":   {Input: Engineering, Low: 2, High: 1},
		"offset":  {Input: Engineering, Offset: math.NaN()},
	} {
		var v *fault.Invalid
		_, err := c.Converter(basis.Basis{}, true, 0)
		require.ErrorAs(t, err, &v, name)
		require.NotEmpty(t, v.Fields[0].Reason, name)
	}
	require.Error(t, Calibration{Input: MillivoltV}.Validate(false), "no gain")
	require.Error(t, Calibration{Input: MillivoltV, Bridge: Quarter, Factor: 2}.Validate(false), "a thermometer has no bridge")
	require.True(t, math.IsNaN(NoBridge.strain(1, 2, 0)))
}

func TestSensors(t *testing.T) {
	t.Parallel()
	b := basis.Basis{}
	foil := Calibration{Input: MillivoltV, Bridge: Quarter, Factor: 2.05, Gauge: 350, Lead: 2, Wires: 3}
	good := Sensor{Name: "W1", Kind: WebGauge, Direction: Vertical, Channel: "1", Sign: -1, Calibration: foil, Installed: 10, Zero: Zero{At: 20}}
	require.NoError(t, good.Validate(b))
	require.Equal(t, -1.0, UsualSign(WebGauge, Vertical))
	require.Equal(t, 1.0, UsualSign(GirderGauge, Along))
	require.True(t, good.At(10) && !good.At(9))
	for name, change := range map[string]func(s *Sensor){
		"name": func(s *Sensor) { s.Name = "" }, "channel": func(s *Sensor) { s.Channel = "" }, "kind": func(s *Sensor) { s.Kind = "x" },
		"direction": func(s *Sensor) { s.Direction = "up" }, "angle": func(s *Sensor) { s.Direction = Inclined }, "sign": func(s *Sensor) { s.Sign = 0 },
		"from_bearing": func(s *Sensor) { s.Kind = GirderGauge; s.Place.FromBearing = 500 }, "stud": func(s *Sensor) { s.Kind = StudGauge },
		"removed": func(s *Sensor) { s.Removed = 5 }, "factor": func(s *Sensor) { s.Calibration.Factor = 0 },
	} {
		s := good
		change(&s)
		var v *fault.Invalid
		require.ErrorAs(t, s.Validate(b), &v, name)
		require.Equal(t, name, v.Fields[0].Field)
	}
	control := good
	control.Kind, control.Place.OtherEnd, control.Name = GirderGauge, true, "C1"
	require.NoError(t, control.Validate(b))
	for _, k := range Kinds() {
		require.NotEmpty(t, kinds[k].name)
		require.NotEmpty(t, k.Unit())
	}
	require.Equal(t, "x", Kind("x").String())

	keys := func(s []Sensor, cast int64) (out []string) {
		for _, f := range Cautions(b, s, cast) {
			out = append(out, f.Key)
		}
		return out
	}
	panel := good
	panel.Name, panel.Kind, panel.Zero.At = "P1", Embedded, 200
	require.Empty(t, keys([]Sensor{good, control, panel}, 100))
	require.Equal(t, []string{"no_control", "no_web", "no_panel"}, keys(nil, 0))
	late := good
	late.Installed, late.Zero.At, late.Calibration.Wires = 150, 160, 2
	late.Calibration.Shunt = &Shunt{Resistor: 174650, Indicated: -900}
	unset := control
	unset.Zero.At = 0
	require.Equal(t, []string{"late_zero", "late", "shunt", "two_wires", "no_zero"}, keys([]Sensor{late, unset, panel}, 100))
}
