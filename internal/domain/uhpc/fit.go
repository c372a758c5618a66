package uhpc

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/outlook"
	"endcast/internal/domain/units"
)

// Point is the mean of one sound set, for the strength curve of a program.
type Point struct {
	Name    string
	Nominal float64 // days that the set was meant for
	Days    float64 // age, or equivalent age at the curve's own curing temperature
	Mean    units.Stress
}

// Fit is the strength curve of a program, fitted to its own breaks by three laws.
type Fit struct {
	Points   []Point // by age
	Missing  []string
	Laws     []Fitted // each law, best first; empty while something is missing
	Kept     int      // position of the one that is kept, -1 if none
	Notes    []string
	From, To float64 // days between which the curve may be used
	At       float64 // curing temperature that the ages belong to, degrees Celsius
}

// Fitted is one law with its error.
type Fitted struct {
	Curve    Curve
	RMSE     units.Stress // root of the mean of the squares
	Error    units.Stress // standard error: of the squares over what is free; zero where nothing is
	Free     int          // points less parameters
	At28     units.Stress
	Rejected string // why it is not kept, empty where it could be
}

// FitCurve fits the strength curve of a program to the means of its sound sets:
// ages at a curing temperature, strength. Four ages at least, one of them below
// the strength that releases work and one at 28 days; else it says what is
// missing and fits nothing. The least root mean square is kept of the laws whose
// standard error is within its limit. A law with as many parameters as there are
// ages passes through them whatever they are, so its error proves nothing: it is
// shown and not kept. Source: our proposal, with the laws of published maturity
// practice.
func FitCurve(points []Point, curing units.Temperature, b basis.Basis) Fit {
	f := Fit{Points: slices.Clone(points), Kept: -1, At: float64(curing)}
	f.Points = slices.DeleteFunc(f.Points, func(p Point) bool {
		return !(p.Days > 0) || !finite(p.Days) || !(p.Mean > 0) || !finite(float64(p.Mean))
	})
	if n := len(points) - len(f.Points); n > 0 {
		f.Notes = append(f.Notes, fmt.Sprintf("%d sets without an age or a strength are left out", n))
	}
	slices.SortStableFunc(f.Points, func(a, b Point) int { return cmp.Or(cmp.Compare(a.Days, b.Days), cmp.Compare(a.Name, b.Name)) })
	f.missing(b)
	if len(f.Missing) > 0 {
		return f
	}
	f.From, f.To = f.Points[0].Days, b.Value(basis.FitReach)*f.Points[len(f.Points)-1].Days
	f.fit(b)
	return f
}

// distinct counts the ages: sets meant for one age are one, however far apart their
// equivalent ages lie.
func (f *Fit) distinct() int {
	var seen []float64
	for _, p := range f.Points {
		if !slices.Contains(seen, p.Nominal) {
			seen = append(seen, p.Nominal)
		}
	}
	return len(seen)
}

func (f *Fit) missing(b basis.Basis) {
	if n, need := f.distinct(), int(b.Value(basis.FitAges)); n < need {
		f.Missing = append(f.Missing, fmt.Sprintf("%d ages tested, at least %d needed", n, need))
	}
	release := units.Stress(b.Value(basis.StripStrength))
	below, month := false, false
	tolerance := ToleranceHours(28*24, b) / 24
	for _, p := range f.Points {
		below = below || p.Mean < release
		month = month || math.Abs(p.Nominal-28) <= tolerance
	}
	if !below {
		f.Missing = append(f.Missing, "no set below the strength that releases work, "+both(units.Stresses, float64(release)))
	}
	if !month {
		f.Missing = append(f.Missing, "no set at 28 days")
	}
}

func (f *Fit) fit(b basis.Basis) {
	x, y := make([]float64, len(f.Points)), make([]float64, len(f.Points))
	most := 0.0
	for i, p := range f.Points {
		x[i], y[i] = p.Days, float64(p.Mean)
		most = max(most, y[i])
	}
	ages := f.distinct()
	add := func(c Curve, params int) {
		sum := 0.0
		for i := range x {
			d := y[i] - float64(c.At(nil, x[i]))
			sum += d * d
		}
		l := Fitted{Curve: c, RMSE: units.Stress(math.Sqrt(sum / float64(len(x)))), Free: len(x) - params, At28: c.At(nil, 28)}
		if l.Free > 0 {
			l.Error = units.Stress(math.Sqrt(sum / float64(l.Free)))
		}
		most := b.Value(basis.FitError)
		share := float64(l.Error / l.At28)
		switch err := c.Validate(); {
		case err != nil:
			l.Rejected = "the sets do not determine it: " + strings.TrimPrefix(err.Error(), "strength curve: ")
		case ages <= params:
			l.Rejected = fmt.Sprintf("%d ages and %d parameters: it passes through them whatever they are, so its error proves nothing", ages, params)
		case !(share <= most):
			l.Rejected = fmt.Sprintf("standard error is %.1f %% of its strength at 28 days, at most %.1f %%", 100*share, 100*most)
		}
		f.Laws = append(f.Laws, l)
	}
	g, _ := fitLaw(gainLaw(x[0], most), x, y)
	add(Gain{Plateau: units.Stress(g[0]), Start: g[1], Scale: math.Exp(g[2]), Shape: math.Exp(g[3])}, 4)
	e, _ := fitLaw(exponentialLaw(most), x, y)
	add(Exponential{Plateau: units.Stress(e[0]), Time: math.Exp(e[1]), Power: math.Exp(e[2])}, 3)
	add(line(x, y), 2)
	slices.SortStableFunc(f.Laws, func(a, b Fitted) int { return cmp.Compare(a.RMSE, b.RMSE) })
	for i, l := range f.Laws {
		if l.Rejected == "" {
			f.Kept = i
			break
		}
	}
	if f.Kept < 0 {
		f.Notes = append(f.Notes, "no law is kept: test another age, or look for a set that does not belong")
	}
}

