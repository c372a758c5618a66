package uhpc

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/published"
	"endcast/internal/domain/units"
)

const (
	ft3      = 304.8 * 304.8 * 304.8
	lb       = 0.45359237
	kgPerM3  = 1e-9
	lbPerYd3 = lb / (27 * ft3)
	lbPerFt3 = lb / ft3
)

// workedDesign is the end of uhpc_end.csv.
func workedDesign() encasement.Design {
	return encasement.Design{StudDiameter: 0.875 * units.Inch, StudHeight: 4 * units.Inch, Studs: make([]encasement.Stud, 32),
		Panel: encasement.Panel{Width: 30 * units.Inch, Height: 36 * units.Inch, ThicknessLeft: 6 * units.Inch, ThicknessRight: 6 * units.Inch}}
}

func workedCasting(t testing.TB) Casting {
	f, err := FormOf(nil, "2F-3", workedDesign(), 0, 0)
	require.NoError(t, err)
	return Casting{Forms: []Form{f}, Specimens: map[Kind]int{Cylinder3x6: 12}, FlowTests: 3}
}

func TestConversionsOfContracts(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_conversions.csv")
	for _, row := range y.Rows {
		k, ok := units.KindNamed(row.Text("kind"))
		require.True(t, ok)
		v, err := k.Parse(row.Text("us"), units.US)
		require.NoError(t, err)
		y.Shown(row, "si", k.Shown(units.SI, v), 1e-7)
	}
	y.Done(len(y.Rows))
}

func TestMixOfRecord(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_mix.csv")
	parts := map[string]float64{"total": MixDensity(defaults)}
	for _, x := range Parts(defaults) {
		parts[x.Name] = x.Density
	}
	for _, row := range y.Rows {
		got := parts[row.Text("part")]
		y.Within(row, "lb_yd3", got/lbPerYd3, 1e-9)
		y.Within(row, "kg_m3", got/kgPerM3, row.Number("tolerance"))
	}
	y.Done(18)
	require.InDelta(t, 156.1, MixDensity(defaults)/lbPerFt3, 0.05, "the sum of the table, 4214.3 lb, over 27")
	// Dry premix 3,665 lb/yd3 in bags of 50 lb is 73.3 bags to the cubic yard.
	require.InDelta(t, 73.3, 27*ft3/float64(Yield(nil, defaults)), 0.001)
	require.Equal(t, units.Volume(ft3), Yield(nil, with(t, defaults, basis.BagYield, ft3)), "the data sheet comes first")
}

func TestFiberByVolume(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_fiber.csv")
	for _, row := range y.Rows {
		g := FiberOf(nil, row.Number("percent")/100, defaults)
		y.Shown(row, "kg_m3", g/kgPerM3, 0)
		y.Shown(row, "lb_yd3", g/lbPerYd3, 0)
		y.Shown(row, "lb_ft3", g/lbPerFt3, 0)
	}
	y.Done(18)
	require.InDelta(t, 0.0269, FiberShare(nil, 13.2*lbPerFt3, defaults), 5e-5, "the common slip shows")
}

func TestPressureOnTheForm(t *testing.T) {
	t.Parallel()
	const psf = 4448.2216152605 / 1000 / (304.8 * 304.8)
	b := with(t, defaults, basis.Standpipe, 0)
	y := published.Open(t, "uhpc_pressure.csv")
	for _, row := range y.Rows {
		head := units.Length(row.Number("head_ft")) * units.Foot
		f := Form{End: "2F-3", Net: 1, Plan: 2, Height: head, Width: 304.8}
		a := f.amounts(nil, 1e12, b)
		y.Within(row, "foot_psf", float64(a.Foot)/psf, 1e-6)
		y.Within(row, "line_lb_ft", float64(a.Side)/(psf*304.8*304.8), 1e-6)
		y.Shown(row, "arm_ft", float64(a.Third/units.Foot), 0)
		require.Equal(t, head, a.Rise, "a batch does not rise above its form")
		require.Zero(t, a.Uplift)
	}
	y.Done(12)

	// 12 in of head above plates of 2.5 ft2 at 155 lb/ft3 lift with 387.5 lb; a
	// form of 30 in under it stands at 542.5 lb/ft2.
	f := Form{End: "2F-3", Net: 1, Plan: 2.5 * 304.8 * 304.8, Height: 30 * units.Inch, Width: 304.8}
	a := f.amounts(nil, 4*ft3, defaults)
	require.InDelta(t, 387.5, float64(a.Uplift)/(psf*304.8*304.8), 1e-6)
	require.InDelta(t, 542.5, float64(a.Foot)/psf, 1e-6)
	require.InDelta(t, float64(a.Foot+a.Top)/2*float64(f.Height)*304.8, float64(a.Side), 1e-6, "trapezoid")
}

