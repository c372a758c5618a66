package quality

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

var (
	defaults  basis.Basis
	day       = time.Date(2027, 4, 1, 8, 0, 0, 0, time.UTC)
	engineer  = Actor{ID: "e", Role: authz.Engineer, At: day}
	inspector = Actor{ID: "i", Role: authz.Inspector, At: day}
	site      = Actor{ID: "c", Role: authz.Contractor, At: day}
)

func clean() Cleaning {
	return Cleaning{From: day, To: day.Add(4 * time.Hour), Method: PowerTool, SolventFirst: true, Zones: []ZoneGrade{
		{Zone: StudPositions, Grade: SP11, Rust: NoRust, Profile: 0.03}, {Zone: EncasedArea, Grade: SP3, Rust: NoRust}}}
}

func TestCleaningAgainstTheLevelsOfItsZones(t *testing.T) {
	t.Parallel()
	require.NoError(t, clean().Validate())
	require.Equal(t, Assessment{Acceptable: true}, clean().Assess(defaults))
	cold, dew := units.Temperature(10), units.Temperature(8)
	for _, c := range []struct {
		want   string
		change func(*Cleaning)
	}{
		{"stud positions: SP3 is level 2, at least 4 asked", func(c *Cleaning) { c.Zones[0].Grade = SP3 }},
		{"encased area: SP2 is level 1, at least 2 asked", func(c *Cleaning) { c.Zones[1].Grade = SP2 }},
		{"encased area: no grade recorded", func(c *Cleaning) { c.Zones = c.Zones[:1] }},
		{"stud positions: flash rust, to be taken off before welding", func(c *Cleaning) { c.Zones[0].Rust = LightRust }},
		{"encased area: heavy flash rust", func(c *Cleaning) { c.Zones[1].Rust = HeavyRust }},
	} {
		r := clean()
		c.change(&r)
		require.NoError(t, r.Validate())
		a := r.Assess(defaults)
		require.False(t, a.Acceptable)
		require.Equal(t, []string{c.want}, a.Against)
	}
	r := clean()
	r.SolventFirst, r.Zones[0].Profile, r.Zones[1].Rust, r.Steel, r.DewPoint = false, 0.01, LightRust, &cold, &dew
	a := r.Assess(defaults)
	require.True(t, a.Acceptable)
	require.Len(t, a.Warnings, 4)
	hours, stale := clean().Stale(day.Add(29*time.Hour), defaults)
	require.Equal(t, 25.0, hours)
	require.True(t, stale)
}

func TestCleaningsThatCannotBe(t *testing.T) {
	t.Parallel()
	hot, wet := units.Temperature(math.NaN()), 101.0
	for _, c := range []struct {
		field  string
		change func(*Cleaning)
	}{
		{"from", func(c *Cleaning) { c.From = time.Time{} }},
		{"to", func(c *Cleaning) { c.To = time.Time{} }},
		{"to", func(c *Cleaning) { c.To = c.From.Add(-time.Minute) }},
		{"to", func(c *Cleaning) { c.To = c.From.AddDate(1, 0, 0) }},
		{"method", func(c *Cleaning) { c.Method = "toothbrush" }},
		{"zones", func(c *Cleaning) { c.Zones = nil }},
		{"zones", func(c *Cleaning) { c.Zones[0].Zone = "deck" }},
		{"encased_area", func(c *Cleaning) { c.Zones[0].Zone = EncasedArea }},
		{"stud_positions", func(c *Cleaning) { c.Zones[0].Grade = "SP99" }},
		{"stud_positions_rust", func(c *Cleaning) { c.Zones[0].Rust = "" }},
		{"stud_positions_profile", func(c *Cleaning) { c.Zones[0].Profile = -1 }},
		{"steel", func(c *Cleaning) { c.Steel = &hot }},
		{"humidity", func(c *Cleaning) { c.Humidity = &wet }},
	} {
		r := clean()
		c.change(&r)
		var v *fault.Invalid
		require.ErrorAs(t, r.Validate(), &v, c.field)
		require.NotNil(t, v.Of(c.field), c.field)
	}
}

