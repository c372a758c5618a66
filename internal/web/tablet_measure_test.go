package web_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"net/http"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/static"
)

// What the tablet's page loads in scripts stays small, for a bad connection.
func TestScriptsOfTheTabletAreSmall(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	worker := p.Anonymous().Get("/tablet-worker.js").Status(http.StatusOK)
	require.Equal(t, "/p/", worker.Response.Header.Get("Service-Worker-Allowed"))
	var packed bytes.Buffer
	raw := 0
	add := func(b []byte) {
		z, err := gzip.NewWriterLevel(&packed, gzip.DefaultCompression)
		require.NoError(t, err)
		_, err = z.Write(b)
		require.NoError(t, err)
		require.NoError(t, z.Close())
		raw += len(b)
	}
	add([]byte(worker.Body))
	scripts := regexp.MustCompile(`"/static/[0-9a-f]+/([^"]+\.js)"`).FindAllStringSubmatch(worker.Body, -1)
	require.GreaterOrEqual(t, len(scripts), 12)
	for _, m := range scripts {
		b, err := static.Read(m[1])
		require.NoError(t, err)
		add(b)
	}
	t.Logf("scripts of the tablet: %d files, %d bytes, %d bytes each compressed", len(scripts)+1, raw, packed.Len())
	require.Less(t, packed.Len(), 60<<10)
	// Every module that another names is kept for work without signal.
	for _, m := range scripts {
		b, err := static.Read(m[1])
		require.NoError(t, err)
		for _, im := range regexp.MustCompile(`from "\./([a-z]+\.js)"`).FindAllStringSubmatch(string(b), -1) {
			require.Contains(t, worker.Body, "js/tablet/"+im[1])
		}
	}
}

// How many taps an end of twenty studs and a survey of forty readings take.
func TestTapsOfAShift(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	grid := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "as_found", Method: "ultrasonic"}}
	for i := range 8 {
		for j := range 5 {
			grid.Readings = append(grid.Readings, repair.ReadingIn{Face: "T", X: units.Length(2+2*i) * units.Inch, Z: units.Length(1+2*j) * units.Inch, T: 0.4 * units.Inch})
		}
	}
	p.Do(authz.Inspector, "1N-2", grid)
	page := p.Browser(authz.Inspector)
	page.SetViewport(820, 1180)
	began := time.Now()
	p.onShift(page, "1N-1,1N-2")
	t.Logf("page, worker and packet of two ends: %d ms", time.Since(began).Milliseconds())
	page.Offline(true)
	began = time.Now()
	page.Open(p.Path("tablet"))
	page.WaitFor(`document.querySelector("#packet")`)
	t.Logf("the same page without signal: %d ms", time.Since(began).Milliseconds())
	taps := 0
	tap := func(selector, then string) {
		page.Click(selector)
		page.WaitFor(then)
		taps++
	}
	goTo(page, "#/end/1N-1")
	page.Click("#yes")
	page.WaitFor(`document.querySelector('a[href$="/studs"]')`)
	began = time.Now()
	tap(`a[href$="/studs"]`, `document.querySelector("#record")`)
	for _, st := range p.End("1N-1").StudsOf(p.End("1N-1").DesignInForce().ID) {
		mark := fmt.Sprintf(`[data-mark=%q]`, st.Mark)
		tap(mark, fmt.Sprintf(`document.querySelector('%s').classList.contains("pencil")`, mark))
	}
	tap("#record", `document.querySelector("#n-queued strong").textContent === "20"`)
	t.Logf("20 studs: %d taps, %d ms in the browser", taps, time.Since(began).Milliseconds())
	require.Equal(t, 22, taps)

	goTo(page, "#/end/1N-2")
	page.Click("#yes")
	page.WaitFor(`document.querySelector('a[href$="/survey"]')`)
	taps, began = 0, time.Now()
	tap(`a[href$="/survey"]`, `document.querySelector("#begin")`)
	tap("#begin", `document.querySelector("#next")`)
	for i := range 40 {
		tap(`[data-key="3"]`, `document.querySelector("#value").textContent === "0.03"`)
		tap(fmt.Sprintf(`[data-key="%d"]`, i%10), fmt.Sprintf(`document.querySelector("#value").textContent === "0.3%d"`, i%10))
		require.NotContains(t, page.Text("main"), "0.4", "the reading before is not shown beforehand")
		next := fmt.Sprintf(`document.querySelector("main .label").innerText.toLowerCase().includes("reading %d of")`, i+2)
		if i == 39 {
			next = `document.querySelector("#record")`
		}
		tap("#next", next)
		require.Contains(t, page.Text("#t-say"), "before 0.4", "and is once the new one stands")
	}
	tap("#record", `document.querySelector("#n-queued strong").textContent === "21"`)
	t.Logf("40 readings: %d taps, %d ms in the browser", taps, time.Since(began).Milliseconds())
	require.Equal(t, 123, taps)
	page.Offline(false)
	waitQueue(t, page, 0)
	require.Len(t, p.End("1N-1").Collars, 20)
	require.Equal(t, 2, p.End("1N-2").LatestSurvey().Number)
}
