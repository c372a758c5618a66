package repair_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

const kipFoot = float64(units.Kip) / float64(units.Foot)

// fourGirders is a program with a simple span of four girders, of which three have
// their near end on record, and a second span that nobody has entered.
func fourGirders(t *testing.T) *story {
	t.Helper()
	s := &story{Scope: &repair.Scope{NextPour: 1, NextNonconformance: 1}, now: noon}
	require.NoError(t, s.do(authz.Administrator, repair.CreateProgram{Program: repair.Program{ID: "p", Code: "small", Name: "Small bridge", Units: "us"}}))
	in := repair.BridgeIn{
		Supports: []repair.SupportIn{{Code: "A1", Name: "Abutment 1"}, {Code: "P1", Name: "Pier 1", Station: 60 * units.Foot}, {Code: "A2", Name: "Abutment 2", Station: 120 * units.Foot}},
		Spans: []repair.SpanIn{{Number: 1, Length: 60 * units.Foot, Girders: 4, Spacing: 8 * units.Foot, From: "A1", To: "P1"},
			{Number: 2, Length: 60 * units.Foot, Girders: 4, Spacing: 8 * units.Foot, From: "P1", To: "A2"}},
		Sections: []repair.Section{{Name: "W33X130", Kind: "rolled", Depth: 33.1 * units.Inch, FlangeWidth: 11.5 * units.Inch, TopFlangeWidth: 11.5 * units.Inch,
			FlangeThickness: 0.855 * units.Inch, TopFlangeThickness: 0.855 * units.Inch, WebThickness: 0.58 * units.Inch, FilletK: 1.56 * units.Inch}},
	}
	for g := 1; g <= 3; g++ {
		in.Ends = append(in.Ends, repair.EndIn{Span: 1, Side: "N", Girder: g, Support: "A1", Face: "ahead", Section: "W33X130", Facts: repair.EndFacts{BearingKind: "bolster",
			BearingLength: 8 * units.Inch, BearingWidth: 11 * units.Inch, Fy: 33 * units.Ksi, Fu: 66 * units.Ksi, HeldAgainstRoll: true, Reaction: 110 * units.Kip, Access: "open"}})
	}
	require.NoError(t, s.do(authz.Administrator, repair.ImportBridge{Bridge: in}))
	return s
}

// at is the story with the named ends alone in its scope, as the store gives it to a
// change that concerns them.
func (s *story) at(t *testing.T, names ...string) *story {
	t.Helper()
	part := *s.Scope
	part.Ends = nil
	for _, r := range s.Ends {
		for _, n := range names {
			if r.End.Name == n {
				part.Ends = append(part.Ends, r)
			}
		}
	}
	require.Len(t, part.Ends, len(names))
	return &story{Scope: &part, n: s.n + 1000, now: s.now}
}

func section() repair.SpanDemandIn {
	adtt := 1200
	return repair.SpanDemandIn{Deck: 8 * units.Inch, EdgeLeft: 2 * units.Foot, EdgeRight: 2 * units.Foot, OverhangLeft: 3 * units.Foot, OverhangRight: 3 * units.Foot,
		ADTT: &adtt, Source: "drawing 14"}
}

// parts are line loads on each girder, so that a dead reaction is w L/2 by hand; the
// bearing is 4 in from the end.
func parts(dc1, dc2, dw float64) []repair.LoadPartIn {
	line := func(name, bucket string, klf float64) repair.LoadPartIn {
		return repair.LoadPartIn{Name: name, Bucket: bucket, Kind: "line", Where: "each", Value: klf * kipFoot, Source: "by hand"}
	}
	return []repair.LoadPartIn{line("deck and steel", "dc1", dc1), line("barrier", "dc2", dc2), line("asphalt", "dw", dw)}
}

func kips(f units.Force) float64 { return float64(f / units.Kip) }

// byStatics is fourGirders with its dead load, and the demand of all ends by statics.
func byStatics(t *testing.T) *story {
	t.Helper()
	s := fourGirders(t)
	span := s.Spans[0].ID
	require.NoError(t, s.do(authz.Designer, repair.EditSpanDemand{SpanID: span, Demand: section()}))
	require.NoError(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, Parts: parts(0.9, 0.2, 0.15)}))
	require.NoError(t, s.do(authz.Designer, repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByStatics, Source: "drawing 14"}}))
	return s
}

