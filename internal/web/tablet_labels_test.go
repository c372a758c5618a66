package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/webtest"
)

func TestLabelsOfAllEndsOrOfALine(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	a := p.Role(authz.Manager).Get(p.Path("labels")).Status(200).Has("Abutment 1, ahead face", webtest.Base+p.Path("tablet", "at", "1N-1"))
	require.Len(t, a.Select("li.qr-label svg.qr path"), 4)
	a = p.Role(authz.Manager).Get(p.Path("labels")+"?line=1F").Status(200).Has("1F-1", "1F-2").Lacks(">1N-1<")
	require.Len(t, a.Select("li.qr-label"), 2)
	p.Role(authz.Manager).Get(p.Path("labels") + "?line=9N").Status(404)
	p.Role(authz.Manager).Get(p.Path("tablet", "at", "1F-2")).Status(303).LeadsTo(p.Path("ends", "1F-2"))
	p.Role(authz.Inspector).Get(p.Path("tablet", "at", "9F-2")).Status(404)
}

func TestLabelsInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Inspector)
	p.Look(page, p.Path("labels"), "labels")
	keep(t, "labels.pdf", page.PDF(true))
}
