package web_test

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

// setBox fills a box for date and time, which does not take typed text in one order
// everywhere.
func setBox(page *browsertest.Page, selector string, at time.Time) { page.Choose(selector, box(at)) }

// An inspector records a pour with warnings as the form fills, the laboratory breaks
// its specimens, and the end has its strength.
func TestFromPourToStrengthInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	start := ago(97 * time.Hour)
	page := p.Browser(authz.Inspector)
	page.SetViewport(820, 1180)
	page.Open(p.Path("pours", "new") + "?end=1N-1")
	require.False(t, browsertest.Eval[bool](page, "document.querySelector('[name=batch-1-why]').checkVisibility()"), "asked for only when refused")
	setBox(page, "[name=started_at]", start)
	setBox(page, "[name=batch-1-mixed]", start.Add(5*time.Minute))
	setBox(page, "[name=batch-1-placed]", start.Add(17*time.Minute))
	page.Fill("[name=batch-1-flow]", "10.6")
	page.Choose("[name=batch-1-flow]", "10.6")
	page.WaitFor("document.getElementById('checks').innerText.includes('Flow is 10.600')")
	require.Contains(t, page.Text("#checks"), "1 value stops placing")
	require.Contains(t, page.Text("#checks"), "3 × 4 d, field cured")
	page.Screenshot("pour-new-warned")
	page.Axe(t)
	page.Choose("[name=batch-1-flow]", "9.1")
	page.WaitFor("document.getElementById('checks').innerText.includes('within the limits')")
	require.Equal(t, 200, page.Submit("button[value=record]"))
	require.Equal(t, p.Path("pours", "1"), page.Path())
	require.Contains(t, page.Text("main"), "P001-12", "four sets of three by the default plan")

	// The second set of the plan is the one of four days.
	lab := p.Browser(authz.Laboratory)
	for _, x := range []struct{ mark, load string }{{"P001-04", "118.2"}, {"P001-05", "121"}, {"P001-06", "119.4"}} {
		lab.Open(p.Path("laboratory"))
		form := "#break-" + x.mark + " "
		setBox(lab, form+"[name=broken_at]", ago(10*time.Minute))
		lab.Fill(form+"[name=load]", x.load)
		lab.Fill(form+"[name=width_1]", "3.004")
		lab.Fill(form+"[name=width_2]", "2.998")
		lab.Fill(form+"[name=height]", "5 15/16")
		lab.Click(form + "[name=ends_ground]")
		if x.mark == "P001-04" {
			lab.Fill(form+"[name=machine]", "110")
			require.Equal(t, 422, lab.Submit(form+"button"))
			require.Contains(t, lab.Text("#errors"), "110.0\u00a0kip")
			lab.Axe(t)
			lab.Screenshot("laboratory-refused")
			lab.Fill(form+"[name=machine]", "400")
		} else {
			require.Equal(t, "400", browsertest.Eval[string](lab, "document.querySelector('"+form+"[name=machine]').value"), "typed once a week")
		}
		require.Equal(t, 200, lab.Submit(form+"button"))
		require.Contains(t, lab.Text("main"), x.mark+" is on record")
	}
	page.Open(p.Path("pours", "1"))
	require.Contains(t, page.Text("main table"), "reached")
	page.Open(p.Path("ends", "1N-1"))
	s := p.Scope("1N-1")
	facts, err := s.Ends[0].Facts(s)
	require.NoError(t, err)
	require.Len(t, facts.Strengths, 1)
	require.Contains(t, page.Text("main"), facts.Strengths[0].Value.Format(units.US, -1))
	require.Empty(t, page.Problems())
}

// A season of pours on every page, as people see them.
func TestCastingPagesAreDrawnWell(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.cast(29*24, "1N-1", "1N-2")
	p.cast(140, "1F-1")
	p.cast(97, "1F-2")
	p.cast(60, "1F-1", "1F-2")
	lab := authz.Laboratory
	crush := func(mark string, hoursAgo, kip float64, ground bool) {
		w, d, h, m, f := 3.01*units.Inch, 3*units.Inch, 5.96*units.Inch, 400*units.Kip, 3
		end := "1N-1"
		for _, name := range []string{"1F-1", "1F-2"} {
			for _, x := range p.Scope(name).Specimens {
				if x.Mark == mark {
					end = name
				}
			}
		}
		p.Do(lab, end, repair.RecordBreak{Mark: mark, BrokenAt: ago(time.Duration(hoursAgo * float64(time.Hour))), Load: units.Force(kip) * units.Kip, Width: &w, Depth: &d,
			Height: &h, EndsGround: ground, Machine: &m, Fracture: &f, TestedBy: "M. Vale"})
	}
	crush("P001-01", 25*24, 112, true)
	crush("P001-02", 25*24, 109, true)
	crush("P001-03", 25*24, 114.5, true)
	crush("P001-04", 23.5, 168, true)
	crush("P001-05", 23.4, 171, true)
	crush("P001-06", 23.3, 165, false)
	crush("P002-01", 44, 92, true)
	page := p.Browser(authz.Inspector)
	p.Look(page, p.Path("pours"), "pours")
	p.Look(page, p.Path("pours", "new"), "pour-new")
	p.Look(page, p.Path("pours", "1"), "pour")
	p.Look(page, p.Path("pours", "1", "card"), "pour-card")
	for _, letter := range []bool{false, true} { // lying, on one sheet of either paper
		require.Equal(t, 1, bytes.Count(page.PDF(letter), []byte("/Type /Page\n")))
	}
	desk := p.Browser(authz.Laboratory)
	p.Look(desk, p.Path("laboratory"), "laboratory")
	desk.SetViewport(1280, 800)
	table := breakTable(tableRow("P003-01", ago(time.Hour), "491"), tableRow("P003-O2", ago(time.Hour), "492"), tableRow("P003-03", ago(time.Hour), "3000"))
	for _, ground := range []bool{false, true} {
		desk.SetDark(ground)
		desk.Open(p.Path("laboratory"))
		browsertest.Eval[bool](desk, "document.getElementById('f-table').value = "+quoted(table)+"; true")
		require.Equal(t, 422, desk.Submit(".paste button"))
		desk.Axe(t)
		require.Empty(t, desk.Overflows())
		desk.Screenshot("table-wrong-" + map[bool]string{false: "light", true: "dark"}[ground])
	}
	browsertest.Eval[bool](desk, "document.getElementById('f-table').value = "+quoted(breakTable(tableRow("P003-01", ago(time.Hour), "491"), tableRow("P003-02", ago(time.Hour), "492")))+"; true")
	require.Equal(t, 200, desk.Submit(".paste button"))
	desk.Axe(t)
	desk.Screenshot("table-good")
	require.Equal(t, 200, desk.Submit("form[action$=record] button"))
	require.Contains(t, desk.Text("main"), "2 breaks are on record")
}

// quoted is a text as a script has it.
func quoted(s string) string {
	b, _ := json.Marshal(s)
	return string(b)
}
