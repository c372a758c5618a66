package web_test

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// What the page of an end shows of its outlook is what is stored.
func TestOutlookShowsWhatIsStored(t *testing.T) {
	t.Parallel()
	p := outlookProgram(t)
	rec := p.End("1N-1")
	o := rec.LatestOutlook()
	odds, ok := o.OddsOf()
	require.True(t, ok)
	fall, ok := o.FallOf()
	require.True(t, ok)
	share, ok := o.ForeseenOf()
	require.True(t, ok)
	percent := func(v float64) string { return units.Significant(100*v, 3) + "\u00a0%" }
	a := p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Status(200)
	a.Has(percent(*o.Chance), units.Significant(100**o.ChanceLow, 3)+" to "+percent(*o.ChanceHigh), fmt.Sprintf("%d of %d samples", odds.Below, o.Samples),
		"seed "+strconv.FormatInt(o.Seed, 10), odds.P05.Format(units.US, -1), odds.P50.Format(units.US, -1), odds.P95.Format(units.US, -1), odds.Mean.Format(units.US, -1))
	a.Has("two surveys of this end", units.Significant(units.Lengths.Shown(units.US, float64(fall.Rate.Central)), 3)+"\u00a0in", "below the demand already",
		strconv.Itoa(int(math.Floor(fall.From))))
	a.Has(units.Significant(100**o.ReductionLow, 3)+" to "+percent(*o.ReductionHigh), share.StudResistance.Format(units.US, -1), share.Service.Peak.Format(units.US, -1))
	for _, r := range share.Service.Rows {
		a.Has(r.High.Format(units.US, -1))
	}
	for _, law := range share.Service.Laws {
		a.Has(law.Law)
	}
	for _, st := range rec.Stages(p.Scope("1N-1")) {
		a.Has(st.Capacity.Format(units.US, -1))
	}
	require.Len(t, a.Select("#outlook-chance"), 1)
	rows := a.Select(`section[aria-labelledby="stages"] tbody tr`)
	require.Len(t, rows, len(rec.Stages(p.Scope("1N-1"))))
	a.Has("No collar is recorded", "The end has not been cast", "The end is not closed")
}

func TestOutlookSaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	manager := p.Role(authz.Manager)
	manager.Get(p.Path("ends", "1F-2")).Status(200).Has("without readings there is nothing to scatter", "there is no steel to carry forward", "There is no design: nothing takes load from the web",
		"No survey is on record: what corrosion left is not known")
	p.surveyed("1F-2", 0.1, 40)
	p.surveyed("1F-2", 0.15, 10)
	a := manager.Get(p.Path("ends", "1F-2")).Status(200)
	a.Has("1 and 2", "refused", "years apart, at least", "no year can be given")
	a.Lacks("two surveys of this end")
	require.NotEmpty(t, webtest.Text(a.Select(".why-not")[0]))
}

// The order of repair names every open end once, in the order of its places, with
// the numbers of the stored state.
func TestOrderOfRepairPage(t *testing.T) {
	t.Parallel()
	p := outlookProgram(t)
	for _, role := range authz.Roles() {
		p.Role(role).Get(p.Path("first")).Status(200)
	}
	manager := p.Role(authz.Manager)
	a := manager.Get(p.Path("first")).Status(200)
	rows := a.Select("main tbody tr")
	require.Len(t, rows, 4)
	require.Contains(t, webtest.Text(rows[0]), "1F-1", "the largest shortfall")
	require.Contains(t, webtest.Text(rows[3]), "1F-2", "never surveyed: as new")
	st := p.End("1N-1").State[0]
	a.Has(units.Forces.Figure(float64(*st.Capacity), units.US, -1), units.Forces.Figure(float64(st.Demand-*st.Capacity), units.US, -1), "below now")
	require.Len(t, manager.Get(p.Path("first")+"?support=A1").Status(200).Select("main tbody tr"), 2)
	for _, order := range []string{"rating", "fall", "chance", "reserve", "unheard-of"} {
		require.Len(t, manager.Get(p.Path("first")+"?order="+order).Status(200).Select("main tbody tr"), 4, order)
		require.Len(t, manager.Get(p.Path("ends")+"?order="+order).Status(200).Select("main tbody tr"), 4, order)
	}
	manager.Get(p.Path("first") + "?after=nonsense").Status(400)
	manager.Get(p.Path("first") + "?support=none").Status(200).Has("No end meets these conditions")
	manager.Get(p.Path()).Status(200).Has("What to repair first", "Soonest to fall")
}

func TestAssumedRateIsSetAndWithdrawn(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.surveyed("1N-2", 0.05, 30)
	at := p.Path("assumptions")
	for _, role := range []authz.Role{authz.Designer, authz.Inspector, authz.Contractor, authz.Laboratory, authz.Manager} {
		p.Role(role).Get(at).Status(200).None("form.stack")
		p.Role(role).Post(at, "entry", newEntryID(), "rate", "0.003", "source", "x", "do", "save").Status(403)
	}
	engineer := p.Role(authz.Engineer)
	form := formAt(engineer.Get(at).Status(200).Has("no rate is assumed"), settingFormAt)
	form.Set("rate_low", "0.002")
	form.Set("rate", "0.001")
	form.Set("rate_high", "soft")
	engineer.Post(at, pressed(form, "save")...).Status(422).Has(`value="soft"`, "Say where the rate comes from")
	form.Set("rate_high", "0.004")
	form.Set("source", "Readings of three bridges, invented")
	engineer.Post(at, pressed(form, "save")...).Status(422).Has("Must be at most the central rate", `value="0.001"`)
	form.Set("rate", "0.003")
	engineer.Post(at, pressed(form, "save")...).LeadsTo(at).Follow().Has("Every end was recomputed", "0.003\u00a0in a year", "Readings of three bridges, invented", `value="0.003"`)
	o := p.End("1N-2").LatestOutlook()
	fall, ok := o.FallOf()
	require.True(t, ok)
	require.EqualValues(t, "owner", fall.Source)
	require.InDelta(t, 0.003*25.4, float64(fall.Rate.Central), 1e-12)
	p.Role(authz.Manager).Get(p.Path("ends", "1N-2")).Has("assumed by the owner", "Readings of three bridges, invented")

	// Somebody else sets another one meanwhile.
	form = formAt(engineer.Get(at), settingFormAt)
	p.DoProgram(authz.Administrator, assumed())
	form.Set("rate", "0.0035")
	clash := engineer.Post(at, pressed(form, "save")...).Status(409).Has("Somebody changed this meanwhile", "0.0035", "Owner&#39;s letter of 2 March, invented")
	engineer.Post(at, pressed(formAt(clash, settingFormAt), "save")...).Status(303)

	gone := formAt(engineer.Get(at), "main details form")
	engineer.Post(at, pressed(gone, "withdraw")...).Status(422).Has("f-why", "why it is withdrawn")
	gone.Set("why", "Deck joints were renewed")
	engineer.Post(at, pressed(gone, "withdraw")...).LeadsTo(at).Follow().Has("withdrawn", "Deck joints were renewed", "Withdrew the rate of loss")
	fall, _ = p.End("1N-2").LatestOutlook().FallOf()
	require.EqualValues(t, "", fall.Source)
}
