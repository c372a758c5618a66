package repair_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

func tested() repair.RecordTestStuds {
	lift := units.Length(2.5)
	return repair.RecordTestStuds{ShiftOn: noon.Format("2006-01-02"), Position: "vertical", SetUp: "plate of 3/8 in upright beside the web", Diameter: 0.75 * units.Inch, Welder: "W4", Equipment: "unit 2",
		CurrentA: degrees(1500), TimeS: degrees(0.8), Lift: &lift, Tested: 2, BendDeg: 30, BendClock: hour(6), CollarFull: true, Outcome: "accepted"}
}

func formed() repair.RecordForm {
	dry := false
	return repair.RecordForm{Face: "B", Width: inches(20), Height: inches(16), Thickness: inches(5), Cover: inches(1.25), Braced: true, SealsTight: true, WaterTest: degrees(20), Leaked: &dry,
		BearingFree: true, HolesClear: true, Outcome: "accepted"}
}

func cored(n int) repair.RecordCore {
	return repair.RecordCore{Number: n, Along: 12 * units.Inch, Across: -6 * units.Inch, Diameter: 4 * units.Inch, Depth: inches(8), BarsLocated: true, OpenClean: true, Outcome: "accepted"}
}

func TestCheckOfTheShiftIsRefusedByField(t *testing.T) {
	t.Parallel()
	yes := true
	studs := func(f func(*repair.RecordTestStuds)) repair.Change { c := tested(); f(&c); return c }
	form := func(f func(*repair.RecordForm)) repair.Change { c := formed(); f(&c); return c }
	core := func(f func(*repair.RecordCore)) repair.Change { c := cored(1); f(&c); return c }
	for name, x := range map[string]struct {
		ch    repair.Change
		field string
	}{
		"one test stud":            {studs(func(c *repair.RecordTestStuds) { c.Tested = 1 }), "tested"},
		"bent too little":          {studs(func(c *repair.RecordTestStuds) { c.BendDeg = 15 }), "bend_deg"},
		"bend that cannot be":      {studs(func(c *repair.RecordTestStuds) { c.BendDeg = 120; c.Outcome, c.Note = "not_accepted", "x" }), "bend_deg"},
		"collar open":              {studs(func(c *repair.RecordTestStuds) { c.CollarFull = false }), "outcome"},
		"cracked":                  {studs(func(c *repair.RecordTestStuds) { c.Cracked = true }), "outcome"},
		"no welder":                {studs(func(c *repair.RecordTestStuds) { c.Welder = " " }), "welder"},
		"position unheard of":      {studs(func(c *repair.RecordTestStuds) { c.Position = "sideways" }), "position"},
		"no day":                   {studs(func(c *repair.RecordTestStuds) { c.ShiftOn = "yesterday" }), "shift_on"},
		"another week":             {studs(func(c *repair.RecordTestStuds) { c.ShiftOn = noon.AddDate(0, 0, -8).Format("2006-01-02") }), "shift_on"},
		"no word why":              {studs(func(c *repair.RecordTestStuds) { c.Outcome = "not_accepted" }), "note"},
		"current of a lamp":        {studs(func(c *repair.RecordTestStuds) { c.CurrentA = degrees(2) }), "current_a"},
		"hour thirteen":            {studs(func(c *repair.RecordTestStuds) { c.BendClock = hour(13) }), "bend_clock"},
		"leak":                     {form(func(c *repair.RecordForm) { c.Leaked = &yes }), "leaked"},
		"water test without word":  {form(func(c *repair.RecordForm) { c.Leaked = nil }), "leaked"},
		"no water test":            {form(func(c *repair.RecordForm) { c.WaterTest, c.Leaked = nil, nil }), "water_test_min"},
		"water test too short":     {form(func(c *repair.RecordForm) { c.WaterTest = degrees(5) }), "water_test_min"},
		"bearing cast in":          {form(func(c *repair.RecordForm) { c.BearingFree = false }), "bearing_free"},
		"not braced":               {form(func(c *repair.RecordForm) { c.Braced = false }), "braced"},
		"seals":                    {form(func(c *repair.RecordForm) { c.SealsTight = false }), "seals_tight"},
		"holes closed":             {form(func(c *repair.RecordForm) { c.HolesClear = false }), "holes_clear"},
		"not measured":             {form(func(c *repair.RecordForm) { c.Cover = nil }), "cover"},
		"no face":                  {form(func(c *repair.RecordForm) { c.Face = "" }), "face"},
		"bar cut without leave":    {core(func(c *repair.RecordCore) { c.BarCut = true }), "leave"},
		"drilled blind":            {core(func(c *repair.RecordCore) { c.BarsLocated = false }), "bars_located"},
		"core full of slurry":      {core(func(c *repair.RecordCore) { c.OpenClean = false }), "open_clean"},
		"core without number":      {core(func(c *repair.RecordCore) { c.Number = 0 }), "number"},
		"core as wide as the deck": {core(func(c *repair.RecordCore) { c.Diameter = 900 }), "diameter"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := begin(t)
			before := s.Ends[0].TestStuds
			require.Contains(t, fields(s.do(authz.Inspector, x.ch)), x.field)
			require.Equal(t, before, s.Ends[0].TestStuds)
			require.Empty(t, s.Ends[0].FormChecks)
			require.Empty(t, s.Ends[0].DeckCores)
		})
	}
}