func TestWorkedEnd(t *testing.T) {
	t.Parallel()
	c := workedCasting(t)
	p := calc.NewPad()
	a, err := c.Evaluate(p, defaults)
	require.NoError(t, err)
	gross := 36 * 30 * 12 * 25.4 * 25.4 * 25.4
	cylinders, flows := testVolume(nil, c.Specimens, 0), testVolume(nil, nil, 3)
	needed := func(k basis.Key) float64 { return defaults.Value(k) * float64(a.Total) / lb }
	got := map[string]float64{
		"gross": gross / ft3, "studs": (gross - float64(a.Net)) / ft3, "net": float64(a.Net) / ft3, "with spare": 1.1 * float64(a.Net) / ft3,
		"cylinders": float64(cylinders) / ft3, "flow tests": float64(flows) / ft3, "needed": float64(a.Total) / ft3, "bag": float64(a.Bag) / ft3,
		"bags unrounded": float64(a.Total / a.Bag), "bags": float64(a.Bags), "batches": float64(a.Batches),
		"fiber needed": needed(basis.MixFiber), "water needed": needed(basis.MixWater),
		"rise": float64(c.Forms[0].amounts(nil, 4*ft3, defaults).Rise / units.Foot),
	}
	y := published.Open(t, "uhpc_end.csv")
	for _, row := range y.Rows {
		y.Within(row, "value", got[row.Text("quantity")], row.Number("tolerance"))
	}
	y.Done(len(y.Rows))

	require.NotEmpty(t, p.Lines())
	silent, err := c.Evaluate(nil, defaults)
	require.NoError(t, err)
	require.Equal(t, a, silent, "the sheet does not change the numbers")
	require.Equal(t, 8, a.BagsPerBatch)
	require.Equal(t, 32, a.BagsOnSite, "the spare is at least a batch")
	require.InDelta(t, 400, float64(a.Premix)/lb, 1e-9)
	for _, m := range a.Parts {
		if m.Part.Key == basis.MixWater {
			require.InDelta(t, 184*float64(a.Batch)/(27*ft3), float64(m.Batch)/lb, 1e-9)
		}
	}

	ten, err := c.Evaluate(nil, with(t, defaults, basis.MixerVolume, 10*float64(a.Bag)))
	require.NoError(t, err)
	require.Equal(t, 3, ten.Batches, "a mixer of ten bags")
}

// A mixer of 3.95 bags takes three whole bags, not four that would overflow it.
func TestWholeBagsFitTheMixer(t *testing.T) {
	t.Parallel()
	c := workedCasting(t)
	bag := float64(Yield(nil, defaults))
	a, err := c.Evaluate(nil, with(t, defaults, basis.MixerVolume, 3.95*bag))
	require.NoError(t, err)
	require.Equal(t, 3, a.BagsPerBatch)
	require.Equal(t, 8, a.Batches)
}

func TestHolesAddToThePanel(t *testing.T) {
	t.Parallel()
	f, err := FormOf(nil, "2F-3", workedDesign(), 5000, 12)
	require.NoError(t, err)
	whole, err := PanelVolume(nil, workedDesign())
	require.NoError(t, err)
	require.InDelta(t, 60000, float64(f.Net-whole), 1e-3)
	require.InDelta(t, 2.5, float64(f.Plan)/(304.8*304.8), 1e-9)
	_, err = FormOf(nil, "2F-3", workedDesign(), -1, 12)
	require.ErrorIs(t, err, fault.Refused)
}

