package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// box prints a time as a box for date and time sends it; the program's zone is UTC.
func box(t time.Time) string { return t.UTC().Format("2006-01-02T15:04") }

// typedPour is a sound form: two batches, the second refused, three specimens.
func (p *testProgram) typedPour(start time.Time, ends ...string) map[string]string {
	f := map[string]string{"entry": newEntryID(), "act": "record", "started_at": box(start), "ended_at": box(start.Add(90 * time.Minute)), "note": "calm night",
		"batch_rows": "3", "set_rows": "1",
		"batch-1-mixed": box(start.Add(5 * time.Minute)), "batch-1-placed": box(start.Add(18 * time.Minute)), "batch-1-flow": "9.2", "batch-1-mix_temp": "72", "batch-1-air_temp": "68",
		"batch-2-mixed": box(start.Add(25 * time.Minute)), "batch-2-flow": "10.3 in", "batch-2-refused": "on", "batch-2-why": "too wet",
		"specimens-1-count": "3", "specimens-1-days": "4", "specimens-1-curing": "field", "specimens-1-kind": "cyl_3x6", "specimens-1-batch": "last", "specimens-1-duty": "quality_control"}
	for i, name := range ends {
		f[fmt.Sprintf("end#%d", i)] = p.End(name).End.ID
	}
	return f
}

// pairs turns a form into names and values; names after # tell repeated ones apart.
func pairs(f map[string]string) []string {
	var out []string
	for k, v := range f {
		if len(k) > 3 && k[:4] == "end#" {
			k = "end"
		}
		out = append(out, k, v)
	}
	return out
}

// cast records a pour through the store, hours ago.
func (p *testProgram) cast(hours float64, ends ...string) {
	p.t.Helper()
	start := ago(time.Duration(hours * float64(time.Hour)))
	end, placed := start.Add(time.Hour), start.Add(15*time.Minute)
	flow := 9.2 * units.Inch
	ch := repair.RecordPour{StartedAt: start, EndedAt: &end, VolumeL: map[string]float64{}, Note: "through the store",
		Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed, Flow: &flow, Typed: repair.Typed{"flow_mm": "9.2"}}},
		Specimens: []repair.SpecimenSet{{Batch: 1, Kind: "cyl_3x6", Curing: "field", NominalDays: 4, Count: 3},
			{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3}}}
	var refs []db.EndRef
	for _, name := range ends {
		refs = append(refs, db.EndRef{ID: p.End(name).End.ID})
	}
	_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: p.Actor(authz.Inspector), Ends: refs, Change: ch})
	require.NoError(p.t, err)
}

func TestPourIsRecordedByThoseWhoMay(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	start := ago(30 * time.Hour)
	for _, role := range authz.Roles() {
		may := role == authz.Inspector || role == authz.Contractor
		want, wantPost := http.StatusForbidden, http.StatusForbidden
		if may {
			want, wantPost = http.StatusOK, http.StatusSeeOther
		}
		c := p.Role(role)
		c.Get(p.Path("pours")).Status(200)
		require.Equal(t, may, len(c.Get(p.Path("pours")).Select(`a[href="`+p.Path("pours", "new")+`"]`)) == 1, role)
		c.Get(p.Path("pours", "new")).Status(want)
		c.Post(p.Path("pours", "preview"), pairs(p.typedPour(start, "1N-1"))...).Status(want)
		c.Post(p.Path("pours"), pairs(p.typedPour(start, "1N-1", "1N-2"))...).Status(wantPost)
	}
	a := p.Role(authz.Manager).Get(p.Path("pours", "1")).Status(200)
	a.Has("1N-1", "1N-2", "too wet", "calm night", "P001-01", "P001-03", "9.2", "Flow is 10.300")
	require.Len(t, a.Select("tr.refused"), 1)
	card := p.Role(authz.Manager).Get(p.Path("pours", "1", "card")).Status(200)
	card.Has("P001-01, P001-02, P001-03", "Refused: too wet", "9.2", "calm night", "Code that opens pour 1", `href="`+p.Path("laboratory", "labels")+"?pour=1")
	require.Len(t, card.Select(".card-sign > div"), 4)
	p.Role(authz.Manager).Get(p.Path("pours")).Has("1 refused", "9.2–10.3", "0 of 3")
	p.Role(authz.Manager).Get(p.Path("pours", "99")).Status(404)
	p.Role(authz.Manager).Get(p.Path("pours", "x")).Status(404)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
	p.AsIn(p.NewProgram("other"), authz.Engineer).Get(p.Path("pours", "1")).Status(404)
}

