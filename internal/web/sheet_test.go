package web_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

func TestSheetAgreesWithTheStoredResult(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	path := p.Path("ends", "1N-1", "sheet")
	for _, role := range authz.Roles() {
		p.Role(role).Get(path).Status(200).Has("agrees with the stored result")
	}
	a := p.Role(authz.Engineer).Get(path)
	a.Has("A licensed engineer", "Local codes", "load rating, invented", "mill certificate, invented", "AISC shapes database", "As corroded", "Repaired as designed", "As new", "from memory", "How this sheet was made")
	require.NotEmpty(t, a.Select(".check math"))
	require.Empty(t, a.Select("[style]"))
	r := p.End("1N-1")
	a.Has(r.State[0].InputDigest, r.State[0].Capacity.Format(units.US, -1))
	p.Role(authz.Engineer).Get(path+"?units=si").Has(r.State[0].Capacity.Format(units.SI, -1), "Read in US customary")

	// The check that governs comes first in its part.
	first := a.Select("section.part")[0]
	require.Contains(t, webtest.Text(first), "As corroded")
	require.Contains(t, webtest.Text(a.Select("section.part .check h3")[0]), r.State[0].Governing)

	// Somebody changes what is stored behind the program's back: the sheet says so.
	_, err := p.Pool.Exec(t.Context(), "update result set capacity_n = capacity_n * 1.5 where subject = 'corroded'")
	require.NoError(t, err)
	p.Role(authz.Engineer).Get(path).Status(200).Has("does not agree with the stored result", "As corroded: stored capacity").Lacks("agrees with the stored result to")
}

func TestOutsideTheMethodNeverLooksLikeAPass(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	gone := asFound(0.3)
	gone.Facts.WebDeviation = 25
	gone.Holes = []repair.HoleIn{{X: 0, Z: 25, Width: 6 * units.Inch, Height: 60}}
	p.Do(authz.Inspector, "1N-2", gone)
	a := p.Role(authz.Manager).Get(p.Path("ends", "1N-2", "sheet")).Status(200)
	outside := a.Select(".check.outside")
	all := a.Select(".check")
	require.NotEmpty(t, all)
	for _, n := range outside {
		text := webtest.Text(n)
		require.Contains(t, text, "This is not a pass")
		require.NotContains(t, text, "The check passes")
		require.True(t, strings.Contains(text, "not met"), text)
	}
	for _, n := range a.Select(".limits .mark.caution") {
		require.Contains(t, webtest.Text(n), "not met")
	}
	require.NotEmpty(t, a.Select(".limits .mark.caution"))
}

func TestSheetInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-2", asFound(0.5))
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("ends", "1N-2", "sheet"), "sheet") // the shortest one: the checker is slow on a long page
	p.approved("1N-1")
	p.fill("1N-1")
	require.Equal(t, 200, page.Open(p.Path("ends", "1N-1", "sheet")))
	require.Empty(t, page.Overflows())
	page.Screenshot("sheet-whole")
	for name, letter := range map[string]bool{"letter": true, "a4": false} {
		pdf := page.PDF(letter)
		require.Equal(t, "%PDF", string(pdf[:4]))
		pages := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1))
		require.Positive(t, pages)
		require.LessOrEqual(t, pages, 14, "an engineer reads the sheet through")
		keep(t, "sheet-"+name+".pdf", pdf)
	}
}

// A loose page says what it is of; the text comes from the record and cannot end
// the style sheet's string.
func TestRunningHeadOfThePaper(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	a := p.Role(authz.Manager).Get(p.Path("ends", "1N-1", "sheet", "paper.css")).Status(200)
	require.Equal(t, "text/css; charset=utf-8", a.Response.Header.Get("Content-Type"))
	css := a.Body
	require.Contains(t, css, "@page calc")
	require.Contains(t, css, "calculation sheet 1N-1")
	require.Equal(t, 4, strings.Count(css, `"`), "two strings and nothing that ends them")
	p.Role(authz.Manager).Get(p.Path("ends", "9N-9", "sheet", "paper.css")).Status(404)
}

