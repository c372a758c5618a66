package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
)

func TestBoardTellsWhereTheProgramStands(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.underClosure("1N-1", "ramp closure")
	p.season("ramp closure", "used", "lost", "used")
	p.Do(authz.Inspector, "1N-1", asFound(0.6))
	for _, role := range authz.Roles() {
		p.Role(role).Get(p.Path("board")).Status(200).Has("0 of 4 ends are closed, 4 are open", "Open ends by step", "Burn-down", "Ramp closure", "Quantities")
	}
	manager := p.Role(authz.Manager)
	manager.Get(p.Path("ends")+"?counted=left|CLN").Status(200).Has("1N-1", "still to go through: cleaned")
	manager.Get(p.Path("ends") + "?counted=past|CLN").Status(200).Has("No end meets these conditions")
	manager.Get(p.Path("nonconformances") + "?show=all&cause=").Status(200).Has("by cause: not said yet")
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestBoardLooksRight(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.underClosure("1N-1", "ramp closure")
	p.season("ramp closure", "used", "lost", "used")
	p.Do(authz.Inspector, "1N-1", asFound(0.6))
	page := p.Browser(authz.Manager)
	p.Look(page, p.Path("board"), "board")
	for _, w := range []int{1920, 390} {
		page.SetViewport(w, 1080)
		require.Equal(t, 200, page.Open(p.Path("board")))
		require.Empty(t, page.Overflows())
	}
}
