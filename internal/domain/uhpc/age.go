package uhpc

import (
	"math"
	"sort"
	"strconv"
	"time"

	"endcast/internal/domain/basis"
)

// ToleranceHours is how far a break may lie from its nominal age. ASTM C39 lists
// 1, 3, 7, 28 and 90 days (from memory: settings); 4 and 14 days are settings of
// our own; between all of them it is linear, and below the first and above the last in proportion to the age (our proposal).
func ToleranceHours(nominalHours float64, b basis.Basis) float64 {
	listed := [...]struct {
		age float64
		key basis.Key
	}{{24, basis.AgeTolerance1d}, {72, basis.AgeTolerance3d}, {96, basis.AgeTolerance4d}, {168, basis.AgeTolerance7d},
		{336, basis.AgeTolerance14d}, {672, basis.AgeTolerance28d}, {2160, basis.AgeTolerance90d}}
	first, last := listed[0], listed[len(listed)-1]
	switch {
	case !(nominalHours > 0):
		return 0
	case nominalHours <= first.age:
		return b.Value(first.key) * nominalHours / first.age
	case nominalHours >= last.age:
		return b.Value(last.key) * nominalHours / last.age
	}
	i := sort.Search(len(listed), func(i int) bool { return listed[i].age >= nominalHours })
	lo, hi := listed[i-1], listed[i]
	t := (nominalHours - lo.age) / (hi.age - lo.age)
	return b.Value(lo.key) + t*(b.Value(hi.key)-b.Value(lo.key))
}

// AgeText prints an age the way it is spoken: hours up to two days, then days and
// hours.
func AgeText(hours float64) string {
	if !finite(hours) {
		return "no age"
	}
	if hours < 48 {
		return strconv.FormatFloat(math.Round(hours*10)/10, 'f', -1, 64) + " h"
	}
	whole := int64(math.Round(hours))
	s := strconv.FormatInt(whole/24, 10) + " d"
	if whole%24 != 0 {
		s += " " + strconv.FormatInt(whole%24, 10) + " h"
	}
	return s
}

// DueState is where a specimen stands on the list of breaks.
type DueState string

// States on the list of breaks.
const (
	Coming      DueState = "coming"
	DueNow      DueState = "due_now" // the window is open
	Overdue     DueState = "overdue"
	BrokenDue   DueState = "broken"
	BrokenEarly DueState = "broken_early"
	BrokenLate  DueState = "broken_late"
)

// Due is one line of the list of breaks.
type Due struct {
	Specimen Specimen
	From, At time.Time // the window opens, the nominal age is reached
	To       time.Time // the window closes
	State    DueState
	// Weekend: the nominal instant is a Saturday or Sunday in the given zone, when
	// a laboratory may be shut.
	Weekend bool
}

// DueList lists the specimens by the instant at which they are due, as seen at
// asOf; zone is where the laboratory keeps its calendar.
func DueList(specimens []Specimen, asOf time.Time, zone *time.Location, b basis.Basis) []Due {
	out := make([]Due, 0, len(specimens))
	for _, s := range specimens {
		hours := func(h float64) time.Time { return s.Cast.Add(time.Duration(h * float64(time.Hour))) }
		tolerance := ToleranceHours(s.NominalHours, b)
		d := Due{Specimen: s, From: hours(s.NominalHours - tolerance), At: hours(s.NominalHours), To: hours(s.NominalHours + tolerance)}
		switch {
		case !s.Broken.IsZero() && s.Broken.Before(d.From):
			d.State = BrokenEarly
		case !s.Broken.IsZero() && s.Broken.After(d.To):
			d.State = BrokenLate
		case !s.Broken.IsZero():
			d.State = BrokenDue
		case asOf.After(d.To):
			d.State = Overdue
		case asOf.Before(d.From):
			d.State = Coming
		default:
			d.State = DueNow
		}
		day := d.At.In(zone).Weekday()
		d.Weekend = day == time.Saturday || day == time.Sunday
		out = append(out, d)
	}
	sort.SliceStable(out, func(i, j int) bool {
		if !out[i].At.Equal(out[j].At) {
			return out[i].At.Before(out[j].At)
		}
		return out[i].Specimen.Mark < out[j].Specimen.Mark
	})
	return out
}
