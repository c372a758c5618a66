package demand_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// fields are the names of the fields that an error refuses.
func fields(t testing.TB, err error) []string {
	t.Helper()
	var v *fault.Invalid
	require.True(t, errors.As(err, &v), "%v", err)
	var out []string
	for _, f := range v.Fields {
		require.NotEmpty(t, f.Reason)
		out = append(out, f.Field)
	}
	return out
}

// Positive skew has the left end of the bearing line ahead, so the near line meets
// the left edge of the deck at an obtuse angle. Drawn on paper: common practice.
func TestObtuseCorners(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		skew        float64
		side        girder.Side
		left, right demand.Corner
	}{
		{30, girder.Near, demand.Obtuse, demand.Acute},
		{30, girder.Far, demand.Acute, demand.Obtuse},
		{-30, girder.Near, demand.Acute, demand.Obtuse},
		{-30, girder.Far, demand.Obtuse, demand.Acute},
		{0, girder.Near, demand.Square, demand.Square},
	} {
		s := plain()
		s.SkewNear, s.SkewFar = units.Angle(row.skew), units.Angle(row.skew)
		require.Equal(t, row.left, s.Corner(end(1, row.side)), "%g %s", row.skew, row.side)
		require.Equal(t, row.right, s.Corner(end(5, row.side)), "%g %s", row.skew, row.side)
		require.Equal(t, demand.Between, s.Corner(end(3, row.side)))
		for _, c := range []demand.Corner{row.left, row.right} {
			require.NotEqual(t, "unknown", c.Words())
		}
	}
}

// The angle that the deck has at each corner, from its outline, says the same.
func TestObtuseCornersFromTheOutline(t *testing.T) {
	t.Parallel()
	s := plain()
	for _, skew := range []float64{-40, -5, 5, 40} {
		s.SkewNear, s.SkewFar = units.Angle(skew), units.Angle(skew)
		width := float64(s.Spacing) * 4
		// x to the right, y ahead; the left end of a bearing line lies ahead when skew is positive.
		ahead := width * math.Tan(skew*math.Pi/180)
		at := map[string][2]float64{"1N": {0, ahead}, "5N": {width, 0}, "1F": {0, ahead + float64(s.Length)}, "5F": {width, float64(s.Length)}}
		angle := func(corner, along, across string) float64 {
			a, b, c := at[corner], at[along], at[across]
			u, v := [2]float64{b[0] - a[0], b[1] - a[1]}, [2]float64{c[0] - a[0], c[1] - a[1]}
			return math.Acos((u[0]*v[0]+u[1]*v[1])/(math.Hypot(u[0], u[1])*math.Hypot(v[0], v[1]))) * 180 / math.Pi
		}
		for _, row := range []struct {
			corner, along, across string
			e                     demand.End
		}{{"1N", "1F", "5N", end(1, girder.Near)}, {"5N", "5F", "1N", end(5, girder.Near)}, {"1F", "1N", "5F", end(1, girder.Far)}, {"5F", "5N", "1F", end(5, girder.Far)}} {
			want := demand.Acute
			if angle(row.corner, row.along, row.across) > 90 {
				want = demand.Obtuse
			}
			require.Equal(t, want, s.Corner(row.e), "%g %s", skew, row.corner)
		}
	}
}

func TestSkewCorrectsFromTheObtuseCorner(t *testing.T) {
	t.Parallel()
	s := plain()
	s.SkewNear, s.SkewFar = 20, 35
	q := float64(s.Length) * math.Pow(float64(s.Deck), 3) / float64(s.Stiffness)
	want := 1 + 0.2*math.Pow(q, 0.3)*math.Tan(35*math.Pi/180)
	factor := func(b basis.Basis, g int) float64 {
		x, err := demand.Distribute(nil, b, s, end(g, girder.Near))
		require.NoError(t, err)
		return x.Skew
	}
	for g, c := range map[int]float64{1: want, 2: want, 3: 1, 4: 1, 5: 1} {
		require.InDelta(t, c, factor(basis.Basis{}, g), 1e-12, g)
	}
	old := with(t, basis.SkewGirders, 1.0)
	require.InDelta(t, want, factor(old, 1), 1e-12)
	require.InDelta(t, 1, factor(old, 2), 0, "older editions: the exterior girder only")

	s.Stiffness = 0
	x, err := demand.Distribute(calc.NewPad(), basis.Basis{}, s, end(1, girder.Near))
	require.NoError(t, err)
	require.InDelta(t, 1+0.2*math.Tan(35*math.Pi/180), x.Skew, 1e-12)
	require.Len(t, x.Warnings, 1)
	require.Contains(t, x.Warnings[0], "stiffness")
	s.SkewFar = 65
	x, err = demand.Distribute(nil, basis.Basis{}, s, end(1, girder.Near))
	require.NoError(t, err)
	require.Len(t, x.Warnings, 2)
}

