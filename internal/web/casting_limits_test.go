package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/web/webtest"
)

// planLines are the boxes of a plan: one set of every batch to release, one of the
// casting to accept.
func planLines(from string) map[string]string {
	return map[string]string{"entry": newEntryID(), "from": from, "source": "special provision 904.7 (invented)", "do": "store", "batches": "2",
		"sets-1-count": "2", "sets-1-kind": "cube_70", "sets-1-curing": "match", "sets-1-days": "1.5", "sets-1-per": "batch", "sets-1-purpose": "strip", "sets-1-duty": "quality_control",
		"sets-2-count": "", "sets-2-kind": "cube_70", "sets-2-curing": "field", "sets-2-days": "9", "sets-2-per": "batch", "sets-2-purpose": "strip", "sets-2-duty": "quality_control",
		"sets-3-count": "3", "sets-3-kind": "cyl_3x6", "sets-3-curing": "standard", "sets-3-days": "28", "sets-3-per": "casting", "sets-3-purpose": "acceptance", "sets-3-duty": "verification"}
}

func TestLimitsOfACasting(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	at := p.Path("pours", "limits")
	c := p.Role(authz.Engineer)
	p.Role(authz.Manager).Get(at).Status(200).Has("The default plan", "stripping", "ASTM").None("form.plan-form")
	a := c.Get(at).Status(200)
	for _, d := range basis.Definitions() {
		if d.Group == basis.GroupRelease || d.Group == basis.GroupCasting {
			require.NotEmpty(t, a.Select(`a[href="`+p.Path("basis", string(d.Key))+`"]`), d.Key)
		}
	}
	from := webtest.Attr(a.Select("input[name=from]")[0], "value")

	// What it would make is shown, and stores nothing.
	f := planLines(from)
	f["do"] = "preview"
	a = c.Post(at, pairs(f)...).Status(200).Has("would make by the plan below", "7 specimens in all", "36 h")
	require.Equal(t, "3", webtest.Attr(a.Select("#f-sets-2-count")[0], "value"), "the line left out is gone, the next moved up")
	require.Empty(t, p.Scope("1N-1").SpecimenPlan)

	for name, x := range map[string]struct{ field, value, anchor, why string }{
		"acceptance by field cure": {"sets-3-curing", "field", "f-sets-2-curing", "standard-cured"},
		"more than anyone makes":   {"sets-1-count", "101", "f-sets-1-count", "from 1 to 100"},
		"no number":                {"sets-1-count", "two", "f-sets-1-count", "whole number"},
		"an age of two years":      {"sets-1-days", "730", "f-sets-1-days", "0 to 365"},
		"no age":                   {"sets-1-days", "", "f-sets-1-days", "at which age"},
		"no source":                {"source", "", "f-source", "where the plan is from"},
		"made of nothing known":    {"sets-1-per", "month", "f-sets-1-per", "casting or batch"},
	} {
		t.Run(name, func(t *testing.T) {
			f := planLines(from)
			f[x.field] = x.value
			p := p.Role(authz.Engineer)
			a := p.Post(at, pairs(f)...).Status(http.StatusUnprocessableEntity).Has(x.why)
			require.NotEmpty(t, a.Select(`a[href="#`+x.anchor+`"]`))
			require.Equal(t, "2", webtest.Attr(a.Select("input[name=batches]")[0], "value"))
		})
	}
	require.Empty(t, p.Scope("1N-1").SpecimenPlan)

	c.Post(at, pairs(planLines(from))...).LeadsTo(at)
	c.Get(at).Status(200).Has("special provision 904.7", "2 70.7 mm cube", "of each batch, for stripping", "verification")
	// Whoever opened the form before that overwrites nothing, and may after having seen it.
	f = planLines(from)
	f["sets-1-count"] = "5"
	a = c.Post(at, pairs(f)...).Status(http.StatusConflict).Has("changed by somebody else")
	require.Equal(t, "5", webtest.Attr(a.Select("#f-sets-1-count")[0], "value"))
	require.Equal(t, 2, p.Scope("1N-1").SpecimenPlan[0].Count)
	f["from"], f["entry"] = webtest.Attr(a.Select("input[name=from]")[0], "value"), newEntryID()
	c.Post(at, pairs(f)...).LeadsTo(at)
	plan, isDefault := p.Scope("1N-1").Plan()
	require.False(t, isDefault)
	require.Equal(t, 5, plan[0].Count)
	require.Equal(t, "verification", plan[1].Duty)
	p.Role(authz.Inspector).Post(at, pairs(planLines(""))...).Status(http.StatusForbidden)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

// A pour recorded from paper begins with the plan in force: sets of each batch are made
// of those that were placed, not of the one refused.
func TestPourFormFollowsThePlan(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.DoProgram(authz.Engineer, repair.SetSpecimenPlan{Source: "contract (invented)", Sets: []repair.PlannedSetIn{
		{Kind: "cube_70", Curing: "match", NominalDays: 1.5, Count: 2, Per: "batch", Purpose: "strip"}, {Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3, Per: "casting", Purpose: "acceptance"}}})
	c := p.Role(authz.Inspector)
	a := c.Get(p.Path("pours", "new")).Status(200)
	start := ago(30 * time.Hour)
	f := p.typedPour(start, "1N-1")
	f["batch-3-mixed"], f["batch-3-placed"] = box(start.Add(35*time.Minute)), box(start.Add(45*time.Minute))
	f["set_rows"] = "2"
	for i, want := range []map[string]string{{"count": "2", "days": "1.5", "curing": "match", "kind": "cube_70", "batch": "every", "purpose": "strip"}, {"count": "3", "days": "28", "curing": "standard", "kind": "cyl_3x6", "batch": "last", "purpose": "acceptance"}} {
		for k, v := range want {
			name := fmt.Sprintf("specimens-%d-%s", i+1, k)
			got := ""
			if in := a.Select(`input[name=` + name + `]`); len(in) == 1 {
				got = webtest.Attr(in[0], "value")
			} else {
				got = webtest.Attr(a.Select(`select[name=` + name + `] option[selected]`)[0], "value")
			}
			require.Equal(t, v, got, name)
			f[name] = v
		}
		f[fmt.Sprintf("specimens-%d-duty", i+1)] = "quality_control"
	}
	c.Post(p.Path("pours"), pairs(f)...).LeadsTo(p.Path("pours", "1"))
	made := map[string]int{}
	for _, x := range p.Scope("1N-1").Specimens {
		made[fmt.Sprintf("%d %s %s", x.BatchNo, x.Kind, x.Purpose)]++
	}
	require.Equal(t, map[string]int{"1 cube_70 strip": 2, "3 cube_70 strip": 2, "3 cyl_3x6 acceptance": 3}, made)
}

func TestLimitsPageIsDrawnWell(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("pours", "limits"), "casting-limits")
	page.Click("details.fold summary")
	require.Equal(t, http.StatusOK, page.Submit(`.plan-form .send button.second`))
	require.Contains(t, strings.ToLower(page.Text("main")), "would make by the plan below")
}
