package web_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"fmt"
	"math"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/web/browsertest"
	"endcast/internal/web/webtest"
)

// sendLog sends a file to the curing of pour 1.
func (p *testProgram) sendLog(c *webtest.Client, name string, data []byte) *webtest.Answer {
	p.t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	require.NoError(p.t, m.WriteField("entry", newEntryID()))
	w, err := m.CreateFormFile("file", name)
	require.NoError(p.t, err)
	_, err = w.Write(data)
	require.NoError(p.t, err)
	require.NoError(p.t, m.Close())
	r := httptest.NewRequest(http.MethodPost, webtest.Base+p.Path("pours", "1", "curing", "file"), &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return c.Do(r)
}

// warming is what a logger writes of concrete that warms and cools: in degrees
// Fahrenheit, month first, at a clock without an offset.
func warming(start time.Time, hours float64) string {
	b := &strings.Builder{}
	b.WriteString("\ufeffRecord of sensor 7\r\nDate Time,core,air\r\n")
	n := 0
	for at := start; at.Sub(start).Hours() <= hours; at = at.Add(15 * time.Minute) {
		h := at.Sub(start).Hours()
		fmt.Fprintf(b, "%s,%.1f,%.1f\r\n", at.Format("01/02/2006 15:04"), 68+40*h/12*math.Exp(1-h/12), 60+float64(n%3)/2)
		n++
	}
	return b.String()
}

// answers are the form of a file as a person answers it.
func answers(sensor string, covered time.Time, changed ...string) []string {
	v := map[string]string{"entry": newEntryID(), "act": "record", "column": "2", "unit": "F", "kind": "date", "order": "mdy", "zone": "UTC", "time_column": "1", "header": "2",
		"separator": "comma", "decimal": ".", "encoding": "utf-8", "sensor": sensor, "place": "core", "covered_at": box(covered)}
	for i := 0; i+1 < len(changed); i += 2 {
		v[changed[i]] = changed[i+1]
	}
	var out []string
	for k, x := range v {
		out = append(out, k, x)
	}
	return out
}

func (p *testProgram) curingLogs() []repair.CuringLog {
	p.t.Helper()
	list, err := p.Store.Casting(p.ctx, p.ID, 1)
	require.NoError(p.t, err)
	return list.CuringLogs
}

// stored counts what an upload could have left behind.
func (p *testProgram) stored() (n int) {
	p.t.Helper()
	require.NoError(p.t, p.Pool.QueryRow(p.ctx, `select (select count(*) from curing_log) + (select count(*) from curing_reading) + (select count(*) from raw_file)
		+ (select count(*) from logger_map)`).Scan(&n))
	return n
}

// From a file over its doubts to the plot, in a browser, light and dark.
func TestFromLoggerFileToPlotInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.cast(97, "1N-1")
	start := ago(96 * time.Hour).Add(-30 * time.Minute)
	name := filepath.Join(t.TempDir(), "sensor 7.csv")
	text := warming(start, 90)
	cut := strings.Split(text, "\r\n")
	text = strings.Join(append(cut[:120:120], cut[140:]...), "\r\n") // five hours without a row
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))

	page := p.Browser(authz.Inspector)
	page.SetViewport(1280, 900)
	page.Open(p.Path("pours", "1", "curing"))
	require.Contains(t, page.Text("main"), "No temperature is on record")
	page.Attach("#f-file", name)
	require.Equal(t, 200, page.Submit("#send-file button"))
	require.Contains(t, page.Path(), "/curing/file/")
	require.Equal(t, "", browsertest.Eval[string](page, "document.querySelector('[name=zone]').value"), "the zone is not guessed")
	require.Equal(t, "", browsertest.Eval[string](page, "document.querySelector('[name=unit]').value"), "nor the unit")
	require.Contains(t, page.Text("#map"), "The file does not say in what unit column 2, core is")
	require.False(t, page.Exists("#as-read"))
	page.Axe(t)
	page.Choose("[name=unit]", "F")
	page.Choose("[name=zone]", "UTC")
	page.Choose("[name=order]", "mdy")
	require.Equal(t, 200, page.Submit("button[value=read]"))
	require.Contains(t, page.Text("#as-read"), "No rows for 5 h 15 min, where they come every 15 min")
	require.Contains(t, page.Text("#as-read"), "68.0\u00a0°F")
	page.Axe(t)
	page.Screenshot("curing-file")
	page.Fill("[name=sensor]", "T7")
	page.Choose("[name=place]", "coldest")
	setBox(page, "[name=covered_at]", start.Add(time.Hour))
	page.Fill("[name=remember]", "site logger")
	require.Equal(t, 200, page.Submit("button[value=record]"))
	require.Equal(t, p.Path("pours", "1", "curing"), page.Path())
	require.Contains(t, page.Text("main"), "There is one gap in the record")
	require.Contains(t, page.Text("main"), "by the lower of its two ends")
	require.True(t, page.Exists("figure svg .gap"))
	require.Contains(t, page.Text("#maturity ~ .table"), "T7")
	p.Look(page, p.Path("pours", "1", "curing"), "curing")
	require.Empty(t, page.Problems())

	logs := p.curingLogs()
	require.Len(t, logs, 1)
	require.InDelta(t, 20+40*5/9., float64(logs[0].Hottest), 0.1)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)

	// The second file of the logger is read as the first, without a question.
	page.Open(p.Path("pours", "1", "curing"))
	require.Contains(t, page.Text("#send-file"), "gzip")
	p.sendLog(p.Role(authz.Laboratory), "again.csv", []byte(warming(start, 50))).Status(303)
}

