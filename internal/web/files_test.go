package web_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/exchange"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// ownBridge are tables of a bridge that somebody brings along: two spans, six
// ends, three surveys.
func ownBridge() []exchange.File {
	rows := func(lines ...string) []byte { return []byte(strings.Join(lines, "\n") + "\n") }
	ends := []string{"name,support,section,bearing,fixity,bearing_start [in],bearing_length [in],bearing_width [in],stiffener_pairs,stiffener_width [in],stiffener_thickness [in],stiffener_x [in],fy [ksi],fu [ksi],reaction [kip],access,alias"}
	for _, e := range []string{"1N-1,A1", "1N-2,A1", "1F-1,P1", "1F-2,P1", "2N-1,P1", "2F-2,A2"} {
		ends = append(ends, e+",W33X130,bolster,fixed,4,8,11,,,,,33,60,110,open,")
	}
	ends[3] = `1F-1,P1,W33X130,rocker,expansion,100 mm,8,11,1,5,1/2,8,33,60,450 kN,lane closure,"B3 at the pier; 104"`
	var readings []string
	readings = append(readings, "end,survey_no,face,x [in],z [in],t [in],no_access,reason")
	for _, s := range []struct {
		name string
		thin float64
	}{{"1N-1,1", 0.40}, {"1N-1,2", 0.33}, {"1F-1,1", 0.29}} {
		for x := 2; x <= 26; x += 4 {
			for z := 1; z <= 13; z += 4 {
				readings = append(readings, fmt.Sprintf("%s,T,%d,%d,%.3f,,", s.name, x, z, min(0.58, s.thin+0.02*float64(z-1)+0.01*float64(max(x-14, 0)))))
			}
		}
	}
	readings = append(readings, "1F-1,1,L,10,30,19/64,,", "1F-1,1,R,10,30,,yes,behind the conduit")
	return []exchange.File{
		{Name: "Supports.csv", Data: rows("code,name,station [ft]", "A1,Abutment 1,100", "P1,Pier 1,160", "A2,Abutment 2,225")},
		{Name: "Spans.csv", Data: rows("number,length [ft],girders,spacing [ft],from_support,to_support,note", `1,60,2,"8'-0""",A1,P1,over the yard`, "2,65,2,8,P1,A2,")},
		{Name: "Ends.csv", Data: rows(ends...)},
		{Name: "Surveys.csv", Data: rows("end,survey_no,kind,taken_at,taken_by,method,gauge,flange_t [in]", "1N-1,1,as found,2024-05-02 09:00,I. Wren,caliper,,0.8",
			"1N-1,2,cleaned,2024-06-02 21:30,I. Wren,ultrasonic,UT 7,0.79", "1F-1,1,as found,2024-05-03 10:15,P. Sill,caliper,,")},
		{Name: "Readings.csv", Data: rows(readings...)},
		{Name: "Holes.csv", Data: rows("end,survey_no,x [in],z [in],width [in],height [in],rim [in]", "1F-1,1,7,0,2-1/2,1,0.1")},
	}
}

// changed is a set of files with a text of one of them replaced.
func changed(in []exchange.File, name, from, to string) []exchange.File {
	out := slices.Clone(in)
	for i := range out {
		if out[i].Name == name {
			out[i].Data = []byte(strings.Replace(string(out[i].Data), from, to, 1))
		}
	}
	return out
}

// empty starts a program with nothing in it, and returns its address and a person
// of a role in it.
func (p *testProgram) empty(code string, role authz.Role) (id, path string, c *webtest.Client) {
	p.t.Helper()
	u := uuid.Must(uuid.NewV7())
	_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: u.String(), Actor: p.Actor(authz.Administrator),
		Change: repair.CreateProgram{Program: repair.Program{ID: u.String(), Code: code, Name: "A bridge of our own", Units: "us", Timezone: "UTC"}}})
	require.NoError(p.t, err)
	return u.String(), "/p/" + code, p.AsIn(u, role)
}

// sendFiles uploads files with the fields of the form.
func sendFiles(c *webtest.Client, path string, in []exchange.File, namesAndValues ...string) *webtest.Answer {
	var buf bytes.Buffer
	m := multipart.NewWriter(&buf)
	for i := 0; i < len(namesAndValues); i += 2 {
		_ = m.WriteField(namesAndValues[i], namesAndValues[i+1])
	}
	for _, f := range in {
		w, _ := m.CreateFormFile("files", f.Name)
		_, _ = w.Write(f.Data)
	}
	_ = m.Close()
	r := httptest.NewRequest(http.MethodPost, webtest.Base+path, &buf)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return c.Do(r)
}

