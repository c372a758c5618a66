package ui_test

import (
	"strings"
	"testing"

	"github.com/a-h/templ"
	"github.com/andybalholm/cascadia"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

func draw(t *testing.T, c templ.Component) *html.Node {
	t.Helper()
	var b strings.Builder
	require.NoError(t, c.Render(t.Context(), &b))
	n, err := html.Parse(strings.NewReader(b.String()))
	require.NoError(t, err)
	return n
}

func attr(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func one(t *testing.T, n *html.Node, selector string) *html.Node {
	t.Helper()
	found := cascadia.QueryAll(n, cascadia.MustCompile(selector))
	require.Len(t, found, 1, selector)
	return found[0]
}

func TestFieldKeepsWhatWasTypedAndTiesItsReason(t *testing.T) {
	t.Parallel()
	const typed = `3/8"<script>`
	var bad fault.Invalid
	bad.Add("web", typed, "web must be a length, got 3/8\"<script>")
	f := ui.Field{Name: "web", Label: "Web", Hint: "At the bearing.", Unit: "in", InputMode: "decimal", Value: "0.5"}
	n := draw(t, ui.FieldView(f.With(&bad)))
	in := one(t, n, "input")
	require.Equal(t, typed, attr(in, "value"))
	require.Equal(t, "true", attr(in, "aria-invalid"))
	require.Equal(t, "decimal", attr(in, "inputmode"))
	require.Equal(t, "true", attr(in, "aria-required"))
	for _, id := range strings.Fields(attr(in, "aria-describedby")) {
		one(t, n, "#"+id)
	}
	require.Len(t, strings.Fields(attr(in, "aria-describedby")), 2)
	require.Equal(t, attr(in, "id"), attr(one(t, n, "label"), "for"))
	require.Empty(t, cascadia.QueryAll(n, cascadia.MustCompile("script")))

	n = draw(t, ui.FieldView(f.With(nil)))
	require.Equal(t, "0.5", attr(one(t, n, "input"), "value"))
	require.Empty(t, attr(one(t, n, "input"), "aria-invalid"))
}

func TestPasswordIsNeverShownBack(t *testing.T) {
	t.Parallel()
	var bad fault.Invalid
	bad.Add("password", "secret words", "too short")
	n := draw(t, ui.FieldView(ui.Field{Name: "password", Label: "Password", Type: "password"}.With(&bad)))
	require.Empty(t, attr(one(t, n, "input"), "value"))
}

func TestListAndTextOfSeveralLines(t *testing.T) {
	t.Parallel()
	n := draw(t, ui.FieldView(ui.Field{Name: "s", Label: "Steel", Value: "b", Options: []ui.Option{{Value: "a", Label: "A"}, {Value: "b", Label: "B"}}}))
	require.Equal(t, "b", attr(one(t, n, "option[selected]"), "value"))
	n = draw(t, ui.FieldView(ui.Field{Name: "r", Label: "Remarks", Value: "two\nlines", Rows: 4, Optional: true}))
	require.Equal(t, "two\nlines", one(t, n, "textarea").FirstChild.Data)
	require.Empty(t, attr(one(t, n, "textarea"), "aria-required"))
}

func TestSummaryLeadsToFields(t *testing.T) {
	t.Parallel()
	require.Empty(t, cascadia.QueryAll(draw(t, ui.ErrorSummary(nil)), cascadia.MustCompile("#errors")))
	var bad fault.Invalid
	require.Empty(t, cascadia.QueryAll(draw(t, ui.ErrorSummary(&bad)), cascadia.MustCompile("#errors")))
	bad.Add("web", "", "web is needed")
	bad.Add("depth", "x", "depth must be a length")
	n := draw(t, ui.ErrorSummary(&bad))
	links := cascadia.QueryAll(n, cascadia.MustCompile("#errors a"))
	require.Len(t, links, 2)
	require.Equal(t, "#f-web", attr(links[0], "href"))
	require.Equal(t, "Web is needed.", links[0].FirstChild.Data)
}

// Each state must be told apart without color: by shape and by letter.
func TestStatesDifferInShapeAndLetter(t *testing.T) {
	t.Parallel()
	seen := map[string]ui.State{}
	for _, s := range []ui.State{ui.Good, ui.Caution, ui.Stop, ui.Wait, ui.Open, ui.Active, ui.Void} {
		n := draw(t, ui.StateMark(ui.Mark{State: s, Text: "word"}))
		letter := one(t, n, "svg text").FirstChild.Data
		shape := one(t, n, "svg > :not(text)")
		key := attr(shape, "d") + attr(shape, "class") + shape.Data
		for _, mark := range []string{"letter " + letter, "shape " + key} {
			require.NotContains(t, seen, mark, "%s looks like %s", s, seen[mark])
			seen[mark] = s
		}
	}
}

func TestEntryNumbersDifferAndAreKeptOnAsking(t *testing.T) {
	t.Parallel()
	a, b := ui.NewEntry(), ui.NewEntry()
	require.NotEqual(t, a, b)
	require.Equal(t, byte('7'), a[14], "version 7, in order of time")
	require.Equal(t, a, attr(one(t, draw(t, ui.EntryFieldOf(a)), "input"), "value"))
	require.NotEmpty(t, attr(one(t, draw(t, ui.EntryFieldOf("")), "input"), "value"))
}

func TestAddressesOfScriptsAreNotFollowed(t *testing.T) {
	t.Parallel()
	n := draw(t, ui.Layout(ui.Page{Title: "T", Crumbs: []ui.Crumb{{Label: "x", Href: "javascript:alert(1)"}}}))
	require.NotContains(t, attr(one(t, n, ".crumbs a"), "href"), "javascript")
}

func TestSentence(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{"": "", "web is needed": "Web is needed.", "Done.": "Done.", "élan": "Élan."} {
		require.Equal(t, want, ui.Sentence(in))
	}
}