func TestDemandComesAsItWasChosen(t *testing.T) {
	t.Parallel()
	s := fourGirders(t)
	d := s.Ends[1].Demand(s.Scope)
	require.Equal(t, repair.ByHandTotal, d.How)
	require.Equal(t, 110*units.Kip, d.Factored, "the number that was entered, unchanged")
	require.NotEmpty(t, d.Missing)
	require.Nil(t, s.Ends[1].State[0].RatingLeast)

	s = byStatics(t)
	d = s.Ends[1].Demand(s.Scope)
	require.Empty(t, d.Problem)
	// By hand: w (L/2) and the 4 in beyond the bearing; HL-93 at 60 ft, 1.33 (72 - 672/L)
	// + 0.32 L = 100.06 kip a lane, and the share of AASHTO LRFD BDS 4.6.2.2.3 for two
	// lanes (from memory), 0.2 + S/12 - (S/35)^2.
	half := 30 + 1./3*60.1667/60
	require.InDelta(t, 0.9*half, kips(d.Loads.DC1.Force), 0.02)
	ll, ok := d.Loads.Of(demand.HL93, demand.LRFR)
	require.True(t, ok)
	require.InDelta(t, 0.8144*100.06, kips(ll.Force), 0.02)
	want := 1.25*(0.9+0.2)*half + 1.5*0.15*half + 1.75*0.8144*100.06
	require.InDelta(t, want, kips(d.Factored), 0.1)
	require.Equal(t, d.Factored, s.Ends[1].Factored(s.Scope).Factored, "the short way gives the same bytes")
	require.Equal(t, d.Factored, s.Ends[1].State[0].Demand)
	require.Equal(t, d.Factored, s.Ends[1].Results[0].Demand)
	require.Equal(t, repair.ByStatics, s.Ends[1].State[0].DemandHow)
	require.NotNil(t, s.Ends[1].State[0].RatingLeast)
	require.NotEqual(t, d.Factored, s.Ends[0].State[0].Demand, "an exterior girder has its own share")
	require.Equal(t, 110*units.Kip, s.Ends[1].End.Reaction, "the total by hand stays on record")

	// Parts by hand that are those of statics give the same demand, and vehicles that
	// the hand does not know still come by statics.
	hand := repair.EndDemandIn{How: repair.ByHandParts, DC1: &d.Loads.DC1.Force, DC2: &d.Loads.DC2.Force, DW: &d.Loads.DW.Force, Live: &ll.Force, Source: "calculation 7"}
	one := s.at(t, "1N-2")
	require.NoError(t, one.do(authz.Designer, repair.EditEndDemand{Demand: hand, From: one.Ends[0].EndDemandDigest()}))
	x := one.Ends[0].Demand(one.Scope)
	require.Equal(t, d.Factored, x.Factored)
	require.Equal(t, "calculation 7", x.Loads.DC1.Origin)
	_, ok = x.Loads.Of("SU7", demand.LRFR)
	require.True(t, ok)
	require.ErrorIs(t, one.do(authz.Designer, repair.EditEndDemand{Demand: hand, From: "older"}), fault.Conflict)
}

func TestDemandThatCannotCome(t *testing.T) {
	t.Parallel()
	s := fourGirders(t)
	span := s.Spans[0].ID
	statics := repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByStatics, Source: "x"}}
	require.ErrorContains(t, s.do(authz.Designer, statics), "the cross section of span 1 is not on record")
	require.ErrorIs(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, Parts: parts(1, 1, 1)}), fault.Refused)
	require.NoError(t, s.do(authz.Designer, repair.EditSpanDemand{SpanID: span, Demand: section()}))
	require.ErrorContains(t, s.do(authz.Designer, statics), "the dead load of", "a bucket that nobody entered is not zero")
	require.NoError(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, Parts: parts(0.9, 0.2, 0)}))
	require.NoError(t, s.do(authz.Designer, statics))
	require.ErrorContains(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, Parts: []repair.LoadPartIn{{ID: s.LoadParts[2].ID, Retire: true}}}),
		"would not come out any more", "the last part of a bucket cannot go while demands stand on it")

	var bad *fault.Invalid
	in := section()
	in.Deck, in.EdgeLeft, in.Source = 0, 20*units.Foot, ""
	require.ErrorAs(t, s.do(authz.Designer, repair.EditSpanDemand{SpanID: span, Demand: in}), &bad)
	for _, f := range []string{"deck", "edge_left", "source"} {
		require.NotNil(t, bad.Of(f), f)
	}
	require.ErrorAs(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, Parts: []repair.LoadPartIn{{Name: "x", Bucket: "dc3", Kind: "line", Where: "one", Girder: 9, Value: -1}, {ID: "none", Retire: true}}}), &bad)
	for _, f := range []string{"parts[0].bucket", "parts[0].girder", "parts[0].value", "parts[1].id"} {
		require.NotNil(t, bad.Of(f), f)
	}
	require.ErrorAs(t, s.do(authz.Designer, repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByHandParts, Condition: "new"}}), &bad)
	for _, f := range []string{"dc1", "live", "condition", "source"} {
		require.NotNil(t, bad.Of(f), f)
	}
	require.ErrorIs(t, s.do(authz.Designer, repair.EditSpanDemand{SpanID: span, Demand: section(), From: "older"}), fault.Conflict)
	require.ErrorIs(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, Parts: parts(1, 1, 1), From: "older"}), fault.Conflict)
	require.ErrorIs(t, s.do(authz.Designer, repair.EditSpanDemand{SpanID: "none", Demand: section()}), fault.NotFound)

	// A span that runs on over a pier.
	s.Spans[0].ContinuousNext = true
	require.ErrorContains(t, s.do(authz.Designer, statics), "runs on")
}