func TestOwnBridgeIsCheckedShownAndPutOnRecord(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	id, path, c := p.empty("own", authz.Designer)
	c.Get(path+"/files").Status(200).Has("Empty tables to fill in", "Check the files", "tables.xlsx?units=us")

	a := sendFiles(c, path+"/files/import", ownBridge(), "units", "us").Status(303)
	at := a.Response.Header.Get("Location")
	require.Regexp(t, `^/p/own/files/import/[0-9a-f-]{36}$`, at)
	a = a.Follow().Status(200)
	a.Has("Nothing is on record yet", "3 supports", "2 spans", "1 section", "6 girder ends", "3 surveys", "86 readings", "1 hole", "Readings.csv",
		"2 cleaned, 2024-06-02", "Pier 1, back face", ": the highest demand beside its capacity", "not surveyed", "Put on record")
	require.Len(t, a.Select("tbody tr"), 6)
	require.NotEmpty(t, a.Select(`a[href="#end-1F-1"]`), "a mark of the plan leads to the row")
	s, err := p.Store.Everything(t.Context(), id)
	require.NoError(t, err)
	require.Empty(t, s.Supports, "a preview writes nothing")

	entry := webtest.Attr(a.Select("main form input[name=entry]")[0], "value")
	require.True(t, strings.HasSuffix(at, entry))
	done := c.Post(at, "entry", entry, "act", "confirm").LeadsTo(at).Follow().Status(200)
	done.Has("On record as entry 4 of the journal", "6 girder ends", "86 readings", "The files are on record.")
	c.Post(at, "entry", entry, "act", "confirm").LeadsTo(at)
	end := c.Get(path + "/ends/1F-1").Status(200)
	s, err = p.Store.End(t.Context(), id, "1F-1")
	require.NoError(t, err)
	r := s.Ends[0]
	end.Has(r.State[0].Capacity.Format(units.US, -1), "B3 at the pier")
	require.Equal(t, "P. Sill", r.Surveys[0].TakenBy)
	// The preview showed the very number that is on record.
	a.Has(units.Forces.Figure(float64(*r.State[0].Capacity), units.US, -1))

	v, err := p.Store.Verify(t.Context())
	require.NoError(t, err)
	require.Empty(t, v.Differences)
	var drafts int
	require.NoError(t, p.Pool.QueryRow(t.Context(), "select count(*) from import_draft").Scan(&drafts))
	require.Zero(t, drafts)
}

func TestExportsComeBackThroughTheForm(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.5))
	reader := p.Role(authz.Manager)
	names := func(data string) []string {
		z, err := zip.NewReader(strings.NewReader(data), int64(len(data)))
		require.NoError(t, err)
		var out []string
		for _, f := range z.File {
			r, err := f.Open()
			require.NoError(t, err)
			b, err := io.ReadAll(r)
			require.NoError(t, err)
			out = append(out, f.Name+"\n"+string(b))
		}
		return out
	}
	for _, sys := range []string{"us", "si"} {
		text := reader.Get(p.Path("files") + "/bridge.zip?units=" + sys).Status(200)
		require.Equal(t, `attachment; filename="small-bridge-`+sys+`.zip"`, text.Response.Header.Get("Content-Disposition"))
		book := reader.Get(p.Path("files") + "/bridge.xlsx?units=" + sys).Status(200)
		require.True(t, strings.HasPrefix(book.Body, "PK"))
		for i, in := range []exchange.File{{Name: "b.zip", Data: []byte(text.Body)}, {Name: "b.xlsx", Data: []byte(book.Body)}} {
			_, path, c := p.empty(fmt.Sprintf("copy-%s-%d", sys, i), authz.Administrator)
			a := sendFiles(c, path+"/files/import", []exchange.File{in}, "units", sys).Follow().Status(200)
			entry := webtest.Attr(a.Select("main form input[name=entry]")[0], "value")
			c.Post(path+"/files/import/"+entry, "entry", entry, "act", "confirm").Status(303)
			require.Equal(t, names(text.Body), names(c.Get(path+"/files/bridge.zip?units="+sys).Status(200).Body))
		}
	}
	reader.Get(p.Path("files") + "/bridge.zip?units=furlong").Status(400)
	for _, name := range []string{"tables.xlsx", "tables.zip"} {
		reader.Get(p.Path("files") + "/" + name + "?units=si").Status(200)
	}
	require.Contains(t, names(reader.Get(p.Path("files") + "/tables.zip?units=si").Body)[0], "station [m]")
}

