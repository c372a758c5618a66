package drawing

import (
	"bytes"
	"context"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/a-h/templ"
	"github.com/andybalholm/cascadia"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
	"endcast/static"
)

func render(t testing.TB, c templ.Component) (string, *html.Node) {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, c.Render(context.Background(), &b))
	doc, err := html.Parse(bytes.NewReader(b.Bytes()))
	require.NoError(t, err)
	return b.String(), doc
}

func find(doc *html.Node, selector string) []*html.Node {
	return cascadia.QueryAll(doc, cascadia.MustCompile(selector))
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func text(n *html.Node) string {
	if n.Type == html.TextNode {
		return n.Data
	}
	var b strings.Builder
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		b.WriteString(text(c))
	}
	return b.String()
}

// every is one of each drawing, with all that it can show.
func every() map[string]templ.Component {
	turned := sampleEnd()
	turned.View, turned.TrueView, turned.Status, turned.System = RightFace, true, nil, units.SI
	other := *turned.Design
	other.Studs = append([]encasement.Stud(nil), other.Studs...)
	other.Studs[20].Z += 40
	other.Studs[21].Mark = "R-9-9"
	turned.Overlay, turned.OverlayRevision, turned.Revision = &other, "A", "B"
	return map[string]templ.Component{
		"plan": Plan(viaduct()), "bars": Plan(longBridge(60, 12)), "end": End(sampleEnd()), "turned": End(turned),
		"capacity": CapacityBars(CapacityData{Kind: units.Forces, Rows: []CapacityRow{{"As new", 9e5, 5e5, calc.Passes}, {"Now", 3e5, 5e5, calc.Fails}, {"Odd", 0, 1, calc.Outside}, {"Shown", 4e5, 1e5, calc.Informs}}}),
		"steps":    StepBars(StepBarsData{Steps: []StepCount{{"DES", "Design", "/s", 2, 6, 1, 1}, {"CST", "Cast", "", 0, 0, 0, 0}}}),
		"line": Line(LineData{Series: []Series{{Name: "a", Dots: true, Points: []Point{{1, 2}, {2, 3}}, Band: []Spread{{1, 1, 3}, {2, 2, 4}}}, {Name: "b", Dashed: true, Points: []Point{{1, 2}, {2, 3}}}},
			Levels: []Rule{{2.5, "limit"}}, Dates: []Rule{{1.5, "today"}}}),
	}
}

// What a strict content policy forbids, and what a reader without eyes needs.
func TestEveryDrawing(t *testing.T) {
	t.Parallel()
	for name, c := range every() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			out, doc := render(t, c)
			again, _ := render(t, c)
			require.Equal(t, out, again)
			require.Empty(t, find(doc, "[style], script, style, foreignObject, image"))
			require.NotRegexp(t, regexp.MustCompile(`\s(?i:on)\w+=|NaN|\bInf\b|javascript:`), out)
			svg := find(doc, "figure.dwg > .dwg-scroll > svg")
			require.Len(t, svg, 1+len(find(doc, ".dwg-narrow")))
			for _, key := range []string{"aria-labelledby", "aria-describedby"} {
				require.NotEmpty(t, text(find(doc, "#"+attr(svg[0], key))[0]))
			}
			links := find(doc, "svg a")
			require.Equal(t, len(links) == 0, attr(svg[0], "role") == "img")
			for _, a := range links {
				require.NotEmpty(t, attr(a, "aria-label"))
				require.NotEmpty(t, attr(a, "href"))
			}
			ids := map[string]bool{}
			for _, e := range find(doc, "[id]") {
				require.False(t, ids[attr(e, "id")], attr(e, "id"))
				ids[attr(e, "id")] = true
			}
			for _, m := range regexp.MustCompile(`url\(#([^)]+)\)`).FindAllStringSubmatch(out, -1) {
				require.True(t, ids[m[1]], m[1])
			}
			require.NotEmpty(t, text(find(doc, "figcaption")[0]))
		})
	}
}

