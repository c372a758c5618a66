package web_test

import (
	"net/http"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// releasable makes the program ask for the list before casting at its release and at
// the casting, and for nothing before; 1N-1 has an approved design.
func (p *testProgram) releasable() []repair.Stud {
	p.t.Helper()
	studs := p.approvedLayout("1N-1")
	var steps []sequence.Step
	for _, st := range p.Scope("1N-1").Sequence() {
		switch st.Code {
		case "REL":
			st.Requires = []sequence.Requirement{{Condition: sequence.CastingRelease}, {Condition: sequence.MockupAccepted}, {Condition: sequence.TickList, Text: "molds marked with the end\nwatch for leaks posted below"}}
		case "CST":
			st.Requires = []sequence.Requirement{{Condition: sequence.CastingRelease}, {Condition: sequence.PourRecorded}}
		default:
			continue
		}
		steps = append(steps, st)
	}
	p.DoProgram(authz.Administrator, repair.EditSequence{Steps: steps})
	return studs
}

// onRecord records what the list asks of the record at 1N-1, but for cleaning.
func (p *testProgram) onRecord(studs []repair.Stud) {
	p.t.Helper()
	r := p.End("1N-1")
	d := r.DesignInForce()
	collars := repair.RecordCollars{DesignID: d.ID}
	for _, st := range studs {
		collars.Collars = append(collars.Collars, repair.CollarIn{Mark: st.Mark, Outcome: "full"})
	}
	water, dry, cover := 20.0, false, 2*units.Inch
	for _, ch := range []repair.Change{collars,
		repair.RecordTestStuds{ShiftOn: time.Now().UTC().Format(time.DateOnly), Position: "vertical", SetUp: "plate beside the web", Diameter: 0.75 * units.Inch, Welder: "W4", Equipment: "unit 2", Tested: 2, BendDeg: 30, CollarFull: true, Outcome: "accepted"},
		repair.RecordCore{Number: 1, Along: 12 * units.Inch, Across: -6 * units.Inch, Diameter: 4 * units.Inch, BarsLocated: true, OpenClean: true, Outcome: "accepted"},
		repair.RecordForm{Face: "B", Width: &d.PanelWidth, Height: &d.PanelHeight, Thickness: &d.PanelLeft, Cover: &cover, Braced: true, SealsTight: true, WaterTest: &water, Leaked: &dry, BearingFree: true, HolesClear: true, Outcome: "accepted"},
	} {
		p.Do(authz.Inspector, "1N-1", ch)
	}
}

func TestReleaseOfEachRoleAndOfBadInput(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.releasable()
	at := p.Path("ends", "1N-1", "release")
	inspector, engineer, contractor := p.Role(authz.Inspector), p.Role(authz.Engineer), p.Role(authz.Contractor)
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(at).Status(200).Has("not released", "Studs", "ithout an accepted collar", "No mock-up is on record", "Whole record")
		releases := role == authz.Engineer || role == authz.Inspector
		require.Equal(t, releases, len(a.Select("form#decide")) == 1, role)
		require.Equal(t, releases || role == authz.Contractor, len(a.Select("form#tick")) == 1, role)
		require.Equal(t, role == authz.Contractor, len(a.Select("button[value=request]")) == 1, role)
		require.Equal(t, releases, len(a.Select("button[value=waive]")) > 0, role)
		if !releases {
			p.Role(role).Post(at, "entry", newEntryID(), "act", "release").Status(403)
			p.Role(role).Post(at, "entry", newEntryID(), "act", "waive", "key", "mockup", "reason", "x").Status(403)
		}
	}
	p.Role(authz.Laboratory).Post(at, "entry", newEntryID(), "act", "tick", "line", "molds marked with the end").Status(403)
	engineer.Post(at, "entry", newEntryID(), "act", "dance").Status(400)
	before := p.entries()
	inspector.Post(at, "entry", newEntryID(), "act", "release").Status(422).Has("has not been asked for")
	contractor.Post(at, "entry", newEntryID(), "act", "tick", "note-1", "keep me").Status(422).Has("Tick at least one line", "keep me")
	contractor.Post(at, "entry", newEntryID(), "act", "tick", "line", "molds marked with the end", "note-1", "keep me", "captured_at", "2999-01-01T10:00").Status(422).Has("lies in the future", "keep me", "2999-01-01")
	contractor.Post(at, "entry", newEntryID(), "act", "request").Status(422).Has("tick list not finished")
	engineer.Post(at, "entry", newEntryID(), "act", "waive", "key", "mockup").Status(422).Has("Say why it may be done without")
	engineer.Post(at, "entry", newEntryID(), "act", "waive", "key", "studs", "reason", "late").Status(422).Has("may be waived")
	require.Equal(t, before, p.entries(), "nothing of a refused form is stored")

	contractor.Post(at, "entry", newEntryID(), "act", "tick", "line", "molds marked with the end", "note-1", "paint marker", "line", "watch for leaks posted below").LeadsTo(at)
	contractor.Get(at).Has("Ticked by", "paint marker").None("form#tick")
	inspector.Post(at, "entry", newEntryID(), "act", "untick", "key", "molds marked with the end").Status(422).Has("Say why it is no longer so")
	contractor.Post(at, "entry", newEntryID(), "act", "request").Status(422).Has("mock-up not accepted")
	engineer.Post(at, "entry", newEntryID(), "act", "waive", "key", "mockup", "reason", "accepted before the record began").LeadsTo(at)
	contractor.Post(at, "entry", newEntryID(), "act", "request").LeadsTo(at).Follow().Has("asked for, not released")
	step := p.stepAct("1N-1", "REL", "released", "")
	engineer.Post(p.Path("ends", "1N-1", "steps", step.StepID), "entry", newEntryID(), "version", p.Version("1N-1"), "act", "released").Status(422).Has("not released for casting")
	p.onRecord(studs)
	engineer.Post(at, "entry", newEntryID(), "act", "release").Status(422).Has("Cleaning and the survey after it: ")
	inspector.Post(at, "entry", newEntryID(), "act", "waive", "key", "cleaning", "reason", "cleaned under the paint contract").LeadsTo(at)
	old := webtest.Attr(engineer.Get(at).Has("Waived by", "accepted before the record began").Select("form#decide [name=from]")[0], "value")

	// The list moves between looking and signing; then two sign at once.
	p.Do(authz.Inspector, "1N-1", repair.RaiseNonconformance{Requirement: "cover 1 in", Found: "3/4 in"})
	engineer.Post(at, "entry", newEntryID(), "act", "release", "from", old).Status(409).Has("changed since you opened", "Open: 1")
	p.Do(authz.Engineer, "1N-1", repair.DecideNonconformance{Number: 1, Disposition: "rework", Cause: "spacer lost"})
	p.Do(authz.Inspector, "1N-1", repair.CloseNonconformance{Number: 1, Reinspection: "1 in all round"})
	digest := webtest.Attr(engineer.Get(at).Select("form#decide [name=from]")[0], "value")
	engineer.Post(at, "entry", newEntryID(), "act", "release", "from", digest).LeadsTo(at).Follow().Has("released for casting", "Released by")
	inspector.Post(at, "entry", newEntryID(), "act", "release", "from", digest).Status(422).Has("on this same list")
	engineer.Post(at, "entry", newEntryID(), "act", "refuse", "from", digest).Status(422).Has("Say why it is not released")
	engineer.Get(p.Path("ends", "1N-1")).Status(200).Has(`href="` + at + `"`)
	require.Equal(t, "CST", p.End("1N-1").State[0].StepCode)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestPourWarnsOfEndsThatAreNotReleased(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.releasable()
	inspector := p.Role(authz.Inspector)
	release := p.Path("ends", "1N-1", "release")
	inspector.Get(p.Path("pours", "open")+"?end=1N-1").Status(200).Has("not released for casting", `href="`+release+`"`)
	inspector.Post(p.Path("pours", "open"), "entry", newEntryID(), "end", "1N-1", "started_at", ago(time.Minute).Format("2006-01-02T15:04")).LeadsTo(p.Path("pours", "1", "live")).Follow().
		Has("1N-1: not released for casting", "has not been asked for", `href="`+release+`"`)
	inspector.Get(p.Path("pours")).Status(200).Has("not released for casting", `href="`+release+`"`)
	inspector.Get(p.Path("pours", "1")).Status(200).Has("not released for casting")
	inspector.Get(release).Has("cast without a release")
}

// The journey: not released, ticks, waiver, release, the evidence moves, shut.
func TestReleaseForCastingInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.releasable()
	at := p.Path("ends", "1N-1", "release")
	contractor, engineer := p.Browser(authz.Contractor), p.Browser(authz.Engineer)
	contractor.SetViewport(820, 1180)
	p.lookField(engineer, at, "release-none")
	p.onRecord(studs)

	require.Equal(t, http.StatusOK, contractor.Open(at))
	require.Contains(t, contractor.Text(".field-verdict"), "not released")
	contractor.Click(`.release-tick:has([name=note-1]) .tick`)
	contractor.Fill("[name=note-1]", "paint marker, both faces")
	contractor.Click(`.release-tick:has([name=note-2]) .tick`)
	require.Equal(t, http.StatusOK, contractor.Submit("button[value=tick]"))
	require.Contains(t, contractor.Text("main"), "paint marker, both faces")
	require.Equal(t, http.StatusUnprocessableEntity, contractor.Submit("button[value=request]"))
	require.Contains(t, contractor.Text("#errors"), "mock-up not accepted", "the step asks for it at the request")

	require.Equal(t, http.StatusOK, engineer.Open(at))
	require.False(t, engineer.Exists("button[value=release]"), "two lines are open")
	for _, line := range []string{"line-mockup", "line-cleaning"} {
		engineer.Click("#" + line + " summary")
		engineer.Fill("#"+line+" textarea", "on paper, sheet 7")
		require.Equal(t, http.StatusOK, engineer.Submit("#"+line+" button[value=waive]"), engineer.Text("main"))
	}
	require.Equal(t, http.StatusOK, contractor.Open(at))
	require.Equal(t, http.StatusOK, contractor.Submit("button[value=request]"), contractor.Text("main"))
	require.Contains(t, contractor.Text(".field-verdict"), "asked for, not released")
	p.lookField(engineer, at, "release-ready")
	p.Look(engineer, at, "release-desk")
	require.Equal(t, http.StatusOK, engineer.Open(at))
	require.Equal(t, http.StatusOK, engineer.Submit("button[value=release]"), engineer.Text("main"))
	require.Contains(t, engineer.Text(".field-verdict"), "released for casting")
	pdf := engineer.PDF(true)
	keep(t, "release.pdf", pdf)
	require.Len(t, regexp.MustCompile(`/Type\s*/Page\b[^s]`).FindAll(pdf, -1), 1, "the list is one page of paper")

	p.Do(authz.Inspector, "1N-1", repair.RecordCollars{DesignID: p.End("1N-1").DesignInForce().ID, Collars: []repair.CollarIn{{Mark: studs[0].Mark, Outcome: "rejected"}}})
	require.Equal(t, http.StatusOK, engineer.Open(at))
	require.Contains(t, engineer.Text(".field-verdict"), "out of date: shut again")
	require.Contains(t, engineer.Text(".field-verdict li"), "Studs")
	require.False(t, engineer.Exists("button[value=release]"))
	p.lookField(engineer, at, "release-moved")
	require.Equal(t, http.StatusOK, engineer.Open(p.Path("ends", "1N-1")))
	require.Contains(t, engineer.Text(".blocked"), "not released for casting")
	require.Empty(t, engineer.Problems())
	p.Do(authz.Contractor, "1N-1", repair.OpenPour{StartedAt: ago(time.Minute)})
	p.Look(p.Browser(authz.Inspector), p.Path("pours", "1", "live"), "release-live")
}
