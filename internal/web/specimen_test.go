package web_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/web/browsertest"
	"endcast/internal/web/webtest"
)

// broke records the first three specimens of pour 1 with the given loads in kip.
func (p *testProgram) broke(loads ...string) {
	p.t.Helper()
	for i, load := range loads {
		f := typedBreak([]string{"P001-01", "P001-02", "P001-03", "P001-04", "P001-05", "P001-06"}[i])
		f["load"] = load
		p.Role(authz.Laboratory).Post(p.Path("laboratory", "breaks"), pairs(f)...).Status(303)
	}
}

func TestSpecimenFromItsLabelToItsBreak(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(97, "1N-1")
	lab := p.Role(authz.Laboratory)
	at := p.Path("laboratory", "specimens", "P001-01")
	labels := lab.Get(p.Path("laboratory", "labels") + "?pour=1").Status(200)
	labels.Has("P001-01", "P001-06", "field cured", "break at 4 d")
	require.Len(t, labels.Select("svg.qr"), 6)
	lab.Get(p.Path("laboratory", "labels") + "?pour=77").Status(404)

	lab.Get(p.Path("laboratory", "specimens", "p001-01")).Status(200).Has("Age now", "4 d 1 h", "Best broken", "153.4", "machine of at least 191.7")
	lab.Get(p.Path("laboratory", "specimens", "P009-01")).Status(404)
	p.AsIn(p.NewProgram("other"), authz.Laboratory).Get(at).Status(404)

	lab.Post(at+"/demold", "entry", newEntryID(), "demolded_at", "").Status(422).Has("date and time are needed", "errors")
	lab.Post(at+"/demold", "entry", newEntryID(), "demolded_at", box(ago(98*time.Hour))).Status(422).Has("was cast at")
	lab.Post(at+"/demold", "entry", newEntryID(), "demolded_at", box(ago(70*time.Hour))).LeadsTo(at)
	lab.Get(at).Has("Out of its mold")

	f := typedBreak("P001-01")
	f["load"] = "420"
	a := lab.Post(at+"/break", pairs(f)...).Status(422).Has("above the machine&#39;s capacity", f["entry"])
	require.Equal(t, "3.01", webtest.Attr(a.Select("#f-width_2")[0], "value"), "what was typed stays")
	f["load"] = "110.4"
	lab.Post(at+"/break", pairs(f)...).LeadsTo(at)
	lab.Post(at+"/break", pairs(f)...).LeadsTo(at)
	lab.Get(at).Has("110.4", "As broken", "Correct the break")
	lab.Post(at+"/break", pairs(typedBreak("P001-01"))...).Status(http.StatusConflict).Has("a specimen breaks once", "Nothing was changed")

	f = typedBreak("P001-01")
	f["load"] = "111.4"
	lab.Post(at+"/correct", pairs(f)...).Status(422).Has("Say why the entry is corrected")
	f["reason"] = "read from the wrong line of the machine's list"
	lab.Post(at+"/correct", pairs(f)...).LeadsTo(at)
	lab.Get(at).Has("111.4", "read from the wrong line")
	require.InDelta(t, 111.4*4448.2216152605, float64(*p.Scope("1N-1").Specimens[0].Load), 1e-6)

	lost := p.Path("laboratory", "specimens", "P001-02")
	lab.Post(lost+"/lose", "entry", newEntryID(), "lost_why", "").Status(422).Has("Say how the specimen was lost")
	lab.Post(lost+"/lose", "entry", newEntryID(), "lost_why", "mold leaked").LeadsTo(lost)
	lab.Get(lost).Has("lost", "mold leaked").None("form[action$=break]")
	lab.Post(lost+"/break", pairs(typedBreak("P001-02"))...).Status(http.StatusConflict).Has("was lost")
	lab.Get(p.Path("laboratory")).Lacks("break-P001-02")
}