func TestTimesInsideTheWindow(t *testing.T) {
	t.Parallel()
	c := workedCasting(t)
	c.WindowEnd = time.Date(2027, 7, 5, 5, 0, 0, 0, time.UTC)
	a, err := c.Evaluate(nil, defaults)
	require.NoError(t, err)
	// Three batches: 20 + 2*20 + 10 + 20 = 90 min; the last begins 30+20+10+20 = 80
	// min before the end, the first 120 min.
	require.Equal(t, 90.0, a.Times.Duration)
	require.Equal(t, "03:40", a.Times.LastBatch.Format("15:04"))
	require.Equal(t, "03:00", a.Times.First.Format("15:04"))
	_, late := a.Times.Late(a.Times.LastBatch)
	require.False(t, late)
	why, late := a.Times.Late(a.Times.LastBatch.Add(6 * time.Minute))
	require.True(t, late)
	require.Contains(t, why, "6 min later")
	require.Empty(t, a.Times.Findings)
	slow, err := c.Evaluate(nil, with(t, defaults, basis.MixTime, 45))
	require.NoError(t, err)
	require.Len(t, slow.Times.Findings, 1, "35 min between batches is a cold joint")
	c.WindowEnd = time.Time{}
	open, err := c.Evaluate(nil, defaults)
	require.NoError(t, err)
	require.True(t, open.Times.LastBatch.IsZero())
}

func TestCastingsThatCannotBe(t *testing.T) {
	t.Parallel()
	for field, change := range map[string]func(*Casting){
		"forms":      func(c *Casting) { c.Forms = nil },
		"net":        func(c *Casting) { c.Forms[0].Net = units.Volume(math.NaN()) },
		"plan":       func(c *Casting) { c.Forms[0].Plan = 0 },
		"height":     func(c *Casting) { c.Forms[0].Height = units.Length(math.Inf(1)) },
		"specimens":  func(c *Casting) { c.Specimens = map[Kind]int{Cylinder2x4: 1} },
		"flow_tests": func(c *Casting) { c.FlowTests = 1001 },
	} {
		c := workedCasting(t)
		change(&c)
		_, err := c.Evaluate(nil, defaults)
		var v *fault.Invalid
		require.ErrorAs(t, err, &v, field)
		require.NotNil(t, v.Of(field), field)
	}
	d := workedDesign()
	d.Panel.ThicknessLeft, d.Panel.ThicknessRight = 0, 0
	_, err := PanelVolume(nil, d)
	require.Error(t, err)
	d.Panel.ThicknessLeft, d.Panel.Width = 1, units.Length(math.NaN())
	_, err = PanelVolume(nil, d)
	require.Error(t, err)
	d.Panel.Width, d.StudHeight = 36, 40000
	_, err = PanelVolume(nil, d)
	require.ErrorIs(t, err, fault.Refused, "studs larger than the panel")

	c := workedCasting(t)
	_, err = c.Evaluate(nil, with(t, defaults, basis.MixerVolume, 0.2*ft3))
	require.ErrorIs(t, err, fault.Refused, "a mixer that takes no bag")
	c.Forms[0].Net *= 1e4
	_, err = c.Evaluate(nil, defaults)
	require.ErrorIs(t, err, fault.Refused, "thousands of batches")
}

func TestQuantityProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(t, "ends")
		var c, twice Casting
		c.FlowTests = rapid.IntRange(-1, 6).Draw(t, "flows")
		c.Specimens = map[Kind]int{Cylinder3x6: rapid.IntRange(0, 40).Draw(t, "cylinders"), Cube70: rapid.IntRange(0, 10).Draw(t, "cubes")}
		for range n {
			c.Forms = append(c.Forms, Form{End: "E", Net: units.Volume(rapid.Float64Range(0.1, 40).Draw(t, "net") * ft3), Plan: 1e5, Height: 1000, Width: 900})
		}
		b, err := defaults.With(basis.MixerVolume, rapid.Float64Range(0.5, 20).Draw(t, "mixer")*ft3)
		require.NoError(t, err)
		a, err := c.Evaluate(nil, b)
		if err != nil {
			beyond(t, err, c, b)
			return
		}
		require.LessOrEqual(t, a.Batches, mostBatches)
		require.GreaterOrEqual(t, float64(a.Mixed), float64(a.Total)*(1-1e-9), "bags never fewer than the total needs")
		require.LessOrEqual(t, float64(a.Batch), b.Value(basis.MixerVolume)*(1+1e-8), "no batch above the mixer")
		require.GreaterOrEqual(t, a.BagsOnSite, a.Bags+a.BagsPerBatch)

		// Twice the ends and the tests need twice the volume, and never fewer bags.
		twice = c
		twice.Forms = append(append([]Form(nil), c.Forms...), c.Forms...)
		twice.Specimens = map[Kind]int{Cylinder3x6: 2 * c.Specimens[Cylinder3x6], Cube70: 2 * c.Specimens[Cube70]}
		if c.FlowTests >= 0 {
			twice.FlowTests *= 2
			d, err := twice.Evaluate(nil, b)
			if err != nil {
				beyond(t, err, twice, b)
				return
			}
			require.InEpsilon(t, 2*float64(a.Total), float64(d.Total), 1e-12)
			require.GreaterOrEqual(t, d.Bags, a.Bags)
		}
	})
}

// beyond is the one refusal that a sound casting may meet: more batches than anyone
// mixes. It is right only where whole bags in that many batches do not make the volume.
func beyond(t require.TestingT, err error, c Casting, b basis.Basis) {
	require.ErrorContains(t, err, "would need more than 500 batches")
	net := 0.0
	for _, f := range c.Forms {
		net += float64(f.Net)
	}
	flows := max(c.FlowTests, 0)
	if c.FlowTests < 0 {
		flows = mostBatches * up(b.Value(basis.FlowTestsABatch))
	}
	total := net*(1+b.Value(basis.SpareVolume)) + float64(testVolume(nil, c.Specimens, flows))
	bag := float64(Yield(nil, b))
	whole := math.Floor(b.Value(basis.MixerVolume)/bag+1e-9) * bag
	require.Greater(t, total/whole, mostBatches-1.0)
}

// Less than any rounding still takes a bag.
func TestLeastCastingTakesABag(t *testing.T) {
	t.Parallel()
	a, err := Casting{Forms: []Form{{End: "E", Net: 1e-9, Plan: 1, Height: 1, Width: 900}}}.Evaluate(nil, defaults)
	require.NoError(t, err)
	require.Equal(t, 1, a.BagsPerBatch)
	require.Equal(t, 1, a.Batches)
}

// Whatever is typed, the search for the number of batches ends within its bound.
func TestWildCastingsEndWithinTheBound(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		wild := rapid.Float64Range(1e-9, math.MaxFloat64)
		c := Casting{FlowTests: rapid.IntRange(-5, 1000).Draw(t, "flows"), Specimens: map[Kind]int{Cylinder3x6: rapid.IntRange(0, 1000).Draw(t, "cylinders")}}
		for range rapid.IntRange(1, 4).Draw(t, "ends") {
			c.Forms = append(c.Forms, Form{End: "E", Net: units.Volume(wild.Draw(t, "net")), Plan: units.Area(wild.Draw(t, "plan")), Height: units.Length(wild.Draw(t, "height")), Width: 900})
		}
		d, _ := basis.Lookup(basis.MixerVolume)
		b, err := defaults.With(basis.MixerVolume, rapid.Float64Range(d.Min, d.Max).Draw(t, "mixer"))
		require.NoError(t, err)
		f, _ := basis.Lookup(basis.FlowTestsABatch)
		b, err = b.With(basis.FlowTestsABatch, rapid.Float64Range(f.Min, f.Max).Draw(t, "flow tests"))
		require.NoError(t, err)
		a, err := c.Evaluate(nil, b)
		if err != nil {
			require.ErrorIs(t, err, fault.Refused)
			return
		}
		require.LessOrEqual(t, a.Batches, mostBatches)
		require.Positive(t, a.BagsPerBatch)
		require.GreaterOrEqual(t, float64(a.Mixed), float64(a.Net))
	})
}