func TestLatestCheckCounts(t *testing.T) {
	t.Parallel()
	s := begin(t)
	r := s.Ends[0]
	facts := func() [3]bool {
		f, err := r.Facts(s.Scope)
		require.NoError(t, err)
		return [3]bool{f.TestStudsAccepted, f.FormAccepted, f.CoresAccepted}
	}
	require.Equal(t, [3]bool{}, facts(), "nothing is accepted that nobody looked at")
	require.Nil(t, r.LatestTestStud())
	for _, ch := range []repair.Change{tested(), formed(), cored(2), cored(1)} {
		require.NoError(t, s.do(authz.Inspector, ch))
		r = s.Ends[0]
	}
	require.Equal(t, [3]bool{true, true, true}, facts())

	bad := tested()
	bad.Welder, bad.CollarFull, bad.Outcome, bad.Note = "W9", false, "not_accepted", "gap above"
	require.NoError(t, s.do(authz.Inspector, bad))
	leak, leaked := formed(), true
	leak.Face, leak.Leaked, leak.Outcome, leak.Note = "R", &leaked, "not_accepted", "weeps at the flange"
	require.NoError(t, s.do(authz.Inspector, leak))
	cut := cored(2)
	cut.BarCut, cut.Outcome, cut.Note = true, "not_accepted", "one bar cut, nobody asked"
	require.NoError(t, s.do(authz.Inspector, cut))
	r = s.Ends[0]
	require.Equal(t, [3]bool{}, facts())
	require.Equal(t, "W9", r.LatestTestStud().Welder)
	require.Len(t, r.TestStudsOf(noon.Format("2006-01-02")), 2)
	require.Empty(t, r.TestStudsOf("2020-01-01"))
	forms := r.LatestForms()
	require.Len(t, forms, 2)
	require.Equal(t, "B", forms[0].Face, "the left face stands as it was seen with the right one")
	require.Equal(t, "R", forms[1].Face)
	cores := r.LatestCores()
	require.Equal(t, []int{1, 2}, []int{cores[0].Number, cores[1].Number})
	require.True(t, cores[1].BarCut)
	require.Len(t, r.DeckCores, 3, "the first stays on record")

	cut.Outcome, cut.Leave = "accepted", "engineer, by radio, 22:10"
	require.NoError(t, s.do(authz.Inspector, cut))
	good := tested()
	good.Welder, good.AfterChange = "W9", true
	require.NoError(t, s.do(authz.Inspector, good))
	right := formed()
	right.Face = "R"
	require.NoError(t, s.do(authz.Inspector, right))
	r = s.Ends[0]
	require.Equal(t, [3]bool{true, true, true}, facts())
}

func TestFormFallsShortOfThePanel(t *testing.T) {
	t.Parallel()
	s := begin(t)
	b := s.Basis()
	d := &repair.Design{PanelWidth: 20 * units.Inch, PanelHeight: 16 * units.Inch, PanelLeft: 5 * units.Inch, PanelRight: 4 * units.Inch}
	x := repair.FormCheck{Face: "L", Width: inches(20), Height: inches(16), Thickness: inches(5), Cover: inches(1)}
	require.Empty(t, x.Short(d, b, units.US))
	x.Width, x.Height, x.Thickness = inches(19.75), inches(17), inches(4.75)
	require.Empty(t, x.Short(d, b, units.US), "a quarter of an inch less is within the setting, and more is no fault")
	x.Width, x.Thickness, x.Cover = inches(19.7), inches(4.7), inches(0.9)
	require.Len(t, x.Short(d, b, units.US), 3)
	x.Face = "R"
	require.Len(t, x.Short(d, b, units.US), 2, "the panel of the right face is thinner")
	require.Len(t, x.Short(nil, b, units.SI), 1, "cover is asked whatever the design")
	require.Equal(t, basis.Proposal, mustDef(t, basis.FormOff).Tag)
}

func mustDef(t *testing.T, k basis.Key) basis.Definition {
	t.Helper()
	d, ok := basis.Lookup(k)
	require.True(t, ok, k)
	return d
}

// Two findings of one second: the one that arrived later counts, whatever their numbers.
func TestLaterArrivalCountsAtOneMoment(t *testing.T) {
	t.Parallel()
	first := repair.Collar{ID: "b", DesignID: "d", Mark: "L-1-1", Outcome: "rejected", CapturedAt: noon, ArrivedAt: noon.Add(time.Minute)}
	second := repair.Collar{ID: "a", DesignID: "d", Mark: "L-1-1", Outcome: "replaced", CapturedAt: noon, ArrivedAt: noon.Add(2 * time.Minute)}
	for _, rows := range [][]repair.Collar{{first, second}, {second, first}} {
		r := &repair.Record{Collars: rows}
		require.Equal(t, "replaced", r.LatestCollars("d")["L-1-1"].Outcome)
	}
}
