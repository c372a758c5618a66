package outlook

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// rated is the loss of one row of the web between two surveys.
type rated struct {
	z    units.Length
	loss float64 // mm, mean of the row
	half float64 // mm, of its 90 % interval
}

// compared is what two surveys say together.
type compared struct {
	Pair
	rows    []rated
	overall rated
	// Loss of the plates beside the web, where both surveys read it.
	flange, stiffener *rated
}

// yearOf is a day as a year with its fraction.
func yearOf(t time.Time) float64 {
	t = t.UTC()
	start := time.Date(t.Year(), 1, 1, 0, 0, 0, 0, time.UTC)
	end := time.Date(t.Year()+1, 1, 1, 0, 0, 0, 0, time.UTC)
	return float64(t.Year()) + t.Sub(start).Hours()/end.Sub(start).Hours()
}

func called(d Dated) string { return "survey " + strconv.Itoa(d.Number) }

func methodWords(m survey.Method) string {
	if m == survey.Unstated {
		return "an unstated method"
	}
	return string(m)
}

// compare sets an earlier survey against a later one. A pair that tells no rate
// says why, with the numbers.
func compare(b basis.Basis, pr resistance.Procedure, g girder.Geometry, first, second Dated) compared {
	out := compared{Pair: Pair{First: first.Number, Second: second.Number, Years: yearOf(second.On) - yearOf(first.On)}}
	shared := facesOf(first.Survey)
	shared = slices.DeleteFunc(shared, func(f survey.Face) bool { return !slices.Contains(facesOf(second.Survey), f) })
	enough := out.measure(b, pr, g, first.Survey, second.Survey, shared)
	both := called(first) + " and " + called(second)
	differ := ""
	if enough {
		differ = "; they differ by " + fixed(float64(out.Loss), 2) + " mm"
	}
	least := b.Value(basis.DeclineApart)
	a, c := first.method(), second.method()
	switch {
	case first.Kind != second.Kind:
		out.Refused = both + " were taken before and after cleaning: what lies between them was cleaned off, and is no loss in time" + differ
	case out.Years < least-1e-6:
		out.Refused = both + " are " + fixed(out.Years, 2) + " years apart, at least " + fixed(least, 2) + " are wanted" + differ
	case a != c:
		out.Refused = called(first) + " was read by " + methodWords(a) + ", " + called(second) + " by " + methodWords(c) +
			": a difference of methods cannot be told from loss" + differ
	case len(shared) == 0:
		out.Refused = both + " read no face in common"
	case !enough:
		out.Refused = both + " have " + strconv.Itoa(out.Matched) + " places in common, at least " + fixed(b.Value(basis.DeclineMatched), 0) +
			" are wanted, and neither their rows nor the zone above the bearing can be compared"
	case !(out.Loss > 0):
		out.Refused = both + " show " + fixed(-float64(out.Loss), 2) + " mm more metal after " + fixed(out.Years, 1) + " years (" +
			strconv.Itoa(out.Matched) + " " + plural(out.By, out.Matched) + "): an error of reading, no rate"
	}
	return out
}

func plural(what string, n int) string {
	if n == 1 {
		return what
	}
	return what + "s"
}

// method is how a survey was taken, by its own word or by that of its readings.
func (d Dated) method() survey.Method {
	if d.Method != survey.Unstated {
		return d.Method
	}
	return d.Survey.Method
}

func facesOf(s *survey.Survey) []survey.Face {
	var out []survey.Face
	for _, r := range s.Readings {
		if !r.NoAccess && !slices.Contains(out, r.Face) {
			out = append(out, r.Face)
		}
	}
	slices.Sort(out)
	return out
}

// measure finds the loss place by place, else row by row, else over the zone, and
// reports whether there was enough to compare.
func (c *compared) measure(b basis.Basis, pr resistance.Procedure, g girder.Geometry, was, is *survey.Survey, faces []survey.Face) bool {
	// An error that all readings of a survey share does not average out.
	shared := 1.645 * math.Sqrt2 * b.Value(basis.ChanceCalibration)
	tolerance := units.Length(b.Value(basis.SurveyRow))
	before, after := only(was, faces), only(is, faces)
	fewest := int(b.Value(basis.DeclineMatched))
	found := c.byPlace(before, after, tolerance, fewest, shared) || c.byRow(before, after, tolerance, fewest, shared) ||
		len(faces) > 0 && c.byZone(b, pr, g, was, is, shared)
	plate := func(t1, t2 *units.Length) *rated {
		if t1 == nil || t2 == nil {
			return nil
		}
		e := repeatability(b, plateMethod(is))
		return &rated{loss: float64(*t1 - *t2), half: math.Hypot(shared, 1.645*math.Sqrt2*e)}
	}
	c.flange = plate(was.FlangeThickness, is.FlangeThickness)
	c.stiffener = plate(was.StiffenerThickness, is.StiffenerThickness)
	return found
}

