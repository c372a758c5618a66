package web_test

import (
	"fmt"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/browsertest"
)

// lookTablet opens a screen by sun and by night, on a tablet upright and lying and on a
// phone, and checks it as Look does: axe, nothing out of the page, every control at
// least 64 px, no color of a signal at night.
func (p *testProgram) lookTablet(page *browsertest.Page, hash, name string) {
	p.t.Helper()
	for _, size := range []struct {
		name string
		w, h int
	}{{"upright", 800, 1280}, {"lying", 1280, 800}, {"phone", 390, 844}} {
		for _, ground := range []string{"sun", "night"} {
			page.SetViewport(size.w, size.h)
			browsertest.Eval[bool](page, fmt.Sprintf(`document.documentElement.dataset.tablet = %q, true`, ground))
			goTo(page, hash)
			page.Screenshot("tablet-" + name + "-" + size.name + "-" + ground)
			if ground == "night" { // differs in colors alone
				page.AxeOnColors(p.t)
				require.Empty(p.t, lamps(page), "%s: red or green at night", hash)
				continue
			}
			page.Axe(p.t)
			require.Empty(p.t, page.Overflows(), "%s %s", hash, size.name)
			require.Empty(p.t, smallControls(page), "%s %s: under 64 px", hash, size.name)
		}
	}
	require.Empty(p.t, page.Problems(), hash)
}

// smallControls lists every control of the page that is less than 64 px either way. A
// box to tick is pressed by its label.
func smallControls(page *browsertest.Page) []string {
	return browsertest.Eval[[]string](page, `(() => {
		const pressed = e => e.matches("input[type=radio], input[type=checkbox]") ? e.closest("label") : e;
		const all = [...document.querySelectorAll("a[href], button, select, textarea, summary, input:not([type=hidden])")].filter(e => !e.matches(".skip")).map(pressed);
		return [...new Set(all)].filter(e => e.checkVisibility({contentVisibilityAuto: true})).filter(e => { const r = e.getBoundingClientRect(); return r.height < 63.5 || r.width < 63.5; })
			.map(e => { const r = e.getBoundingClientRect(); return Math.round(r.width) + "x" + Math.round(r.height) + " " + e.outerHTML.slice(0, 100); });
	})()`)
}

// lamps lists what is drawn in a red or green that could be taken for a signal.
func lamps(page *browsertest.Page) []string {
	return browsertest.Eval[[]string](page, `(() => {
		const out = new Set(), canvas = document.createElement("canvas").getContext("2d", {willReadFrequently: true});
		const lamp = c => {
			if (!c || c === "none" || c.startsWith("url")) return false;
			canvas.clearRect(0, 0, 1, 1); canvas.fillStyle = "#000"; canvas.fillStyle = c; canvas.fillRect(0, 0, 1, 1);
			const [r, g, b, a] = canvas.getImageData(0, 0, 1, 1).data, most = Math.max(r, g, b), least = Math.min(r, g, b), span = most - least;
			if (a < 40 || most < 60 || span / most < 0.35) return false;
			const hue = (most === r ? ((g - b) / span + 6) % 6 : most === g ? (b - r) / span + 2 : (r - g) / span + 4) * 60;
			return hue < 18 || hue > 340 || (hue > 75 && hue < 170);
		};
		for (const e of document.querySelectorAll("body, body *")) {
			if (!e.checkVisibility()) continue;
			const s = getComputedStyle(e);
			const drawn = e instanceof SVGElement ? ["fill", "stroke"] : ["color", "backgroundColor", "borderTopColor", "borderInlineStartColor", "outlineColor"];
			for (const k of drawn) if (lamp(s[k])) out.add(k + " " + s[k] + " " + e.tagName + "." + (e.getAttribute("class") ?? ""));
		}
		return [...out].slice(0, 10);
	})()`)
}

// goTo opens a screen of the tablet's page and waits until it is drawn.
func goTo(page *browsertest.Page, hash string) {
	browsertest.Eval[bool](page, fmt.Sprintf(`(() => { document.body.dataset.ready = ""; if (decodeURIComponent(location.hash) === %[1]q) dispatchEvent(new Event("hashchange")); else location.hash = %[1]q; return true })()`, hash))
	page.WaitFor(fmt.Sprintf(`document.body.dataset.ready === %q`, hash))
}

// onShift opens the tablet's page, takes ends along and waits until it is ready to
// work without signal.
func (p *testProgram) onShift(page *browsertest.Page, ends string) {
	p.t.Helper()
	require.Equal(p.t, http.StatusOK, page.Open(p.Path("tablet")))
	page.WaitFor(`document.body.dataset.offline === "ready"`)
	goTo(page, "#/choose")
	for _, end := range splitComma(ends) {
		page.Click(`[name=end][value="` + end + `"]`)
	}
	page.Click("#take")
	page.WaitFor(`document.querySelector("#packet")?.innerText.includes("Ready to work without signal")`)
}

func splitComma(s string) []string {
	var out []string
	for at := 0; at < len(s); {
		end := at
		for end < len(s) && s[end] != ',' {
			end++
		}
		out = append(out, s[at:end])
		at = end + 1
	}
	return out
}

func TestTabletScreens(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	p.findings("1N-1", studs[:6])
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1,1N-2")
	p.lookTablet(page, "#/", "shift")
	p.lookTablet(page, "#/choose", "choose")
	p.lookTablet(page, "#/line/1N", "line")
	p.lookTablet(page, "#/end/1N-1", "guard")
	goTo(page, "#/end/1N-1")
	page.Click("#yes")
	page.WaitFor(`document.querySelector(".t-drawing svg")`)
	for _, x := range [][2]string{{"", "end"}, {"/studs", "studs"}, {"/stud/" + studs[0].Mark, "stud"}, {"/survey", "survey"}, {"/cleaning", "cleaning"}, {"/shift/test_stud", "test-studs"}, {"/shift/deck_core", "core"}, {"/shift/form_check", "form"}, {"/check/note", "note"},
		{"/nonconformance", "nonconformance"}, {"/pour", "pour"}, {"/pour/batch/1", "batch"}, {"/photo", "photo"}} {
		p.lookTablet(page, "#/end/1N-1"+x[0], x[1])
	}
	goTo(page, "#/end/1N-1/survey")
	page.Click("#begin")
	page.WaitFor(`document.querySelector("#next")`)
	p.lookTablet(page, "#/end/1N-1/survey/1", "reading")
	p.lookTablet(page, "#/end/1N-1/survey", "places")
	p.lookTablet(page, "#/end/1N-1/survey/hole/1", "hole")
	p.lookTablet(page, "#/end/1N-1/survey/parts", "parts")
	p.lookTablet(page, "#/outbox", "outbox")
}
