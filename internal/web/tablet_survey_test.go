package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

// A survey from the tablet with what stands beside the readings: holes, flange and
// stiffener, one place from either face. What was not measured again stands as before
// and the record says so: a hole does not heal because nobody typed it again.
func TestSurveyWithHolesAndFlangeFromTheTablet(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	flange := units.Length(20)
	first := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "as_found", Method: "ultrasonic", FlangeThick: &flange, WebDetached: 50}}
	for i := range 3 {
		first.Readings = append(first.Readings, repair.ReadingIn{Face: "T", X: units.Length(2+2*i) * units.Inch, Z: 1 * units.Inch, T: 0.45 * units.Inch})
	}
	first.Holes = []repair.HoleIn{{X: 3 * units.Inch, Z: 2 * units.Inch, Width: units.Inch, Height: units.Inch, Rim: 0.2 * units.Inch}}
	p.Do(authz.Inspector, "1N-1", first)

	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	standAt(page, "1N-1")
	page.Offline(true)
	goTo(page, "#/end/1N-1/survey")
	page.Click("#begin")
	page.WaitFor(`document.querySelector("#next")`)
	value := func() string { return page.Text("#value") }
	// The pad: steps of 0.01 in, the last value with one key, the reading before only afterwards.
	require.Equal(t, "–", value())
	require.NotContains(t, page.Text("main"), "0.45")
	require.True(t, browsertest.Eval[bool](page, `document.querySelector("#same").disabled`), "there is no last value yet")
	page.Click(`[data-key="4"]`)
	page.Click(`[data-key="0"]`)
	require.Equal(t, "0.40", value())
	page.Click("#more")
	require.Equal(t, "0.41", value())
	page.Click("#less")
	page.Click("#less")
	require.Equal(t, "0.39", value())
	require.NotContains(t, page.Text("body"), "0.45", "it leads nobody")
	page.Click("#next")
	page.WaitFor(`document.body.dataset.ready === "#/end/1N-1/survey/2"`)
	require.Contains(t, page.Text("#t-say"), "0.39, before 0.45")
	page.Click("#same")
	require.Equal(t, "0.39", value())
	// The same place from the left face as well.
	page.Click(`[data-face="L"]`)
	page.WaitFor(`document.body.dataset.ready === "#/end/1N-1/survey/3"`)
	require.Contains(t, page.Text("main .t-reading"), "left face, x 4, z 1 in")
	page.Click(`[data-key="3"]`)
	page.Click(`[data-key="8"]`)
	page.Click("#next")
	page.WaitFor(`document.body.dataset.ready === "#/end/1N-1/survey/4"`)
	require.Contains(t, page.Text("main .t-reading"), "through the web, x 6, z 1 in")

	goTo(page, "#/end/1N-1/survey")
	require.Contains(t, page.Text("main"), "1 place of survey 1 is not read yet")
	require.Contains(t, page.Text("#holes"), "as before")
	goTo(page, "#/end/1N-1/survey/hole/2")
	page.Fill("[name=x]", "7")
	page.Fill("[name=z]", "2-1/2")
	page.Fill("[name=width]", "1/2")
	page.Click("#keep")
	require.Contains(t, page.Text("#why"), "the height")
	page.Fill("[name=height]", "3/4")
	page.Click("#keep")
	page.WaitFor(`document.querySelectorAll("#holes li").length === 2`)
	goTo(page, "#/end/1N-1/survey/parts")
	require.NotContains(t, page.Text("main"), "0.787", "the flange before is not shown beforehand")
	page.Fill("[name=flange_thickness]", "3/4")
	page.Click("#keep")
	page.WaitFor(`document.querySelector("#t-say").innerText.includes("before 0.787")`)
	page.WaitFor(`document.querySelector("#record")`)
	page.Click("#record")
	page.WaitFor(`document.querySelector("#n-queued strong").textContent === "1"`)
	page.Offline(false)
	page.Click("#send")
	waitQueue(t, page, 0)

	r := p.End("1N-1")
	sv := r.LatestSurvey()
	require.Equal(t, 2, sv.Number)
	require.Equal(t, 0.75*units.Inch, *sv.FlangeThick)
	require.Equal(t, "3/4", sv.Typed["flange_thickness_mm"])
	require.InDelta(t, 50, float64(sv.WebDetached), 1e-9, "stands as before")
	require.Contains(t, sv.Note, "not measured again, as in survey 1: web-to-flange joint lost, length, 1 hole")
	var faces []string
	for _, x := range r.Readings {
		if x.SurveyID == sv.ID {
			faces = append(faces, x.Face)
		}
	}
	require.ElementsMatch(t, []string{"T", "T", "L"}, faces)
	holes := 0
	for _, h := range r.Holes {
		if h.SurveyID == sv.ID {
			holes++
		}
	}
	require.Equal(t, 2, holes)
}

// The pad of a reader of SI units moves by 0.1 mm.
func TestPadInMillimeters(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "as_found", Method: "ultrasonic"},
		Readings: []repair.ReadingIn{{Face: "T", X: 50, Z: 25, T: 12.5}, {Face: "T", X: 100, Z: 25, T: 12.5}}})
	p.Role(authz.Inspector).Post("/account/reading", "units", "si").Status(303)
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	standAt(page, "1N-1")
	goTo(page, "#/end/1N-1/survey")
	page.Click("#begin")
	page.WaitFor(`document.querySelector("#next")`)
	for _, k := range []string{"1", "1", "4"} {
		page.Click(`[data-key="` + k + `"]`)
	}
	require.Equal(t, "11.4", page.Text("#value"))
	page.Click("#more")
	require.Equal(t, "11.5", page.Text("#value"))
	require.NotContains(t, page.Text("body"), "12.5")
	page.Click("#next")
	page.WaitFor(`document.body.dataset.ready === "#/end/1N-1/survey/2"`)
	require.Contains(t, page.Text("#t-say"), "11.5, before 12.5")
	page.Click("#same")
	page.Click("#next")
	page.WaitFor(`document.querySelector("#record")`)
	page.Click("#record")
	page.WaitFor(`document.querySelector("#n-sent strong").textContent === "1"`)
	var got []float64
	for _, x := range p.End("1N-1").Readings {
		if x.SurveyID == p.End("1N-1").LatestSurvey().ID {
			got = append(got, float64(x.T))
		}
	}
	require.InDeltaSlice(t, []float64{11.5, 11.5}, got, 1e-12)
}