func TestGradesAreRankedAlike(t *testing.T) {
	t.Parallel()
	last := -1
	for _, g := range Grades() {
		require.GreaterOrEqual(t, g.Level, last)
		last = g.Level
	}
	for _, z := range Zones() {
		require.NotEqual(t, string(z), z.Words())
	}
}

func must(t require.TestingT, n Nonconformance, err error) Nonconformance {
	require.NoError(t, err)
	return n
}

func raise(t require.TestingT) Nonconformance {
	n, err := Raise("N-1", "collar all round, drawing S-4", "gap of a quarter", "photo 3", []string{"collars"}, inspector)
	return must(t, n, err)
}

func TestRepairFromRaisingToClosing(t *testing.T) {
	t.Parallel()
	n := raise(t)
	require.Equal(t, authz.Contractor, n.Waits(nil))
	n2, err := n.Contain("marked red", site)
	n = must(t, n2, err)
	n2, err = n.Propose(Repair, "fillet weld closes the gap", site)
	n = must(t, n2, err)
	require.Equal(t, authz.Engineer, n.Waits(nil))
	n2, err = n.SendBack("show the size of the fillet", engineer, nil)
	n = must(t, n2, err)
	require.Equal(t, Raised, n.State)
	n2, err = n.Propose(Repair, "fillet weld 5/16 in past both ends", site)
	n = must(t, n2, err)
	n2, err = n.Decide(Repair, "weld as proposed, then bend 15 degrees", "reaches full strength", engineer, nil)
	n = must(t, n2, err)
	require.Equal(t, Decided, n.State)
	n2, err = n.Work("welded", site)
	n = must(t, n2, err)
	n2, err = n.Reinspect(false, "undercut", inspector)
	n = must(t, n2, err)
	require.Equal(t, Decided, n.State)
	require.Equal(t, 1, n.Failures)
	n2, err = n.Work("welded again", site)
	n = must(t, n2, err)
	n2, err = n.Reinspect(true, "sound", inspector)
	n = must(t, n2, err)
	require.True(t, n.Open())
	n2, err = n.Close("damp ferrules", "oven on site", engineer)
	n = must(t, n2, err)
	require.False(t, n.Open())
	require.Empty(t, n.Waits(nil))
	n2, err = n.Reopen("crack found later", engineer)
	n = must(t, n2, err)
	require.True(t, n.Open())
	require.Equal(t, "damp ferrules", n.Cause, "what was written stays")
}