func TestPourKeepsWhatWasTypedAndNamesTheLimit(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	start := ago(30 * time.Hour)
	c := p.Role(authz.Inspector)
	for name, x := range map[string]struct{ field, value, anchor, why string }{
		"a flow of 102 in":         {"batch-1-flow", "102", "f-batch-1-flow", "16.000"},
		"no number":                {"batch-1-mix_temp", "warm", "f-batch-1-mix_temp", "a temperature such as"},
		"a temperature of another": {"batch-1-air_temp", "21 in", "f-batch-1-air_temp", "is a length"},
		"the future":               {"batch-1-placed", box(start.Add(400 * time.Hour)), "f-batch-1-placed", "future"},
		"placed before mixed":      {"batch-1-placed", box(start), "f-batch-1-placed", "cannot be before"},
		"placed after the end":     {"batch-1-placed", box(start.Add(100 * time.Minute)), "f-batch-1-placed", "after the pour ended"},
		"mixed long before":        {"batch-1-mixed", box(start.Add(-7 * time.Hour)), "f-batch-1-mixed", "6 hours before"},
		"ended before begun":       {"ended_at", box(start.Add(-time.Hour)), "f-ended_at", "before the start"},
		"no start":                 {"started_at", "", "f-started_at", "when the pour began"},
		"a refusal without reason": {"batch-2-why", "", "f-batch-2-why", "why the batch was refused"},
		"too many specimens":       {"specimens-1-count", "500", "f-specimens-1-count", "from 1 to 100"},
		"an age of nothing":        {"specimens-1-days", "-3", "f-specimens-1-days", "0 to 365"},
		"a batch not entered":      {"specimens-1-batch", "3", "f-specimens-1-batch", "row of batch 3"},
		"a volume of a lake":       {"volume-1N-1", "9000", "f-volume-1N-1", "20,000 liters"},
		"a kind that is refused":   {"specimens-1-kind", "cyl_2x4", "f-specimens-1-kind", "not an accepted"},
	} {
		f := p.typedPour(start, "1N-1")
		f[x.field] = x.value
		a := c.Post(p.Path("pours"), pairs(f)...).Status(422)
		a.Has(x.why, "calm night", `value="10.3 in"`, `value="`+f["entry"]+`"`)
		require.NotEmpty(t, a.Select(`#errors a[href="#`+x.anchor+`"]`), name)
		require.Len(t, a.Select(`#`+x.anchor), 1, name)
		if x.value != "" && x.field != "specimens-1-kind" && x.field != "specimens-1-batch" {
			require.Equal(t, x.value, webtest.Attr(a.Select(`#` + x.anchor)[0], "value"), name)
		}
		require.Len(t, a.Select(`input[name=end][checked]`), 1, name)
	}
	f := p.typedPour(start)
	c.Post(p.Path("pours"), pairs(f)...).Status(422).Has("Name the ends", `href="#f-ends"`)
	f = p.typedPour(start, "1N-1")
	f["end#9"] = newEntryID()
	c.Post(p.Path("pours"), pairs(f)...).Status(404)
	require.Empty(t, p.Scope("1N-1").Pours, "nothing was stored by any of these")
}

func TestPourSentTwiceCountsOnce(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	f := p.typedPour(ago(30*time.Hour), "1N-1")
	for range 2 {
		p.Role(authz.Contractor).Post(p.Path("pours"), pairs(f)...).LeadsTo(p.Path("pours", "1"))
	}
	require.Len(t, p.Scope("1N-1").Pours, 1)
	require.Equal(t, "9.2", p.Scope("1N-1").Batches[0].Typed["flow_mm"])
}