// only is the readings that were taken from the given faces, by height.
func only(s *survey.Survey, faces []survey.Face) []survey.Reading {
	var out []survey.Reading
	for _, r := range s.Readings {
		if !r.NoAccess && slices.Contains(faces, r.Face) {
			out = append(out, r)
		}
	}
	slices.SortStableFunc(out, func(p, q survey.Reading) int { return cmp.Or(cmp.Compare(p.Z, q.Z), cmp.Compare(p.X, q.X)) })
	return out
}

// loss is the loss of one place.
type loss struct {
	z units.Length
	d float64
}

// byPlace compares readings of the same face and place, within the tolerance.
func (c *compared) byPlace(before, after []survey.Reading, tolerance units.Length, fewest int, shared float64) bool {
	used := make([]bool, len(before))
	var all []loss
	from := 0
	for _, r := range after {
		for from < len(before) && before[from].Z < r.Z-tolerance {
			from++
		}
		best, gap := -1, math.Inf(1)
		for k := from; k < len(before) && before[k].Z <= r.Z+tolerance; k++ {
			if used[k] || before[k].Face != r.Face {
				continue
			}
			if d := math.Hypot(float64(before[k].X-r.X), float64(before[k].Z-r.Z)); d <= float64(tolerance) && d < gap {
				best, gap = k, d
			}
		}
		if best >= 0 {
			used[best] = true
			all = append(all, loss{r.Z, float64(before[best].T - r.T)})
		}
	}
	c.Matched = len(all)
	if len(all) < max(2, fewest) {
		return false
	}
	c.By, c.rows = "place", nil
	pooled, rows, sum := 0.0, 0, 0.0
	for i := 0; i < len(all); {
		j, part := i, 0.0
		for ; j < len(all) && all[j].z <= all[i].z+tolerance; j++ {
			part += all[j].d
		}
		n := float64(j - i)
		for k := i; k < j; k++ {
			pooled += float64((all[k].d - part/n) * (all[k].d - part/n))
		}
		if rows, sum = rows+1, sum+part; n >= fewestOfRow {
			c.rows = append(c.rows, rated{z: all[i].z, loss: part / n, half: n})
		}
		i = j
	}
	mean, n := sum/float64(len(all)), float64(len(all))
	df := float64(len(all) - rows)
	if df < 2 { // hardly two readings to a row: the rows tell no scatter, all together do
		pooled, df = 0, n-1
		for _, l := range all {
			pooled += float64((l.d - mean) * (l.d - mean))
		}
	}
	s, t := math.Sqrt(pooled/df), StudentQuantile(0.95, df)
	for i := range c.rows {
		c.rows[i].half = math.Hypot(shared, t*s/math.Sqrt(c.rows[i].half))
	}
	c.overall = rated{loss: mean, half: math.Hypot(shared, t*s/math.Sqrt(n))}
	c.Loss = units.Length(mean)
	return true
}

// fewestOfRow is how many readings a row needs to have a rate of its own.
const fewestOfRow = 3

// byRow compares the means of rows of like height over the length that both
// surveys read.
func (c *compared) byRow(before, after []survey.Reading, tolerance units.Length, fewest int, shared float64) bool {
	was, is := rowsOf(before, tolerance), rowsOf(after, tolerance)
	var found []rated
	sum, variance := 0.0, 0.0
	readings := 0
	for _, r := range is {
		for _, q := range was {
			if q.face != r.face || math.Abs(float64(q.z-r.z)) > float64(tolerance) {
				continue
			}
			x0, x1 := max(q.list[0].X, r.list[0].X)-tolerance, min(q.list[len(q.list)-1].X, r.list[len(r.list)-1].X)+tolerance
			m1, s1, n1 := moments(q.list, x0, x1)
			m2, s2, n2 := moments(r.list, x0, x1)
			if n1 < fewestOfRow || n2 < fewestOfRow {
				continue
			}
			se := math.Sqrt(s1*s1/float64(n1) + s2*s2/float64(n2))
			found = append(found, rated{z: r.z, loss: m1 - m2, half: math.Hypot(shared, StudentQuantile(0.95, float64(n1+n2-2))*se)})
			sum, variance, readings = sum+m1-m2, variance+se*se, readings+n2
			break
		}
	}
	if len(found) == 0 || readings < fewest {
		return false
	}
	slices.SortStableFunc(found, func(p, q rated) int { return cmp.Compare(p.z, q.z) })
	n := float64(len(found))
	c.By, c.Matched, c.rows = "row", len(found), found
	c.overall = rated{loss: sum / n, half: math.Hypot(shared, 1.645*math.Sqrt(variance)/n)}
	c.Loss = units.Length(sum / n)
	return true
}

