package web_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/exchange"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

// The whole way of a bridge of one's own: files that hold a mistake, the files
// mended, the preview, the word, and the end with its capacity.
func TestBridgeOfOnesOwnInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	id, path, c := p.empty("own", authz.Designer)
	page := browsertest.New(t, p.Handler)
	page.UseCookies(c.Cookies()...)
	dir := t.TempDir()
	save := func(in []exchange.File) []string {
		var out []string
		for _, f := range in {
			name := filepath.Join(dir, f.Name)
			require.NoError(t, os.WriteFile(name, f.Data, 0o600))
			out = append(out, name)
		}
		return out
	}
	p.Look(page, path+"/files", "files")

	page.SetViewport(1280, 800)
	page.SetDark(false)
	require.Equal(t, 200, page.Open(path+"/files"))
	page.Attach("#f-files", save(changed(ownBridge(), "Readings.csv", "0.400", "4.00"))...)
	require.Equal(t, 422, page.Submit("main form button"))
	require.Len(t, page.Problems(), 1, "the browser notes the status and nothing else")
	require.Contains(t, page.Text("#errors"), "1 problem keeps these files from being taken")
	require.Equal(t, "errors", browsertest.Eval[string](page, "document.activeElement.id"))
	page.Screenshot("files-refused-desk-light")
	page.Axe(t)
	page.SetDark(true)
	page.Screenshot("files-refused-desk-dark")
	page.Axe(t)
	require.Empty(t, page.Overflows())

	page = browsertest.New(t, p.Handler)
	page.UseCookies(c.Cookies()...)
	require.Equal(t, 200, page.Open(path+"/files"))
	page.Attach("#f-files", save(ownBridge())...)
	require.Equal(t, 200, page.Submit("main form button"))
	preview := page.Path()
	require.Contains(t, page.Text("main"), "Nothing is on record yet")
	p.Look(page, preview, "files-preview")
	page.Click(`a[href="#end-1F-1"]`)
	page.Screenshot("files-preview-row-dark")

	require.Equal(t, 200, page.Submit("button[value=confirm]"))
	require.Equal(t, preview, page.Path())
	require.Contains(t, page.Text("main"), "On record as entry")
	p.Look(page, preview, "files-done")
	require.Equal(t, 200, page.Open(path+"/ends/1F-1"))
	s, err := p.Store.End(t.Context(), id, "1F-1")
	require.NoError(t, err)
	require.Contains(t, page.Text("main"), s.Ends[0].State[0].Capacity.Format(units.US, -1))
}