func TestOutOfRangeMeansLeverRuleInWords(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(*demand.Span){
		"girder spacing": func(s *demand.Span) { s.Spacing = 17 * ft },
		"the span":       func(s *demand.Span) { s.Length = 250 * ft },
		"deck thickness": func(s *demand.Span) { s.Deck = 4 * in },
		"3 girders":      func(s *demand.Span) { s.Girders = 3 },
	} {
		s := plain()
		change(&s)
		x, err := demand.Distribute(calc.NewPad(), basis.Basis{}, s, end(2, girder.Near))
		require.NoError(t, err)
		require.Len(t, x.Warnings, 1, name)
		require.Contains(t, x.Warnings[0], name)
		require.Contains(t, x.Warnings[0], "lever rule")
		sp := float64(s.Spacing / ft)
		one := (1 + max(0, 1-6/sp)) / 2
		require.InDelta(t, 1.2*one, x.One, 1e-9, name)
	}
	s := plain()
	s.OverhangLeft, s.EdgeLeft = 7*ft, 6*ft
	x, err := demand.Distribute(nil, basis.Basis{}, s, end(1, girder.Near))
	require.NoError(t, err)
	require.Len(t, x.Warnings, 1)
	require.InDelta(t, 1.2*(12.0+6)/8/2, x.One, 1e-9)
	require.InDelta(t, (12.0+6+2)/8/2, x.Multi, 1e-9)
	y, err := demand.Distribute(nil, basis.Basis{}, s, end(5, girder.Near))
	require.NoError(t, err)
	require.Empty(t, y.Warnings, "the other side is in range")
}

func TestTwoGirders(t *testing.T) {
	t.Parallel()
	s := plain()
	s.Girders, s.Spacing, s.Lanes = 2, 18*ft, 1
	x, err := demand.Distribute(nil, basis.Basis{}, s, end(1, girder.Near))
	require.NoError(t, err)
	require.InDelta(t, 1.2*(18.0+12)/18/2, x.One, 1e-9, "wheels at 0 and 6 ft from the web")
	require.Zero(t, x.Multi)
}

func TestOwnersOptions(t *testing.T) {
	t.Parallel()
	s := plain()
	s.Spacing = 4 * ft
	s.Lanes = 4
	x, err := demand.Distribute(nil, with(t, basis.GirdersFloor, 1.0), s, end(3, girder.Near))
	require.NoError(t, err)
	require.InDelta(t, 0.8, x.G, 1e-12, "lanes over girders")

	// Five girders at 8 ft, the first truck's middle 5 ft from a curb 18 ft from the
	// middle of the section: 1/5 + 16*13/(2*(16^2 + 8^2)); common practice, worked by hand.
	s = plain()
	s.EdgeLeft = 2 * ft
	y, err := demand.Distribute(calc.NewPad(), with(t, basis.RigidSection, 1.0), s, end(1, girder.Near))
	require.NoError(t, err)
	one := 1.2 * (0.2 + 16*13.0/640)
	two := 0.4 + 16*(13.0+3)/640
	three := 0.85 * (0.6 + 16*(13.0+3-7)/640)
	plainly, err := demand.Distribute(nil, basis.Basis{}, s, end(1, girder.Near))
	require.NoError(t, err)
	require.InDelta(t, max(one, plainly.One), y.One, 1e-9)
	require.InDelta(t, max(two, three, plainly.Multi), y.Multi, 1e-9)
	require.Greater(t, y.Multi, plainly.Multi)
}

