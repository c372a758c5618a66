package web_test

import (
	"bytes"
	"fmt"
	"math"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/monitor/truth"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// gauges puts the gauges of the records of package truth on record at an end.
func (p *testProgram) gauges(end string, at time.Time, without string) {
	p.t.Helper()
	for i, x := range []struct{ name, kind string }{{"web", "web_foil"}, {"panel", "embedded"}, {"stud", "stud_foil"}, {"slip", "displacement"}, {"control", "girder_foil"}, {"air", "thermometer"}} {
		if x.name == without {
			continue
		}
		form := []string{"entry", newEntryID(), "name", x.name, "sensor_kind", x.kind, "channel", truth.Columns[i], "installed_at", box(at), "from_bearing", "0", "above_flange", "3 in", "face", "L",
			"direction", "vertical", "input", "engineering", "zero_at", box(at.Add(time.Minute)), "zero_raw", "0"}
		switch x.kind {
		case "girder_foil":
			form = append(form, "direction", "along", "from_bearing", "30 ft")
		case "stud_foil":
			form = append(form, "stud", "L1-1")
		case "thermometer":
			form = append(form, "direction", "none")
		}
		last := map[string]string{}
		for k := 0; k+1 < len(form); k += 2 {
			last[form[k]] = form[k+1]
		}
		var out []string
		for k, v := range last {
			out = append(out, k, v)
		}
		p.Role(authz.Inspector).Post(p.Path("ends", end, "strain", "sensors"), out...).Status(303)
	}
}

// hourly writes a record as six files of a logger that runs a part of each hour.
func hourly(rec truth.Record) []byte {
	var b bytes.Buffer
	b.WriteString("t_s,web_ue,panel_ue,stud_ue,slip_um,ctrl_ue,temp_C\n")
	part := len(rec.Rows) / 6
	for i, r := range rec.Rows {
		fmt.Fprintf(&b, "%.2f,%.3f,%.3f,%.3f,%.3f,%.3f,%.3f\n", float64(i)/truth.Rate+3600*float64(min(i/part, 5)), r[0], r[1], r[2], r[3], r[4], r[5])
	}
	return b.Bytes()
}

// sendStrain sends a file of strain to an end.
func (p *testProgram) sendStrain(c *webtest.Client, end, name string, data []byte) *webtest.Answer {
	p.t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	require.NoError(p.t, m.WriteField("entry", newEntryID()))
	w, err := m.CreateFormFile("file", name)
	require.NoError(p.t, err)
	_, err = w.Write(data)
	require.NoError(p.t, err)
	require.NoError(p.t, m.Close())
	r := httptest.NewRequest(http.MethodPost, webtest.Base+p.Path("ends", end, "strain", "recordings", "file"), &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return c.Do(r)
}

// strainAnswers are the form of a file as a person answers it.
func (p *testProgram) strainAnswers(end string, start time.Time, act string, changed ...string) []string {
	v := map[string]string{"entry": newEntryID(), "act": act, "kind": "elapsed_s", "time_column": "1", "start": box(start), "rate": "100", "header": "1", "separator": "comma", "decimal": ".", "encoding": "utf-8", "logger": "L1"}
	for i, unit := range []string{"ue", "ue", "ue", "um", "ue", "C"} {
		n := fmt.Sprint(i + 2)
		v["sensor-"+n], v["unit-"+n] = "", unit
		for _, x := range p.End(end).Sensors {
			if x.Channel == truth.Columns[i] {
				v["sensor-"+n] = x.ID
			}
		}
	}
	for i := 0; i+1 < len(changed); i += 2 {
		v[changed[i]] = changed[i+1]
	}
	var out []string
	for k, x := range v {
		out = append(out, k, x)
	}
	return out
}

func (p *testProgram) recordStrain(end, name string, rec truth.Record, start time.Time) {
	p.t.Helper()
	c := p.Role(authz.Inspector)
	at := p.sendStrain(c, end, name, hourly(rec)).Status(303).Response.Header.Get("Location")
	c.Get(at).Status(200).Has("How it is read", "Column 2")
	c.Post(at, p.strainAnswers(end, start, "preview")...).Status(200).Has("First rows, as they would be read", "Read the whole file")
	job := c.Post(at, p.strainAnswers(end, start, "read")...).Status(303).Response.Header.Get("Location")
	waits := c.Get(job).Status(200).Has("waits", "Cancel the reading")
	require.Equal(p.t, "3", waits.Response.Header.Get("Refresh"), "the page comes again without a script")
	require.NoError(p.t, p.Store.WorkStrain(p.ctx))
	c.Get(job).Status(200).Has("is on record")
}

// The known records through the whole way: from sensors and files to a verdict that the
// engineer confirms and that opens the step.
func TestStrainFromFilesToVerdict(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for k, v := range map[basis.Key]float64{basis.EngagedEvents: 20, basis.EngagedDays: 0, basis.EngagedBlocks: 4, basis.EngagedResamples: 400} {
		p.DoProgram(authz.Administrator, repair.EditBasis{Key: string(k), Value: v, Typed: fmt.Sprint(v), Source: "short records of a test"})
	}
	ends := []string{"1N-1", "1N-2", "1F-1", "1F-2"}
	first := ago(200 * time.Hour)
	for _, end := range ends {
		p.gauges(end, first, "")
	}
	p.approved("1N-1")
	p.cast(97, ends...)
	long := func(c truth.Case) truth.Record { c.Seconds = 900; return truth.Make(c) }
	cases := truth.Cases()
	before := long(cases[0])
	web, panel := units.Force(truth.WebEA)*units.Kip, units.Force(truth.PanelEA)*units.Kip
	engineer := p.Role(authz.Engineer)
	want := map[string]string{"after": "engaged", "after_notengaged": "not engaged", "after_light": "not engaged"}
	for i, end := range ends {
		c := cases[i+1]
		p.recordStrain(end, "before.csv", before, first.Add(2*time.Hour))
		engineer.Get(p.Path("ends", end, "strain", "verdict")).Status(200).Has("Nothing was recorded after casting")
		p.recordStrain(end, c.Name+".csv", long(c), ago(80*time.Hour))
		p.Do(authz.Engineer, end, repair.SetStrainSetup{WebEA: &web, PanelEA: &panel, WebError: 0.05, PanelError: 0.08, Source: "invented"})
		page := engineer.Get(p.Path("ends", end, "strain", "verdict")).Status(200)
		from := webtest.Attr(page.Select("#confirm-form input[name=from]")[0], "value")
		engineer.Post(p.Path("ends", end, "strain", "verdict"), "entry", newEntryID(), "from", "other").Status(409)
		engineer.Post(p.Path("ends", end, "strain", "verdict"), "entry", newEntryID(), "from", from, "note", "looked at").Status(303)
		r := p.End(end)
		v := r.LatestVerdict()
		if w := want[c.Name]; w != "" {
			require.Equal(t, strings.ReplaceAll(w, " ", "_"), v.Result, "%s: %s", c.Name, v.Words)
		}
		page.Has("Raw peaks follow the trucks", "Foreseen and measured", "Web peaks before and after", "One truck in web, panel and stud", "The largest passage of the latest recording")
		require.Contains(t, v.Judgment, `"ratio":{"value":0.`)
		s := p.Scope(end)
		f, err := s.Ends[0].Facts(s)
		require.NoError(t, err)
		require.Equal(t, strings.ReplaceAll(v.Result, " ", "_"), string(f.Verdict), "the step reads what was confirmed")
		found, stale, err := p.Store.FoundPassages(p.ctx, s, s.Ends[0])
		require.NoError(t, err)
		require.Empty(t, stale)
		j := s.Ends[0].StrainEvidence(s, found, time.UTC, 1)
		n, sum := 0, 0.0
		for _, x := range j.Seen {
			if x.State == 1 {
				n, sum = n+1, sum+x.PanelOverWeb*truth.PanelEA/(x.PanelOverWeb*truth.PanelEA+truth.WebEA)
			}
		}
		require.Greater(t, n, 25)
		require.InDelta(t, c.Share, sum/float64(n), 0.04, c.Name)
		require.False(t, math.IsNaN(sum))
	}
	// Another recording puts the verdict out of date, and the step is shut again.
	p.Do(authz.Engineer, "1N-1", repair.WithdrawRecording{Recording: p.End("1N-1").CountedRecordings()[0].ID, Why: "a lead was loose"})
	s := p.Scope("1N-1")
	f, err := s.Ends[0].Facts(s)
	require.NoError(t, err)
	require.Contains(t, f.VerdictWhy, "out of date")
	engineer.Get(p.Path("ends", "1N-1", "strain", "verdict")).Status(200).Has("Out of date")
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)

	p.Look(p.Browser(authz.Engineer), p.Path("ends", "1N-2", "strain", "verdict"), "strain-verdict")
}

func TestStrainPagesInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	start := ago(48 * time.Hour)
	p.gauges("1N-1", start.Add(-time.Hour), "")
	p.recordStrain("1N-1", "short.csv", truth.Make(truth.Case{Seed: 22, Weight: 1, Seconds: 240}), start)
	page := p.Browser(authz.Inspector)
	here := p.Path("ends", "1N-1", "strain")
	rec := p.End("1N-1").CountedRecordings()[0]
	a := rec.FromAt.UnixNano()
	p.Look(page, here+"/trace?"+url.Values{"a": {fmt.Sprint(a)}, "b": {fmt.Sprint(a + 40e9)}}.Encode(), "strain-trace")
	p.Look(page, here+"/events", "strain-events")
	p.Look(page, here+"/recordings/"+rec.ID, "strain-recording")
	p.Look(page, here, "strain-sensors")
	// From an event one step leads to its trace.
	require.Equal(t, 200, page.Open(here+"/events"))
	href := p.Role(authz.Manager).Get(here + "/events").Status(200).Select("tbody th a")
	require.NotEmpty(t, href)
	p.Role(authz.Manager).Get(webtest.Attr(href[0], "href")).Status(200).Has("sample by sample", "Earlier", "Closer")
}

