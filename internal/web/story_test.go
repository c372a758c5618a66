package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

// act presses a button of a step on an end's page, with everything ticked that it
// asks for, and requires that the step moved.
func act(t *testing.T, page *browsertest.Page, end, code, what, note string) {
	t.Helper()
	require.Equal(t, 200, page.Open(end))
	form := "#step-" + code + " form "
	browsertest.Eval[bool](page, fmt.Sprintf(`(document.querySelectorAll(%q).forEach(b => b.checked = true), true)`, form+"[name=tick]"))
	if note != "" {
		page.Choose(form+"[name=note]", note)
	}
	require.Equal(t, 200, page.Submit(form+"button[value="+what+"]"), "%s %s:\n%s", what, code, page.Text("main"))
}

// From a survey that comes in as a file to a closed end, in a browser, each in
// the role whose work it is; what the end carries is shown anew at every edit.
func TestAnEndFromLossToClosed(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	const name = "1N-1"
	end := p.Path("ends", name)
	inspector, designer, engineer := p.Browser(authz.Inspector), p.Browser(authz.Designer), p.Browser(authz.Engineer)
	contractor, lab, manager := p.Browser(authz.Contractor), p.Browser(authz.Laboratory), p.Browser(authz.Manager)
	shows := func(page *browsertest.Page, f units.Force) {
		t.Helper()
		require.Equal(t, 200, page.Open(end))
		require.Contains(t, page.Text("main"), f.Format(units.US, -1))
	}
	demand := p.End(name).End.Reaction

	// A survey as found comes in as two tables.
	dir := t.TempDir()
	readings := []string{"end,survey_no,face,x [in],z [in],t [in],no_access,reason"}
	for j := range 8 {
		for i := range 8 {
			left := 0.58 * (1 - max(0, 0.5-0.15*float64(j)))
			readings = append(readings, fmt.Sprintf("%s,1,T,%d,%d,%.3f,,", name, 2+3*i, 1+3*j, left))
		}
	}
	files := map[string]string{
		"Surveys.csv":  "end,survey_no,kind,taken_at,taken_by,method\n" + name + ",1,as_found," + ago(60*24*time.Hour).Format("2006-01-02 15:04") + ",A. Weller,ultrasonic\n",
		"Readings.csv": strings.Join(readings, "\n") + "\n",
	}
	var paths []string
	for n, text := range files {
		path := filepath.Join(dir, n)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		paths = append(paths, path)
	}
	require.Equal(t, 200, designer.Open(p.Path("files")))
	designer.Attach("#f-files", paths...)
	require.Equal(t, 200, designer.Submit("main form button"), designer.Text("main"))
	require.Equal(t, 200, designer.Submit("button[value=confirm]"))
	corroded := *p.End(name).State[0].Capacity
	require.Less(t, float64(corroded), float64(demand), "the end must be short, or there is nothing to repair")
	shows(manager, corroded)

	// The program proposes, a person decides: one stud is moved, then it is submitted.
	require.Equal(t, 200, designer.Open(p.Path("ends", name, "design")))
	designer.Click("button[value=propose]")
	designer.WaitFor(`document.querySelectorAll("g.studs > .stud").length > 0`)
	designer.Choose("#f-note", "Proposed layout, looked over.")
	require.Equal(t, 200, designer.Submit("button[value=submit]"), designer.Text("main"))
	require.Equal(t, repair.DesignSubmitted, p.End(name).LatestDesign().State)
	require.GreaterOrEqual(t, float64(*p.End(name).State[0].Repaired), float64(demand))
	approve := func(rev string) {
		t.Helper()
		require.Equal(t, 200, engineer.Open(p.Path("ends", name, "designs", rev, "review")))
		engineer.Click("[name=decision][value=approved]")
		require.Equal(t, 200, engineer.Submit("#decision button[type=submit]"))
	}
	approve("1")
	shows(engineer, *p.End(name).State[0].Repaired)

	// Access, cleaning with pictures, and the survey after it, which finds more.
	act(t, contractor, end, "ACC", "completed", "")
	p.Do(authz.Inspector, name, cleanedZones(t))
	for shade := range uint8(2) {
		p.photo(name, "CLN", shade)
	}
	act(t, inspector, end, "CLN", "completed", "")
	require.Equal(t, 200, inspector.Open(p.Path("ends", name, "surveys", "new")))
	inspector.Click(`[name=kind][value=cleaned], label:has([name=kind][value=cleaned])`)
	inspector.Click(`[name="T.4.0"]`)
	inspector.Keys("0.27" + kb.ArrowRight + "0.27" + kb.ArrowRight + "17/64")
	inspector.WaitFor(`document.getElementById("preview-capacity") !== null && document.getElementById("preview").getAttribute("aria-busy") === "false"`)
	shown := inspector.Text("#preview-capacity")
	require.Equal(t, 200, inspector.Submit(`main .send > button[type=submit]:not([name])`), inspector.Text("main"))
	require.Equal(t, shown, p.End(name).State[0].Capacity.Format(units.US, -1), "what was shown while typing is what is stored")
	require.True(t, p.End(name).State[0].OutOfDate, "the approval says itself that what it stood on has moved")
	p.photo(name, "MSR", 10)
	p.photo(name, "MSR", 11)
	act(t, inspector, end, "MSR", "completed", "")

	// The approved revision still holds, or a new one is made; the end waits for it.
	require.Equal(t, 200, engineer.Open(p.Path("ends", name, "designs", "1", "review")))
	if engineer.Exists("#confirmation button[type=submit]") && p.holds(name) {
		engineer.Choose("#f-reasons", "The loss found stays outside the studs.")
		require.Equal(t, 200, engineer.Submit("#confirmation button[type=submit]"))
	} else {
		require.Equal(t, 200, designer.Open(p.Path("ends", name, "design")))
		designer.Click("button[value=propose]")
		designer.WaitFor(`document.getElementById("design-said").textContent.includes("A layout that passes")`)
		designer.Choose("#f-note", "Laid out anew on the survey after cleaning.")
		require.Equal(t, 200, designer.Submit("button[value=submit]"), designer.Text("main"))
		approve("2")
	}
	require.False(t, p.End(name).State[0].OutOfDate)
	act(t, designer, end, "DES", "completed", "")
	act(t, engineer, end, "DES", "released", "")

	// Studs: one is rejected and welded again; what the end carries follows.
	act(t, contractor, end, "WLD", "completed", "")
	d := p.End(name).DesignInForce()
	studs := p.End(name).StudsOf(d.ID)
	for _, face := range []string{"L", "R"} {
		require.Equal(t, 200, inspector.Open(p.Path("ends", name, "collar-rest")+"?face="+face))
		require.Equal(t, 200, inspector.Submit(`main form button[type=submit]`))
	}
	whole := p.capacityOf(name, "as_welded")
	record := func(mark, outcome string) {
		t.Helper()
		require.Equal(t, 200, inspector.Open(p.Path("ends", name, "collars", mark)))
		inspector.Click(`.outcome-tile:has([value=` + outcome + `])`)
		require.Equal(t, 200, inspector.Submit(`.send button:last-of-type`), inspector.Text("main"))
	}
	// Studs are rejected until it shows: the layout has some to spare.
	gone := 0
	for ; gone < len(studs)/2 && p.capacityOf(name, "as_welded") >= whole; gone++ {
		record(studs[gone].Mark, "rejected")
	}
	require.Less(t, float64(p.capacityOf(name, "as_welded")), float64(whole))
	shows(inspector, p.capacityOf(name, "as_welded"))
	require.Error(t, p.Try(authz.Inspector, name, p.stepAct(name, "COL", "completed", "")), "rejected studs hold the end")
	for i := range gone {
		record(studs[i].Mark, "replaced")
	}
	require.Equal(t, whole, p.capacityOf(name, "as_welded"))
	p.photo(name, "COL", 20)
	act(t, inspector, end, "COL", "completed", "")
	act(t, engineer, end, "COL", "released", "")

	// Deck, form, mock-up, and the hold before casting.
	act(t, contractor, end, "COR", "completed", "")
	p.photo(name, "FRM", 30)
	p.photo(name, "FRM", 31)
	act(t, contractor, end, "FRM", "completed", "")
	p.DoProgram(authz.Engineer, repair.AcceptMockup{Note: "cast, cut in three, no voids; 4-day and 28-day sets passed"})
	act(t, contractor, end, "REL", "completed", "")
	act(t, engineer, end, "REL", "released", "")

	// The pour and its specimens, broken at four and at twenty-eight days.
	start := ago(28*24*time.Hour + 2*time.Hour)
	p.castWith(name, start)
	p.photo(name, "CST", 40)
	act(t, contractor, end, "CST", "completed", "")
	p.Do(authz.Inspector, name, repair.RecordInspection{Subject: "curing", Outcome: "accepted", Note: "logger read from placing to stripping, no gap"})
	act(t, contractor, end, "CUR", "completed", "")
	require.Equal(t, 200, contractor.Open(end))
	require.Contains(t, contractor.Text("#step-STR"), "waiting for strength", "no strength, no stripping")
	crush := func(mark string, at time.Time, kip float64) {
		w, h, m := 3*units.Inch, 6*units.Inch, 400*units.Kip
		p.Do(authz.Laboratory, name, repair.RecordBreak{Mark: mark, BrokenAt: at, Load: units.Force(kip) * units.Kip, Width: &w, Depth: &w, Height: &h, EndsGround: true, Machine: &m})
	}
	for i, x := range p.Scope(name).Specimens {
		crush(x.Mark, x.CastAt.Add(time.Duration(x.NominalDays*24)*time.Hour+5*time.Minute), map[bool]float64{true: 118, false: 172}[x.NominalDays < 10]+float64(i%3))
	}
	require.Equal(t, 200, lab.Open(p.Path("pours", "1")))
	require.Contains(t, lab.Text("main"), "reached")
	p.Do(authz.Inspector, name, repair.DecideGate{Gate: "strip", Decision: "passed"})
	act(t, contractor, end, "STR", "completed", "")
	act(t, engineer, end, "STR", "released", "")
	p.Do(authz.Inspector, name, repair.RecordInspection{Subject: "hardened", Outcome: "accepted", Note: "sounded all over, no hollow place"})
	p.photo(name, "HRD", 50)
	p.photo(name, "HRD", 51)
	act(t, inspector, end, "HRD", "completed", "")
	p.Do(authz.Engineer, name, repair.DecideGate{Gate: "traffic", Decision: "passed"})
	act(t, contractor, end, "TRF", "completed", "")
	act(t, engineer, end, "TRF", "released", "")
	act(t, inspector, end, "CLS", "completed", "")
	act(t, engineer, end, "CLS", "released", "")
	require.True(t, p.End(name).State[0].Closed)

	// The manager sees it closed, the history holds it all, the sheet prints, and
	// nothing stored differs from what follows from the record.
	require.Equal(t, 200, manager.Open(p.Path("work")))
	require.Contains(t, manager.Text("main"), "1 of 4 ends are closed")
	require.Equal(t, 200, manager.Open(p.Path("ends", name, "history")))
	require.Equal(t, 200, manager.Open(p.Path("ends", name, "sheet")))
	require.Greater(t, len(manager.PDF(true)), 20_000)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
	for _, page := range []*browsertest.Page{inspector, designer, engineer, contractor, lab, manager} {
		require.Empty(t, page.Problems())
	}
}

// photo puts a picture of a step on record.
func (p *testProgram) photo(end, code string, shade uint8) {
	p.t.Helper()
	p.Do(authz.Inspector, end, repair.AddPhoto{Bytes: picture(p.t, shade), Subject: code, Caption: "step " + code})
}

// holds reports whether the revision in force passes on the latest survey.
func (p *testProgram) holds(end string) bool {
	p.t.Helper()
	for _, res := range p.End(end).Results {
		if res.Subject == "repaired" {
			return res.Verdict == "passes"
		}
	}
	return false
}

// castWith records a sound pour of one end with a four-day and a 28-day set.
func (p *testProgram) castWith(end string, start time.Time) {
	p.t.Helper()
	placed, ended, flow, mix, air := start.Add(15*time.Minute), start.Add(time.Hour), 9.2*units.Inch, units.Temperature(22), units.Temperature(18)
	p.Do(authz.Contractor, end, repair.RecordPour{StartedAt: start, EndedAt: &ended, Note: "calm night",
		Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed, Flow: &flow, MixTemp: &mix, AirTemp: &air}},
		Specimens: []repair.SpecimenSet{{Batch: 1, Kind: "cyl_3x6", Curing: "field", NominalDays: 4, Count: 3},
			{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3}}})
}