func TestRememberedLoggerAndSecondColumn(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.cast(97, "1N-1")
	start := ago(96 * time.Hour)
	lab := p.Role(authz.Laboratory)
	text := warming(start, 60)
	at := p.sendLog(lab, "t.csv", []byte(text)).Status(303).Response.Header.Get("Location")
	lab.Post(at, answers("T1", start, "remember", "lab logger")...).Status(303)
	lab.Post(at, answers("T1", start)...).Status(422).Has("on record already, as sensor T1")
	lab.Post(at, answers("air", start, "column", "3", "place", "air")...).Status(303)
	require.Len(t, p.curingLogs(), 2)
	lab.Get(p.Path("pours", "1", "curing")).Status(200).Has("not concrete", "t.csv")

	// Packed, the next file is read by the remembered map.
	var gz bytes.Buffer
	w := gzip.NewWriter(&gz)
	_, err := w.Write([]byte(warming(start, 70)))
	require.NoError(t, err)
	require.NoError(t, w.Close())
	at = p.sendLog(lab, "t.csv.gz", gz.Bytes()).Status(303).Response.Header.Get("Location")
	lab.Get(at).Status(200).Has("lab logger").Lacks("As it was read")
	lab.Get(at+"?logger=lab+logger").Status(200).Has("As it was read", "nothing odd")
	lab.Post(at, answers("T2", start, "place", "coldest")...).Status(303)
	logs := p.curingLogs()
	require.Len(t, logs, 3)
	for _, l := range logs {
		if l.Sensor == "T2" {
			require.Equal(t, gz.String(), lab.Get(p.Path("pours", "1", "curing", "log", l.ID)).Status(200).Body)
		}
	}
	lab.Post(at, "entry", newEntryID(), "act", "discard").Status(303)
	lab.Get(at).Status(404)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

// Files that cannot be believed are refused with line and column, at the preview and
// at the door, and leave nothing behind.
func TestLoggerFilesThatAreRefused(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.cast(97, "1N-1")
	start := ago(96 * time.Hour)
	c := p.Role(authz.Contractor)
	series := func(temp func(i int) string, at func(i int) time.Time) string {
		b := &strings.Builder{}
		b.WriteString("time,T\n")
		for i := range 60 {
			fmt.Fprintf(b, "%s,%s\n", at(i).Format("01/02/2006 15:04"), temp(i))
		}
		return b.String()
	}
	even := func(i int) time.Time { return start.Add(time.Duration(i) * 15 * time.Minute) }
	warm := func(i int) string { return fmt.Sprintf("%.1f", 20+float64(i%5)/2) }
	spring := func(i int) time.Time {
		z, err := time.LoadLocation("America/New_York")
		require.NoError(t, err)
		return time.Date(2026, 3, 8, 5, 0, 0, 0, time.UTC).Add(time.Duration(i) * 15 * time.Minute).In(z)
	}
	for name, x := range map[string]struct{ text, says string }{
		"mixed units": {series(func(i int) string {
			if i > 30 {
				return fmt.Sprintf("%.1f", (20+float64(i%5)/2)*1.8+32)
			}
			return warm(i)
		}, even), "Line 33, column 2: mixed units"},
		"daylight saving": {series(warm, spring), "Line 10, column 1: an hour is missing after line 9"},
		"backwards": {series(warm, func(i int) time.Time {
			if i == 40 {
				return even(20)
			}
			return even(i)
		}), "Line 42, column 1: the time goes back"},
		"text": {series(func(i int) string {
			if i == 50 {
				return "wet"
			}
			return warm(i)
		}, even), "Line 52, column 2: &#34;wet&#34; is not a number"},
		"too hot": {series(func(i int) string {
			if i == 50 {
				return "850"
			}
			return warm(i)
		}, even), "Line 52, column 2: 850 °C cannot be true"},
	} {
		at := p.sendLog(c, name+".csv", []byte(x.text)).Status(303).Response.Header.Get("Location")
		form := answers("T1", start, "header", "1", "unit", "C")
		c.Get(at + "?" + query(form)).Status(422).Has(x.says).Lacks("Put the log on record")
		c.Post(at, form...).Status(422)
		require.Zero(t, p.stored(), name)
	}
	// What a person says is true is taken as said.
	at := p.sendLog(c, "jump.csv", []byte(series(func(i int) string {
		if i > 30 {
			return "68"
		}
		return "20"
	}, even))).Status(303).Response.Header.Get("Location")
	c.Post(at, answers("T1", start, "header", "1", "unit", "C", "allow", "mixed_units")...).Status(303)
	require.Len(t, p.curingLogs(), 1)
}

func query(form []string) string {
	var parts []string
	for i := 0; i+1 < len(form); i += 2 {
		parts = append(parts, form[i]+"="+strings.NewReplacer(" ", "+", "/", "%2F", ":", "%3A").Replace(form[i+1]))
	}
	return strings.Join(parts, "&")
}

func TestUploadsThatAreNoLoggerFile(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.cast(97, "1N-1")
	c := p.Role(authz.Inspector)
	bomb := &bytes.Buffer{}
	z := zip.NewWriter(bomb)
	w, err := z.Create("log.csv")
	require.NoError(t, err)
	_, err = w.Write(append([]byte("time,T\n"), bytes.Repeat([]byte("0"), 30<<20)...))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	large := append([]byte("time,T\n"), bytes.Repeat([]byte("2026-05-03 10:00,21.5\n"), 60<<20/22)...)
	for _, x := range []struct {
		name, says string
		data       []byte
	}{
		{"photo.jpg", "the file is a picture, not a table of readings", append([]byte("\xff\xd8\xff\xe0\x00\x10JFIF"), bytes.Repeat([]byte{0, 7}, 500)...)},
		{"bomb.zip", "200 times its packed size", bomb.Bytes()},
		{"large.csv", "larger than the 50 MB that the design basis allows", large},
		{"notes.txt", "No table was found", []byte("Moved the logger on Tuesday.\n")},
		{"empty.csv", "the file is empty", nil},
	} {
		p.sendLog(c, x.name, x.data).Status(422).Has(x.says)
		require.Zero(t, p.stored(), x.name)
	}
	var drafts int
	require.NoError(t, p.Pool.QueryRow(p.ctx, "select count(*) from logger_draft").Scan(&drafts))
	require.Zero(t, drafts)
	// The limit is the owner's.
	p.DoProgram(authz.Administrator, repair.EditBasis{Key: string(basis.LoggerFileSize), Value: 1, Typed: "1", Source: "owner"})
	p.sendLog(c, "large.csv", large[:2<<20]).Status(422).Has("larger than the 1 MB")
}

func TestCuringByHandAndItsEnd(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.cast(97, "1N-1")
	here := p.Path("pours", "1", "curing")
	start := ago(95 * time.Hour)
	c := p.Role(authz.Inspector)
	c.Post(here+"/hand", "entry", newEntryID(), "hand_sensor", "probe", "hand_place", "core", "hand_covered_at", box(start), "readings-1-at", box(start.Add(time.Hour)), "readings-1-temp", "72",
		"readings-3-at", box(start.Add(2*time.Hour)), "readings-3-temp", "300").Status(422).Has("readings-3-temp")
	c.Post(here+"/hand", "entry", newEntryID(), "hand_sensor", "probe", "hand_place", "core", "hand_covered_at", box(start), "readings-1-at", box(start.Add(time.Hour))).Status(422).Has("Reading 1 has no temperature")
	c.Post(here+"/hand", "entry", newEntryID(), "hand_sensor", "probe", "hand_place", "core", "hand_covered_at", box(start), "readings-1-at", box(start.Add(time.Hour)), "readings-1-temp", "72",
		"readings-3-at", box(start.Add(2*time.Hour)), "readings-3-temp", "25 C").Status(303)
	log := p.curingLogs()[0]
	require.Equal(t, 2, log.Rows)
	require.InDelta(t, 25, float64(log.Hottest), 1e-9)
	c.Post(here+"/hand", "entry", newEntryID(), "log", log.ID, "readings-1-at", box(start.Add(3*time.Hour)), "readings-1-temp", "80").Status(303)
	require.Equal(t, 3, p.curingLogs()[0].Rows)

	c.Post(here+"/end", "entry", newEntryID()).Status(422).Has("Say when curing ended")
	c.Post(here+"/end", "entry", newEntryID(), "cured_at", box(start.Add(70*time.Hour))).Status(303)
	c.Get(here).Status(200).Has("curing ended", "probe", "Strength to expect", "never opens a gate")
	c.Post(here+"/withdraw", "entry", newEntryID(), "log", log.ID).Status(422).Has("Say why")
	c.Post(here+"/withdraw", "entry", newEntryID(), "log", log.ID, "why", "the probe was loose").Status(303)
	c.Get(here).Status(200).Has("withdrawn", "the probe was loose", "No temperature is on record")
	p.Role(authz.Manager).Get(here).Status(200).Lacks("Add a logger file")
	p.Role(authz.Manager).Post(here+"/end", "entry", newEntryID(), "cured_at", box(start)).Status(403)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}