func TestPourFormGrowsFindsAndChecksWithoutScripts(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	c := p.Role(authz.Inspector)
	a := c.Get(p.Path("pours", "new") + "?end=1F-2").Status(200)
	require.Len(t, a.Select(".pour-batch input[name=batch-3-mixed]"), 1)
	require.Len(t, a.Select("input[name=end][checked]"), 1)
	require.Equal(t, "3", webtest.Attr(a.Select("#f-specimens-1-count")[0], "value"), "three to a set, from the design basis")

	f := p.typedPour(ago(30*time.Hour), "1N-1")
	f["act"] = "batch"
	a = c.Post(p.Path("pours"), pairs(f)...).Status(200)
	require.Len(t, a.Select("input[name=batch-4-mixed]"), 1)
	require.Equal(t, "9.2", webtest.Attr(a.Select("#f-batch-1-flow")[0], "value"))
	f["act"], f["q"] = "find", "1F"
	a = c.Post(p.Path("pours"), pairs(f)...).Status(200).Has("2 found")
	require.Len(t, a.Select("input[name=end]"), 3, "the two that were found and the one that is ticked")

	f["act"], f["batch-1-flow"], f["batch-1-mix_temp"] = "check", "10.4", "84"
	a = c.Post(p.Path("pours"), pairs(f)...).Status(200)
	a.Has("Batch 1", "Flow is 10.400", "Mix temperature is 84", "1 value stops placing")
	f["batch-1-placed"] = box(ago(30 * time.Hour).Add(40 * time.Minute))
	a = c.Post(p.Path("pours", "preview"), pairs(f)...).Status(200).Has("End of mixing to placed is 35", "2 values stop placing", "Batch 2, refused", "3 × 4 d")
	require.True(t, strings.HasPrefix(a.Body, "<h2>"), "a fragment, no page")
	require.Empty(t, p.Scope("1N-1").Pours)
}

func TestPourAtNightAcrossMidnight(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	start := time.Now().UTC().AddDate(0, 0, -3).Truncate(24 * time.Hour).Add(23*time.Hour + 30*time.Minute)
	f := p.typedPour(start, "1N-1")
	f["batch-2-mixed"] = box(start.Add(40 * time.Minute))
	p.Role(authz.Inspector).Post(p.Path("pours"), pairs(f)...).Status(303)
	p.Role(authz.Manager).Get(p.Path("pours", "1")).Has("night", start.Add(40*time.Minute).Format("Mon 15:04"), start.Format("Mon 2006-01-02 15:04"))
}

// A pour, then its breaks: the strength that the sequence asks for is reached at
// the end, and shown there and with the pour.
func TestStrengthIsReachedThroughTheLaboratory(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(97, "1N-1", "1N-2")
	lab := p.Role(authz.Laboratory)
	a := lab.Get(p.Path("laboratory")).Status(200)
	require.Len(t, a.Select("form.break-row"), 3, "the 28 day set is counted, not listed")
	a.Has("3 specimens come due later")
	a.None("#late + p + .due-set")
	for i, load := range []string{"110.4", "112.0 kip", "500 kN"} {
		mark := fmt.Sprintf("P001-%02d", i+1)
		lab.Post(p.Path("laboratory", "breaks"), "entry", newEntryID(), "mark", mark, "broken_at", box(ago(30*time.Minute)), "load", load,
			"width_1", "3.00", "width_2", "3.01", "height", "5.97", "ends_ground", "on", "fracture", "3", "machine", "400", "tested_by", "M. Vale").
			LeadsTo(p.Path("laboratory")).Follow().Has(mark+" is on record", "and counts")
	}
	s := p.Scope("1N-1")
	facts, err := s.Ends[0].Facts(s)
	require.NoError(t, err)
	require.Len(t, facts.Strengths, 1)
	require.Greater(t, facts.Strengths[0].Value, 14*units.Ksi)
	a = p.Role(authz.Manager).Get(p.Path("pours", "1")).Status(200)
	a.Has("500 kN", "Factor", "read")
	require.Contains(t, a.One("tbody tr:first-child .cast-strengths li:first-child"), "reached")
	p.Role(authz.Manager).Get(p.Path("pours")).Has("reached", "3 of 6")
	p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Has(facts.Strengths[0].Value.Format(units.US, -1))
}
