package static_test

import (
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/static"
)

func ask(path string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	static.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w
}

func TestFilesAreKeptForEverUnderTheirHashOnly(t *testing.T) {
	t.Parallel()
	for name, kind := range map[string]string{"app.css": "text/css", "js/app.js": "text/javascript", "img/mark.svg": "image/svg+xml",
		"vendor/archivo-5.3.0/archivo-latin-wdth-normal.woff2": "font/woff2"} {
		w := ask(static.Path(name))
		require.Equal(t, http.StatusOK, w.Code, name)
		require.Contains(t, w.Header().Get("Content-Type"), kind)
		require.Contains(t, w.Header().Get("Cache-Control"), "immutable")
		old := ask(static.Prefix + "0123456789ab/" + name)
		require.Equal(t, http.StatusOK, old.Code, "a page from before an upgrade still finds its files")
		require.Equal(t, "no-store", old.Header().Get("Cache-Control"))
	}
}

func TestNothingElseIsServed(t *testing.T) {
	t.Parallel()
	for _, path := range []string{"/static/", "/static/x", static.Path(""), static.Path("css"), static.Path("../static.go"), static.Path("js/../js/app.js"),
		static.Path("vendor/archivo-5.3.0/SHA256SUMS"), static.Path("nothing.css")} {
		require.Equal(t, http.StatusNotFound, ask(path).Code, path)
	}
}

func TestStyleSheetIsJoinedInOrder(t *testing.T) {
	t.Parallel()
	css := ask(static.Path("app.css")).Body.String()
	tokens, base, paper := strings.Index(css, "--paper:"), strings.Index(css, "box-sizing"), strings.Index(css, "@media print")
	require.True(t, tokens >= 0 && tokens < base && base < paper, "%d %d %d", tokens, base, paper)
}

// A color of its own in a style sheet would not follow the dark ground.
func TestColorsAreNamedInOnePlace(t *testing.T) {
	t.Parallel()
	b, err := static.Read("app.css")
	require.NoError(t, err)
	_, rest, found := strings.Cut(string(b), ".field { --target")
	require.True(t, found)
	screen, _, found := strings.Cut(rest, "@media print")
	require.True(t, found)
	require.Empty(t, regexp.MustCompile(`#[0-9a-fA-F]{3,8}\b|\brgba?\(|\bhsla?\(|\boklch\(`).FindAllString(screen, -1))
}

func TestFilesNamedInStyleSheetExist(t *testing.T) {
	t.Parallel()
	b, err := static.Read("app.css")
	require.NoError(t, err)
	found := regexp.MustCompile(`url\("([^"]+)"\)`).FindAllStringSubmatch(string(b), -1)
	require.NotEmpty(t, found)
	for _, m := range found {
		require.Equal(t, http.StatusOK, ask(static.Path(m[1])).Code, m[1])
	}
}
