package web_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

// hardening is a program with an end cast two days ago, whose temperature is on
// record, and another whose standard-cured sets give the program a curve.
func hardening(t *testing.T, tested ...float64) *testProgram {
	p := newTestProgram(t)
	p.approved("1N-1")
	d := p.End("1N-1").DesignInForce()
	ch := repair.RecordCollars{DesignID: d.ID}
	for _, st := range p.End("1N-1").StudsOf(d.ID) {
		ch.Collars = append(ch.Collars, repair.CollarIn{Mark: st.Mark, Outcome: "full"})
	}
	p.Do(authz.Inspector, "1N-1", ch)
	p.cast(50, "1N-1")
	covered := ago(49 * time.Hour)
	for _, sensor := range []struct {
		name, place string
		from        units.Temperature
	}{{"flange", "coldest", 24}, {"core", "core", 30}} {
		log := repair.AddHandReadings{LogHead: repair.LogHead{Pour: 1, Sensor: sensor.name, Place: sensor.place, CoveredAt: covered}}
		for h := range 48 {
			log.Readings = append(log.Readings, repair.HandReading{At: covered.Add(time.Duration(h) * time.Hour), Temp: sensor.from - units.Temperature(h)/8})
		}
		p.Do(authz.Contractor, "1N-1", log)
	}
	if len(tested) == 0 {
		return p
	}
	start := ago(30 * 24 * time.Hour)
	placed := start.Add(15 * time.Minute)
	pour := repair.RecordPour{StartedAt: start, EndedAt: &placed, Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed}}}
	for _, days := range tested {
		pour.Specimens = append(pour.Specimens, repair.SpecimenSet{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: days, Count: 3})
	}
	p.Do(authz.Inspector, "1F-1", pour)
	kips := map[float64]float64{1: 78, 3: 112, 7: 134, 14: 148, 28: 157}
	i := 0
	for _, sp := range p.Scope("1F-1").Specimens {
		w, h := 3*units.Inch, 6*units.Inch
		p.Do(authz.Laboratory, "1F-1", repair.RecordBreak{Mark: sp.Mark, BrokenAt: sp.CastAt.Add(time.Duration(sp.NominalDays*24) * time.Hour),
			Load: units.Force(kips[sp.NominalDays]+float64(i%3)) * units.Kip, Width: &w, Depth: &w, Height: &h, EndsGround: true})
		i++
	}
	return p
}

func TestStrengthCurveForEveryRole(t *testing.T) {
	t.Parallel()
	p := hardening(t, 1, 3, 7, 14, 28)
	before := *p.End("1N-1").State[0].Repaired
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(p.Path("strength-curve")).Status(200)
		a.Has("the program&#39;s own curve", "5 sets of this program", "kept", uhpc.NoGate, "0.9981", "P002-1 at 28 d")
		p.Role(role).Get(p.Path("pours")).Status(200).Has(p.Path("strength-curve"))
		p.Role(role).Get(p.Path("ends", "1N-1")).Status(200).Has("Capacity of the day", "flange", "the program&#39;s own", "decides nothing", "Return to traffic")
	}
	p.Role(authz.Manager).Get(p.Path("ends", "1N-2")).Status(200).Lacks("Capacity of the day")
	// The page of the pour tells the same of its end; the other pour's end has no design.
	a := p.Role(authz.Inspector).Get(p.Path("pours", "1")).Status(200).Has("What the ends carry now", "decides nothing", "no strength yet")
	steel := p.End("1N-1").State[0].Capacity
	require.NotNil(t, steel)
	require.Contains(t, a.One("section[aria-labelledby=capacity] tbody"), strings.ReplaceAll(steel.Format(units.US, -1), "\u00a0", " "), "nothing is proven: the steel alone counts")
	p.Role(authz.Inspector).Get(p.Path("pours", "2")).Status(200).Lacks("What the ends carry now")
	require.Equal(t, before, *p.End("1N-1").State[0].Repaired, "looking at a forecast stores nothing")
	p.AsIn(p.NewProgram("other"), authz.Engineer).Get(p.Path("strength-curve")).Status(404)
}

func TestStrengthCurveSaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	p := hardening(t, 7, 28)
	a := p.Role(authz.Engineer).Get(p.Path("strength-curve")).Status(200)
	a.Has("2 ages tested, at least 4 needed", "No set below the strength that releases work", "curve of the design basis")
	p.Role(authz.Engineer).Get(p.Path("ends", "1N-1")).Has("of the design basis", "none yet: the panel counts with nothing")
	// The curve follows the record: the next break is on it at once.
	p.cast(97, "1N-2")
	marks := p.Scope("1N-2").Specimens
	i := slices.IndexFunc(marks, func(sp repair.Specimen) bool { return sp.Curing == "field" })
	w := 3 * units.Inch
	for _, sp := range marks[i : i+3] {
		p.Do(authz.Laboratory, "1N-2", repair.RecordBreak{Mark: sp.Mark, BrokenAt: ago(time.Hour), Load: 100 * units.Kip, Width: &w, Depth: &w, EndsGround: true})
	}
	p.Role(authz.Engineer).Get(p.Path("strength-curve")).Has("1 field- or match-cured sets")
}

func TestCapacityOfTheDayInABrowser(t *testing.T) {
	t.Parallel()
	p := hardening(t, 1, 3, 7, 14, 28)
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("strength-curve"), "strength-curve")
	p.Look(page, p.Path("ends", "1N-1"), "capacity-of-the-day")
	require.True(t, browsertest.Eval[bool](page, `document.querySelector("section[aria-labelledby=today] svg") !== null`))
}
