package web_test

import (
	"testing"

	"endcast/internal/domain/authz"
)

func TestBridgeListsAndWorkAnswerEveryRole(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.6))
	for _, role := range authz.Roles() {
		c := p.Role(role)
		c.Get(p.Path()).Status(200).Has("Small bridge repairs", "1N-1", "short, ")
		c.Get(p.Path("ends")+"?q=1n&order=oldest&show=open").Status(200).Has("1N-1", "1N-2").Lacks("1F-1")
		c.Get(p.Path("ends") + "?show=short").Status(200).Has("1N-1").Lacks("1N-2")
		c.Get(p.Path("ends") + "?reason=no_such&page=99999999").Status(200).Has("No end meets these conditions")
		c.Get(p.Path("work")).Status(200).Has("0 of 4 ends are closed")
	}
	p.Role(authz.Manager).Get("/p/another").Status(404)
}

func TestBridgePagesLookRight(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.6))
	page := p.Browser(authz.Manager)
	p.Look(page, p.Path(), "bridge")
	p.Look(page, p.Path("ends"), "ends")
	p.Look(page, p.Path("work"), "work")
}
