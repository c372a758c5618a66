package uhpc

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/published"
	"endcast/internal/domain/units"
)

var (
	defaults basis.Basis
	cast     = time.Date(2027, 7, 4, 1, 30, 0, 0, time.UTC)
)

// with returns the defaults with one setting changed.
func with(t *testing.T, b basis.Basis, k basis.Key, v float64) basis.Basis {
	t.Helper()
	b, err := b.With(k, v)
	require.NoError(t, err)
	return b
}

// broken is a good 3 x 6 in cylinder of the given strength in ksi.
func broken(mark string, ksi float64) Specimen {
	s := Specimen{Mark: mark, Batch: "B1", Kind: Cylinder3x6, Cure: FieldCure, Duty: QualityControl, Cast: cast, NominalHours: 96,
		Broken: cast.Add(96 * time.Hour), Width: [2]units.Length{76.2, 76.2}, Height: 150, EndsGround: true}
	s.Load = units.Force(ksi * float64(units.Ksi) * math.Pi * 76.2 * 76.2 / 4)
	return s
}

func TestExpectedLoadsOfNominalSizes(t *testing.T) {
	t.Parallel()
	b := defaults
	for _, i := range Kinds() {
		if i.Factor != "" {
			b = with(t, b, i.Factor, 1) // the table has bare strengths
		}
	}
	y := published.Open(t, "uhpc_loads.csv")
	for _, row := range y.Rows {
		strength := row.Number("strength")
		stress, force := units.Stress(strength), units.Force(1000)
		if row.Text("unit") == "ksi" {
			stress, force = stress*units.Ksi, units.Kip
		}
		got := ExpectedLoad(Kind(row.Text("kind")), stress, b)
		y.Within(row, "load", float64(got/force), row.Number("tolerance"))
	}
	y.Done(len(y.Rows))
	require.True(t, math.IsNaN(float64(ExpectedLoad("brick", 100, b))))
	err := MachineSuits(Cylinder4x8, 24*units.Ksi, 250*units.Kip, defaults)
	require.ErrorIs(t, err, fault.Refused)
	require.NoError(t, MachineSuits(Cylinder3x6, 24*units.Ksi, 250*units.Kip, defaults))
}

// Worked vector recomputed by hand: diameters 2.99 and 3.02 in, 162,340 lb give
// 7.0922 in2 and 22,890 psi = 157.8 MPa.
func TestWorkedCylinder(t *testing.T) {
	t.Parallel()
	s := broken("1", 20)
	s.Width = [2]units.Length{2.99 * units.Inch, 3.02 * units.Inch}
	s.Load = 162.340 * units.Kip
	require.NoError(t, s.Validate(defaults))
	p := calc.NewPad()
	r := s.Break(p, defaults)
	require.InDelta(t, 7.0922, float64(r.Area)/(25.4*25.4), 5e-5)
	require.InDelta(t, 22.890, float64(r.Raw/units.Ksi), 5e-4)
	require.InDelta(t, 157.8, float64(r.Raw), 0.05)
	require.Equal(t, r.Raw, r.Converted)
	require.True(t, r.Counts, r.Why)
	require.Len(t, p.Lines(), 5)
	require.Equal(t, r, s.Break(nil, defaults), "the sheet does not change the number")
}

func TestConvertedKeepsTheRawValueBeside(t *testing.T) {
	t.Parallel()
	s := broken("1", 20)
	s.Kind, s.Width, s.Height, s.Load = Cube70, [2]units.Length{70.7, 70.7}, 70.7, 749775
	require.NoError(t, s.Validate(defaults))
	r := s.Break(nil, defaults)
	require.InDelta(t, 150, float64(r.Raw), 0.01)
	require.InDelta(t, 142.5, float64(r.Converted), 0.01)
	require.Equal(t, basis.Proposal, r.FactorTag)
	one := s.Break(nil, with(t, defaults, basis.FactorCube70, 1))
	require.Equal(t, one.Raw, one.Converted)
}

func TestAgeTolerances(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_ages.csv")
	for _, row := range y.Rows {
		y.Within(row, "tolerance_hours", ToleranceHours(row.Number("age_hours"), defaults), 1e-4)
	}
	y.Done(len(y.Rows))
	require.Zero(t, ToleranceHours(0, defaults))
	require.Zero(t, ToleranceHours(math.NaN(), defaults))
	require.InDelta(t, 2*48, ToleranceHours(4320, defaults), 1e-9)
}

func TestTiming(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		hours float64
		want  Timing
	}{{92.9, Early}, {93, OnTime}, {96, OnTime}, {99, OnTime}, {99.1, Late}} {
		s := broken("1", 20)
		s.Broken = cast.Add(time.Duration(c.hours * float64(time.Hour)))
		r := s.Break(nil, defaults)
		require.Equal(t, c.want, r.Timing, c.hours)
		require.Equal(t, c.want == OnTime, r.Counts)
	}
	require.Equal(t, "1 h", AgeText(1))
	require.Equal(t, "47.5 h", AgeText(47.5))
	require.Equal(t, "3 d 23 h", AgeText(95))
	require.Equal(t, "28 d", AgeText(672))
}