func TestPartsAreRetiredAndKept(t *testing.T) {
	t.Parallel()
	s := byStatics(t)
	span, was := s.Spans[0].ID, s.Ends[1].State[0].Demand
	require.NoError(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, From: s.LoadPartsDigest(span), Parts: []repair.LoadPartIn{
		{Name: "second barrier", Bucket: "dc2", Kind: "line", Where: "each", Value: 0.3 * kipFoot}}}))
	more := s.Ends[1].State[0].Demand
	require.Greater(t, more, was)
	four := s.PartsOf(span)
	require.Len(t, four, 4)
	require.NoError(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, Parts: []repair.LoadPartIn{{ID: four[3].ID, Retire: true}}}))
	require.Equal(t, was, s.Ends[1].State[0].Demand)
	kept := s.PartsOf(span)[3]
	require.True(t, kept.Retired)
	require.Equal(t, "second barrier", kept.Name, "what it was stays readable")
}

func TestVehiclesOfTheProgram(t *testing.T) {
	t.Parallel()
	s := byStatics(t)
	carrier := demand.Truck{Code: "P-1", Name: "Carrier", Class: demand.Permit, Gamma: 1.2, Source: "permit 1", Tag: basis.Read,
		Axles: []demand.Axle{{Load: 20 * units.Kip}, {Load: 90 * units.Kip, Gap: 12 * units.Foot}}}
	require.NoError(t, s.do(authz.Engineer, repair.EditTruck{Truck: carrier}))
	sum, ok := s.Ends[1].LatestOutlook().RatingOf()
	require.True(t, ok)
	rating := func(code string) *repair.RatingLine {
		for i, l := range sum.Of(repair.AsNew).Ratings {
			if l.Vehicle == code && l.Method == demand.LRFR {
				return &sum.Of(repair.AsNew).Ratings[i]
			}
		}
		return nil
	}
	require.NotNil(t, rating("P-1"))
	require.Equal(t, "P-1", sum.Of(repair.AsNew).Vehicle, "ninety kips on one axle govern")
	require.Equal(t, sum, s.Ends[1].Ratings(s.Scope), "what is stored reads back to what is computed")

	shipped := s.Vehicles()[3]
	changed := shipped
	changed.Axles = append([]demand.Axle(nil), shipped.Axles...)
	changed.Axles[0].Load += 2 * units.Kip
	changed.Gross, changed.Source = 0, "owner's rule 5"
	require.NoError(t, s.do(authz.Engineer, repair.EditTruck{Truck: changed, From: s.TruckDigest(changed.Code)}))
	require.Len(t, s.Vehicles(), len(demand.Builtin())+1)
	require.Equal(t, changed.Axles, s.Vehicles()[3].Axles, "in the place of the shipped one")
	require.ErrorIs(t, s.do(authz.Engineer, repair.EditTruck{Truck: changed, From: "older"}), fault.Conflict)

	require.NoError(t, s.do(authz.Engineer, repair.EditTruck{Truck: demand.Truck{Code: "T3", Source: "not in use here"}, Retire: true}))
	sum, _ = s.Ends[1].LatestOutlook().RatingOf()
	require.Nil(t, rating("T3"))
	require.NotNil(t, s.Truck("T3"), "retired, not removed")
	require.ErrorIs(t, s.do(authz.Engineer, repair.EditTruck{Truck: demand.Truck{Code: "HL93-TRUCK", Source: "x"}, Retire: true}), fault.Refused)
	require.ErrorIs(t, s.do(authz.Engineer, repair.EditTruck{Truck: demand.Truck{Code: "none", Source: "x"}, Retire: true}), fault.NotFound)
	var bad *fault.Invalid
	require.ErrorAs(t, s.do(authz.Engineer, repair.EditTruck{Truck: demand.Truck{Code: "Q", Class: "van"}}), &bad)
	for _, f := range []string{"source", "class", "axles"} {
		require.NotNil(t, bad.Of(f), f)
	}
}