// Every class that a drawing writes is known to the style sheet, and the sheet
// takes its colors from the tokens.
func TestStyleSheet(t *testing.T) {
	t.Parallel()
	css, err := static.Read("css/drawing.css")
	require.NoError(t, err)
	require.NotRegexp(t, regexp.MustCompile(`#[0-9a-fA-F]{3,8}\b|rgb\(|hsl\(`), string(css))
	known := map[string]bool{
		// Groups and states that are drawn as their neighbors are.
		"loss": true, "cell": true, "studs": true, "behind": true, "section": true, "dwg-plan": true, "dwg-end": true, "dwg-chart": true,
		"blind": true, "band-0": true, "on-0": true, "on--1": true, "stud-designed": true, "s-0": true, "informs": true, "part-paper": true, "part-steel": true, "part-access": true,
	}
	for _, m := range regexp.MustCompile(`\.([a-zA-Z][\w-]*)`).FindAllStringSubmatch(string(css), -1) {
		known[m[1]] = true
	}
	for name, c := range every() {
		_, doc := render(t, c)
		for _, e := range find(doc, "[class]") {
			for _, class := range strings.Fields(attr(e, "class")) {
				if !strings.HasPrefix(class, "name-") {
					require.True(t, known[class], "%s writes .%s", name, class)
				}
			}
		}
	}
}

func TestPlanRendered(t *testing.T) {
	t.Parallel()
	_, doc := render(t, Plan(viaduct()))
	links := find(doc, "svg a.end")
	require.Len(t, links, 58)
	faces := find(doc, "svg g[role=group]")
	require.Len(t, faces, 10)
	require.Equal(t, "Abutment 1, ahead face", attr(faces[0], "aria-label"))
	for _, a := range links {
		require.Equal(t, text(find(a, "title")[0]), attr(a, "aria-label"))
		require.Empty(t, find(a, "text"))
		r, err := strconv.ParseFloat(attr(find(a, "circle.hit")[0], "r"), 64)
		require.NoError(t, err)
		require.GreaterOrEqual(t, 2*r, leastTarget)
		// Shape, letter and color class tell the phase, each by itself.
		shape := find(a, "path.ph")[0]
		require.NotEmpty(t, attr(shape, "d"))
		over := a.NextSibling
		for over.Type != html.ElementNode {
			over = over.NextSibling
		}
		letter := find(over, "text.ph-letter")[0]
		require.Len(t, text(letter), 1)
		require.Equal(t, strings.TrimPrefix(attr(shape, "class"), "ph "), strings.TrimPrefix(attr(letter, "class"), "ph-letter "))
	}
	require.Len(t, find(doc, "svg a .tag-critical"), 1)
	require.Equal(t, "#ends", attr(find(doc, "a.dwg-skip")[0], "href"))
	require.Len(t, find(doc, ".dwg-legend li"), 8+6)
}

func TestEndRendered(t *testing.T) {
	t.Parallel()
	d := sampleEnd()
	_, doc := render(t, End(d))
	svg := find(doc, ".dwg-scroll > svg")[0]
	number := func(e *html.Node, key string) float64 {
		v, err := strconv.ParseFloat(attr(e, key), 64)
		require.NoError(t, err)
		return v
	}
	scale, ox, oz, flip := number(svg, "data-scale"), number(svg, "data-origin-x"), number(svg, "data-origin-z"), number(svg, "data-flip")
	studs := find(doc, "g.studs > g.stud")
	require.Len(t, studs, 32)
	place := regexp.MustCompile(`^translate\(([-\d.]+) ([-\d.]+)\)$`)
	for _, s := range studs {
		m := place.FindStringSubmatch(attr(s, "transform"))
		require.NotNil(t, m)
		x, _ := strconv.ParseFloat(m[1], 64)
		y, _ := strconv.ParseFloat(m[2], 64)
		require.InDelta(t, number(s, "data-x"), flip*(x-ox)/scale, 0.05)
		require.InDelta(t, number(s, "data-z"), (oz-y)/scale, 0.05)
	}
	require.Len(t, find(doc, "g.cell"), len(d.Survey.Readings))
	require.Len(t, find(doc, `.stud-rejected[data-mark="L-2-3"]`), 1)
	require.Len(t, find(doc, "path.hole-cross"), 1)
	require.Len(t, find(doc, "rect.panel-line[data-width='609.5999999999999'], rect.panel-line[data-width='609.6']"), 1)
	require.Contains(t, text(find(doc, "desc")[0]), "least web 0.215\u00a0in")
}