// A change of summer time does not change an age: it is the time that passed.
func TestAgeAcrossAChangeOfClock(t *testing.T) {
	t.Parallel()
	east := time.FixedZone("summer", -4*3600)
	winter := time.FixedZone("winter", -5*3600)
	s := broken("1", 20)
	s.Cast = time.Date(2027, 11, 6, 23, 0, 0, 0, east)
	s.Broken = time.Date(2027, 11, 7, 22, 0, 0, 0, winter)
	s.NominalHours = 24
	r := s.Break(nil, defaults)
	require.Equal(t, 24.0, r.AgeHours)
	require.Equal(t, OnTime, r.Timing)
}

func TestSpecimensThatCannotBe(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, field string
		change      func(*Specimen)
	}{
		{"no mark", "mark", func(s *Specimen) { s.Mark = " " }},
		{"no kind", "kind", func(s *Specimen) { s.Kind = "brick" }},
		{"small cylinder", "kind", func(s *Specimen) { s.Kind = Cylinder2x4 }},
		{"no cure", "cure", func(s *Specimen) { s.Cure = "" }},
		{"no duty", "duty", func(s *Specimen) { s.Duty = "friend" }},
		{"no casting", "cast", func(s *Specimen) { s.Cast = time.Time{} }},
		{"no age", "nominal_age", func(s *Specimen) { s.NominalHours = 0 }},
		{"age not a number", "nominal_age", func(s *Specimen) { s.NominalHours = math.NaN() }},
		{"broken before casting", "broken", func(s *Specimen) { s.Broken = s.Cast.Add(-time.Hour) }},
		{"broken at casting", "broken", func(s *Specimen) { s.Broken = s.Cast }},
		{"load without a break", "broken", func(s *Specimen) { s.Broken = time.Time{} }},
		{"no load", "load", func(s *Specimen) { s.Load = 0 }},
		{"load not a number", "load", func(s *Specimen) { s.Load = units.Force(math.NaN()) }},
		{"endless load", "load", func(s *Specimen) { s.Load = units.Force(math.Inf(1)) }},
		{"beyond the machine", "load", func(s *Specimen) { s.MachineCapacity = s.Load - 1 }},
		{"beyond belief", "load", func(s *Specimen) { s.Load *= 10 }},
		{"wrong size", "width_2", func(s *Specimen) { s.Width[1] = 101.6 }},
		{"size not a number", "width_1", func(s *Specimen) { s.Width[0] = units.Length(math.NaN()) }},
		{"too short", "height", func(s *Specimen) { s.Height = 60 }},
		{"no such fracture", "fracture", func(s *Specimen) { s.Fracture = 7 }},
	} {
		s := broken("1", 20)
		require.NoError(t, s.Validate(defaults))
		c.change(&s)
		err := s.Validate(defaults)
		var v *fault.Invalid
		require.ErrorAs(t, err, &v, c.name)
		require.NotNil(t, v.Of(c.field), "%s: %v", c.name, err)
	}
	require.ErrorIs(t, AlreadyBroken(broken("7", 20)), fault.Duplicate)
}

func TestSpecimensThatDoNotCount(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		why    string
		change func(*Specimen)
	}{
		{"ends not ground", func(s *Specimen) { s.EndsGround = false }},
		{"the two diameters differ by 2.6 % of their mean, at most 2.0 %", func(s *Specimen) { s.Width = [2]units.Length{75.2, 77.2} }},
		{"height over diameter is 1.57, at least 1.75", func(s *Specimen) { s.Height = 120 }},
		{"left out: end chipped", func(s *Specimen) { s.Excluded = "end chipped" }},
	} {
		s := broken("1", 20)
		c.change(&s)
		require.NoError(t, s.Validate(defaults))
		require.Equal(t, []string{c.why}, s.Break(nil, defaults).Why)
	}
	s := broken("1", 20)
	s.Fracture, s.MachineCapacity = 5, s.Load*1.2
	r := s.Break(nil, defaults)
	require.True(t, r.Counts)
	require.Len(t, r.Notes, 2)
	s.Broken, s.Load = time.Time{}, 0
	require.Equal(t, NotBroken, s.Break(nil, defaults).Timing)
}

func TestDueList(t *testing.T) {
	t.Parallel()
	zone := time.FixedZone("site", -4*3600)
	mk := func(mark string, hours float64) Specimen {
		s := broken(mark, 20)
		s.Cast = time.Date(2027, 7, 3, 23, 0, 0, 0, zone) // a Saturday night
		s.NominalHours, s.Broken, s.Load = hours, time.Time{}, 0
		return s
	}
	early := mk("E", 96)
	early.Broken = early.Cast.Add(80 * time.Hour)
	list := DueList([]Specimen{mk("28d", 672), mk("4d", 96), early, mk("7d", 168)}, mk("", 1).Cast.Add(165*time.Hour), zone, defaults)
	var marks []string
	for _, d := range list {
		marks = append(marks, d.Specimen.Mark)
	}
	require.Equal(t, []string{"4d", "E", "7d", "28d"}, marks)
	require.Equal(t, []DueState{Overdue, BrokenEarly, DueNow, Coming}, []DueState{list[0].State, list[1].State, list[2].State, list[3].State})
	require.True(t, list[3].Weekend, "28 days after a Saturday is a Saturday")
	require.False(t, list[0].Weekend, "4 days after a Saturday is a Wednesday")
	require.Equal(t, time.Wednesday, list[0].At.In(zone).Weekday())
}