func TestLoadedLanes(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		feet float64
		want int
	}{{14, 1}, {19.9, 1}, {20, 2}, {24, 2}, {35.9, 2}, {36, 3}, {48, 4}} {
		s := plain()
		s.Spacing = units.Length(row.feet-4) / 4 * ft
		require.Equal(t, row.want, s.LoadedLanes(basis.Basis{}), row.feet)
	}
	s := plain()
	s.Lanes = 1
	require.Equal(t, 1, s.LoadedLanes(basis.Basis{}))
}

func TestImpossibleSpansAreRefused(t *testing.T) {
	t.Parallel()
	nan := units.Length(math.NaN())
	for _, row := range []struct {
		field  string
		change func(*demand.Span)
	}{
		{"length", func(s *demand.Span) { s.Length = 1000 }},
		{"length", func(s *demand.Span) { s.Length = nan }},
		{"length", func(s *demand.Span) { s.Length = units.Length(math.Inf(1)) }},
		{"girders", func(s *demand.Span) { s.Girders = 1 }},
		{"spacing", func(s *demand.Span) { s.Spacing = -8 * ft }},
		{"deck", func(s *demand.Span) { s.Deck = 0 }},
		{"edge_left", func(s *demand.Span) { s.EdgeLeft = 4 * ft }},
		{"edge_right", func(s *demand.Span) { s.EdgeRight = -8 * ft }},
		{"edge_right", func(s *demand.Span) { s.EdgeRight = nan }},
		{"overhang_left", func(s *demand.Span) { s.OverhangLeft = 30 * ft }},
		{"skew_near", func(s *demand.Span) { s.SkewNear = 80 }},
		{"skew_far", func(s *demand.Span) { s.SkewFar = units.Angle(math.NaN()) }},
		{"lanes", func(s *demand.Span) { s.Lanes = -1 }},
		{"stiffness", func(s *demand.Span) { s.Stiffness = -1 }},
		{"roadway", func(s *demand.Span) { s.Girders, s.Spacing, s.EdgeLeft, s.EdgeRight = 2, 5*ft, 0, 0 }},
	} {
		s := plain()
		row.change(&s)
		require.Contains(t, fields(t, s.Validate()), row.field)
		_, err := demand.Distribute(nil, basis.Basis{}, s, end(1, girder.Near))
		require.Contains(t, fields(t, err), row.field)
		x := input()
		x.Span = s
		_, err = demand.Reactions(nil, basis.Basis{}, x)
		require.Contains(t, fields(t, err), "span."+row.field)
		require.NotContains(t, err.Error(), "%!")
	}
	for _, row := range []struct {
		field string
		e     demand.End
	}{{"girder", end(0, girder.Near)}, {"girder", end(6, girder.Near)}, {"side", end(1, "")}, {"beyond", demand.End{Girder: 1, Side: girder.Far, Beyond: -1}},
		{"beyond", demand.End{Girder: 1, Side: girder.Far, Beyond: nan}}} {
		_, err := demand.Dead(nil, plain(), row.e, nil)
		require.Equal(t, []string{row.field}, fields(t, err))
	}
}

