package web_test

import (
	"fmt"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/browsertest"
)

// lookTablet opens a screen by sun and by night, upright and lying, and checks it as
// Look does.
func (p *testProgram) lookTablet(page *browsertest.Page, hash, name string) {
	p.t.Helper()
	for _, size := range []struct {
		name string
		w, h int
	}{{"upright", 820, 1180}, {"lying", 1180, 820}} {
		for _, ground := range []string{"sun", "night"} {
			page.SetViewport(size.w, size.h)
			browsertest.Eval[bool](page, fmt.Sprintf(`document.documentElement.dataset.tablet = %q, true`, ground))
			goTo(page, hash)
			page.Screenshot("tablet-" + name + "-" + size.name + "-" + ground)
			page.Axe(p.t)
			require.Empty(p.t, page.Overflows(), "%s %s", hash, size.name)
			require.Empty(p.t, p.small(page), "%s: under 64 px", hash)
		}
	}
	require.Empty(p.t, page.Problems(), hash)
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
		{"/nonconformance", "nonconformance"}, {"/pour", "pour"}, {"/photo", "photo"}} {
		p.lookTablet(page, "#/end/1N-1"+x[0], x[1])
	}
	goTo(page, "#/end/1N-1/survey")
	page.Click("#begin")
	page.WaitFor(`document.querySelector("#next")`)
	p.lookTablet(page, "#/end/1N-1/survey/1", "reading")
	p.lookTablet(page, "#/outbox", "outbox")
}
