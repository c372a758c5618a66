package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// waitsFor is what the list says that a pour still needs, by the address it leads to.
func waitsFor(a *webtest.Answer) map[string]string {
	out := map[string]string{}
	for _, n := range a.Select("td.needs a") {
		out[strings.TrimSpace(webtest.Text(n)[1:])] = webtest.Attr(n, "href")
	}
	return out
}

// A pour of 97 hours ago: its set of 4 days is due within 3 h either way of 96 h, that
// of 28 days comes.
func TestTheListSaysWhatEachPourNeeds(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.cast(97, "1N-1")
	p.cast(30*24, "1N-2") // 28 d and 20 h is past
	c := p.Role(authz.Manager)
	base := p.Path("pours")
	path := func(parts ...string) string { return p.Path(append([]string{"pours", "1"}, parts...)...) }

	got := waitsFor(c.Get(base + "?show=due").Status(200))
	require.Equal(t, path("curing"), got["no curing readings"])
	require.Equal(t, path("curing")+"#end-of-curing", got["end of curing at 1N-1"])
	require.Equal(t, p.Path("laboratory", "specimens", "P001-01"), got["6 specimens to demold"])
	require.Equal(t, p.Path("laboratory")+"#now", got["3 breaks due now"])
	require.Equal(t, path()+"#strength", got["3 breaks to come"])
	require.Equal(t, p.Path("laboratory", "pours", "1"), got["28-day verdict"])
	require.Equal(t, p.Path("ends", "1N-1", "gates", "strip"), got["not decided at 1N-1: strip the form"])
	require.NotContains(t, got, "not decided at 1N-1: return to traffic", "it is waited for once the first gate is passed")

	late := waitsFor(c.Get(base + "?show=late").Status(200))
	require.Equal(t, p.Path("laboratory")+"#late", late["6 late breaks"])
	require.NotContains(t, late, "3 breaks due now")
	require.Len(t, c.Get(base+"?show=waiting").Select("tbody tr"), 2)
	first := func(query string) string { return webtest.Text(c.Get(base + query).Status(200).Select("tbody th")[0]) }
	require.Equal(t, "Pour 1", first(""))
	require.Equal(t, "Pour 2", first("?order=oldest"))
	require.Equal(t, "Pour 2", first("?order=pressing"), "a late break presses more than one that is due")
	c.Get(base + "?show=review").Status(200).Has("No pour waits for this")
	c.Get(base + "?show=nonsense&order=sideways&page=9").Status(200)

	// A wide spread is held for review, and a nonconformance is named.
	for i, ksi := range []float64{22.5, 22.9, 20.1} {
		p.Do(authz.Laboratory, "1N-1", breakOf([]string{"P001-01", "P001-02", "P001-03"}[i], ago(30*time.Minute), ksi))
	}
	p.Do(authz.Inspector, "1N-1", repair.RaiseNonconformance{Requirement: "cover 1 in", Found: "3/4 in"})
	got = waitsFor(c.Get(base + "?show=review").Status(200))
	require.Equal(t, p.Path("laboratory", "pours", "1"), got["review of the 4 d set of batch 1"])
	require.Equal(t, p.Path("nonconformances", "1"), got["nonconformance 1 at 1N-1"])
	require.Contains(t, waitsFor(c.Get(base+"?show=nonconformance")), "nonconformance 1 at 1N-1")
}

// breakOf is the break of a 3 in cylinder at a strength in ksi.
func breakOf(mark string, at time.Time, ksi float64) repair.RecordBreak {
	w := 3 * units.Inch
	load := units.Force(ksi * float64(units.Ksi) * 3.14159265358979 / 4 * float64(w) * float64(w))
	return repair.RecordBreak{Mark: mark, BrokenAt: at, Load: load, Width: &w, Depth: &w, EndsGround: true}
}
