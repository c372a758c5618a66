package web_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

const loadsForm, demandForm = "#loads-form", "#demand-form"

// fiveGirders is a bridge of one 80 ft span of five rolled girders at 8 ft.
func fiveGirders(t testing.TB) *testProgram {
	t.Helper()
	p := newTestProgram(t)
	in := testBridge()
	in.Spans = []repair.SpanIn{{Number: 2, Length: 80 * units.Foot, Girders: 5, Spacing: 8 * units.Foot, From: "A2", To: "A3"}}
	in.Supports, in.Sections = []repair.SupportIn{{Code: "A3", Name: "Abutment 3", Station: 140 * units.Foot}}, nil
	first := in.Ends[0]
	in.Ends = nil
	for _, side := range []string{"N", "F"} {
		for g := 1; g <= 5; g++ {
			e := first
			e.Span, e.Side, e.Girder, e.Support, e.Face = 2, side, g, "A2", "ahead"
			if side == "F" {
				e.Support, e.Face = "A3", "back"
			}
			in.Ends = append(in.Ends, e)
		}
	}
	p.DoProgram(authz.Administrator, repair.ImportBridge{Bridge: in})
	return p
}

func (p *testProgram) span(number int) *repair.Scope {
	p.t.Helper()
	s, _, err := p.Store.Span(p.ctx, p.ID, number)
	require.NoError(p.t, err)
	return s
}

// loaded enters the cross section and the dead load of the span of fiveGirders.
func (p *testProgram) loaded() {
	p.t.Helper()
	s := p.span(2)
	id := s.Ends[0].End.SpanID
	adtt := 1200
	p.DoProgram(authz.Engineer, repair.EditSpanDemand{SpanID: id, Demand: repair.SpanDemandIn{Deck: 8 * units.Inch, EdgeLeft: 1.75 * units.Foot, EdgeRight: 1.75 * units.Foot,
		OverhangLeft: 3.25 * units.Foot, OverhangRight: 3.25 * units.Foot, SkewNear: 20, SkewFar: 20, ModularRatio: 8, Haunch: 2 * units.Inch, ADTT: &adtt, Source: "sheet 12, invented"}})
	lbf := float64(units.Kip) / 1000 / float64(units.Foot)
	p.DoProgram(authz.Engineer, repair.EditLoadParts{SpanID: id, Parts: []repair.LoadPartIn{
		{Name: "Concrete deck", Bucket: "dc1", Kind: "area", Value: 100 * float64(units.Ksi) / 144000, Where: "tributary", Source: "sheet 12, invented"},
		{Name: "Steel girder", Bucket: "dc1", Kind: "line", Value: 150 * lbf, Where: "each", Source: "sheet 20, invented"},
		{Name: "End cross-frame", Bucket: "dc1", Kind: "point", Value: 0.6 * float64(units.Kip), Where: "each", Source: "sheet 21, invented"},
		{Name: "Barriers", Bucket: "dc2", Kind: "line", Value: 900 * lbf, Where: "shared", Source: "sheet 14, invented"},
		{Name: "Wearing surface", Bucket: "dw", Kind: "area", Value: 25 * float64(units.Ksi) / 144000, Where: "shared", Source: "cores of May, invented"}}})
}

// loadedWith enters the loads of span 1, the demand of 1N-2 and a vehicle, with one
// text wherever a person may type.
func (p *testProgram) loadedWith(text string) {
	p.t.Helper()
	id := p.End("1N-2").End.SpanID
	p.DoProgram(authz.Engineer, repair.EditSpanDemand{SpanID: id, Demand: repair.SpanDemandIn{Deck: 8 * units.Inch, EdgeLeft: units.Foot, EdgeRight: units.Foot,
		OverhangLeft: 3 * units.Foot, OverhangRight: 3 * units.Foot, Source: text, Typed: repair.Typed{"deck": text}}})
	p.DoProgram(authz.Engineer, repair.EditLoadParts{SpanID: id, Parts: []repair.LoadPartIn{
		{Name: text, Bucket: "dc1", Kind: "line", Value: 10, Where: "each", Source: text, Typed: repair.Typed{"value": text}},
		{Name: text, Bucket: "dc2", Kind: "line", Where: "shared", Source: text}, {Name: text, Bucket: "dw", Kind: "area", Where: "shared", Source: text}}})
	p.Do(authz.Engineer, "1N-2", repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByStatics, Source: text}})
	p.DoProgram(authz.Engineer, repair.EditTruck{Typed: repair.Typed{"axles[0].load": text}, Truck: demand.Truck{Code: "P-1", Name: text, Class: demand.Permit, Lane: 1, Source: text,
		Axles: []demand.Axle{{Load: 20 * units.Kip}}}})
}