func TestEveryWrongCellIsListedAndNothingWritten(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	id, path, c := p.empty("own", authz.Designer)
	good := ownBridge()
	bomb := func() []byte {
		var packed, buf bytes.Buffer
		w, err := flate.NewWriter(&packed, flate.BestCompression)
		require.NoError(t, err)
		_, err = w.Write(bytes.Repeat([]byte(","), 1<<16))
		require.NoError(t, err)
		require.NoError(t, w.Close())
		z := zip.NewWriter(&buf)
		raw, err := z.CreateRaw(&zip.FileHeader{Name: "Readings.csv", Method: zip.Deflate, UncompressedSize64: exchange.MaxUnpacked + 1, CompressedSize64: uint64(packed.Len())})
		require.NoError(t, err)
		_, err = raw.Write(packed.Bytes())
		require.NoError(t, err)
		require.NoError(t, z.Close())
		return buf.Bytes()
	}()
	for _, x := range []struct {
		name string
		in   []exchange.File
		want []string
	}{
		{"a thickness that never was", changed(good, "Readings.csv", "0.400", "4.00"), []string{"1 problem keeps these files", ">Readings<", ">2<", ">t<", "<q>4.00</q>", "as-new"}},
		{"a force for a length", changed(good, "Ends.csv", "100 mm", "100 kN"), []string{">Ends<", ">bearing_start<", "<q>100 kN</q>"}},
		{"an end twice", changed(good, "Ends.csv", "1N-2,A1", "1N-1,A1"), []string{"End 1N-1 stands in the table twice"}},
		{"no reaction", changed(good, "Ends.csv", "60,110,open", "60,,open"), []string{">reaction_factored<", "Is needed."}},
		{"in the future", changed(good, "Surveys.csv", "2024-05-02", "2124-05-02"), []string{">taken_at<", "Lies after the moment of the import"}},
		{"not a table", []exchange.File{{Name: "notes.csv", Data: []byte("a\n")}}, []string{"file&#39;s name must be that of a table"}},
		{"a bomb", []exchange.File{{Name: "b.zip", Data: bomb}}, []string{"Archive must unpack to at most"}},
		{"markup", changed(good, "Supports.csv", "100", "<script>alert(1)</script>"), []string{"&lt;script&gt;alert(1)"}},
	} {
		a := sendFiles(c, path+"/files/import", x.in, "units", "us").Status(422)
		a.Has("Nothing was written")
		for _, w := range x.want {
			require.True(t, strings.Contains(a.Body, w), "%s: %s", x.name, w)
		}
		a.Lacks("<script>alert")
		require.Len(t, a.Select("#f-files"), 1, "the form stands below, ready for better files")
	}
	sendFiles(c, path+"/files/import", nil, "units", "us").Status(422).Has("Choose a file.")
	a := sendFiles(c, path+"/files/import", good, "units", "furlong").Status(422).Has("Choose US customary or SI.")
	require.Len(t, a.Select(`.choice.bad`), 1)
	a = sendFiles(c, path+"/files/import", []exchange.File{{Name: "Ends.csv", Data: bytes.Repeat([]byte("x"), exchange.MaxBytes+1<<20)}}, "units", "si").Status(422)
	a.Has("larger than 20 MB")

	s, err := p.Store.Everything(t.Context(), id)
	require.NoError(t, err)
	require.Empty(t, s.Supports)
	var drafts int
	require.NoError(t, p.Pool.QueryRow(t.Context(), "select count(*) from import_draft").Scan(&drafts))
	require.Zero(t, drafts, "files that cannot be taken are not kept")
}

// Columns without a unit are read in the units that were chosen: the wrong choice
// shows itself, since 8 mm of web is not 8 in.
func TestWrongUnitsAreFoundOut(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	_, path, c := p.empty("own", authz.Designer)
	in := ownBridge()
	for i := range in {
		for _, u := range []string{" [in]", " [ft]", " [ksi]", " [kip]"} {
			in[i].Data = bytes.ReplaceAll(in[i].Data, []byte(u), nil)
		}
	}
	sendFiles(c, path+"/files/import", in, "units", "us").Status(303)
	a := sendFiles(c, path+"/files/import", in, "units", "si").Status(422)
	a.Has(">fy<", "<q>33</q>", "100 to 1000 MPa")
	require.NotEmpty(t, a.Select(`input[name=units][value=si][checked]`), "the choice stays")
}