// approved is the middle end with a survey and an approved design.
func approved(t *testing.T) *story {
	t.Helper()
	s := byStatics(t).at(t, "1N-2")
	require.NoError(t, s.do(authz.Inspector, grid(func(i, j int) float64 { return max(0, 0.6-0.15*float64(j)) })))
	r := s.Ends[0]
	d, err := encasement.Propose(s.Basis(), r.Geometry(s.Scope), r.Steel(s.Scope), r.Demand(s.Scope).Factored, encasement.Materials{
		StudDiameter: 0.75 * units.Inch, StudHeight: 4 * units.Inch, StudFu: 60 * units.Ksi, Fc: 18 * units.Ksi})
	require.NoError(t, err)
	require.NoError(t, s.do(authz.Designer, repair.SaveDesign{Design: repair.DesignFrom(d)}))
	require.NoError(t, s.do(authz.Designer, repair.SubmitDesign{}))
	x := s.Ends[0].LatestDesign()
	require.NoError(t, s.do(authz.Engineer, repair.ReviewDesign{DesignID: x.ID, Decision: "approved", Digest: s.Ends[0].DesignDigest(s.Scope, x)}))
	require.False(t, s.Ends[0].State[0].OutOfDate)
	return s
}

func TestApprovalStandsOnTheLoads(t *testing.T) {
	t.Parallel()
	s := approved(t)
	span := s.Spans[0].ID
	say := func() string {
		late, why := s.Ends[0].OutOfDate(s.Scope)
		require.Equal(t, late, s.Ends[0].State[0].OutOfDate)
		return why
	}
	part := s.PartsOf(span)[2]
	heavier := repair.LoadPartIn{ID: part.ID, Name: part.Name, Bucket: part.Bucket, Kind: part.Kind, Where: part.Where, Value: 2 * part.Value}
	require.NoError(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, Parts: []repair.LoadPartIn{heavier}}))
	require.Equal(t, "the dead load of span 1 was changed (asphalt) after the approval", say())
	heavier.Value = part.Value
	require.NoError(t, s.do(authz.Designer, repair.EditLoadParts{SpanID: span, Parts: []repair.LoadPartIn{heavier}}))
	require.Empty(t, say(), "the reaction is what it was: the approval stands again")

	in := section()
	in.EdgeLeft, in.Deck = 1*units.Foot, 9*units.Inch // neither reaches an interior girder without skew
	require.NoError(t, s.do(authz.Designer, repair.EditSpanDemand{SpanID: span, Demand: in}))
	require.Empty(t, say())
	require.NoError(t, s.do(authz.Engineer, repair.EditBasis{Key: string(basis.GammaDW), Value: 1.4, Source: "owner"}))
	require.Contains(t, say(), "the design basis was changed (Strength I: wearing surface and utilities)")
	require.NoError(t, s.do(authz.Engineer, repair.EditBasis{Key: string(basis.GammaDW), Value: 1.5, Source: "owner"}))
	require.Empty(t, say())

	// Settings of chance, time and rating move no approval.
	for key, v := range map[basis.Key]float64{basis.ChanceYieldScatter: 0.2, basis.DeclineCoating: 10, basis.GammaPermit: 1.2} {
		require.NoError(t, s.do(authz.Engineer, repair.EditBasis{Key: string(key), Value: v, Source: "owner"}))
		require.Empty(t, say(), key)
	}
	require.NoError(t, s.do(authz.Designer, repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByHandTotal, Source: "the old way"}}))
	require.Contains(t, say(), "how its demand comes was changed")
	require.NotContains(t, say(), "dead load")
}
