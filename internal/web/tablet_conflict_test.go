package web_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

// state waits until the tablet has an answer for every entry and returns the states in
// their order.
func states(t testing.TB, page *browsertest.Page) []string {
	t.Helper()
	waitQueue(t, page, 0)
	var out []string
	for _, e := range outbox(page) {
		out = append(out, e.State)
	}
	return out
}

// While a tablet is out of signal the design is revised, a step retired and another
// renamed: what it recorded against the old state is kept, marked on the tablet, and
// shown to the engineer beside what changed. None of it takes effect by itself.
func TestTabletAgainstARecordThatMoved(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	standAt(page, "1N-1")
	page.Offline(true)
	goTo(page, "#/end/1N-1/studs")
	page.Click(`[data-mark="` + studs[0].Mark + `"]`)
	page.WaitFor(`document.querySelector('[data-mark="` + studs[0].Mark + `"]').classList.contains("pencil")`)
	page.Click("#record")
	waitQueue(t, page, 1)
	goTo(page, "#/end/1N-1/shift/deck_core")
	for name, v := range map[string]string{"along": "12", "across": "6", "diameter": "4"} {
		page.Fill("[name="+name+"]", v)
	}
	for _, box := range []string{`.tick:has([name=side][value="-"])`, `.tick:has([name=bars_located])`, `.tick:has([name=open_clean])`, `.tick:has([name=outcome][value=accepted])`} {
		page.Click(box)
	}
	page.Click("#record")
	waitQueue(t, page, 2)
	goTo(page, "#/end/1N-1/check/gauges")
	page.Click(`.tick:has([name=outcome][value=accepted])`)
	page.Fill("[name=note]", "all four read at zero")
	page.Click("#record")
	waitQueue(t, page, 3)
	goTo(page, "#/end/1N-1/nonconformance")
	page.Fill("[name=requirement]", "WPS 3")
	page.Fill("[name=found]", "wet ferrules")
	page.Click(`.tick:has([name=stops][value=COR])`)
	page.Click("#record")
	waitQueue(t, page, 4)

	// Meanwhile.
	p.approvedLayout("1N-1")
	steps := p.Scope("1N-1").Sequence()
	var next []sequence.Step
	for _, st := range steps {
		switch st.Code {
		case "COR":
			continue // retired
		case "FRM":
			st.Name = "Form fitted and locked"
		}
		next = append(next, st)
	}
	p.DoProgram(authz.Administrator, repair.EditSequence{Steps: next})

	page.Offline(false)
	page.Click("#send")
	require.Equal(t, []string{"aside", "aside", "aside", "aside"}, states(t, page))
	goTo(page, "#/outbox")
	text := page.Text("main")
	require.Contains(t, text, "Kept aside for the engineer: 4")
	require.Contains(t, text, "revision 2 is in force now")
	require.Contains(t, text, "sequence of steps was changed")
	require.Contains(t, text, "no step COR any more")
	r := p.End("1N-1")
	require.Empty(t, r.Collars)
	require.Empty(t, r.DeckCores)
	require.Empty(t, r.Inspections)
	require.Empty(t, r.Nonconformances)
	p.Role(authz.Engineer).Get(p.Path("aside")).Has("Form fitted and locked", "stands at the same place in revision 2", "The panel of revision 2")
	p.Role(authz.Engineer).Get(p.Path("ends", "1N-1")).Has("From tablets, to look at", "waits for the engineer")
	p.verified()
}

// A tablet that took along an end of a program which has none of that number any more,
// or calls it otherwise: kept under its name, never put at another end.
func TestTabletAtAnEndThatIsGone(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1,1N-2")
	standAt(page, "1N-1")
	page.Offline(true)
	// The packet as an older database had it: another number for the end.
	browsertest.Eval[bool](page, fmt.Sprintf(`new Promise(done => { const o = indexedDB.open("endcast-small"); o.onsuccess = () => { const s = o.result.transaction("ends", "readwrite").objectStore("ends");
		const g = s.get("1N-1"); g.onsuccess = () => { s.put({...g.result, id: %q}).onsuccess = () => { o.result.close(); done(true) } } } })`, newEntryID()))
	note(page, "1N-1", "seen where nothing is any more")
	page.Offline(false)
	page.Click("#send")
	require.Equal(t, []string{"aside"}, states(t, page))
	require.Empty(t, p.End("1N-1").Inspections)
	require.Empty(t, p.End("1N-2").Inspections)
	a := p.Role(authz.Engineer).Get(p.Path("aside")).Has("1N-1", "no girder end 1N-1 any more")
	a.None("button[value=apply]")
}

