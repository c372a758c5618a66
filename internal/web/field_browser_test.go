package web_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

// lookField is Look for the sizes of the field: a tablet on its end and a phone.
func (p *testProgram) lookField(page *browsertest.Page, path, name string) {
	p.t.Helper()
	for _, size := range []struct {
		name string
		w, h int
	}{{"tablet", 820, 1180}, {"phone", 390, 844}} {
		for _, ground := range []string{"light", "dark"} {
			page.SetViewport(size.w, size.h)
			page.SetDark(ground == "dark")
			require.Equal(p.t, http.StatusOK, page.Open(path), path)
			page.Screenshot(name + "-" + size.name + "-" + ground)
			page.Axe(p.t)
			require.Empty(p.t, page.Overflows(), "%s on a %s", path, size.name)
			require.Empty(p.t, p.small(page), "%s on a %s: under 64 px", path, size.name)
		}
	}
	require.Empty(p.t, page.Problems(), path)
}

// small lists what is pressed on a field page and is less than 64 px high. Links
// inside running text and the way back at the head are not pressed in a hurry.
func (p *testProgram) small(page *browsertest.Page) []string {
	return browsertest.Eval[[]string](page, `[...document.querySelectorAll("main :is(button, .button, .tick, .stud-cell, .place-card, .hour, select, textarea, summary, input:not([type=hidden], [type=radio], [type=checkbox]))")]
		.filter(e => e.checkVisibility({contentVisibilityAuto: true}) && e.getBoundingClientRect().height < 63.5).map(e => e.outerHTML.slice(0, 120))`)
}

func TestFieldPagesInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Inspector)
	studs := p.approvedLayout("1N-1")
	p.lookField(page, p.Path("field"), "field-start")
	p.lookField(page, p.Path("field")+"?span=1&side=N", "field-girder")
	p.lookField(page, p.Path("ends", "1N-1", "cleaning"), "cleaning-bare")
	p.lookField(page, p.Path("ends", "1N-2", "collars"), "collars-none")
	p.Do(authz.Inspector, "1N-1", cleanedZones(t))
	p.findings("1N-1", studs)
	p.lookField(page, p.Path("ends", "1N-1", "collars"), "collars-current")
	cleaned := asFound(0.7)
	cleaned.Facts.Kind = "cleaned"
	p.Do(authz.Inspector, "1N-1", cleaned)
	p.Do(authz.Inspector, "1N-1", repair.RaiseNonconformance{Requirement: "Least web over the bearing: 1/4 in", Found: "0.03 in of web left over the bearing after cleaning", Critical: true, Containment: "lane above closed"})
	p.lookField(page, p.Path("ends", "1N-1", "field"), "field-end")
	p.lookField(page, p.Path("ends", "1N-1", "cleaning"), "cleaning")
	p.lookField(page, p.Path("ends", "1N-1", "collars"), "collars")
	p.lookField(page, p.Path("ends", "1N-1", "collars", studs[2].Mark), "stud")
	p.lookField(page, p.Path("ends", "1N-1", "collar-rest")+"?face=R", "rest")
	p.lookField(page, p.Path("ends", "1N-1", "inspections", "new"), "inspection-choice")
	p.lookField(page, p.Path("ends", "1N-1", "inspections", "new")+"?subject=gauges", "inspection")
	p.lookField(page, p.Path("ends", "1N-1", "nonconformances", "new"), "raise")
	engineer := p.Browser(authz.Engineer)
	p.lookField(engineer, p.Path("nonconformances", "1"), "nonconformance")
	p.lookField(engineer, p.Path("ends", "1N-1", "gates", "strip"), "gate")
	p.Look(engineer, p.Path("nonconformances"), "nonconformances")
}

