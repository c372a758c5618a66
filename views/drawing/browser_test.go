package drawing

import (
	"context"
	"io"
	"net/http"
	"slices"
	"testing"

	"github.com/a-h/templ"
	"github.com/stretchr/testify/require"

	"endcast/internal/web/browsertest"
	"endcast/static"
	"endcast/views/ui"
)

// sheets serves each drawing on a page of its own, under the policy of the program.
func sheets() http.Handler {
	mux := http.NewServeMux()
	mux.Handle(static.Prefix, static.Handler())
	for name, c := range every() {
		mux.HandleFunc("/"+name, func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			w.Header().Set("Content-Security-Policy", "default-src 'none'; script-src 'nonce-n'; style-src 'self'; font-src 'self'; img-src 'self'")
			body := templ.ComponentFunc(func(ctx context.Context, w io.Writer) error {
				if _, err := io.WriteString(w, `<h1>Sheet</h1>`); err != nil {
					return err
				}
				if err := c.Render(ctx, w); err != nil {
					return err
				}
				_, err := io.WriteString(w, `<p id="ends">The table of the drawing.</p>`)
				return err
			})
			_ = ui.Layout(ui.Page{Title: name}).Render(templ.WithChildren(templ.WithNonce(r.Context(), "n"), body), w)
		})
	}
	return mux
}

func TestDrawingsInABrowser(t *testing.T) {
	t.Parallel()
	p := browsertest.New(t, sheets())
	names := make([]string, 0, 8)
	for name := range every() {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		for _, dark := range []bool{false, true} {
			p.SetDark(dark)
			require.Equal(t, 200, p.Open("/"+name))
			p.Axe(t)
			p.Screenshot("drawing-" + name + map[bool]string{true: "-dark"}[dark])
		}
		p.SetViewport(390, 900)
		require.Empty(t, p.Overflows(), name)
		nothingOutside(t, p, name)
		p.SetDark(false)
		p.Screenshot("drawing-" + name + "-phone")
		p.SetViewport(1440, 1000)
		p.WaitFor("document.fonts.status === 'loaded'")
		nothingOutside(t, p, name)
		// The width that the layout reckons with holds for what the browser letters.
		require.Empty(t, browsertest.Eval[[]string](p, `[...document.querySelectorAll(".dwg-scroll > svg text:is(.lbl, .thick, .end-name, .stud-mark)")]
			.filter(e => e.getComputedTextLength() > 1.12 * 0.53 * parseFloat(getComputedStyle(e).fontSize) * [...e.textContent].length + 2)
			.map(e => e.textContent + " " + e.getComputedTextLength())`), name)
		small := browsertest.Eval[[]string](p, `[...document.querySelectorAll("svg a.end")].filter(e => e.checkVisibility()).map(e => e.querySelector(".hit").getBoundingClientRect())
			.filter(b => b.width < 24 || b.height < 24).map(b => b.width + " x " + b.height)`)
		require.Empty(t, small, name)
		require.Greater(t, len(p.PDF(true)), 5000, name)
	}
	require.Empty(t, p.Problems())
}

// nothingOutside finds nothing lettered outside the drawing that is shown.
func nothingOutside(t *testing.T, p *browsertest.Page, name string) {
	t.Helper()
	require.Empty(t, browsertest.Eval[[]string](p, `(() => { const s = [...document.querySelectorAll(".dwg-scroll > svg")].find(e => e.checkVisibility()), r = s.getBoundingClientRect();
		return [...s.querySelectorAll("text")].filter(e => { const b = e.getBoundingClientRect();
			return b.width && (b.left < r.left - 1 || b.right > r.right + 1 || b.top < r.top - 1 || b.bottom > r.bottom + 1) }).map(e => e.textContent) })()`), name)
}

// A mark that the keyboard has reached is ringed.
func TestFocusIsSeen(t *testing.T) {
	t.Parallel()
	p := browsertest.New(t, sheets())
	p.Open("/plan")
	p.WaitFor("document.activeElement === document.body")
	const ring = `(() => { const e = document.activeElement?.querySelector?.(":scope > .hit"); return e ? getComputedStyle(e).stroke : "no mark" })()`
	for range 12 {
		p.Keys("\t")
		if browsertest.Eval[bool](p, `document.activeElement?.classList?.contains("end")`) {
			break
		}
	}
	stroke := browsertest.Eval[string](p, ring)
	require.Contains(t, stroke, "rgb")
	require.Equal(t, "1N-1, Abutment 1 ahead face: studs", browsertest.Eval[string](p, `document.activeElement.getAttribute("aria-label")`))
	p.Screenshot("drawing-plan-focus")
}

// Letters and figures stand out from what they lie on by 4.5 to 1 at least (WCAG
// 2.2, success criterion 1.4.3), in both themes. Colors are read back from pixels,
// so that mixed colors count as they are shown.
func TestContrastOfLettering(t *testing.T) {
	t.Parallel()
	p := browsertest.New(t, sheets())
	const measure = `(pairs => { const c = document.createElement("canvas"); c.width = c.height = 1;
		const ctx = c.getContext("2d", {willReadFrequently: true});
		const light = color => { ctx.clearRect(0, 0, 1, 1); ctx.fillStyle = color; ctx.fillRect(0, 0, 1, 1);
			const [r, g, b] = [...ctx.getImageData(0, 0, 1, 1).data].map(v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
			return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
		return pairs.map(([text, ground]) => { const a = light(getComputedStyle(text).fill), b = light(getComputedStyle(ground).fill);
			return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), text.textContent + " on " + ground.getAttribute("class")]; })
			.filter(([ratio]) => ratio < 4.5).map(([ratio, what]) => what + ": " + ratio.toFixed(2)); })`
	pairs := map[string]string{
		"plan": `[...document.querySelectorAll(".dwg-legend svg")].flatMap(s => [...s.querySelectorAll("text")].map(e => [e, e.classList.contains("tag-letter") ? s.querySelector("path:not(.ph)") : s.querySelector("path.ph")]))`,
		"bars": `[...document.querySelectorAll(".dwg-legend svg")].map(s => [s.querySelector("text"), s.querySelector("path.ph")])`,
		"end":  `[...document.querySelectorAll("g.cell")].filter(g => g.querySelector("text")).map(g => [g.querySelector("text"), g.querySelector(".band")])`,
	}
	for _, dark := range []bool{false, true} {
		p.SetDark(dark)
		for name, list := range pairs {
			p.Open("/" + name)
			require.Positive(t, browsertest.Eval[int](p, list+".length"), name)
			require.Empty(t, browsertest.Eval[[]string](p, measure+"("+list+")"), "%s, dark %v", name, dark)
		}
	}
}