// Names come from people: they are text, never markup, and never break out of an
// attribute, an id or an address.
func TestHostileNames(t *testing.T) {
	t.Parallel()
	evil := `"><script>alert(1)</script><svg onload='x'>&`
	d := viaduct()
	d.ID, d.Title, d.SkipTo = evil, evil, evil
	d.Supports[1].Code, d.Supports[1].Name = evil, evil
	d.Ends[0].Href, d.Ends[0].Step, d.Ends[0].Why = "javascript:alert(1)", evil, evil
	d.Ends[1].Name.Span = 99
	d.Ends[1].Href = "javascript:alert(1)"
	e := sampleEnd()
	e.ID, e.Title, e.Support, e.Revision, e.OverlayRevision = evil, evil, evil, evil, evil
	e.Geometry.Section.Name = evil
	e.Design.Studs[0].Mark = evil
	e.Design.Studs[1].Face = survey.Face(evil)
	e.Overlay = e.Design
	for name, c := range map[string]templ.Component{"plan": Plan(d), "end": End(e),
		"capacity": CapacityBars(CapacityData{ID: evil, Title: evil, Rows: []CapacityRow{{Label: evil, Capacity: 1, Demand: 2}}}),
		"steps":    StepBars(StepBarsData{ID: evil, Title: evil, Steps: []StepCount{{Code: evil, Name: evil, Href: "javascript:alert(1)", Free: 1}}}),
		"line":     Line(LineData{ID: evil, Title: evil, XLabel: evil, YLabel: evil, Series: []Series{{Name: evil, Points: []Point{{0, 1}}}}, Levels: []Rule{{1, evil}}, Dates: []Rule{{0, evil}}}),
	} {
		out, doc := render(t, c)
		require.Empty(t, find(doc, "script, [onload]"), name)
		require.NotContains(t, out, "<script", name)
		require.NotContains(t, out, `href="javascript`, name)
		require.Contains(t, out, "&lt;script&gt;", name)
	}
}

func TestNumbers(t *testing.T) {
	t.Parallel()
	for v, want := range map[float64]string{0: "0", 1: "1", -0.001: "0", 1.005: "1", 12.345: "12.35", -3.5: "-3.5", 1e6: "1000000", math.Inf(1): "0"} {
		require.Equal(t, want, n(v), v)
	}
	require.Equal(t, "0", n(math.NaN()))
	require.Equal(t, "M1-2L3 4Z", new(pen).move(1, -2).to(3, 4).close().String())
	require.Equal(t, "plan-1", ident("-1", "plan"))
	require.Equal(t, "a-b", ident("a-b<", "plan"))
	require.Equal(t, "abc…", clip("abcdef", 4))
}

func BenchmarkPlan58(b *testing.B)   { benchmark(b, Plan(viaduct())) }
func BenchmarkPlan600(b *testing.B)  { benchmark(b, Plan(longBridge(30, 10))) }
func BenchmarkPlanBars(b *testing.B) { benchmark(b, Plan(longBridge(100, 12))) }
func BenchmarkEnd(b *testing.B)      { benchmark(b, End(sampleEnd())) }
func BenchmarkLineLayout(b *testing.B) {
	d := LineData{Series: []Series{{Name: "a"}}}
	for i := range 500 {
		d.Series[0].Points = append(d.Series[0].Points, Point{float64(i), math.Sin(float64(i) / 50)})
	}
	benchmark(b, Line(d))
}

func benchmark(b *testing.B, c templ.Component) {
	var out bytes.Buffer
	b.ReportAllocs()
	for b.Loop() {
		out.Reset()
		if err := c.Render(context.Background(), &out); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Len()), "bytes/page")
}