func TestOnlyNamedRolesActOnSpecimens(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(97, "1N-1")
	p.broke("110")
	at := p.Path("laboratory", "specimens", "P001-01")
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(at).Status(200)
		require.Equal(t, role == authz.Laboratory, len(a.Select("form[action$=correct]")) == 1, role)
		require.Equal(t, role == authz.Engineer, len(a.Select("form[action$=exclude]")) == 1, role)
		if role != authz.Engineer {
			p.Role(role).Post(at+"/exclude", "entry", newEntryID(), "excluded_why", "x").Status(403)
		}
		if role != authz.Laboratory {
			p.Role(role).Post(at+"/correct", "entry", newEntryID()).Status(403)
		}
	}
}

// A wide set is held; its mean is shown with and without what is left out; a named
// person's word is on the report.
func TestStrengthReportAndReview(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(97, "1N-1")
	report := p.Path("laboratory", "pours", "1")
	p.Role(authz.Manager).Get(report).Status(200).Has("waits", "P001-06")
	p.broke("105", "110", "118")
	eng := p.Role(authz.Engineer)
	a := eng.Get(report).Status(200).Has("held for review", "nearly blind", "11.71 %")
	require.Len(t, a.Select("form[action$=review]"), 1)
	p.Role(authz.Laboratory).Get(report).None("form[action$=review]")

	sent := []string{"batch", "1", "kind", "cyl_3x6", "curing", "field", "duty", "quality_control", "days", "4", "at", "1"}
	post := func(more ...string) *webtest.Answer {
		return eng.Post(report+"/review", append(append([]string{"entry", newEntryID()}, sent...), more...)...)
	}
	post("verdict", "perhaps", "reason-1", "looked").Status(422).Has("Must be stands or void")
	post("verdict", "stands", "reason-1", "").Status(422).Has("Say what was looked at and found")
	post("verdict", "stands", "reason-1", "ends and alignment looked at, sound").LeadsTo(report)
	eng.Get(report).Has("The set is sound", "done by")
	eng.Get(p.Path("pours", "1")).Has(`<span class="word">reached</span>`, "done by") // what was reviewed counts on every page

	at := p.Path("laboratory", "specimens", "P001-01")
	eng.Post(at+"/exclude", "entry", newEntryID(), "excluded_why", "end chipped").LeadsTo(at)
	eng.Get(report).Has("left out: end chipped", "Mean of all broken, left out ones with it", "2 count", "The set is not complete")
	eng.Post(at+"/return", "entry", newEntryID(), "excluded_why", "the chip was outside the loaded face").LeadsTo(at)
	eng.Get(report).Lacks("left out: end chipped")

	css := eng.Get(report + "/paper.css").Status(200)
	require.Equal(t, "text/css; charset=utf-8", css.Response.Header.Get("Content-Type"))
	css.Has("@page strength", "pour 1")
	eng.Get(p.Path("laboratory", "pours", "9")).Status(404)
}

// What is kept to spare is broken only where another set does not decide, and what was
// lost never: neither is late.
func TestSpareAndLostSpecimensAreNotLate(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(130, "1N-1") // the 4 days are past, the 28 not
	p.Do(authz.Inspector, "1N-1", repair.AddSpecimens{Pour: 1, Sets: []repair.SpecimenSet{{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: 2, Count: 2, Purpose: "spare"}}})
	see := p.Role(authz.Manager)
	see.Get(p.Path("laboratory")).Status(200).Has("P001-01", "2 specimens are kept to spare").Lacks("P001-07")
	see.Get(p.Path("laboratory", "specimens", "P001-07")).Has("to spare")
	for _, mark := range []string{"P001-01", "P001-02", "P001-03"} {
		p.Do(authz.Laboratory, "1N-1", repair.LoseSpecimen{Mark: mark, Why: "mold leaked"})
	}
	a := see.Get(p.Path("pours", "1")).Status(200).Has("to spare", "lost", "mold leaked")
	require.Empty(t, a.Select(".due-lines .mark.stop"), "nothing is late")
	a.Has("every specimen of it was lost").Lacks("late")
	see.Get(p.Path("laboratory", "pours", "1")).Has("Every specimen of it was lost")
	see.Get(p.Path("pours")).Status(200).Has("none broken").Lacks(">late<")
}

