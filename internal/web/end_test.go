package web_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// stepID returns the id of a step by its code.
func (p *testProgram) stepID(code string) string {
	p.t.Helper()
	for _, st := range p.Scope("1N-1").Steps {
		if st.Code == code {
			return st.ID
		}
	}
	require.FailNow(p.t, "no step "+code)
	return ""
}

func TestEndPageForEveryRole(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(p.Path("ends", "1N-1")).Status(200)
		a.Has("1N-1", "Abutment 1, ahead face", "W33X130", "As corroded", "Repaired as designed", "approved", "Access set")
		edit := a.Select(`a[href="` + p.Path("ends", "1N-1", "edit") + `"]`)
		require.Equal(t, role == authz.Designer || role == authz.Engineer || role == authz.Administrator, len(edit) > 0, role)
		survey := a.Select(`a[href="` + p.Path("ends", "1N-1", "surveys", "new") + `"]`)
		require.Equal(t, role == authz.Designer || role == authz.Engineer || role == authz.Inspector, len(survey) > 0, role)
		complete := a.Select(`button[value="completed"]`)
		require.Equal(t, role == authz.Contractor, len(complete) == 1, role) // access is set by the contractor
		upload := a.Select(`#add-photo`)
		require.Equal(t, role != authz.Manager && role != authz.Administrator, len(upload) > 0, role)
	}
	p.Role(authz.Manager).Get(p.Path("ends", "1n-1")).Status(200)
	p.Role(authz.Manager).Get(p.Path("ends", "9N-9")).Status(404)
	p.AsIn(p.NewProgram("other"), authz.Engineer).Get(p.Path("ends", "1N-1")).Status(404)
	p.Anonymous().Get(p.Path("ends", "1N-1")).Status(303)
}

func TestEndPageShowsTheStoredChecks(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.5))
	a := p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Status(200)
	r := p.End("1N-1")
	require.NotEmpty(t, r.State[0].Governing)
	a.Has(r.State[0].Capacity.Format(units.US, -1), r.State[0].Governing, r.State[0].InputDigest[:8])
	require.NotEmpty(t, a.Select("tr.governs"))
	require.NoError(t, p.People.SetUnits(t.Context(), p.Role(authz.Manager).User.ID, new("si")))
	p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Has(r.State[0].Capacity.Format(units.SI, -1))
}

func TestStepIsCompletedReleasedReturnedAndReopened(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1")
	contractor, engineer, inspector := p.Role(authz.Contractor), p.Role(authz.Engineer), p.Role(authz.Inspector)
	step := path + "/steps/" + p.stepID("ACC")

	// The whole list must be ticked; what was ticked and typed stays on the form.
	ticks := []string{"platform and containment inspected", "worker exposure and waste plan in force", "bearing, jacking and temporary support as the design needs"}
	a := contractor.Post(step, "entry", newEntryID(), "version", p.Version("1N-1"), "act", "completed", "tick", ticks[0], "note", "two bays only").Status(422)
	a.Has("tick list not finished", "worker exposure", "two bays only")
	require.Len(t, a.Select(`#step-ACC input[name=tick][checked]`), 1)

	// Others may not.
	for _, role := range []authz.Role{authz.Inspector, authz.Manager, authz.Administrator, authz.Laboratory, authz.Designer} {
		p.Role(role).Post(step, "entry", newEntryID(), "version", p.Version("1N-1"), "act", "completed").Status(403)
	}
	done := []string{"entry", newEntryID(), "version", p.Version("1N-1"), "act", "completed", "note", "all bays", "at", ago(0).Add(-3600e9).Format("2006-01-02T15:04")}
	for _, x := range ticks {
		done = append(done, "tick", x)
	}
	contractor.Post(step, done...).LeadsTo(path+"#step-ACC").Follow().Has("completed", "all bays", "Access set: completed.")
	contractor.Post(step, done...).Status(303) // the same entry twice counts once
	require.Len(t, p.End("1N-1").StepRecords, 1)

	// Reopening wants a reason.
	engineer.Post(step, "entry", newEntryID(), "version", p.Version("1N-1"), "act", "reopened").Status(422).Has("reason is needed")
	engineer.Post(step, "entry", newEntryID(), "version", p.Version("1N-1"), "act", "reopened", "note", "planks gone").Status(303)
	inspector.Get(path).Has("reopened", "planks gone")
	inspector.Post(step, "entry", newEntryID(), "version", p.Version("1N-1"), "act", "burnt").Status(400)
	inspector.Post(path+"/steps/nonsense", "entry", newEntryID(), "version", "1", "act", "completed").Status(404)
}

func TestStaleStepKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1")
	old := p.Version("1N-1")
	p.Do(authz.Inspector, "1N-1", asFound(0.3))
	a := p.Role(authz.Contractor).Post(path+"/steps/"+p.stepID("ACC"), "entry", newEntryID(), "version", old, "act", "completed", "note", "ready since noon",
		"tick", "platform and containment inspected").Status(409)
	a.Has("changed this end after you opened it", "ready since noon")
	require.Len(t, a.Select(`#step-ACC input[name=tick][checked]`), 1)
	fresh := webtest.Attr(a.Select(`#step-ACC input[name=version]`)[0], "value")
	require.Equal(t, p.Version("1N-1"), fresh)
	require.Empty(t, p.End("1N-1").StepRecords)
	require.NotEqual(t, old, fresh)
}