type readRow struct {
	face survey.Face
	z    units.Length
	list []survey.Reading // by x
}

func rowsOf(rs []survey.Reading, tolerance units.Length) []readRow {
	var out []readRow
	for _, f := range [...]survey.Face{survey.Left, survey.Right, survey.Through} {
		at := -1
		for _, r := range rs { // by height
			if r.Face != f {
				continue
			}
			if at < 0 || r.Z > out[at].z+tolerance {
				out = append(out, readRow{face: f, z: r.Z})
				at = len(out) - 1
			}
			out[at].list = append(out[at].list, r)
		}
	}
	for i := range out {
		slices.SortStableFunc(out[i].list, func(p, q survey.Reading) int { return cmp.Compare(p.X, q.X) })
	}
	return out
}

// moments is mean and standard deviation of the readings from x0 to x1.
func moments(rs []survey.Reading, x0, x1 units.Length) (mean, deviation float64, n int) {
	sum, square := 0.0, 0.0
	for _, r := range rs {
		if r.X >= x0 && r.X <= x1 {
			sum += float64(r.T)
			n++
		}
	}
	if n == 0 {
		return 0, 0, 0
	}
	mean = sum / float64(n)
	for _, r := range rs {
		if r.X >= x0 && r.X <= x1 {
			square += float64((float64(r.T) - mean) * (float64(r.T) - mean))
		}
	}
	if n > 1 {
		deviation = math.Sqrt(square / float64(n-1))
	}
	return mean, deviation, n
}

// byZone compares the mean thickness of the zone above the bearing, where both
// surveys read all of it.
func (c *compared) byZone(b basis.Basis, pr resistance.Procedure, g girder.Geometry, was, is *survey.Survey, shared float64) bool {
	x0, x1, _ := pr.Watched(g)
	mean := [2]float64{}
	variance := 0.0
	for i, s := range [...]*survey.Survey{was, is} {
		m := survey.NewMap(g, s, survey.OptionsFrom(b))
		var rs []survey.Reading
		for _, r := range s.Readings {
			if !r.NoAccess && r.Z <= pr.ZoneHeight {
				rs = append(rs, r)
			}
		}
		_, sd, n := moments(rs, x0, x1)
		if n < fewestOfRow || m.Unread(x0, x1, 0, pr.ZoneHeight) {
			return false
		}
		mean[i] = float64(m.Zone(x0, x1, pr.ZoneHeight, pr.ZoneHeight).Mean)
		variance += sd * sd / float64(n)
	}
	c.By, c.Matched, c.rows = "zone", 1, nil
	c.overall = rated{loss: mean[0] - mean[1], half: math.Hypot(shared, 1.645*math.Sqrt(variance))}
	c.Loss = units.Length(c.overall.loss)
	return true
}

// rates carries the losses of a pair over to the readings of the last survey: each
// has the rate of the row nearest to it, and that of all where none is in reach.
func (c *compared) rates(b basis.Basis, s *survey.Survey) *rates {
	of := func(r rated) band {
		return band{max(0, r.loss-r.half) / c.Years, max(0, r.loss) / c.Years, max(0, r.loss+r.half) / c.Years}
	}
	reach := b.Value(basis.SurveyReach)
	out := &rates{source: FromSurveys, web: make([]band, len(s.Readings)), flange: of(c.overall), stiffener: of(c.overall),
		origin: "surveys " + strconv.Itoa(c.First) + " and " + strconv.Itoa(c.Second) + ", " + fixed(c.Years, 1) + " years apart, " +
			strconv.Itoa(c.Matched) + " " + plural(c.By, c.Matched) + " compared; low and high take every row at an end of its 90 % interval at once"}
	for i, r := range s.Readings {
		best, gap := c.overall, reach
		for _, row := range c.rows {
			if d := math.Abs(float64(row.z - r.Z)); d <= gap {
				best, gap = row, d
			}
		}
		out.web[i] = of(best)
	}
	if c.flange != nil {
		out.flange = of(*c.flange)
	}
	if c.stiffener != nil {
		out.stiffener = of(*c.stiffener)
	}
	return out
}