// Two inspectors read one end without signal. The second survey to arrive is kept
// aside with the numbers of both and their difference, at the desk and at the end; put
// on record by the engineer, both stay with their difference in sight.
func TestTwoInspectorsReadOneEnd(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	start := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "as_found", Method: "ultrasonic"}}
	for i := range 3 {
		start.Readings = append(start.Readings, repair.ReadingIn{Face: "T", X: units.Length(2+2*i) * units.Inch, Z: units.Inch, T: 0.5 * units.Inch})
	}
	p.Do(authz.Inspector, "1N-1", start)
	one, two := p.Role(authz.Inspector), p.As(authz.Inspector)
	first := p.Browser(authz.Inspector)
	second := browsertest.New(t, p.Handler)
	second.UseCookies(two.Cookies()...)
	read := func(page *browsertest.Page, digits string) {
		p.onShift(page, "1N-1")
		standAt(page, "1N-1")
		page.Offline(true)
		goTo(page, "#/end/1N-1/survey")
		page.Click("#begin")
		for i := 1; i <= 3; i++ {
			page.WaitFor(fmt.Sprintf(`document.body.dataset.ready === "#/end/1N-1/survey/%d"`, i))
			page.Click(`[data-key="` + digits[:1] + `"]`)
			page.Click(`[data-key="` + digits[1:] + `"]`)
			page.Click("#next")
		}
		page.WaitFor(`document.querySelector("#record")`)
		page.Click("#record")
		waitQueue(t, page, 1)
	}
	read(first, "45")
	read(second, "41")
	first.Offline(false)
	first.Click("#send")
	require.Equal(t, []string{"stored"}, states(t, first))
	second.Offline(false)
	second.Click("#send")
	require.Equal(t, []string{"aside"}, states(t, second))

	engineer := p.Role(authz.Engineer)
	engineer.Get(p.Path("aside")).Has("lengths in in and temperatures in °F where no unit", "At x 2.000\u00a0in, z 1.000\u00a0in, through the web: 0.410\u00a0in here, 0.450\u00a0in in survey 2, 0.040\u00a0in less")
	engineer.Get(p.Path("ends", "1N-1")).Has("Two readings of the same places", "Kept aside, by", "3 places that both read differ, the most by 0.040\u00a0in", "−0.040\u00a0in")
	require.Len(t, p.End("1N-1").Surveys, 2)

	engineer.Post(p.Path("aside"), "entry", newEntryID(), "id", outbox(second)[0].ID, "how", "apply").Status(303)
	r := p.End("1N-1")
	require.Len(t, r.Surveys, 3)
	require.Equal(t, two.User.ID.String(), r.LatestSurvey().RecordedBy)
	require.NotEqual(t, one.User.ID, two.User.ID)
	engineer.Get(p.Path("ends", "1N-1")).Has("Two readings of the same places", "Survey 2, by", "+0.040\u00a0in")
	p.verified()
}

// What arrives from a tablet takes effect at once: a rejected stud lowers the capacity
// as welded on the page of the end and holds the step of the collars back; a survey
// puts the approved design out of date.
func TestEffectsOfATabletAreThereAtOnce(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	for _, st := range p.Scope("1N-1").Sequence() {
		if st.Code == "COL" {
			st.Requires = []sequence.Requirement{{Condition: sequence.StudsAccounted}}
			p.DoProgram(authz.Administrator, repair.EditSequence{Steps: []sequence.Step{st}})
		}
	}
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	var all [][]byte
	for _, st := range studs {
		all = append(all, p.slip(inspector, "1N-1", tablet.Collar, collarAt(st.Mark, "full")))
	}
	for _, a := range p.send(inspector, path, time.Now(), all...) {
		require.Equal(t, "stored", a.State, a)
	}
	shown := func() string { return p.capacityOf("1N-1", "as_welded").Format(units.US, -1) }
	full := shown()
	inspector.Get(p.Path("ends", "1N-1")).Has(full)
	require.Zero(t, p.factsOf("1N-1").Studs.Rejected+p.factsOf("1N-1").Studs.Unaccounted)

	later := func(e *tablet.Envelope) { e.CapturedAt = ago(time.Minute).Format(time.RFC3339) }
	require.Equal(t, "stored", p.send(inspector, path, time.Now(), p.slip(inspector, "1N-1", tablet.Collar, collarAt(studs[0].Mark, "rejected"), later))[0].State)
	less := shown()
	require.NotEqual(t, full, less)
	inspector.Get(p.Path("ends", "1N-1")).Has(less, "rejected")
	facts := p.factsOf("1N-1")
	require.Equal(t, 1, facts.Studs.Rejected)
	require.ErrorContains(t, p.Try(authz.Inspector, "1N-1", p.stepAct("1N-1", "COL", "completed", "all seen")), "stud", "the hold is blocked by it")
	// Welded again and found full: the hold opens, by what the tablet sent.
	require.Equal(t, "stored", p.send(inspector, path, time.Now(), p.slip(inspector, "1N-1", tablet.Collar, collarAt(studs[0].Mark, "replaced"), func(e *tablet.Envelope) {
		e.CapturedAt = ago(time.Minute).Format(time.RFC3339) // in the same minute: what arrives later counts
	}))[0].State)
	require.Equal(t, full, shown())
	require.NoError(t, p.Try(authz.Inspector, "1N-1", p.stepAct("1N-1", "COL", "completed", "all seen")))

	require.False(t, p.End("1N-1").State[0].OutOfDate)
	survey := p.slip(inspector, "1N-1", tablet.Survey, map[string]any{"kind": "as_found", "method": "ultrasonic", "readings": []map[string]string{{"face": "T", "x": "2", "z": "1", "t": "0.21"}}})
	require.Equal(t, "stored", p.send(inspector, path, time.Now(), survey)[0].State)
	require.True(t, p.End("1N-1").State[0].OutOfDate)
	inspector.Get(p.Path("ends", "1N-1")).Has("out of date")
	p.verified()
}

func (p *testProgram) factsOf(end string) sequence.Facts {
	p.t.Helper()
	s := p.Scope(end)
	f, err := s.Ends[0].Facts(s)
	require.NoError(p.t, err)
	return f
}