func TestImpossiblePartsTrucksAndReactionsAreRefused(t *testing.T) {
	t.Parallel()
	part := func(change func(*demand.Part)) error {
		x := input()
		change(&x.Parts[2])
		_, err := demand.Reactions(nil, basis.Basis{}, x)
		return err
	}
	for field, change := range map[string]func(*demand.Part){
		"name":   func(p *demand.Part) { p.Name = " " },
		"bucket": func(p *demand.Part) { p.Bucket = "dc3" },
		"kind":   func(p *demand.Part) { p.Kind = "cloud" },
		"value":  func(p *demand.Part) { p.Value = -1 },
		"where":  func(p *demand.Part) { p.Where = "" },
		"girder": func(p *demand.Part) { p.Where, p.Girder = demand.One, 9 },
		"at":     func(p *demand.Part) { p.At = units.Length(math.NaN()) },
		"from":   func(p *demand.Part) { p.From = "left" },
	} {
		require.Contains(t, fields(t, part(change)), "parts[2]."+field)
	}
	require.Contains(t, fields(t, part(func(p *demand.Part) { p.Kind, p.Where, p.At, p.Value = demand.Area, demand.Each, 0, 0.1 })), "parts[2].where")
	require.Contains(t, fields(t, part(func(p *demand.Part) { p.Kind = demand.Line; p.Value = 1 })), "parts[2].at")

	for field, change := range map[string]func(*demand.Truck){
		"code":             func(x *demand.Truck) { x.Code = "" },
		"class":            func(x *demand.Truck) { x.Class = "" },
		"method":           func(x *demand.Truck) { x.Method = "asr" },
		"axles":            func(x *demand.Truck) { x.Axles = nil },
		"axles[0].gap":     func(x *demand.Truck) { x.Axles[0].Gap = 1 },
		"axles[1].gap":     func(x *demand.Truck) { x.Axles[1].Gap = 0 },
		"axles[1].gap_max": func(x *demand.Truck) { x.Axles[1].GapMax = 1 },
		"axles[2].load":    func(x *demand.Truck) { x.Axles[2].Load = units.Force(math.NaN()) },
		"gross":            func(x *demand.Truck) { x.Gross *= 1.01 },
		"gamma":            func(x *demand.Truck) { x.Gamma = 0.5 },
		"lane":             func(x *demand.Truck) { x.LaneAlone = true },
		"lane_point":       func(x *demand.Truck) { x.LanePoint = -1 },
		"over":             func(x *demand.Truck) { x.Over = -1 },
	} {
		x := truck(t, "T3")
		change(&x)
		require.Contains(t, fields(t, x.Validate()), field)
	}
	long := truck(t, "T3")
	long.Gross = 0
	for len(long.Axles) < 40 {
		long.Axles = append(long.Axles, long.Axles[1])
	}
	require.NoError(t, long.Validate())
	long.Axles = append(long.Axles, long.Axles[1])
	require.Equal(t, []string{"axles"}, fields(t, long.Validate()))

	x := input()
	x.Trucks = append(x.Trucks, x.Trucks[3])
	require.Contains(t, fields(t, x.Validate()), "trucks[15].code")
	x = input()
	x.Trucks[3].Load = demand.HL93
	require.Contains(t, fields(t, x.Validate()), "trucks[3].load", "a legal truck is no alternative of the design load")
	x = input()
	x.Hand = demand.Loads{DW: known(-1), Live: []demand.Live{{Load: "T3", Method: demand.LRFR, Force: kip}, {Load: "T3", Method: demand.LRFR, Force: kip}, {Method: "x"}}}
	require.Subset(t, fields(t, x.Validate()), []string{"hand.dw", "hand.live[1].load", "hand.live[2].load", "hand.live[2].method"})
	x = input()
	x.Methods = []demand.Method{demand.LRFR, demand.LRFR}
	require.Equal(t, []string{"methods[1]"}, fields(t, x.Validate()))

	y := handInput(t)
	y.Phi, y.Traffic, y.Condition, y.Span = 0, -1, "rusty", -1
	require.Subset(t, fields(t, y.Validate()), []string{"phi", "traffic", "condition", "span"})
}

func TestBuiltinVehiclesAreValid(t *testing.T) {
	t.Parallel()
	classes := map[demand.Class]bool{}
	for _, x := range demand.Builtin() {
		require.NoError(t, x.Validate(), x.Code)
		require.NotEmpty(t, x.Source)
		require.NotEmpty(t, x.Tag)
		require.InEpsilon(t, float64(x.Gross), float64(x.GVW()), 1e-12, x.Code)
		classes[x.Class] = true
	}
	for _, c := range demand.Classes() {
		require.NotEqual(t, "unknown", c.Words())
		require.Equal(t, c != demand.Permit, classes[c], "permit vehicles are the owner's own")
	}
	demand.Builtin()[0].Axles[0].Load = 1
	require.NotEqual(t, units.Force(1), demand.Builtin()[0].Axles[0].Load, "each call is a fresh copy")
}

