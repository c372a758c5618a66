package web_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
	"endcast/static"
)

// A pour over two ends, entered without signal: warnings stand before it is sent, a
// refused batch keeps its reason, and the server gives the specimens their marks.
func TestPourFromTheTablet(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1,1N-2")
	standAt(page, "1N-1")
	page.Offline(true)
	// boxes puts values into boxes as typing does; a time is some minutes ago.
	boxes := func(values map[string]any) {
		text, err := json.Marshal(values)
		require.NoError(t, err)
		browsertest.Eval[bool](page, fmt.Sprintf(`(() => { const two = n => String(n).padStart(2, "0"); for (const [k, v] of Object.entries(%s)) { const e = document.querySelector("[name=" + CSS.escape(k) + "]");
			const d = new Date(Date.now() - v * 60000);
			e.value = typeof v === "number" ? d.getFullYear() + "-" + two(d.getMonth() + 1) + "-" + two(d.getDate()) + "T" + two(d.getHours()) + ":" + two(d.getMinutes()) : v;
			e.dispatchEvent(new Event("input", {bubbles: true})); } return true })()`, text))
	}
	goTo(page, "#/end/1N-1/pour")
	page.Click(`.tick:has([name=ends][value="1N-2"])`)
	page.WaitFor(`document.querySelectorAll("#volumes input").length === 2`)
	boxes(map[string]any{"started": 100, "volume-1N-1": "60", "volume-1N-2": "70"})
	goTo(page, "#/end/1N-1/pour/batch/1")
	page.Click("#keep")
	page.WaitFor(`document.querySelector("#why").innerText.includes("Say when mixing ended")`)
	boxes(map[string]any{"started": 99, "mixed": 95, "flow_1": "9", "mix_temp": "72", "air_temp": "65"})
	page.Click("#keep")
	page.WaitFor(`document.querySelector("#why").innerText.includes("two diameters at right angles")`)
	boxes(map[string]any{"flow_2": "9-1/4", "steel_temp": "25", "place_start": 90, "placed": 60, "fiber_kg": "20", "fiber_target_kg": "18", "water_kg": "19", "water_target_kg": "19"})
	found := page.Text("#found")
	require.Contains(t, found, "35 min from the end of mixing to placed, at most 30")
	require.Contains(t, found, "Steel 25\u00a0°F, at least")
	require.Contains(t, found, "Fiber 11.1 % off its target")
	require.NotContains(t, found, "Flow")
	boxes(map[string]any{"placed": 80})
	require.NotContains(t, page.Text("#found"), "min from the end of mixing")
	page.Click("#keep")
	page.WaitFor(`document.querySelectorAll("#batches > li").length === 1`)
	goTo(page, "#/end/1N-1/pour/batch/2")
	boxes(map[string]any{"mixed": 70, "flow_1": "6", "flow_2": "6.2", "mix_temp": "96"})
	require.Contains(t, page.Text("#found"), "Flow 6.100\u00a0in, at least")
	require.Contains(t, page.Text("#found"), "Mix 96\u00a0°F, at most")
	page.Click(`.tick:has([name=refused])`)
	page.Click("#keep")
	page.WaitFor(`document.querySelector("#why").innerText.includes("why it was refused")`)
	boxes(map[string]any{"refused_why": "stiff: flow below the limit"})
	page.Click("#keep")
	page.WaitFor(`document.querySelectorAll("#batches > li").length === 2`)
	goTo(page, "#/end/1N-1/pour/batch/3")
	boxes(map[string]any{"mixed": 40, "flow_1": "9", "flow_2": "9", "place_start": 38, "placed": 30})
	require.Contains(t, page.Text("#found"), "42 min behind the batch before, a cold joint is feared above 20")
	page.Click(`.tick:has([name=ends][value="1N-1"])`)
	page.Click("#keep")
	page.WaitFor(`document.querySelectorAll("#batches > li").length === 3`)
	require.Contains(t, page.Text("#live"), "30 min since the last batch was placed")
	boxes(map[string]any{"ended": 28, "weather": "clear, 65"})
	page.Click("#planned")
	page.WaitFor(`document.querySelectorAll("#sets > li").length > 0`)
	plan, _ := p.Scope("1N-1").Plan()
	want := 0
	for _, x := range plan {
		if want += x.Count; x.Per == "batch" {
			want += x.Count // of both batches that were placed
		}
	}
	require.Contains(t, page.Text("main"), fmt.Sprintf("Specimens: %d", want))
	page.Screenshot("tablet-pour-filled")
	page.Axe(t)
	require.Empty(t, smallControls(page))
	page.Click("#record")
	page.WaitFor(`document.querySelector("#n-queued strong").textContent === "1"`)
	page.Offline(false)
	page.Click("#send")
	waitQueue(t, page, 0)
	require.Equal(t, "stored", outbox(page)[0].State)

	sc := p.Scope("1N-1")
	require.Len(t, sc.Pours, 1)
	require.Len(t, sc.PourEnds, 2)
	for _, e := range sc.PourEnds {
		require.NotNil(t, e.VolumeL)
	}
	require.Len(t, sc.Batches, 3)
	slices.SortFunc(sc.Batches, func(a, b repair.Batch) int { return a.Number - b.Number })
	require.Equal(t, 9.125*units.Inch, *sc.Batches[0].Flow)
	require.Equal(t, "9-1/4", sc.Batches[0].Typed["flow_2_mm"])
	require.InDelta(t, 18, *sc.Batches[0].FiberTarget, 0)
	require.Equal(t, "stiff: flow below the limit", sc.Batches[1].RefusedWhy)
	require.Len(t, sc.Specimens, want)
	var marks []string
	for _, x := range sc.Specimens {
		marks = append(marks, x.Mark)
		require.NotEqual(t, 2, x.BatchNo, "nothing is made of a refused batch")
	}
	slices.Sort(marks)
	require.Len(t, slices.Compact(marks), want)
	ends := 0
	for _, e := range sc.BatchEnds {
		if e.BatchID == sc.Batches[2].ID {
			ends++
		}
	}
	require.Equal(t, 1, ends, "the third batch went to one end")
	p.verified()
}