func TestImportIsForThoseWhoMay(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	survey := []exchange.File{{Name: "Surveys.csv", Data: []byte("end,survey_no,kind,taken_at,taken_by\n1N-1,1,as found,2024-05-02 09:00,I. Wren\n")},
		{Name: "Readings.csv", Data: []byte("end,survey_no,face,x [in],z [in],t [in]\n1N-1,1,T,2,1,0.4\n")}}
	at := sendFiles(p.Role(authz.Designer), p.Path("files")+"/import", survey, "units", "us").Status(303).Response.Header.Get("Location")
	entry := at[strings.LastIndexByte(at, '/')+1:]
	for _, role := range authz.Roles() {
		c := p.Role(role)
		may := role == authz.Designer || role == authz.Administrator
		page := c.Get(p.Path("files")).Status(200)
		require.Equal(t, may, len(page.Select("#f-files")) == 1, role)
		c.Get(p.Path("files") + "/bridge.xlsx").Status(200)
		if role == authz.Designer {
			continue
		}
		status := map[bool]int{true: 404, false: 403}[may] // another's files are not there
		c.Get(at).Status(status)
		c.Post(at, "entry", entry, "act", "confirm").Status(status)
		if !may {
			sendFiles(c, p.Path("files")+"/import", survey, "units", "us").Status(403)
		}
	}
	p.AsIn(p.NewProgram("other"), authz.Designer).Get(at).Status(404)
	p.Anonymous().Get(p.Path("files")).Status(303)
	require.Empty(t, p.End("1N-1").Surveys)

	mine := p.Role(authz.Designer)
	mine.Get(at).Status(200).Has("on record", `href="`+p.Path("ends", "1N-1")+`"`)
	mine.Post(at, "entry", newEntryID(), "act", "confirm").Status(400)
	mine.Post(at, "act", "confirm").Status(400)
	// Somebody surveys the end meanwhile: the files are refused, with the reason.
	p.Do(authz.Inspector, "1N-1", asFound(0.3))
	for _, a := range []*webtest.Answer{mine.Post(at, "entry", entry, "act", "confirm"), mine.Get(at)} {
		a.Status(422).Has("The record has changed since the files were checked", "The program has survey 1 of 1N-1 already")
	}
	mine.Post(at, "entry", entry, "act", "discard").LeadsTo(p.Path("files")).Follow().Has("The files are discarded")
	mine.Get(at).Status(404)
	require.Len(t, p.End("1N-1").Surveys, 1)
}

// A press sent several times at once counts once.
func TestConfirmSentTwiceAtOnceCountsOnce(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	id, path, c := p.empty("own", authz.Designer)
	at := sendFiles(c, path+"/files/import", ownBridge(), "units", "us").Status(303).Response.Header.Get("Location")
	entry := at[strings.LastIndexByte(at, '/')+1:]
	var wg sync.WaitGroup
	statuses := make([]int, 5)
	for i := range statuses {
		wg.Go(func() { statuses[i] = c.Post(at, "entry", entry, "act", "confirm").Response.StatusCode })
	}
	wg.Wait()
	require.Equal(t, []int{303, 303, 303, 303, 303}, statuses)
	c.Get(at).Status(200).Has("On record as entry 4")
	s, err := p.Store.Everything(t.Context(), id)
	require.NoError(t, err)
	require.Len(t, s.Ends, 6)
}

// Ten megabytes of text are read, checked and shown.
func TestTenMegabytesOfText(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	_, path, c := p.empty("own", authz.Designer)
	in := ownBridge()
	var surveys, readings bytes.Buffer
	surveys.WriteString("end,survey_no,kind,taken_at,taken_by,note\n")
	readings.WriteString("end,survey_no,face,x [in],z [in],t [in],no_access,reason\n")
	for n := 1; n <= 20; n++ {
		fmt.Fprintf(&surveys, "1N-1,%d,as found,2024-05-02 09:%02d,I. Wren,\n", n, n)
		for k := range 1500 {
			fmt.Fprintf(&readings, "1N-1,%d,L,%.2f,%.2f,,yes,%s\n", n, float64(k%60)*0.5, 0.5+float64(k/60), strings.Repeat("no room for the probe behind the conduit; ", 7))
		}
		fmt.Fprintf(&readings, "1N-1,%d,R,2,1,0.4,,\n", n)
	}
	require.Greater(t, readings.Len(), 9<<20)
	in = []exchange.File{in[0], in[1], in[2], {Name: "Surveys.csv", Data: surveys.Bytes()}, {Name: "Readings.csv", Data: readings.Bytes()}}
	sendFiles(c, path+"/files/import", in, "units", "us").Follow().Status(200).Has("30020 readings", "20 surveys")
}