// line is the straight line on the logarithm of age, by least squares.
func line(x, y []float64) Logarithm {
	n := float64(len(x))
	var mx, my, xx, xy float64
	for i := range x {
		mx, my = mx+math.Log(x[i])/n, my+y[i]/n
	}
	for i := range x {
		d := math.Log(x[i]) - mx
		xx, xy = xx+float64(d*d), xy+float64(d*(y[i]-my))
	}
	if !(xx > 0) {
		return Logarithm{}
	}
	return Logarithm{AtOne: units.Stress(my - xy/xx*mx), Slope: units.Stress(xy / xx)}
}

// Origin is where a strength curve comes from.
type Origin string

// Origins of a strength curve.
const (
	OwnFit     Origin = "fitted" // to the program's own breaks
	OfSupplier Origin = "supplier"
	OfDefault  Origin = "default" // of the design basis
)

// Strengthening is a curve with what it takes to use it.
type Strengthening struct {
	Curve  Curve
	Origin Origin
	Curing units.Temperature // that its ages belong to
	// From and To are the days between which it may be used; To zero is without end.
	From, To float64
	// A strength may lie off the curve by a part of its value and a stress on top.
	DoubtPart   float64
	DoubtStress units.Stress
	Words       string
	Tag         basis.Tag
}

// Strengthening is the curve that is kept, for a forecast; ok is false where none
// is. Its doubt is the standard error times Student's t for what is free, so few
// sets make a wide band; a part of the value comes on top, since another casting
// than those tested is forecast.
func (f Fit) Strengthening(b basis.Basis) (s Strengthening, ok bool) {
	if f.Kept < 0 {
		return s, false
	}
	l := f.Laws[f.Kept]
	chance := b.Value(basis.ForecastChance)
	return Strengthening{Curve: l.Curve, Origin: OwnFit, Curing: units.Temperature(f.At), From: f.From, To: f.To, Tag: basis.Proposal, DoubtPart: b.Value(basis.CurveDoubtOwn),
		DoubtStress: l.Error * units.Stress(outlook.StudentQuantile(chance, float64(l.Free))),
		Words: fmt.Sprintf("fitted to %d sets of this program, standard error %s; used from %s to %s days", len(f.Points),
			both(units.Stresses, float64(l.Error)), trimmed(f.From), trimmed(f.To))}, true
}

// DefaultStrengthening is the curve of the design basis with the specified strength
// as its plateau, which is cautious: the strength at 28 days is below it.
func DefaultStrengthening(specified units.Stress, b basis.Basis) Strengthening {
	d, _ := basis.Lookup(basis.GainScale)
	return Strengthening{Curve: GainOf(specified, b), Origin: OfDefault, Curing: units.Temperature(b.Value(basis.GainTemperature)),
		DoubtPart: b.Value(basis.CurveDoubt), Tag: d.Tag,
		Words: "the curve of the design basis (" + d.Source + ") with the strength specified as its plateau: it is not of this mixture"}
}

// SupplierStrengthening is a curve from the supplier's data sheet.
func SupplierStrengthening(c Curve, curing units.Temperature, source string, b basis.Basis) Strengthening {
	return Strengthening{Curve: c, Origin: OfSupplier, Curing: curing, DoubtPart: b.Value(basis.CurveDoubt), Tag: basis.SecondHand,
		Words: "the supplier's curve (" + source + ")"}
}

// Place of an age on a curve.
type Reach string

// Where an age lies on a curve.
const (
	Inside Reach = "inside"
	Before Reach = "before" // below the first age tested
	Beyond Reach = "beyond" // above what the last age tested allows
)

// At is the strength at an age in days and whether the curve may be used there. It
// is never extrapolated: before the first age tested nothing is said, zero, and
// beyond the last allowed one no more than at that.
func (s Strengthening) At(days float64) (units.Stress, Reach) {
	switch {
	case !(days >= s.From):
		return 0, Before
	case s.To > 0 && days > s.To:
		return s.Curve.At(nil, s.To), Beyond
	}
	return s.Curve.At(nil, days), Inside
}

// Low and High are the edges of the band about a value of the curve.
func (s Strengthening) Low(v units.Stress) units.Stress {
	return max(0, v*units.Stress(1-s.DoubtPart)-s.DoubtStress)
}

// High is the upper edge of the band.
func (s Strengthening) High(v units.Stress) units.Stress {
	if v <= 0 {
		return 0
	}
	return v*units.Stress(1+s.DoubtPart) + s.DoubtStress
}

// needed is the value of the curve at which its lower (low true) or upper edge has
// a strength.
func (s Strengthening) needed(strength units.Stress, edge int) units.Stress {
	switch {
	case edge < 0:
		return (strength + s.DoubtStress) / units.Stress(1-s.DoubtPart)
	case edge > 0:
		return max(0, (strength-s.DoubtStress)/units.Stress(1+s.DoubtPart))
	}
	return strength
}

func trimmed(x float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", x), "0"), ".")
}