// Files that cannot be believed are told with line and column, and nothing stays.
func TestStrainFilesThatAreRefused(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	start := ago(48 * time.Hour)
	p.gauges("1N-1", start.Add(-time.Hour), "control")
	c := p.Role(authz.Inspector)
	c.Get(p.Path("ends", "1N-1", "strain")).Status(200).Has("indicative only")
	good := string(truth.Make(truth.Case{Seed: 3, Weight: 1, Seconds: 40}).CSV(nil))
	lines := strings.Split(good, "\n")
	cells := strings.Split(lines[2999], ",")
	cells[3] = "OVER"
	lines[2999] = strings.Join(cells, ",")
	at := p.sendStrain(c, "1N-1", "bad.csv", []byte(strings.Join(lines, "\n"))).Status(303).Response.Header.Get("Location")
	c.Post(at, p.strainAnswers("1N-1", start, "read", "unit-2", "?")...).Status(422).Has("say it")
	c.Post(at, p.strainAnswers("1N-1", start, "read", "unit-2", "C")...).Status(422).Has("it cannot be in")
	c.Post(at, p.strainAnswers("1N-1", start, "read", "time_column", "9")...).Status(422)
	c.Post(at, p.strainAnswers("1N-1", start, "read", "logger", "")...).Status(422).Has("Name the logger")
	job := c.Post(at, p.strainAnswers("1N-1", start, "read")...).Status(303).Response.Header.Get("Location")
	require.NoError(t, p.Store.WorkStrain(p.ctx))
	c.Get(job).Status(200).Has("Line 3000, column 4", "is not a number", "Nothing of it was stored")
	require.Empty(t, p.End("1N-1").Recordings)
	p.sendStrain(c, "1N-1", "photo.jpg", append([]byte("\xff\xd8\xff\xe0\x00\x10JFIF"), bytes.Repeat([]byte{0, 7}, 500)...)).Status(422).Has("the file is a picture")

	at = p.sendStrain(c, "1N-1", "stop.csv", []byte(good)).Status(303).Response.Header.Get("Location")
	job = c.Post(at, p.strainAnswers("1N-1", start, "read")...).Status(303).Response.Header.Get("Location")
	c.Post(job, "entry", newEntryID()).Status(303)
	require.NoError(t, p.Store.WorkStrain(p.ctx))
	c.Get(job).Status(200).Has("cancelled", "Nothing of it was stored")
	require.Empty(t, p.End("1N-1").Recordings)
	p.Role(authz.Laboratory).Post(p.Path("ends", "1N-1", "strain", "sensors"), "entry", newEntryID()).Status(403)
	p.Role(authz.Inspector).Post(p.Path("ends", "1N-1", "strain", "verdict"), "entry", newEntryID()).Status(403)
}
