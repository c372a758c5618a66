package web_test

import (
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// typedMockup is the form of a mock-up as somebody fills it.
func typedMockup(cast time.Time) url.Values {
	return url.Values{"cast_at": {cast.Format("2006-01-02T15:04")}, "stands_for": {"all ends, by the deepest form"}, "width": {"36"}, "height": {"30 1/4"}, "thickness": {"6"}, "head": {"12"},
		"obstructions": {"32 studs on a plate"}, "flow": {"9.1"}, "fill_min": {"14"}, "leak_free": {"on"}, "sections_cut": {"3"}, "voids": {"none"}, "fiber_spread": {"even"}}
}

func sentForm(v url.Values, more ...string) []string {
	out := more
	for k, list := range v {
		for _, x := range list {
			out = append(out, k, x)
		}
	}
	return out
}

func TestMockupIsRecordedCorrectedAndAcceptedByEachRole(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	list, at := p.Path("mockups"), p.Path("mockups", "1")
	inspector, engineer, contractor := p.Role(authz.Inspector), p.Role(authz.Engineer), p.Role(authz.Contractor)
	p.Role(authz.Manager).Get(list).Status(200).Has("No mock-up is on record").None("main form")
	p.Role(authz.Manager).Get(p.Path("mockups", "new")).Status(403)
	p.Role(authz.Manager).Get(at).Status(404)

	cast := ago(30 * 24 * time.Hour)
	form := typedMockup(cast)
	form.Set("sections_cut", "0")
	form.Set("flow", "two")
	form.Set("width", "-4")
	inspector.Post(list, sentForm(form, "entry", newEntryID())...).Status(422).Has(`value="two"`, `value="-4"`, "32 studs on a plate")
	require.Empty(t, p.Scope("1N-1").Mockups, "nothing was stored of a form that could not be taken")
	form.Set("flow", "9.1")
	inspector.Post(list, sentForm(form, "entry", newEntryID())...).Status(422).Has("Must lie from", `value="-4"`)
	form.Set("width", "36")
	entry := newEntryID()
	inspector.Post(list, sentForm(form, "entry", entry)...).LeadsTo(at)
	inspector.Post(list, sentForm(form, "entry", entry)...).LeadsTo(at)
	require.Len(t, p.Scope("1N-1").Mockups, 1, "sent twice counts once")
	a := inspector.Get(at).Status(200).Has("30.25", "A cut section: nobody has seen the inside of it", "Its casting with batches and specimens", "cannot be accepted yet").None("button[value=accepted]")
	require.Contains(t, a.One("main"), "Owner's engineer")
	p.Role(authz.Manager).Get(p.Path()).Status(200).Has("Mock-up 1 waits for its acceptance by owner&#39;s engineer and inspector", `href="`+at+`"`)

	// Two people correct it at once: the second is told.
	from := webtest.Attr(inspector.Get(at).Select("details [name=from]")[0], "value")
	fixed := typedMockup(cast)
	fixed.Set("act", "correct")
	fixed.Set("from", from)
	inspector.Post(at, sentForm(fixed, "entry", newEntryID())...).Status(422).Has("Say what is added or put right")
	inspector.Post(at, sentForm(fixed, "entry", newEntryID(), "reason", "sawn in three")...).LeadsTo(at)
	late := typedMockup(cast)
	late.Set("voids", "one of 1/2 in under the flange")
	late.Set("act", "correct")
	late.Set("from", from)
	contractor.Post(at, sentForm(late, "entry", newEntryID(), "reason", "void")...).Status(409).Has("changed since you opened", "one of 1/2 in under the flange")
	require.Equal(t, "none", p.Scope("1N-1").Mockups[0].Voids)

	// Its casting, and nobody accepts without strengths but by a reason.
	inspector.Post(at, "entry", newEntryID(), "act", "cast").Status(422).Has("Say when the pour began")
	inspector.Post(at, "entry", newEntryID(), "act", "cast", "started_at", cast.Format("2006-01-02T15:04"), "form_head", "42").LeadsTo(p.Path("pours", "1", "live")).Follow().Status(200)
	contractor.Post(at+"/decide", "entry", newEntryID(), "decision", "accepted").Status(403)
	engineer.Post(at+"/decide", "entry", newEntryID(), "decision", "accepted").Status(422).Has("No sound set of strengths")
	engineer.Post(at+"/decide", "entry", newEntryID(), "decision", "not_accepted").Status(422).Has("Say why it is not accepted")
	digest := webtest.Attr(engineer.Get(at).Select("form#decide [name=from]")[0], "value")
	p.strongMockup(cast)
	engineer.Post(at+"/decide", "entry", newEntryID(), "decision", "accepted", "from", digest).Status(409).Has("changed since you opened")
	digest = webtest.Attr(engineer.Get(at).Select("form#decide [name=from]")[0], "value")
	engineer.Post(at+"/decide", "entry", newEntryID(), "decision", "accepted", "from", digest).LeadsTo(at)
	require.Nil(t, p.Scope("1N-1").Program.MockupAcceptedAt, "one of two")
	p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Status(200)
	p.Role(authz.Manager).Get(p.Path()).Has("Mock-up 1 waits for its acceptance by inspector")

	// Its record moves: the acceptance is out of date and shown so.
	fixed.Set("from", "")
	fixed.Set("note", "vents kept open")
	contractor.Post(at, sentForm(fixed, "entry", newEntryID(), "reason", "note of the vents")...).LeadsTo(at)
	engineer.Get(at).Has("out of date: accepted on an earlier record")
	for _, c := range []*webtest.Client{engineer, inspector} {
		c.Post(at+"/decide", "entry", newEntryID(), "decision", "accepted").LeadsTo(at)
	}
	require.NotNil(t, p.Scope("1N-1").Program.MockupAcceptedAt)
	engineer.Get(at).Has("accepted").None("form#decide")
	inspector.Post(at, sentForm(fixed, "entry", newEntryID(), "reason", "late")...).Status(422).Has("stays as it was decided on")
	p.Role(authz.Manager).Get(p.Path()).Lacks("waits for its acceptance")
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

// strongMockup enters the batch and the breaks of pour 1, of a mock-up.
func (p *testProgram) strongMockup(cast time.Time) {
	p.t.Helper()
	placed, flow, w := cast.Add(20*time.Minute), 9.2*units.Inch, 3*units.Inch
	changes := []repair.Change{repair.AddBatch{Pour: 1, Batch: repair.BatchIn{MixedAt: cast.Add(5 * time.Minute), PlacedAt: &placed, Flow: &flow}, Specimens: []repair.SpecimenSet{{Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3}}},
		repair.FinishPour{Pour: 1, EndedAt: cast.Add(time.Hour)}}
	for _, m := range []string{"P001-01", "P001-02", "P001-03"} {
		changes = append(changes, repair.RecordBreak{Mark: m, BrokenAt: placed.Add(28 * 24 * time.Hour), Load: 165 * units.Kip, Width: &w, Depth: &w, EndsGround: true})
	}
	for i, ch := range changes {
		role := authz.Inspector
		if i > 1 {
			role = authz.Laboratory
		}
		_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: p.Actor(role), Change: ch})
		require.NoError(p.t, err)
	}
}