// TestReactionOfOneLaneIsThatOfAHandCalculation checks the page against statics by
// hand: HL-93 on 80 ft, with the axles of AASHTO LRFD BDS 3.6.1.2 and its dynamic
// load allowance of 0.33, both from memory. 32(1 + 66/80) + 8(52/80) = 63.6 kip,
// 1.33 of that is 84.588, and the lane gives 0.64(80)/2 = 25.6 kip: 110.19 kip.
func TestReactionOfOneLaneIsThatOfAHandCalculation(t *testing.T) {
	t.Parallel()
	p := fiveGirders(t)
	p.loaded()
	page := p.Role(authz.Manager).Get(p.Path("spans", "2", "loads")).Status(200)
	page.Has("110.19\u00a0kip", "Girders drawn as W33X130", "sheet 12, invented")
	// DC1 of an interior girder, which runs 4 in past the middle of its bearing:
	// (0.100*8 + 0.150)(80/2 + 4/12) + 0.6 = 38.92 kip, and 0.900/5(40.333) = 7.26 kip of
	// the barriers.
	page.Has("38.92", "7.26")
	p.Role(authz.Manager).Get(p.Path("vehicles", "HL93-TRUCK")).Status(200).Has("110.19\u00a0kip")
	// Each factor in force is there with its source and leads to where it is edited.
	for _, k := range []basis.Key{basis.GammaDC, basis.GammaLL, basis.Impact, basis.ShareTwoSpread, basis.LegalEdition} {
		d, _ := basis.Lookup(k)
		require.NotEmpty(t, page.Select(`a[href$="/basis/`+string(k)+`"]`), k)
		page.Has(string(d.Tag))
	}
}

func TestCrossSectionIsEntered(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("spans", "1", "edit")
	loads := p.Path("spans", "1", "loads")
	for _, role := range []authz.Role{authz.Inspector, authz.Contractor, authz.Manager, authz.Laboratory} {
		p.Role(role).Get(p.Path("spans")).Status(200).Has("not on record", "60.00\u00a0ft")
		p.Role(role).Get(loads).Status(200).Lacks("Enter the cross section")
		p.Role(role).Get(path).Status(403)
		p.Role(role).Post(path, "entry", newEntryID()).Status(403)
		p.Role(role).Post(p.Path("spans", "1", "parts", "new"), "entry", newEntryID()).Status(403)
	}
	designer := p.Role(authz.Designer)
	designer.Get(loads).Status(200).Has("Enter the cross section", "cross section of span 1 is not on record")
	form := formAt(designer.Get(path).Status(200), loadsForm)
	form.Set("deck", "8 inchs")
	form.Set("overhang_left", "3.25")
	form.Set("lanes", "two")
	back := designer.Post(path, pressed(form, "preview")...).Status(422).Has("8 inchs", "Must be a whole number", "Name the drawing")
	require.Equal(t, "3.25", formAt(back, loadsForm).Get("overhang_left"))
	form.Set("deck", "8")
	form.Set("lanes", "")
	form.Set("source", "sheet 4")
	form.Set("edge_left", "4")
	designer.Post(path, pressed(form, "preview")...).Status(422).Has("(the edge of the deck)", "sheet 4")
	form.Set("edge_left", "1.75")
	form.Set("edge_right", "1.75")
	form.Set("overhang_right", "3.25")
	seen := formAt(designer.Post(path, pressed(form, "preview")...).Status(200).Has("What this changes"), loadsForm)
	require.Empty(t, p.span(1).SpanDemands, "nothing is stored by looking")
	designer.Post(path, pressed(seen, "save")...).LeadsTo(loads).Follow().Has("sheet 4", "Concrete deck, 100", "11.50\u00a0ft")
	require.Equal(t, "1.75", p.span(1).SpanDemands[0].Typed["edge_left"])

	// The form of before is refused beside what is stored.
	seen.Set("deck", "9")
	seen.Set("entry", newEntryID())
	clash := designer.Post(path, pressed(seen, "preview")...).Status(409).Has("Somebody changed this meanwhile", "Deck thickness")
	require.Equal(t, "9", formAt(clash, loadsForm).Get("deck"))

	// What the record tells already begins the dead load; then a part is added, changed and retired.
	parts := p.Path("spans", "1", "parts", "new")
	from := p.span(1).LoadPartsDigest(p.End("1N-1").End.SpanID)
	designer.Post(parts, "entry", newEntryID(), "from", from, "do", "start").LeadsTo(loads).Follow().Has("Concrete deck", "Steel girder")
	require.Len(t, p.span(1).LoadParts, 2)
	form = formAt(designer.Get(parts).Status(200), loadsForm)
	form.Set("name", "Wearing surface")
	form.Set("bucket", "dw")
	form.Set("kind", "area")
	form.Set("value", "25")
	form.Set("where", "each")
	back = designer.Post(parts, pressed(form, "preview")...).Status(422).Has("Must be shared or tributary for an area", "Wearing surface")
	require.Equal(t, "25", formAt(back, loadsForm).Get("value"))
	form.Set("where", "shared")
	seen = formAt(designer.Post(parts, pressed(form, "preview")...).Status(200), loadsForm)
	designer.Post(parts, pressed(seen, "save")...).LeadsTo(loads).Follow().Has("25\u00a0psf", "added Wearing surface")
	x := p.span(1).LoadParts[2]
	require.InDelta(t, 25*float64(units.Ksi)/144000, x.Value, 1e-12)
	at := p.Path("spans", "1", "parts", x.ID)
	form = formAt(designer.Get(at).Status(200), loadsForm)
	require.Equal(t, "25", form.Get("value"))
	designer.Post(at, pressed(form, "retire")...).LeadsTo(loads).Follow().Has("retired Wearing surface")
	require.True(t, p.span(1).LoadParts[2].Retired)
	form.Set("entry", newEntryID())
	designer.Post(at, pressed(form, "retire")...).Status(409).Has("another one now")
	designer.Get(p.Path("spans", "9", "loads")).Status(404)
}

