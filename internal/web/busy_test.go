package web_test

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// hostile is a text that would run a script wherever a page forgot to escape it: in
// the text of an element, or out of an attribute.
const hostile = `<script>alert("endcast")</script>"><img src=x onerror=alert(1)>`

// asCleaned is asFound on cleaned steel.
func asCleaned(loss float64) repair.RecordSurvey {
	ch := asFound(loss)
	ch.Facts.Kind = "cleaned"
	return ch
}

// picture is a small PNG; each shade is another picture.
func picture(t testing.TB, shade uint8) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 8, 8))
	for i := range img.Pix {
		img.Pix[i] = shade
	}
	img.SetGray(0, 0, color.Gray{Y: 255 - shade})
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	return b.Bytes()
}

// newBusyProgram is a program in which 1N-1 has one of everything that pages show:
// two surveys, two revisions, a review, cleaning, collars, inspections,
// nonconformances, a pour with a broken specimen, photographs, windows, a changed
// setting, an accepted mock-up. Every text in it is the given one.
func newBusyProgram(t testing.TB, text string) *testProgram {
	t.Helper()
	p := newTestProgram(t)
	const end = "1N-1"
	at := ago(2 * time.Hour)
	for _, role := range authz.Roles() {
		u := p.Role(role).User
		_, err := p.Pool.Exec(p.ctx, "update app_user set name = $2 where id = $1", u.ID, string(role)+" "+text)
		require.NoError(t, err)
		c := p.clients[role]
		c.User.Name = string(role) + " " + text
	}
	year := 1961
	p.DoProgram(authz.Administrator, repair.EditProgram{Program: repair.Program{Name: "Busy " + text, Owner: text, Carries: text, Contract: text, BuiltYear: &year, Units: "us", Timezone: "UTC"}})
	p.DoProgram(authz.Engineer, repair.EditBasis{Key: string(basis.SurveyReach), Value: float64(3 * units.Inch), Typed: text, Source: text})
	p.DoProgram(authz.Inspector, repair.RecordMockup{MockupIn: repair.MockupIn{CastAt: at, StandsFor: text, Obstructions: text, Leaks: text, SectionsCut: 2, Voids: text, FiberSpread: text, Note: text,
		Typed: repair.Typed{"width_mm": text}}})
	p.DoProgram(authz.Engineer, repair.DecideMockup{Number: 1, Decision: repair.MockupNotAccepted, Reasons: text})
	p.DoProgram(authz.Engineer, repair.AcceptMockup{Note: text})
	p.DoProgram(authz.Administrator, repair.SetWindows{Windows: []repair.Window{
		{Kind: "lane", StartsAt: at.Add(48 * time.Hour), EndsAt: at.Add(54 * time.Hour), ProductiveH: 5, State: "granted"},
		{Kind: "lane", StartsAt: at.Add(-48 * time.Hour), EndsAt: at.Add(-42 * time.Hour), ProductiveH: 5, State: "lost", Party: text, Reason: text}}})

	facts := repair.FactsOf(p.End(end).End)
	facts.Alias, facts.FyOrigin, facts.ReactionOrigin, facts.Access = text, text, text, "lane"
	p.Do(authz.Engineer, end, repair.EditEnd{Facts: facts, Reason: text})

	found := asFound(0.3)
	found.Facts.Method, found.Facts.Gauge, found.Facts.TakenBy, found.Facts.Note, found.Facts.ThickerReason = text, text, text, text, text
	found.Readings[3].NoAccess, found.Readings[3].Reason, found.Readings[3].Typed = true, text, text
	p.Do(authz.Inspector, end, found)
	design := smallDesign()
	design.Design.Note = text
	design.Design.Typed = repair.Typed{"fc": text, "panel-x": text}
	p.Do(authz.Designer, end, design)
	p.Do(authz.Designer, end, repair.SubmitDesign{})
	review := func(decision string) {
		s := p.Scope(end)
		d := s.Ends[0].LatestDesign()
		p.Do(authz.Engineer, end, repair.ReviewDesign{DesignID: d.ID, Decision: decision, Reasons: text, Digest: s.Ends[0].DesignDigest(s, d)})
	}
	review(repair.DesignReturned)
	p.Do(authz.Designer, end, design)
	p.Do(authz.Designer, end, repair.SubmitDesign{})
	place := 4 * units.Inch
	p.Do(authz.Inspector, end, repair.AskQuestion{DesignID: p.End(end).LatestDesign().ID, Question: text, Face: "L", X: &place, Z: &place, Typed: repair.Typed{"x_mm": text}})
	p.Do(authz.Designer, end, repair.AnswerQuestion{QuestionID: p.End(end).Questions[0].ID, Said: repair.Answered, Answer: text})
	review(repair.DesignApprovedNoted)

	p.Step(authz.Contractor, end, "ACC", "completed", text)
	p.Do(authz.Inspector, end, repair.RecordCleaning{Zone: "stud_positions", Grade: "SP11", Method: "grinder", StartedAt: at, EndedAt: at.Add(time.Hour), Rust: "none", Profile: 0.05, Note: text})
	p.Do(authz.Inspector, end, repair.RecordCleaning{Zone: "encased_area", Grade: "SP15", Method: "grinder", StartedAt: at, EndedAt: at.Add(time.Hour), Rust: "none", Profile: 0.05, Note: text})
	cleaned := asFound(0.35)
	cleaned.Facts.Kind, cleaned.Facts.Note = "cleaned", text
	p.Do(authz.Inspector, end, cleaned)
	clock, gap := 5, 0.25*units.Inch
	d := p.End(end).LatestDesign()
	p.Do(authz.Inspector, end, repair.RecordCollars{DesignID: d.ID, Collars: []repair.CollarIn{
		{Mark: "L1-1", Outcome: "full", Welder: text, FerruleLot: text, Note: text},
		{Mark: "L1-2", Outcome: "gap", GapClock: &clock, GapLength: &gap, Welder: text, FerruleLot: text, Note: text}}})
	p.Do(authz.Inspector, end, repair.RaiseNonconformance{Requirement: text, Found: text, Containment: text, Proposed: "repair", Stops: []string{"COL"}, Critical: true})
	p.Do(authz.Inspector, end, repair.RaiseNonconformance{Requirement: text, Found: text, Containment: text})
	p.Do(authz.Engineer, end, repair.DecideNonconformance{Number: 2, Disposition: "rework", Cause: text})
	p.Do(authz.Inspector, end, repair.CloseNonconformance{Number: 2, Reinspection: text})
	for i, subject := range []string{"CLN", "collar", ""} {
		p.Do(authz.Inspector, end, repair.AddPhoto{Bytes: picture(t, uint8(10*i)), Caption: text, Subject: subject})
	}
	ended := at.Add(30 * time.Minute)
	p.Do(authz.Contractor, end, repair.RecordPour{StartedAt: at, EndedAt: &ended, Note: text, Batches: []repair.BatchIn{{MixedAt: at}, {MixedAt: at, Refused: true, RefusedWhy: text}},
		Specimens: []repair.SpecimenSet{{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: 1, Count: 3}, {Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3}}})
	width := 3 * units.Inch
	p.Do(authz.Laboratory, end, repair.RecordBreak{Mark: "P001-01", BrokenAt: at.Add(time.Hour), Load: 90 * units.Kip, Width: &width, EndsGround: true, TestedBy: text, Typed: repair.Typed{"load_n": text}})
	p.Do(authz.Inspector, end, repair.RecordInspection{Subject: "curing", Outcome: "not_accepted", Note: text})
	p.loadedWith(text)
	p.document(end, repair.PaperCalculation, []byte("%PDF-1.4 "+text))
	return p
}

// stepAct is an act at the step of a code, with everything ticked that it asks for.
func (p *testProgram) stepAct(end, code, act, note string) repair.StepAct {
	p.t.Helper()
	for _, st := range p.Scope(end).Sequence() {
		if st.Code != code {
			continue
		}
		ch := repair.StepAct{StepID: st.ID, Act: act, Note: note}
		for _, req := range st.Requires {
			if act == "completed" {
				ch.Ticks = append(ch.Ticks, req.Items()...)
			}
		}
		return ch
	}
	require.FailNow(p.t, "the sequence has no step "+code)
	return repair.StepAct{}
}

// Step makes an act at a step of an end through the store, as the person of a role.
func (p *testProgram) Step(role authz.Role, end, code, act, note string) {
	p.t.Helper()
	p.Do(role, end, p.stepAct(end, code, act, note))
}

// entries is how many entries the journal has: what must not grow when nothing is
// to be stored.
func (p *testProgram) entries() int {
	p.t.Helper()
	var n int
	require.NoError(p.t, p.Pool.QueryRow(p.ctx, "select count(*) from journal").Scan(&n))
	return n
}