func TestOutOfDateDesignSaysWhatMoved(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	cleaned := asFound(0.7)
	cleaned.Facts.Kind = "cleaned"
	p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Lacks("out of date")
	p.Do(authz.Inspector, "1N-1", cleaned)
	p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Has("The approved design is out of date", "Survey 2 came after the approval")
}

func TestEndPageShowsWhatWasFoundAndCast(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.fill("1N-1")
	a := p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Status(200)
	a.Has("collar full", "collar incomplete, open", "o&#39;clock", "Nonconformance 1", "use as is", "Pour 1", "3 of 3", "Mean as broken", "Hardened panel")
	require.Equal(t, 1, strings.Count(a.Body, "due 20"))
}

// fill puts findings, a nonconformance and a pour on record at an end.
func (p *testProgram) fill(name string) {
	p.t.Helper()
	d := p.End(name).DesignInForce()
	hour, gap := 4, units.Length(6)
	p.Do(authz.Inspector, name, repair.RecordCollars{DesignID: d.ID, Collars: []repair.CollarIn{
		{Mark: "L1-1", Outcome: "full"}, {Mark: "L1-2", Outcome: "full"}, {Mark: "L2-1", Outcome: "gap", GapClock: &hour, GapLength: &gap, Note: "wet ferrule"}}})
	p.Do(authz.Inspector, name, repair.RaiseNonconformance{Requirement: "Special provision 5, clause 3: collar all the way round", Found: "a gap of 6 mm at one stud", Containment: "marked in yellow", Proposed: "repair", Stops: []string{"COL"}})
	p.Do(authz.Engineer, name, repair.DecideNonconformance{Number: 1, Disposition: "use_as_is", Cause: "wet ferrule"})
	start := ago(80 * 24 * 3600e9)
	flow, mix, volume := units.Length(230), units.Temperature(24), 62.0
	p.Do(authz.Inspector, name, repair.RecordPour{StartedAt: start, Note: "from the deck cores", VolumeL: map[string]float64{p.End(name).End.ID: volume},
		Batches:   []repair.BatchIn{{MixedAt: start, Flow: &flow, MixTemp: &mix}, {MixedAt: start, Refused: true, RefusedWhy: "stiff"}},
		Specimens: []repair.SpecimenSet{{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3}, {Batch: 1, Kind: "cyl_3x6", Curing: "field", NominalDays: 90, Count: 3}}})
	for i, load := range []float64{660e3, 672e3, 651e3} {
		width := 3 * units.Inch
		mark := "P001-0" + string(rune('1'+i))
		p.Do(authz.Laboratory, name, repair.RecordBreak{Mark: mark, BrokenAt: start.Add(28 * 24 * 3600e9), Load: units.Force(load), Width: &width, EndsGround: true})
	}
	p.Do(authz.Inspector, name, repair.RecordInspection{Subject: "hardened", Outcome: "accepted", Note: "sounded all over, no hollow place"})
}

func TestHoldIsReleasedByAnother(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.DoProgram(authz.Administrator, repair.EditSequence{Steps: []sequence.Step{
		{Code: "LOOK", Order: 1, Name: "Looked over", Performer: []sequence.Role{authz.Inspector}, Hold: true, Releaser: []sequence.Role{authz.Inspector, authz.Engineer}, AppliesToAll: true},
		{Code: "SHUT", Order: 2, Name: "Shut", Performer: []sequence.Role{authz.Inspector}, AppliesToAll: true,
			Requires: []sequence.Requirement{{Condition: sequence.PreviousSteps}, {Condition: sequence.Photo, Value: 1}}}}})
	path := p.Path("ends", "1N-1")
	look := path + "/steps/" + p.stepID("LOOK")
	inspector, engineer := p.Role(authz.Inspector), p.Role(authz.Engineer)
	act := func(c *webtest.Client, what, note string) *webtest.Answer {
		return c.Post(look, "entry", newEntryID(), "version", p.Version("1N-1"), "act", what, "note", note)
	}
	inspector.Get(path).Has("Complete and ask for release", "a hold, released by inspector or owner&#39;s engineer")
	act(inspector, "completed", "all sound").Status(303)
	inspector.Get(path).Has("waiting for release", "The person who completed it cannot also release it").None(`button[value=released]`)
	act(inspector, "released", "").Status(422).Has("cannot also release it")
	p.Role(authz.Contractor).Get(path).None(`button[value=released]`)
	act(p.Role(authz.Contractor), "released", "").Status(403)

	engineer.Get(path).Has("Release", "Return")
	act(engineer, "returned", "").Status(422).Has("a reason is needed")
	act(engineer, "returned", "rust behind the plate").Status(303)
	inspector.Get(path).Has("request returned", "rust behind the plate")
	act(inspector, "completed", "seen to").Status(303)
	act(engineer, "released", "go on").Status(303)

	// The next step waits for a photograph, which can be added on the page.
	inspector.Get(path).Has("photographs missing: 0 of 1").None(`#step-SHUT button`)
	sendPicture(inspector, path+"/photos", pictureOf(t, 6), fields{"entry": newEntryID(), "subject": "SHUT"}).Status(303)
	inspector.Get(path).Select(`#step-SHUT button[value=completed]`)
	inspector.Post(path+"/steps/"+p.stepID("SHUT"), "entry", newEntryID(), "version", p.Version("1N-1"), "act", "completed").Status(303)
	require.True(t, p.End("1N-1").State[0].Closed)
	inspector.Get(path).Has("closed", "2 of 2 steps done").Lacks("What stops it")
	p.Role(authz.Manager).Get(path).None(`form[action$="/steps/` + p.stepID("LOOK") + `"]`)
}
