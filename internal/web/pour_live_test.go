package web_test

import (
	"maps"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/browsertest"
	"endcast/internal/web/webtest"
)

// opened opens a pour of ends through the form and returns its address.
func (p *testProgram) opened(start time.Time, ends ...string) string {
	p.t.Helper()
	f := []string{"entry", newEntryID(), "started_at", box(start), "weather", "dry, light wind"}
	for _, name := range ends {
		f = append(f, "end", name)
	}
	to := p.Role(authz.Inspector).Post(p.Path("pours", "open"), f...).Status(http.StatusSeeOther).Response.Header.Get("Location")
	return strings.TrimSuffix(to, "/live")
}

// typedBatch is a sound batch, mixed some minutes after the start of its pour.
func typedBatch(start time.Time, mixed, placed time.Duration) map[string]string {
	return map[string]string{"entry": newEntryID(), "act": "add", "started": box(start.Add(mixed - 8*time.Minute)), "mixed": box(start.Add(mixed)), "placed": box(start.Add(placed)),
		"flow_1": "9.1", "flow_2": "8 7/8", "mix_temp": "72", "air_temp": "64", "steel_temp": "61", "bags": "9", "water": "22.6", "water_target": "22.6",
		"fiber": "32.4", "fiber_target": "32.3", "lot": "L-204", "note": "calm"}
}

