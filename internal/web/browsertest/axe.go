package browsertest

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

//go:embed testdata/vendor/axe-core/axe.min.js
var axe string

// Axe checks the page against the rules of WCAG 2.2 level A and AA that axe-core
// can check, and fails the test for each it finds broken. The script is evaluated
// from outside, so the content policy of the page stays as it is.
func (p *Page) Axe(t testing.TB) {
	t.Helper()
	require.Empty(t, p.Violations(), "accessibility of %s", p.Path())
}

// AxeOnColors checks the rules of color alone, for a page whose other rules were
// checked on another ground: nothing but its colors differs there.
func (p *Page) AxeOnColors(t testing.TB) {
	t.Helper()
	require.Empty(t, p.broken(`["cat.color"]`, false), "colors of %s", p.Path())
}

// Violations lists the rules that the page breaks, each with the elements that do.
func (p *Page) Violations() []string {
	p.t.Helper()
	return p.broken(`["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]`, true)
}

func (p *Page) broken(tags string, sizes bool) []string {
	p.t.Helper()
	if !Eval[bool](p, `"axe" in window`) {
		Eval[bool](p, axe+"; true")
	}
	type node struct {
		Target  []string `json:"target"`
		Summary string   `json:"failureSummary"`
	}
	type violation struct {
		ID    string `json:"id"`
		Help  string `json:"help"`
		Nodes []node `json:"nodes"`
	}
	broken := Eval[[]violation](p, `axe.run(document, {
		runOnly: `+tags+`,
		rules: {"target-size": {enabled: `+strconv.FormatBool(sizes)+`}}, // off by default, though WCAG 2.2 AA asks for it
		preload: false, // style sheets of other origins: there are none
		resultTypes: ["violations"],
	}).then(r => r.violations.map(v => ({id: v.id, help: v.help,
		nodes: v.nodes.map(n => ({target: n.target.map(String), failureSummary: n.failureSummary}))})))`)
	var out []string
	for _, v := range broken {
		for _, n := range v.Nodes {
			out = append(out, fmt.Sprintf("%s (%s): %s: %s", v.ID, v.Help, strings.Join(n.Target, " "), oneLine(n.Summary)))
		}
	}
	return out
}