// What the tablet warns of is what the record says of the same batch.
func TestWarningsOfABatchOnTheTabletAreTheRecordsOwn(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	b := p.Scope("1N-1").Basis()
	keys := map[string]string{"flow": "flow", "mix temperature": "mix", "air temperature": "air", "steel temperature": "steel", "end of mixing to placed": "time",
		"fiber mass off its target, as a part of it,": "fiber", "water mass off its target, as a part of it,": "water"}
	mixed := time.Date(2026, 5, 1, 22, 0, 0, 0, time.UTC)
	n := 0
	for _, flow := range []float64{6.9, 7, 8, 9.9, 10.2, 12} {
		for _, mix := range []float64{60, 80, 86, 92, 95.5, 100} {
			for _, min := range []int{5, 20, 21, 30, 31} {
				air, steel, fiber := 30+float64(n%8)*10, 100-float64(n%7)*12, 18+float64(n%5)/5
				n++
				fl, m, a, s := units.Length(flow)*units.Inch, units.Temperature((mix-32)/1.8), units.Temperature((air-32)/1.8), units.Temperature((steel-32)/1.8)
				batch := uhpc.Batch{Mark: "x", MixEnd: mixed, Placed: mixed.Add(time.Duration(min) * time.Minute), Flow: [2]units.Length{fl, fl}, Mix: &m, Air: &a, Steel: &s, FiberKg: fiber, FiberTargetKg: 18}
				var want []string
				for _, f := range batch.Check(b) {
					if f.Grade != uhpc.NoteOnly {
						want = append(want, string(f.Grade)+" "+keys[f.Name])
					}
				}
				got := browsertest.Eval[[]string](page, fmt.Sprintf(`import(%q).then(async r => { const db = await new Promise(d => { const o = indexedDB.open("endcast-small"); o.onsuccess = () => d(o.result) });
					const packet = await new Promise(d => { const q = db.transaction("meta").objectStore("meta").get("packet"); q.onsuccess = () => d(q.result) }); db.close();
					return r.batchFindings({flow_1: "%g", flow_2: "%g", mix_temp: "%g", air_temp: "%g", steel_temp: "%g", mixed: "2026-05-01T22:00", placed: "2026-05-01T22:%02d", fiber_kg: "%g", fiber_target_kg: "18"}, packet.casting.limits, "us").map(f => f.grade + " " + f.key) })`,
					static.Path("js/tablet/rules.js"), flow, flow, mix, air, steel, min, fiber))
				slices.Sort(want)
				slices.Sort(got)
				require.Equal(t, append([]string{}, want...), append([]string{}, got...), "flow %g, mix %g, air %g, steel %g, %d min, fiber %g", flow, mix, air, steel, min, fiber)
			}
		}
	}
	require.Equal(t, 20.0, b.Value(basis.BatchInterval))
}

// A pour names its ends; one that is gone, or that is not the program's, is for the
// engineer, and nothing of it is half applied.
func TestPourAtAnEndThatIsGone(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	at := func(d time.Duration) string { return time.Now().Add(-d).Format(time.RFC3339) }
	one, two := p.End("1N-1"), p.End("1N-2")
	body := func(ends ...map[string]any) map[string]any {
		return map[string]any{"started": at(2 * time.Hour), "ended": at(time.Hour), "ends": ends, "batches": []map[string]any{{"mixed": at(2 * time.Hour), "placed": at(110 * time.Minute), "flow_1": "9", "flow_2": "9"}}}
	}
	mine := map[string]any{"id": one.End.ID, "name": "1N-1", "volume_l": "60", "design_id": newEntryID(), "revision": 3}
	other := map[string]any{"id": two.End.ID, "name": "1N-2", "volume_l": "70"}
	gone := map[string]any{"id": newEntryID(), "name": "9F-9"}
	got := p.send(inspector, path, time.Now(), p.slip(inspector, "1N-1", tablet.Pour, body(mine, gone)), p.slip(inspector, "1N-1", tablet.Pour, body(other)), p.slip(inspector, "1N-1", tablet.Pour, body(mine, other)))
	require.Equal(t, "aside", got[0].State, got[0])
	require.Contains(t, got[0].Reason, "no girder end 9F-9")
	require.Equal(t, "refused", got[1].State)
	require.Equal(t, "stored", got[2].State, got[2])
	require.Contains(t, got[2].Differs, "1N-1 was cast by revision 3 and revision 1 is in force now")
	require.Len(t, p.Scope("1N-2").Pours, 1)
	require.Len(t, p.Scope("1N-1").Pours, 1)
	p.Role(authz.Engineer).Get(p.Path("aside")).Has("was cast by revision 3")
	p.verified()
}