func TestAPourTakesItsBatchesOneByOne(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	start := ago(5 * time.Hour)
	c := p.Role(authz.Inspector)
	pour := p.opened(start, "1N-1", "1N-2")
	live := pour + "/live"
	c.Get(live).Status(200).Has("Batch 1", "dry, light wind")
	c.Get(p.Path("pours")).Has("open")
	p.Role(authz.Manager).Get(live).Status(403)
	p.Role(authz.Manager).Get(pour).Status(200)

	// What cannot be true names the limit and stays as it was typed.
	for name, x := range map[string]struct{ field, value, anchor, why string }{
		"a flow of 102 in":    {"flow_1", "102", "f-flow_1", "16.000"},
		"one diameter":        {"flow_2", "", "f-flow_2", "one is missing"},
		"placed before mixed": {"placed", box(start.Add(5 * time.Minute)), "f-placed", "cannot be before"},
		"no number":           {"water", "a bucket", "f-water", "a mass such as"},
		"the future":          {"placed", box(start.Add(40 * time.Hour)), "f-placed", "future"},
		"refused, no reason":  {"refused", "on", "f-why", "why the batch was refused"},
	} {
		f := typedBatch(start, 20*time.Minute, 32*time.Minute)
		f[x.field] = x.value
		a := c.Post(live, pairs(f)...).Status(422)
		a.Has(x.why, "L-204", "calm", `value="`+f["entry"]+`"`)
		require.NotEmpty(t, a.Select(`#errors a[href="#`+x.anchor+`"]`), name)
		require.Len(t, a.Select(`#`+x.anchor), 1, name)
		if x.value != "" && x.field != "refused" {
			require.Equal(t, x.value, webtest.Attr(a.Select(`#` + x.anchor)[0], "value"), name)
		}
	}
	require.Empty(t, p.Scope("1N-1").Batches)

	f := typedBatch(start, 20*time.Minute, 32*time.Minute)
	f["set-1-count"] = "3"
	check := maps.Clone(f)
	check["act"] = "check"
	c.Post(live, pairs(check)...).Status(200).Has("within the limits", "3 × 2 d, field cured")
	c.Post(live, pairs(f)...).Status(303)
	c.Post(live, pairs(f)...).Status(303) // sent twice counts once
	require.Len(t, p.Scope("1N-1").Batches, 1)
	require.Len(t, p.Scope("1N-1").Specimens, 3)
	c.Get(live).Has("Batch 2", "a cold joint may form", `value="L-204"`)

	// The second was mixed too late after the first and is not placed yet.
	f = typedBatch(start, 75*time.Minute, 0)
	delete(f, "placed")
	f["fiber"] = "28"
	c.Post(live+"/preview", pairs(f)...).Status(200).Has("Time between batches", "Fiber mass off its target", "values call for care")
	c.Post(live, pairs(f)...).Status(303)
	c.Post(live, "entry", newEntryID(), "act", "finish", "ended_at", box(start.Add(2*time.Hour)), "end_note", "quiet").Status(422).Has("no time at which it was placed", "quiet")
	c.Post(pour+"/batches/2", "entry", newEntryID(), "act", "refuse", "why", "").Status(422).Has("Say why")
	c.Post(pour+"/batches/2", "entry", newEntryID(), "act", "refuse", "why", "stood too long in the mixer").Status(303)

	// The third is outside a stop limit: an engineer lets it stand.
	f = typedBatch(start, 95*time.Minute, 110*time.Minute)
	f["flow_1"], f["flow_2"] = "10.4", "10.6"
	c.Post(live, pairs(f)...).Status(303)
	p.Role(authz.Contractor).Post(pour+"/batches/3/decide", "entry", newEntryID(), "why", "fine").Status(403)
	e := p.Role(authz.Engineer)
	e.Post(pour+"/batches/1/decide", "entry", newEntryID(), "why", "fine").Status(422).Has("within its limits")
	e.Post(pour+"/batches/3/decide", "entry", newEntryID(), "why", "no fiber settled in the cone; sound by the supplier").Status(303)
	e.Get(pour).Status(200).Has("Let stand by", "no fiber settled", "stood too long")

	c.Post(live, "entry", newEntryID(), "act", "finish", "ended_at", box(start.Add(100*time.Minute))).Status(422).Has("was placed later")
	c.Post(live, "entry", newEntryID(), "act", "finish", "ended_at", box(start.Add(130*time.Minute)), "end_note", "no leak", "all-1N-1", "1.4").Status(303)
	c.Get(live).Status(303)
	c.Get(pour).Status(200).Has("no leak", "1.40\u00a0ft³")

	// A correction needs its reason and stands beside the entry.
	f = typedBatch(start, 20*time.Minute, 32*time.Minute)
	f["act"], f["flow_1"] = "correct", "9.0"
	c.Post(pour+"/batches/1", pairs(f)...).Status(422).Has("why the entry is corrected", `value="9.0"`)
	f["entry"], f["reason"] = newEntryID(), "read from the other side of the table"
	c.Post(pour+"/batches/1", pairs(f)...).Status(303)
	c.Get(pour+"/batches/1").Status(200).Has("Corrected: read from the other side", "9.0")
	c.Get(pour + "/batches/7").Status(404)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestAPourIsNotOpenedWithoutEndsOrTwice(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	c := p.Role(authz.Contractor)
	c.Post(p.Path("pours", "open"), "entry", newEntryID(), "started_at", box(ago(time.Hour)), "weather", "fog").Status(422).Has("Name the ends", "fog")
	c.Post(p.Path("pours", "open"), "entry", newEntryID(), "end", "9Z-9", "started_at", box(ago(time.Hour))).Status(422).Has("no girder end 9Z-9")
	p.opened(ago(2*time.Hour), "1N-1")
	c.Post(p.Path("pours", "open"), "entry", newEntryID(), "end", "1N-1", "started_at", box(ago(time.Hour))).Status(422).Has("still open")
	p.Role(authz.Laboratory).Get(p.Path("pours", "open")).Status(403)
}

// A pour is entered on a tablet with warnings as it goes, and read by its pages.
func TestAnOpenPourOnATablet(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	start := ago(3 * time.Hour)
	page := p.Browser(authz.Inspector)
	p.Look(page, p.Path("pours", "open")+"?end=1N-1", "pour-open")
	live := p.opened(start, "1N-1") + "/live"
	page.SetViewport(820, 1180)
	page.Open(live)
	page.Choose("[name=mixed]", box(start.Add(20*time.Minute)))
	page.Choose("[name=placed]", box(start.Add(55*time.Minute)))
	page.WaitFor("document.getElementById('checks').innerText.includes('End of mixing to placed')")
	page.Choose("[name=placed]", box(start.Add(32*time.Minute)))
	page.Choose("[name=flow_1]", "9")
	page.Choose("[name=flow_2]", "9.2")
	page.WaitFor("document.getElementById('checks').innerText.includes('within the limits')")
	small := browsertest.Eval[float64](page, "Math.min(...[...document.querySelectorAll('#pour input:not([type=hidden]):not([type=checkbox]), #pour select, #pour .send button')].filter(x => x.checkVisibility()).map(x => x.getBoundingClientRect().height))")
	require.GreaterOrEqual(t, small, 63.5, "gloves need 64 px")
	page.Axe(t)
	require.Equal(t, 200, page.Submit("#pour button[value=add]"))
	require.Contains(t, page.Text("main"), "Batch 1 is on record")
	p.Look(page, live, "pour-live")
	p.Look(page, strings.TrimSuffix(live, "/live")+"/batches/1", "pour-batch")
	p.Look(page, strings.TrimSuffix(live, "/live"), "pour-open-record")
}
