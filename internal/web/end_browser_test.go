package web_test

import (
	"testing"

	"endcast/internal/domain/authz"
)

func TestEndPageInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Contractor)
	p.Look(page, p.Path("ends", "1F-2"), "end-bare")
	p.approved("1N-1")
	p.fill("1N-1")
	cleaned := asFound(0.7)
	cleaned.Facts.Kind = "cleaned"
	p.Do(authz.Inspector, "1N-1", cleaned)
	p.Look(page, p.Path("ends", "1N-1"), "end-full")
}