func TestRolesThatAcceptAMockupAreNamedByTheAdministrator(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	at := p.Path("mockups", "roles")
	p.Role(authz.Engineer).Post(at, "entry", newEntryID(), "role", "engineer").Status(403)
	admin := p.Role(authz.Administrator)
	admin.Post(at, "entry", newEntryID()).Status(422).Has("At least one role accepts a mock-up")
	admin.Post(at, "entry", newEntryID(), "role", "engineer", "role", "laboratory").LeadsTo(p.Path("mockups")).Follow().Has("owner&#39;s engineer and laboratory must each accept it")
}

func TestMockupPagesInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	cast := ago(30 * 24 * time.Hour)
	page := p.Browser(authz.Inspector)
	p.Look(page, p.Path("mockups"), "mockups-none")
	p.Look(page, p.Path("mockups", "new"), "mockup-new")
	require.Equal(t, 200, page.Open(p.Path("mockups", "new")))
	page.Choose("[name=cast_at]", cast.Format("2006-01-02T15:04"))
	for name, text := range map[string]string{"stands_for": "all ends, by the deepest form", "width": "36", "height": "30", "thickness": "6", "flow": "9.1"} {
		page.Fill("[name="+name+"]", text)
	}
	page.Click("label:has([name=leak_free])")
	require.Equal(t, 200, page.Submit("main form button[type=submit]"))
	require.Equal(t, p.Path("mockups", "1"), page.Path())
	p.Look(page, p.Path("mockups", "1"), "mockup-begun")
	in := repair.MockupIn{CastAt: cast, StandsFor: "all ends, by the deepest form", Width: new(36 * units.Inch), Height: new(30 * units.Inch), Thickness: new(6 * units.Inch), Head: new(12 * units.Inch), Flow: new(9.1 * units.Inch),
		FillMin: new(14.0), LeakFree: true, Obstructions: "32 studs on a plate", SectionsCut: 3, Voids: "none above 1/8 in", FiberSpread: "even"}
	for _, ch := range []repair.Change{repair.CorrectMockup{Number: 1, MockupIn: in, Reason: "cut"}, repair.OpenPour{StartedAt: cast, Mockup: 1}} {
		_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: p.Actor(authz.Inspector), Change: ch})
		require.NoError(t, err)
	}
	p.Look(page, p.Path("pours", "1", "live"), "mockup-live")
	p.strongMockup(cast)
	p.DoProgram(authz.Engineer, repair.DecideMockup{Number: 1, Decision: repair.MockupAccepted})
	p.Look(page, p.Path("mockups", "1"), "mockup")
	p.Look(page, p.Path("mockups"), "mockups")
	p.Look(page, p.Path(), "bridge-mockup")
	require.Equal(t, 200, page.Open(p.Path("mockups", "1")))
	require.Equal(t, 200, page.Submit("button[value=accepted]"))
	require.NotNil(t, p.Scope("1N-1").Program.MockupAcceptedAt)
	p.Look(p.Browser(authz.Administrator), p.Path("mockups"), "mockups-accepted")
}