func TestSheetListsWhatItStandsOn(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	a := p.Role(authz.Engineer).Get(p.Path("ends", "1N-1", "sheet")).Status(200)
	for _, id := range []string{"answer", "inputs", "sources", "symbols", "basis", "made"} {
		require.Len(t, a.Select("#"+id), 1, id)
	}
	a.Has("AASHTO LRFD BDS", "D6.5.3", "resistance factor", "counts here", "Last entry of the journal")
	require.NotEmpty(t, a.Select(".symbols math"))

	// Every setting that is listed was read, and a changed one says who set it.
	before := len(a.Select(".settings-read tbody tr"))
	require.Positive(t, before)
	require.Less(t, before, len(basis.Definitions()))
	p.DoProgram(authz.Engineer, repair.EditBasis{Key: string(basis.WebPhiCrippling), Value: 0.75, Typed: "0.75", Source: "owner's bridge manual, invented"})
	b := p.Role(authz.Engineer).Get(p.Path("ends", "1N-1", "sheet")).Status(200)
	b.Has("Settings of the design basis that the owner changed", "bridge manual, invented")
	require.Len(t, b.Select(".settings-read tbody tr"), before)

	// What is printed as results only has its working behind a fold, or in full when asked.
	require.NotEmpty(t, a.Select("details.working .check"))
	whole := p.Role(authz.Engineer).Get(p.Path("ends", "1N-1", "sheet") + "?whole").Status(200)
	require.Empty(t, whole.Select("details.working"))
}

// The demand by statics stands on the sheet with its parts, who entered them, and
// the sum that the checks take; the rating and what time does follow the checks.
func TestSheetWorksOutTheDemand(t *testing.T) {
	t.Parallel()
	p := fiveGirders(t)
	p.loaded()
	path := p.Path("ends", "2N-2", "sheet")
	require.Empty(t, p.Role(authz.Manager).Get(path).Status(200).Select("#demand"), "a total by hand needs no working")
	p.Do(authz.Engineer, "2N-2", repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByStatics, Source: "statics of May, invented"}})
	p.Do(authz.Inspector, "2N-2", asFound(0.5))
	a := p.Role(authz.Manager).Get(path).Status(200).Has("agrees with the stored result", "worked out below", "statics of May, invented", "Concrete deck", "sheet 12, invented", "tributary")
	require.Len(t, a.Select("#demand"), 1)
	r := p.End("2N-2")
	d := r.Factored(p.Scope("2N-2"))
	require.Empty(t, d.Problem)
	require.Contains(t, webtest.Text(a.Select("section[aria-labelledby=demand]")[0]), strings.ReplaceAll(d.Factored.Format(units.US, -1), "\u00a0", " "))
	require.NotEmpty(t, a.Select("section[aria-labelledby=demand] math"))
	rating := webtest.Text(a.Select("section[aria-labelledby=rating]")[0])
	require.Contains(t, rating, "HL-93")
	for _, id := range []string{"chance", "fall", "stages"} {
		require.Len(t, a.Select("#"+id), 1, id)
	}

	// A rating that was changed behind the program's back is told.
	_, err := p.Pool.Exec(t.Context(), `update outlook set rating = regexp_replace(rating::text, '"least":[0-9.eE+-]+', '"least":9.75')::json`)
	require.NoError(t, err)
	p.Role(authz.Manager).Get(path).Status(200).Has("does not agree with the stored result", "the stored rating is not the one computed now")
}

// A rule does not know its reader; the sheet does.
func TestSheetSpeaksInTheUnitsOfItsReader(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	path := p.Path("ends", "1N-1", "sheet")
	words := func(a *webtest.Answer) string {
		var b strings.Builder
		for _, what := range []string{".limits", ".words", ".flags", ".chapter p"} {
			for _, n := range a.Select(what) {
				b.WriteString(webtest.Text(n) + "\n")
			}
		}
		return b.String()
	}
	us, si := words(p.Role(authz.Engineer).Get(path+"?units=us")), words(p.Role(authz.Engineer).Get(path+"?units=si"))
	require.NotRegexp(t, `\d[ \x{a0}](mm|MPa|kN)\b`, us)
	require.NotRegexp(t, `\d[ \x{a0}](ksi|kip)\b`, si)
}