// A stud is rejected in the browser, and what the end carries as welded falls below
// its demand before the inspector's eyes.
func TestRejectedStudLowersWhatTheEndCarries(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	page := p.Browser(authz.Inspector)
	page.SetViewport(820, 1180)
	page.Open(p.Path("ends", "1N-1", "collars"))
	require.Contains(t, page.Text(".field-verdict"), "no stud inspected yet")

	// All of the left face full: asked once more before it is stored.
	require.Equal(t, 200, page.Submit(`a[href$="collar-rest?face=L"]`))
	require.Equal(t, 200, page.Submit(`main form button[type=submit]`))
	require.Equal(t, p.Path("ends", "1N-1", "collars"), page.Path())
	require.Contains(t, page.Text(".field-verdict"), "carries the demand")
	carried := p.capacityOf("1N-1", "as_welded")
	require.Contains(t, page.Text(".bar-row.strong"), carried.Format(units.US, -1))

	// The first of the right face: only what belongs to the outcome is in sight.
	page.Submit("a.go")
	mark := browsertest.Eval[string](page, "decodeURIComponent(location.pathname.split('/').pop())")
	require.Equal(t, "R", p.faceOf(studs, mark))
	seen := func(name string) bool {
		return browsertest.Eval[bool](page, `document.querySelector("[name=`+name+`]").closest(".fld, .clock").checkVisibility()`)
	}
	require.False(t, seen("gap_length"))
	page.Click(`.outcome-tile:has([value=gap])`)
	require.True(t, seen("gap_length"))
	require.False(t, seen("fillet_size"))
	page.Click(`.hour.h3`)
	page.Fill("[name=gap_length]", "1/2")
	page.WaitFor(`document.querySelector("#repairs").innerText.includes("fillet weld at least")`)
	repairs := page.Text("#repairs")
	require.Contains(t, repairs, "9 o'clock", "away from the gap")
	require.Contains(t, repairs, "1.250\u00a0in", "the gap and 3/8 in. past each end: AWS D1.1, read second-hand")
	require.Contains(t, repairs, "0.313\u00a0in", "5/16 in. for a 3/4 in. stud: AWS D1.1, from memory")
	page.Axe(t)

	page.Click(`.outcome-tile:has([value=rejected])`)
	page.Fill("[name=repair]", "blown out")
	require.Equal(t, 200, page.Submit(`button[name=then]`))
	require.NotContains(t, page.Path(), mark, "the next stud comes by itself")
	page.Open(p.Path("ends", "1N-1", "collars"))
	fallen := p.capacityOf("1N-1", "as_welded")
	require.Less(t, float64(fallen), float64(carried))
	require.Contains(t, page.Text(".bar-row.strong"), fallen.Format(units.US, -1))
	require.Contains(t, page.Text(`a.stud-cell[href$="/`+mark+`"]`), "rejected")
	others := repair.RecordCollars{DesignID: studs[0].DesignID}
	for _, st := range studs {
		if st.Face == "R" && st.Mark != mark {
			others.Collars = append(others.Collars, repair.CollarIn{Mark: st.Mark, Outcome: "removed"})
		}
	}
	p.Do(authz.Inspector, "1N-1", others)
	page.Open(p.Path("ends", "1N-1", "collars"))
	require.Contains(t, page.Text(".field-verdict"), "does not carry the demand")
	for i := range others.Collars {
		others.Collars[i].Outcome = "replaced"
	}
	p.Do(authz.Inspector, "1N-1", others)

	// Welded again: the newer finding counts, the older stays.
	page.Open(p.Path("ends", "1N-1", "collars", mark))
	require.Equal(t, "0.5", browsertest.Eval[string](page, `document.querySelector("[name=gap_length]").value`), "the open gap stands in the form")
	page.Click(`.outcome-tile:has([value=replaced])`)
	require.Equal(t, 200, page.Submit(`.send button:last-of-type`))
	require.Contains(t, page.Text(".bar-row.strong"), carried.Format(units.US, -1))
	page.Open(p.Path("ends", "1N-1", "collars", mark))
	require.Equal(t, 2, browsertest.Eval[int](page, `document.querySelectorAll(".findings li").length`))
	require.Contains(t, page.Text(".findings .past"), "blown out")
	require.Empty(t, page.Problems())
}

func (p *testProgram) capacityOf(end, subject string) units.Force {
	p.t.Helper()
	for _, res := range p.End(end).Results {
		if res.Subject == subject {
			return res.Capacity
		}
	}
	require.FailNow(p.t, "no result "+subject)
	return 0
}

func (p *testProgram) faceOf(studs []repair.Stud, mark string) string {
	for _, st := range studs {
		if st.Mark == mark {
			return st.Face
		}
	}
	return ""
}