func TestHandGoesBeforeStatics(t *testing.T) {
	t.Parallel()
	x := input()
	before, err := demand.Reactions(nil, basis.Basis{}, x)
	require.NoError(t, err)
	x.Hand = demand.Loads{DC2: known(7), Live: []demand.Live{{Load: demand.HL93, Method: demand.LRFR, Force: 88 * kip}, {Load: "crane", Method: demand.LRFR, Force: 99 * kip}}}
	p := calc.NewPad()
	after, err := demand.Reactions(p, basis.Basis{}, x)
	require.NoError(t, err)
	require.Equal(t, before.DC1, after.DC1)
	require.InDelta(t, 7, float64(after.DC2.Force/kip), 1e-12)
	v, _ := after.Of(demand.HL93, demand.LRFR)
	require.InDelta(t, 88, float64(v.Force/kip), 1e-12)
	_, ok := after.Of("crane", demand.LRFR)
	require.True(t, ok)
	require.Len(t, after.Live, len(before.Live)+1)

	// Nothing but hand: no parts, no trucks.
	only, err := demand.Reactions(nil, basis.Basis{}, demand.Input{Span: plain(), End: end(1, girder.Near), Hand: x.Hand})
	require.NoError(t, err)
	require.False(t, only.DC1.Known)
	require.Len(t, only.Live, 2)
}

// One end worked by hand: interior girder, 80 ft span at 8 ft, HL-93 and HS20. The
// formulas are those of the sheet; common practice, worked on paper.
func TestOneEndWorkedByHand(t *testing.T) {
	t.Parallel()
	x := input()
	x.End.Girder = 3
	l, err := demand.Reactions(nil, basis.Basis{}, x)
	require.NoError(t, err)
	g := 0.2 + 8.0/12 - math.Pow(8.0/35, 2)
	v, _ := l.Of(demand.HL93, demand.LRFR)
	require.InDelta(t, g*(1.33*(72-672.0/80)+0.32*80), float64(v.Force/kip), 1e-9)
	require.Equal(t, "HL93-TRUCK", v.Governs)
	require.Equal(t, []units.Length{28 * ft, 14 * ft, 0}, v.Placement.Positions(x.Trucks[0]))
	f, _ := l.Of("FATIGUE", demand.LRFR)
	require.InDelta(t, (0.36+8.0/25)/1.2*1.15*(72-(32*30+8*44)/80.0), float64(f.Force/kip), 1e-9)
	h, _ := l.Of(demand.HS20, demand.LoadFactor)
	over, away := 1.75, 8/5.5
	require.InDelta(t, (1+50.0/205)*(over*16+away*(16*(1-14.0/80)+4*(1-28.0/80))), float64(h.Force/kip), 1e-9)

	length := 40 + 0.75
	require.InDelta(t, length*8.5/12*0.150*8+length*float64(plate().Area())/float64(ft*ft)*0.490*1.05+0.6*0.75+0.9, float64(l.DC1.Force/kip), 1e-9)
	require.InDelta(t, length*0.9/5, float64(l.DC2.Force/kip), 1e-9)
	require.InDelta(t, length*0.025*36/5, float64(l.DW.Force/kip), 1e-9)
}

func TestStiffnessOfASection(t *testing.T) {
	t.Parallel()
	// A plain rectangle of web would do; two equal flanges keep the centroid in the middle.
	sec := plate()
	sec.FlangeWidth, sec.FlangeThickness = sec.TopFlangeWidth, sec.TopFlangeThickness
	eg := 25.0 + 1.5 + 4
	want := 8 * (float64(sec.Inertia())/math.Pow(25.4, 4) + float64(sec.Area())/(25.4*25.4)*eg*eg)
	require.InEpsilon(t, want, float64(demand.Stiffness(nil, sec, 8, 1.5*in, 8*in))/math.Pow(25.4, 4), 1e-9)
	low := demand.Stiffness(nil, plate(), 8, 1.5*in, 8*in)
	require.Positive(t, low)
}

func BenchmarkDemandAndRating(b *testing.B) {
	x := input()
	x.Span.SkewNear, x.Span.SkewFar = 25, 25
	ri := rating(demand.Loads{}, x.Span)
	b.ReportAllocs()
	for b.Loop() {
		l, err := demand.Reactions(nil, basis.Basis{}, x)
		if err != nil {
			b.Fatal(err)
		}
		ri.Loads = l
		demand.Rate(nil, basis.Basis{}, ri)
		demand.Factored(nil, basis.Basis{}, l, demand.LRFR, "")
	}
}

func BenchmarkDemandAndRatingWithSheet(b *testing.B) {
	x := input()
	b.ReportAllocs()
	for b.Loop() {
		l, err := demand.Reactions(calc.NewPad(), basis.Basis{}, x)
		if err != nil {
			b.Fatal(err)
		}
		demand.Rate(calc.NewPad(), basis.Basis{}, rating(l, x.Span))
	}
}