func TestDemandOfAnEndIsChosen(t *testing.T) {
	t.Parallel()
	p := fiveGirders(t)
	path := p.Path("ends", "2N-3", "demand")
	p.Role(authz.Designer).Get(p.Path("ends", "2N-3")).Status(200).Has("Demand and rating")
	for _, role := range []authz.Role{authz.Inspector, authz.Contractor, authz.Manager} {
		p.Role(role).Get(path).Status(200).Has("110.0\u00a0kip", "factored total by hand", "No rating can be given").None(demandForm)
		p.Role(role).Post(path, "entry", newEntryID()).Status(403)
	}
	engineer := p.Role(authz.Engineer)
	form := formAt(engineer.Get(path).Status(200), demandForm)
	form.Set("how", repair.ByStatics)
	form.Set("source", "sheets 12 to 21")
	engineer.Post(path, pressed(form, "preview")...).Status(422).Has("would not come out any more", "sheets 12 to 21")
	form.Set("how", repair.ByHandParts)
	form.Set("dc1", "38.6 kips")
	form.Set("dc2", "7,2,0")
	back := engineer.Post(path, pressed(form, "preview")...).Status(422).Has("All four parts are needed", "7,2,0")
	require.Equal(t, "38.6 kips", formAt(back, demandForm).Get("dc1"))
	for name, text := range map[string]string{"dc2": "7.2", "dw": "7", "live": "90"} {
		form.Set(name, text)
	}
	form.Set("condition", "fair")
	// 1.25(38.6 + 7.2) + 1.50(7) + 1.75(90) = 225.25 kip
	look := engineer.Post(path, pressed(form, "preview")...).Status(200).Has("What this changes", "225.3\u00a0kip")
	seen := formAt(look, demandForm)
	require.Empty(t, p.End("2N-3").EndDemands)
	engineer.Post(path, pressed(seen, "save")...).LeadsTo(path).Follow().Has("225.3\u00a0kip", "parts by hand", "fair", "As new", "HL-93")
	require.InDelta(t, 225.25, float64(p.End("2N-3").State[0].Demand/units.Kip), 1e-6)
	seen.Set("entry", newEntryID())
	seen.Set("live", "95")
	clash := engineer.Post(path, pressed(seen, "preview")...).Status(409).Has("Somebody changed this meanwhile", "95")
	require.Equal(t, "95", formAt(clash, demandForm).Get("live"))

	p.loaded()
	form = formAt(engineer.Get(path), demandForm)
	form.Set("how", repair.ByStatics)
	seen = formAt(engineer.Post(path, pressed(form, "preview")...).Status(200), demandForm)
	page := engineer.Post(path, pressed(seen, "save")...).LeadsTo(path).Follow().Has("by statics", "110.2\u00a0kip a lane", "influence line of the reaction", "Strength I")
	d := p.End("2N-3").Demand(p.Scope("2N-3"))
	live, ok := d.Loads.Of(demand.HL93, demand.LRFR)
	require.True(t, ok)
	page.Has(fmt.Sprintf("%.3f", live.Share), units.Forces.Format(float64(d.Factored), units.US, -1))
	p.Role(authz.Manager).Get(p.Path("spans", "2", "loads")).Has("by statics")
}

func TestLoadsPagesInABrowser(t *testing.T) {
	t.Parallel()
	p := fiveGirders(t)
	p.loaded()
	p.Do(authz.Engineer, "2N-1", repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByStatics, Condition: "fair", Source: "sheets 12 to 21, invented"}})
	p.Do(authz.Engineer, "2F-3", repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByStatics, Condition: "good", LossMeasured: true, Source: "sheets 12 to 21, invented"}})
	p.Do(authz.Inspector, "2F-3", asFound(0.6))
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("spans"), "spans")
	p.Look(page, p.Path("spans", "1", "loads"), "span-empty")
	p.Look(page, p.Path("spans", "2", "loads"), "span")
	p.Look(page, p.Path("spans", "2", "edit"), "span-edit")
	p.Look(page, p.Path("spans", "2", "parts", "new"), "part")
	p.Look(page, p.Path("ends", "1N-1", "demand"), "demand-total")
	p.Look(page, p.Path("ends", "2F-3", "demand"), "demand")
	page.Open(p.Path("spans", "2", "edit"))
	page.Fill("[name=deck]", "9.5")
	require.Equal(t, 200, page.Submit("button[value=preview]"))
	require.Contains(t, page.Text(".whatif"), "2N-1")
	page.Screenshot("span-preview")
	page.Axe(t)
	require.Empty(t, page.Problems())
}
