package web_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// notedThen is an end whose revision is approved as noted, with a casting begun to it.
func (p *testProgram) notedThen(end string) {
	p.t.Helper()
	p.submitted(end)
	s := p.Scope(end)
	d := s.Ends[0].LatestDesign()
	p.Do(authz.Engineer, end, repair.ReviewDesign{DesignID: d.ID, Decision: repair.DesignApprovedNoted, Reasons: "cover 2 in at the left", Digest: s.Ends[0].DesignDigest(s, d)})
	p.Do(authz.Contractor, end, repair.OpenPour{StartedAt: ago(time.Minute)})
}

// TestApprovalIsOnEverySheet prints every sheet that somebody works by, and looks for how
// the approval stands, with the moment of the print and the revision.
func TestApprovalIsOnEverySheet(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.notedThen("1N-1")
	end := func(parts ...string) string { return p.Path(append([]string{"ends", "1N-1"}, parts...)...) }
	c := p.Role(authz.Engineer)
	sheets := map[string]string{"calculation sheet": end("sheet"), "stud map": end("collars"), "pour card": p.Path("pours", "1", "card"), "release list": end("release"),
		"batch sheet": p.Path("pours", "quantities", "sheet") + "?end=1N-1"}
	today := time.Now().UTC().Format("2006-01-02")
	check := func(standing, because string, notes bool) {
		t.Helper()
		for name, path := range sheets {
			said := c.Get(path).Status(200).One(".standing")
			require.Contains(t, said, standing, name)
			require.Contains(t, said, "revision 1, approved as noted", name)
			require.Contains(t, said, "Printed ", name)
			require.Contains(t, said, today, name)
			if name == "stud map" {
				said = c.Get(path).One("main")
			}
			require.Contains(t, strings.ToLower(said), strings.ToLower(because), name)
			require.Equal(t, notes, len(c.Get(path).Select(".standing-notes li")) == 1, name)
		}
		for _, path := range []string{end(), end("designs", "1"), end("designs", "1", "review"), end("cleaning"), p.Path("pours", "1")} {
			require.Contains(t, c.Get(path).Status(200).One(".title-block"), standing, "the title block of %s", path)
		}
		label := c.Get(p.Path("labels") + "?line=1N").Status(200).One(".qr-label:first-child .qr-approval")
		require.Contains(t, label, standing+", revision 1.")
		require.Contains(t, label, "Approval on "+today)
	}
	check("in force with notes", "cover 2 in at the left", true)

	found := asFound(0.3)
	found.Facts.Kind = "cleaned"
	found.Readings[19].T -= 0.1 * units.Inch
	p.Do(authz.Inspector, "1N-1", found)
	check("needs a second look", "Build nothing to it before the owner's engineer has decided.", true)
	found.Readings[19].T -= 0.1 * units.Inch
	p.Do(authz.Inspector, "1N-1", found)
	check("out of date", "Survey 2 came, survey 3 came after the approval", true)

	// The document and that of the program say it on paper.
	pdf := c.Post(end("documents", "print"), "kind", repair.PaperCalculation).Status(http.StatusOK)
	if text := textOf(t, []byte(pdf.Body)); text != "" {
		require.Contains(t, text, "out of date revision 1, approved as noted")
		require.Contains(t, text, "Build nothing to it before the owner")
	}
	whole := c.Post(p.Path("documents", "print"), "kind", repair.PaperProgram).Status(http.StatusOK)
	if text := textOf(t, []byte(whole.Body)); text != "" {
		require.Contains(t, text, "out of date, revision 1")
		require.Contains(t, text, "none: this end has no design")
	}
	p.Role(authz.Inspector).Get(p.Path("labels")+"?line=1F").Status(200).Has("Approval on "+today, "none.")
}

func TestApprovalOnPages(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.notedThen("1N-1")
	found := asFound(0.3)
	found.Readings[19].T -= 0.1 * units.Inch
	p.Do(authz.Inspector, "1N-1", found)
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("ends", "1N-1", "collars"), "standing-collars")
	page.Open(p.Path("pours", "1", "card"))
	page.Axe(t)
	keep(t, "standing-card.pdf", page.PDF(true))
	page.Open(p.Path("labels"))
	page.Axe(t)
	keep(t, "standing-labels.pdf", page.PDF(true))
	page.Open(p.Path("ends", "1N-1", "collars"))
	keep(t, "standing-collars.pdf", page.PDF(true))
	require.Empty(t, page.Problems())
}
