package web_test

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

// value is what stands in a box of the page.
func value(page *browsertest.Page, selector string) string {
	return browsertest.Eval[string](page, `document.querySelector('`+selector+`').value`)
}

// drawnAt waits until the server has drawn a stud at a height.
func drawnAt(page *browsertest.Page, mark string, z units.Length) {
	at := `document.querySelector('g.studs > [data-mark="` + mark + `"]')`
	page.WaitFor(fmt.Sprintf(`%s && Math.abs(Number(%[1]s.dataset.z) - %g) < 0.001 && !%[1]s.dataset.off`, at, float64(z)))
}

func TestDesignDeskInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.5))
	page := p.Browser(authz.Designer)
	desk := p.Path("ends", "1N-1", "design")
	page.SetViewport(1280, 800)
	require.Equal(t, 200, page.Open(desk))
	require.Contains(t, page.Text("#design-checks"), "Nothing is computed until")

	page.Click("button[value=propose]")
	page.WaitFor(`document.querySelectorAll("g.studs > .stud").length > 0`)
	require.Contains(t, page.Text("#design-said"), "A layout that passes every check")
	require.Equal(t, desk, page.Path(), "the page stays: only its parts are drawn anew")
	page.WaitFor(`document.getElementById("design-status").textContent.includes("Repaired capacity")`)
	page.Screenshot("design-proposed")
	page.Axe(t)

	// A stud and its mate on the other face go up by two steps of half an inch.
	x, z := value(page, "#f-stud-1-x"), value(page, "#f-stud-1-z")
	all := `document.getElementById("design-checks").textContent`
	before := browsertest.Eval[string](page, all)
	browsertest.Eval[bool](page, `(document.querySelector('g.studs > [data-mark="L-1-1"]').focus(), true)`)
	page.Keys(kb.ArrowUp)
	page.Keys(kb.ArrowUp)
	was, err := units.ParseLength(z, units.US)
	require.NoError(t, err)
	up := (was + units.Inch).Exact(units.US)
	require.Equal(t, up, value(page, "#f-stud-1-z"), "the field follows at once")
	drawnAt(page, "L-1-1", was+units.Inch)
	drawnAt(page, "R-1-1", was+units.Inch)
	require.Equal(t, x, value(page, "#f-stud-1-x"))
	require.Equal(t, "L-1-1", browsertest.Eval[string](page, `document.activeElement.dataset.mark ?? ""`), "the stud keeps the focus")
	require.NotEqual(t, before, browsertest.Eval[string](page, all), "the checks are computed anew")

	// The buttons do the same, for one face and with another step.
	page.Click("#tool-both")
	page.Choose("#tool-step", "0.25")
	page.Click("[data-move='0 -1']")
	page.WaitFor(`document.getElementById("f-stud-1-z").value !== "` + up + `"`)
	drawnAt(page, "L-1-1", was+0.75*units.Inch)
	drawnAt(page, "R-1-1", was+units.Inch)

	// And so does the pointer, on whole steps.
	page.Choose("#tool-step", "1")
	browsertest.Eval[bool](page, `(() => {
		const g = document.querySelector('g.studs > [data-mark="L-1-2"]');
		const m = g.ownerSVGElement.getScreenCTM();
		const inch = 25.4 * Number(g.ownerSVGElement.dataset.scale) * m.a;
		const r = g.querySelector(".grab").getBoundingClientRect();
		const at = [r.x + r.width / 2, r.y + r.height / 2];
		window.from = Number(g.dataset.x);
		g.setPointerCapture = () => {};
		const send = (type, dx) => g.dispatchEvent(new PointerEvent(type, {bubbles: true, pointerId: 1, button: 0, clientX: at[0] + dx, clientY: at[1]}));
		send("pointerdown", 0); send("pointermove", 0.8 * inch); send("pointerup", 0.8 * inch);
		return true;
	})()`)
	page.WaitFor(`Math.abs(Number(document.querySelector('g.studs > [data-mark="L-1-2"]').dataset.x) - window.from - 25.4) < 0.01 && !document.querySelector('[aria-busy]')`)

	// Page Down chooses the next stud; typing computes by itself.
	browsertest.Eval[bool](page, `(document.querySelector('g.studs > [data-mark="L-1-1"]').focus(), true)`)
	page.Keys(kb.PageDown)
	require.Equal(t, "L-1-2", browsertest.Eval[string](page, `document.activeElement.dataset.mark ?? ""`))
	page.Choose("#f-panel-width", "no")
	page.WaitFor(`document.getElementById("design-checks").innerText.includes("Panel, width")`)
	page.Choose("#f-panel-width", "40")
	page.WaitFor(`document.querySelector(".design-outcome .big") !== null`)
	require.Equal(t, "40", value(page, "#f-panel-width"))
	page.Axe(t)
	require.Empty(t, page.Problems())

	require.Equal(t, 200, page.Submit(".design-send button[value=save]"))
	require.Contains(t, page.Text("main"), "The draft of revision 1 is saved.")
	d := p.End("1N-1")
	require.Equal(t, repair.DesignDraft, d.LatestDesign().State)
	require.Equal(t, was+0.75*units.Inch, d.StudsOf(d.LatestDesign().ID)[0].Z)
	p.Look(page, desk, "design-desk")

	page.Choose("#f-note", "Moved by hand to clear the cope; to be looked at as it is.")
	require.Equal(t, 200, page.Submit(".design-send button[value=submit]"))
	require.Equal(t, p.Path("ends", "1N-1", "designs", "1"), page.Path())
	require.Contains(t, page.Text("main"), "Revision 1 is submitted for review.")
	require.Equal(t, repair.DesignSubmitted, p.End("1N-1").LatestDesign().State)
}

func TestDesignDeskWithoutScripts(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Designer, "1N-1", smallDesign())
	p.Role(authz.Designer).Get(p.Path("ends", "1N-1", "design")).Status(200)
	a := p.Role(authz.Designer).Get(p.Path("ends", "1N-1", "design"))
	require.NotEmpty(t, a.Select("#design-tools[hidden]"), "buttons that need scripts are not offered without")
}
