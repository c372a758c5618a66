package web_test

import (
	"testing"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

func TestSurveyByKeyboardShowsWhatIsLeft(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Inspector)
	path := p.Path("ends", "1N-1", "surveys", "new")
	require.Equal(t, 200, page.Open(path))
	page.Click(`[name="T.4.0"]`)
	// Down the first column with Enter, then along the last row with the arrow.
	page.Keys("0.4" + kb.Enter + "5/16" + kb.ArrowRight + "0.3" + kb.ArrowRight + "NA" + kb.ArrowUp + "0.45")
	page.WaitFor(`document.getElementById("preview-capacity") !== null && document.querySelector('[name="T.4.2"]').value === "0.45" && document.getElementById("preview").getAttribute("aria-busy") === "false"`)
	for name, want := range map[string]string{"T.4.0": "0.4", "T.5.0": "5/16", "T.5.1": "0.3", "T.5.2": "NA", "T.4.2": "0.45"} {
		require.Equal(t, want, browsertest.Eval[string](page, `document.querySelector('[name="`+name+`"]').value`), name)
	}
	shown := page.Text("#preview-capacity")
	page.Axe(t)

	// A value that cannot be is marked while typing, and mended.
	page.Click(`[name="T.3.0"]`)
	page.Keys("9")
	page.WaitFor(`document.querySelector('[name="T.3.0"]').getAttribute("aria-invalid") === "true"`)
	page.Axe(t)
	page.Screenshot("survey-marked")
	page.Keys(kb.Backspace)
	page.WaitFor(`document.querySelector('[name="T.3.0"]').getAttribute("aria-invalid") === null`)
	page.WaitFor(`document.getElementById("preview-capacity")?.innerText === "` + shown + `"`)

	page.Submit(`main .send > button[type=submit]:not([name])`)
	require.Equal(t, p.Path("ends", "1N-1"), page.Path())
	require.Equal(t, shown, p.End("1N-1").State[0].Capacity.Format(units.US, -1))
	require.Empty(t, page.Problems())
}

func TestSurveyPasteFromASpreadsheet(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Inspector)
	require.Equal(t, 200, page.Open(p.Path("ends", "1N-1", "surveys", "new")))
	paste := func(into, text string) {
		browsertest.Eval[bool](page, `(() => { const box = document.querySelector('[name="`+into+`"]'); box.focus();
			const data = new DataTransfer(); data.setData("text/plain", `+"`"+text+"`"+`);
			return !box.dispatchEvent(new ClipboardEvent("paste", {clipboardData: data, bubbles: true, cancelable: true})); })()`)
	}
	paste("T.4.1", "0.4\t0.41\n0.3\t5/16\n")
	page.WaitFor(`document.querySelector('[name="T.5.2"]').value === "5/16" && document.getElementById("preview-capacity") !== null`)
	require.Equal(t, "0.41", browsertest.Eval[string](page, `document.querySelector('[name="T.4.2"]').value`))

	// What does not fit goes to the list, where it counts as well.
	paste("T.5.5", "9\t9\t0.5\n")
	require.Equal(t, "9\t9\t0.5", browsertest.Eval[string](page, `document.querySelector('[name=points]').value`))
	require.Empty(t, browsertest.Eval[string](page, `document.querySelector('[name="T.5.5"]').value`))
	require.Empty(t, page.Problems())
}

func TestSurveyInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Inspector)
	p.Look(page, p.Path("ends", "1N-2", "surveys", "new"), "survey-new")
	found := asFound(0.6)
	p.Do(authz.Inspector, "1N-1", found)
	p.Look(page, p.Path("ends", "1N-1", "surveys", "1", "edit"), "survey-edit")

	// Only the chosen face is in sight.
	page.Click(`label:has(#face-L)`)
	require.False(t, browsertest.Eval[bool](page, `document.querySelector('[name="T.0.0"]').offsetParent !== null`))
	require.True(t, browsertest.Eval[bool](page, `document.querySelector('[name="L.0.0"]').offsetParent !== null`))
}