func TestAcceptancePage(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	see := p.Role(authz.Manager)
	see.Get(p.Path("strength")).Status(200).Has("No acceptance set is complete yet")
	for range 4 {
		p.cast(28*24+1, "1N-1")
	}
	lab := p.Role(authz.Laboratory)
	for i, loads := range [][]string{{"160", "162", "163"}, {"165", "161", "160"}, {"158", "163", "161"}, {"130", "131", "132"}} {
		var rows []string
		for j, load := range loads {
			rows = append(rows, strings.Replace(tableRow("P00"+string(rune('1'+i))+"-0"+string(rune('4'+j)), ago(10*time.Minute), load+" kip"), "7\tyes", "7\tyes", 1))
		}
		lab.Post(p.Path("laboratory", "table", "record"), "entry", newEntryID(), "table", breakTable(rows...)).LeadsTo(p.Path("laboratory"))
	}
	a := see.Get(p.Path("strength")).Status(200)
	a.Has("not accepted", "P004-1", "closes a low mean", "Required average", "V₁", "not taken as known", "a nonconformance was raised")
	require.Len(t, a.Select("svg.control-chart"), 4)
	require.NotEmpty(t, a.Select("svg .point.low"))
	require.Len(t, a.Select("section table tbody tr"), 4)
}

func TestWeekListHangsBesideTheMachine(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(130, "1F-1") // its 4 days are past
	p.cast(20, "1N-1")  // due within the week
	a := p.Role(authz.Laboratory).Get(p.Path("laboratory", "week")).Status(200)
	a.Has("Late", "P001-01", "P002-03", "the window is past").Lacks("P002-04")
	p.Role(authz.Laboratory).Get(p.Path("laboratory")).Has("Breaks of the week", "age now 19.8 h")
}

func TestLaboratoryPagesInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for range 4 {
		p.cast(28*24+1, "1N-1")
	}
	p.cast(97, "1N-2")
	p.broke("150", "151", "152")
	lab := p.Role(authz.Laboratory)
	for i, loads := range [][]string{{"160", "162", "163"}, {"165", "161", "160"}, {"158", "163", "161"}, {"130", "131", "132"}} {
		var rows []string
		for j, load := range loads {
			rows = append(rows, tableRow("P00"+string(rune('1'+i))+"-0"+string(rune('4'+j)), ago(10*time.Minute), load+" kip"))
		}
		lab.Post(p.Path("laboratory", "table", "record"), "entry", newEntryID(), "table", breakTable(rows...)).LeadsTo(p.Path("laboratory"))
	}
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("strength"), "strength")
	p.Look(page, p.Path("laboratory", "pours", "1"), "strength-report")
	require.NotEmpty(t, page.PDF(true))
	p.Look(page, p.Path("laboratory", "specimens", "P001-04"), "specimen-broken")
	desk := p.Browser(authz.Laboratory)
	p.Look(desk, p.Path("laboratory", "specimens", "P005-01"), "specimen")
	p.Look(desk, p.Path("laboratory", "week"), "laboratory-week")
	p.Look(desk, p.Path("laboratory", "labels")+"?pour=5", "specimen-labels")
	require.NotEmpty(t, desk.PDF(false))
}

// The list of pours fits a tablet held upright.
func TestPourListFitsATablet(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(130, "1N-1")
	page := p.Browser(authz.Manager)
	page.SetViewport(768, 1024)
	page.Open(p.Path("pours"))
	require.LessOrEqual(t, browsertest.Eval[int](page, `document.querySelector('.pour-list .table').scrollWidth - document.querySelector('.pour-list .table').clientWidth`), 0)
	require.Empty(t, page.Overflows())
}