func TestWhatANonconformanceRefuses(t *testing.T) {
	t.Parallel()
	n := raise(t)
	proposed, err := n.Propose(UseAsIs, "fit", engineer)
	require.NoError(t, err)
	decided, err := n.Decide(Rework, "grind and weld", "", site, nil)
	require.NoError(t, err)
	worked, err := decided.Work("done", site)
	require.NoError(t, err)
	asIs, err := n.Decide(UseAsIs, "", "lowest stud carries 20 %", engineer, nil)
	require.NoError(t, err)
	require.Equal(t, Verified, asIs.State, "nothing is to be done")

	second := func(_ Nonconformance, err error) error { return err }
	other := Actor{ID: "e2", Role: authz.Engineer, At: day}
	for _, c := range []struct {
		name string
		err  error
		kind fault.Kind
	}{
		{"contractor decides a concession", second(n.Decide(Repair, "x", "y", site, nil)), fault.Forbidden},
		{"own proposal decided", second(proposed.Decide(UseAsIs, "", "fit", engineer, nil)), fault.Forbidden},
		{"concession without ground", second(n.Decide(UseAsIs, "", " ", engineer, nil)), fault.Fields},
		{"work without instructions", second(n.Decide(Rework, "", "", engineer, nil)), fault.Fields},
		{"unknown disposition", second(n.Decide("paint over", "x", "y", engineer, nil)), fault.Fields},
		{"unknown proposal", second(n.Propose("paint over", "x", site)), fault.Fields},
		{"proposal without justification", second(n.Propose(Repair, "", site)), fault.Fields},
		{"sent back by the contractor", second(proposed.SendBack("x", site, nil)), fault.Forbidden},
		{"sent back without reason", second(proposed.SendBack("", other, nil)), fault.Fields},
		{"decided anew after the work", second(worked.Decide(Reject, "x", "y", engineer, nil)), fault.Refused},
		{"work before a decision", second(n.Work("x", site)), fault.Refused},
		{"look before work", second(decided.Reinspect(true, "x", inspector)), fault.Refused},
		{"look by the laboratory", second(worked.Reinspect(true, "x", Actor{Role: authz.Laboratory})), fault.Forbidden},
		{"look at one's own work", second(worked.Reinspect(true, "x", Actor{ID: "c", Role: authz.Inspector})), fault.Forbidden},
		{"close before a look", second(worked.Close("x", "", engineer)), fault.Refused},
		{"inspector closes a concession", second(asIs.Close("x", "", inspector)), fault.Forbidden},
		{"close without cause", second(asIs.Close("", "", engineer)), fault.Fields},
		{"withdraw by the contractor", second(n.Withdraw("x", site)), fault.Forbidden},
		{"reopen what is open", second(n.Reopen("x", engineer)), fault.Refused},
		{"raised without a finding", second(Raise("N-2", "r", "", "", nil, inspector)), fault.Fields},
		{"raised with a book", second(Raise("N-2", "r", strings.Repeat("x", 10001), "", nil, inspector)), fault.Fields},
	} {
		require.Equal(t, c.kind, fault.KindOf(c.err), "%s: %v", c.name, c.err)
		require.NotEmpty(t, fault.Message(c.err), c.name)
	}
	_, err = n.Decide(Repair, "x", "y", site, Authorities{Repair: {authz.Contractor}})
	require.NoError(t, err, "an owner may give the authority to others")
	gone, err := n.Withdraw("wrong end", engineer)
	require.NoError(t, err)
	require.ErrorIs(t, second(gone.Contain("x", site)), fault.Refused)
}

// However people act, nothing is closed without a decision by an authority, and
// nothing that needed work is closed without a second look.
func TestNothingClosesUndecided(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := raise(t)
		roles := authz.Roles()
		for range rapid.IntRange(1, 20).Draw(t, "acts") {
			by := Actor{ID: rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "who"), Role: rapid.SampledFrom(roles).Draw(t, "role"), At: day}
			d := rapid.SampledFrom([]Disposition{UseAsIs, Repair, Rework, Reject}).Draw(t, "disposition")
			before := n
			var err error
			switch rapid.IntRange(0, 7).Draw(t, "act") {
			case 0:
				n, err = n.Propose(d, "because", by)
			case 1:
				n, err = n.SendBack("no", by, nil)
			case 2:
				n, err = n.Decide(d, "do", "sound", by, nil)
			case 3:
				n, err = n.Work("did", by)
			case 4:
				n, err = n.Reinspect(rapid.Bool().Draw(t, "accepted"), "saw", by)
			case 5:
				n, err = n.Close("cause", "", by)
			case 6:
				n, err = n.Reopen("again", by)
			case 7:
				n, err = n.Contain("tape", by)
			}
			if err != nil {
				require.Equal(t, before, n, "a refusal changes nothing")
			}
		}
		if n.State == Closed {
			require.NotNil(t, n.DecidedBy)
			require.Contains(t, Authorities(nil).Of(n.Decision), n.DecidedBy.Role)
			if info, _ := n.Decision.Info(); info.Work {
				require.NotNil(t, n.PassedBy)
				require.NotEqual(t, n.WorkedBy.ID, n.PassedBy.ID)
			}
		}
	})
}
