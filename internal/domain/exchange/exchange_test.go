package exchange

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

var us = Options{System: units.US}

func sample(t testing.TB, set string) []File {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("..", "..", "..", "testdata", "import", set, "*.csv"))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	var out []File
	for _, n := range names {
		data, err := os.ReadFile(n)
		require.NoError(t, err)
		out = append(out, File{filepath.Base(n), data})
	}
	return out
}

// with replaces one file of a set.
func with(files []File, name, data string) []File {
	out := []File{{name, []byte(data)}}
	for _, f := range files {
		if f.Name != name {
			out = append(out, f)
		}
	}
	return out
}

func TestReadBridgeInUSUnits(t *testing.T) {
	t.Parallel()
	b, err := Read(sample(t, "us"), us)
	require.NoError(t, err)
	require.Len(t, b.Supports, 3)
	require.Equal(t, units.Length(158*304.8), b.Supports[1].Station)
	require.Len(t, b.Spans, 2)
	require.InDelta(t, 6*304.8+8*25.4, float64(b.Spans[0].Spacing), 1e-9)
	require.Equal(t, `6'-8"`, b.Spans[0].Typed["spacing"])

	require.Len(t, b.Sections, 2)
	require.InDelta(t, 0.58*25.4, float64(b.Sections[0].WebThickness), 1e-9, "the library fills in a name alone")
	pg := b.Sections[1]
	require.Equal(t, units.Length(31.75), pg.TopFlangeThickness)
	require.Equal(t, "1-1/4 in", pg.Typed["tf_top"])
	require.Equal(t, `drawing S-7, "web" sheet`, pg.Source)

	require.Len(t, b.Ends, 3)
	e := b.Ends[1]
	require.Equal(t, girder.Name{Span: 1, Side: girder.Far, Girder: 3}, e.Geometry.Name)
	require.Equal(t, "W33X130", e.Geometry.Section.Name)
	require.InDelta(t, -12.5, float64(e.Geometry.SkewDeg), 1e-12)
	require.Equal(t, units.Length(200), e.Geometry.Bearing.Length)
	require.Equal(t, "200 mm", e.Typed["bearing_length"])
	require.Equal(t, units.Force(430e3), e.Reaction)
	require.Equal(t, []string{"=odd name"}, e.Aliases)
	require.Equal(t, []string{"B1 at north abutment", "101-A"}, b.Ends[0].Aliases)
	st := b.Ends[2].Geometry.Stiffener
	require.NotNil(t, st)
	require.Equal(t, b.Ends[2].Geometry.Fy, st.Fy)
	require.Equal(t, girder.SlidingPlate, b.Ends[2].Geometry.Bearing.Kind)

	require.Len(t, b.Surveys, 3)
	s := b.Surveys[0]
	require.Equal(t, "two lines\nof note", s.Note)
	require.Len(t, s.Findings.Readings, 4)
	require.Equal(t, "0.3125 in", s.Readings[0].T)
	require.Equal(t, units.Length(7.9375), s.Findings.Readings[0].T)
	require.Equal(t, "5/16 in", s.Readings[1].T)
	require.Equal(t, "7.94 mm", s.Readings[2].T)
	require.Equal(t, units.Length(7.94), s.Findings.Readings[2].T)
	require.True(t, s.Findings.Readings[3].NoAccess)
	require.Equal(t, "behind the rocker, pin", s.Readings[3].Reason)
	require.Equal(t, time.Date(2027, 4, 3, 3, 10, 0, 0, time.UTC), b.Surveys[1].TakenAt)
	require.Len(t, b.Surveys[1].Findings.Holes, 1)
}

func TestReadSemicolonsAndDecimalCommas(t *testing.T) {
	t.Parallel()
	b, err := Read(sample(t, "si"), Options{System: units.US, Zone: time.FixedZone("", 3600)})
	require.NoError(t, err)
	require.Equal(t, units.Length(20500), b.Supports[1].Station)
	require.Equal(t, "20.5 m", b.Supports[1].Typed["station"])
	r := b.Surveys[0]
	require.Equal(t, units.Length(1.25), r.Findings.Readings[0].T, "with semicolons 1,250 is one and a quarter")
	require.Equal(t, time.Date(2027, 5, 1, 7, 0, 0, 0, time.UTC), r.TakenAt)
	require.Equal(t, units.Stress(227.5), b.Ends[0].Geometry.Fy)
	require.Equal(t, units.Length(125), b.Ends[0].Geometry.Bearing.Length)
	require.Len(t, b.Sections, 1, "a section of the library joins the bridge")
}

func TestFormsOfTheSameTables(t *testing.T) {
	t.Parallel()
	files := sample(t, "us")
	want, err := Read(files, us)
	require.NoError(t, err)
	same := func(name string, files ...File) {
		got, err := Read(files, us)
		require.NoError(t, err, name)
		require.Equal(t, want, got, name)
	}
	packed, err := Zip(files)
	require.NoError(t, err)
	same("zip", File{"bridge.zip", packed})
	var inFolder []File
	for _, f := range files {
		inFolder = append(inFolder, File{"export/brindle-" + strings.ToLower(f.Name), f.Data})
	}
	packed, err = Zip(append(inFolder, File{"export/read me.pdf", []byte("x")}, File{"__MACOSX/._Ends.csv", []byte("x")}))
	require.NoError(t, err)
	same("zip in a folder", File{"b.zip", packed})
	var utf []File
	for _, f := range files {
		codes := utf16.Encode([]rune("\uFEFF" + string(f.Data)))
		data := make([]byte, 0, 2*len(codes))
		for _, c := range codes {
			data = append(data, byte(c), byte(c>>8))
		}
		utf = append(utf, File{f.Name, data})
	}
	same("UTF-16", utf...)
	var marked []File
	for _, f := range files {
		marked = append(marked, File{f.Name, []byte("sep=,\r\n" + strings.ReplaceAll(string(f.Data), "\n", "\r\n"))})
	}
	same("sep= and CRLF", marked...)
}

// What is written reads back to the same bridge, typed texts and last bits
// included, in either family of units and either form.
func TestRoundTripOfTheSample(t *testing.T) {
	t.Parallel()
	for _, set := range []string{"us", "si"} {
		want, err := Read(sample(t, set), us)
		require.NoError(t, err)
		roundTrip(t, want)
	}
}

func roundTrip(t require.TestingT, want Bridge) {
	for _, sys := range []units.System{units.US, units.SI} {
		files, err := CSV(want, sys)
		require.NoError(t, err)
		got, err := Read(files, Options{System: sys})
		require.NoError(t, err)
		requireSame(t, want, got)
		book, err := XLSX(want, sys)
		require.NoError(t, err)
		got, err = Read([]File{{"b.xlsx", book}}, Options{System: sys})
		require.NoError(t, err)
		requireSame(t, want, got)
	}
}

// requireSame compares two bridges; what nobody typed may have gained a text.
func requireSame(t require.TestingT, want, got Bridge) {
	keep := func(have *Typed, typed Typed) {
		for k := range *have {
			if typed[k] == "" {
				delete(*have, k)
			}
		}
		if len(*have) == 0 {
			*have = nil
		}
	}
	for i := range got.Supports {
		keep(&got.Supports[i].Typed, want.Supports[i].Typed)
	}
	for i := range got.Spans {
		keep(&got.Spans[i].Typed, want.Spans[i].Typed)
	}
	for i := range got.Sections {
		keep(&got.Sections[i].Typed, want.Sections[i].Typed)
	}
	for i := range got.Ends {
		keep(&got.Ends[i].Typed, want.Ends[i].Typed)
	}
	for i := range got.Surveys {
		g, w := &got.Surveys[i], want.Surveys[i]
		keep(&g.Typed, w.Typed)
		for j := range g.Readings {
			if j >= len(w.Readings) {
				continue
			}
			for _, p := range [][2]*string{{&g.Readings[j].X, &w.Readings[j].X}, {&g.Readings[j].Z, &w.Readings[j].Z}, {&g.Readings[j].T, &w.Readings[j].T}} {
				if *p[1] == "" {
					*p[0] = ""
				}
			}
		}
		for j := range g.Holes {
			keep(&g.Holes[j], w.Holes[j])
		}
	}
	require.Equal(t, want, got)
}

func TestEveryProblemIsNamedWithItsCell(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, file, data string
		want             []string
	}{
		{"metal that was never there", "Readings.csv", "end,survey_no,face,x [in],z [in],t [in]\n1N-1,1,L,2,1,0.3\n1N-1,1,L,4,1,0.9\n",
			[]string{`Readings row 3, t "0.9": must lie from 0 to 16.205 mm`}},
		{"not a number", "Readings.csv", "end,survey_no,face,x [in],z [in],t [in]\n1N-1,1,L,2,1,thin\n1N-1,1,Q,2 kip,1,0.3\n",
			[]string{`Readings row 2, t "thin": is not a number`, `Readings row 3, face "Q": must be one of L, R, T`, `Readings row 3, x "2 kip"`}},
		{"no thickness", "Readings.csv", "end,survey_no,face,x,z,t,no_access\n1N-1,1,L,2,1,,\n1N-1,1,L,2,1,0.2,yes\n1N-1,1,L,2,1,,perhaps\n",
			[]string{`Readings row 2, t: is needed`, `Readings row 3, t "0.2": must be blank`, `Readings row 4, no_access "perhaps": must be yes or no`, `Readings row 4, t: is needed`}},
		{"the same place twice", "Readings.csv", "end,survey_no,face,x [in],z [in],t [in]\n1N-1,1,L,2,1,0.3\n1N-1,1,L,2,1,0.4\n",
			[]string{`Readings row 3: reads the same place on face L as reading 1`}},
		{"no such survey", "Readings.csv", "end,survey_no,face,x,z,t\n1N-1,7,L,2,1,0.3\nX,1,L,2,1,0.3\n1N-1,1.5,L,2,1,0.3\n",
			[]string{`Readings row 2, survey_no "7": the table Surveys has no survey 7 of 1N-1`, `Readings row 3, end "X": must be span`, `Readings row 4, survey_no "1.5": must be a whole number`}},
		{"header", "Readings.csv", "end,survey_no,face,x [kip],z,z,thickness\n1N-1,1,L,2,1,1,0.3\n",
			[]string{`Readings row 1, x "x [kip]": has a unit`, `Readings row 1, z "z": stands in the header twice`, `Readings row 1 "thickness": is not a column`, `Readings row 1, t: is missing`}},
		{"two ways to read", "Readings.csv", "end,survey_no,face,x [mm],z [mm],t [mm]\n1N-1,1,L,\"1,234\",25,8\n", []string{`Readings row 2, x "1,234": could be read two ways`}},
		{"unnamed column", "Readings.csv", "end,survey_no,face,x,z,t\n1N-1,1,L,2,1,0.3,seen\n", []string{`Readings row 2 "seen": stands in a column that has no name`}},
		{"broken quotes", "Readings.csv", "end,survey_no,face,x,z,t\n1N-1,1,L,2,1,\"0.3\n", []string{`Readings row 2: cannot be read as CSV`}},
		{"empty", "Readings.csv", "\n\n", []string{`Readings: is empty`}},
		{"dates", "Surveys.csv", "end,survey_no,kind,taken_at,taken_by\n1N-1,1,as found,7/8/2027,I. Wren\n1N-1,1,cleaned,2027-02-30,I. Wren\n1N-1,2,shiny,2027-03-01,\n2N-6,1,cleaned,46000,I. Wren\n",
			[]string{`Surveys row 2, taken_at "7/8/2027": must be a date`, `Surveys row 3, taken_at "2027-02-30"`, `Surveys row 4, kind "shiny"`, `Surveys row 4, taken_by: is needed`, `Surveys row 5, taken_at "46000"`}},
		{"survey twice", "Surveys.csv", "end,survey_no,kind,taken_at,taken_by\n1N-1,1,as found,2027-07-08,I. Wren\n1N-1,1,cleaned,2027-07-09,I. Wren\n1N-1,2,cleaned,2027-07-09,I. Wren\n2N-6,1,cleaned,2027-07-09,I\n9N-1,1,cleaned,2027-07-09,I\n",
			[]string{`Surveys row 3, survey_no "1": survey 1 of 1N-1 stands in the table twice`, `Surveys row 6, end "9N-1": there is no end 9N-1`}},
		{"stiffeners that are not there", "Surveys.csv", "end,survey_no,kind,taken_at,taken_by,stiffener_t [in]\n1N-1,1,as found,2027-07-08,I,0.5\n1N-1,2,cleaned,2027-07-09,I,\n2N-6,1,cleaned,2027-07-09,I,0.7\n",
			[]string{`Surveys row 2, stiffener_t "0.5": the end has no bearing stiffeners`, `Surveys row 4, stiffener_t "0.7": must lie from`}},
		{"supports", "Supports.csv", "code,name,station\nA1,Abutment 1,100\nA1,Again,1\n,No code,2\nP1,Pier 1,158 kg\nA2,Abutment 2,\n",
			[]string{`Supports row 3, code "A1": support A1 stands in the table twice`, `Supports row 4, code: is needed`, `Supports row 5, station "158 kg"`}},
		{"spans", "Spans.csv", "number,length [ft],girders,spacing [ft],from_support,to_support\n1,58,6,6.7,A1,P1\n2,66,6,6.7,A1,A1\n3,0,0,1000,A2,P9\n",
			[]string{`Spans row 4, girders "0"`, `Spans row 2, to_support "P1": span 2 begins at A1`, `Spans row 3, to_support "A1": must differ`, `Spans row 4, to_support "P9": no support`}},
		{"a span of no length", "Spans.csv", "number,length [ft],girders,spacing [ft],from_support,to_support\n1,0,6,6.7,A1,P1\n2,66,6,0,P1,A2\n",
			[]string{`Spans row 2, length "0": must be more than 0`, `Spans row 3, spacing "0": must be more than 0`}},
		{"sections", "Sections.csv", "name,d [in],bf [in],tf [in],tw [in],k [in]\nW33X130,,,,,\nPG54,56.5,16,1.25,20,1.5625\nW1X1,,,,,\n",
			[]string{`Sections row 3, tw "20": must be more than 0 and less than the flange width`, `Sections row 4, d: is needed`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b, err := Read(with(sample(t, "us"), c.file, c.data), us)
			require.Equal(t, Bridge{}, b, "all or nothing")
			var ps *Problems
			require.ErrorAs(t, err, &ps)
			require.ErrorIs(t, err, fault.Fields)
			var lines []string
			for _, p := range ps.List {
				lines = append(lines, p.String())
			}
			all := strings.Join(lines, "\n")
			for _, w := range c.want {
				require.Contains(t, all, w)
			}
		})
	}
}

func TestEndsThatCannotBe(t *testing.T) {
	t.Parallel()
	const header = "name,support,face,section,bearing,fixity,bearing_start [in],bearing_length [in],bearing_width [in],fy [ksi],fu [ksi],stiffener_pairs,stiffener_width [in],reaction [kip]\n"
	rows := map[string]string{
		`name "4N-1": there is no span 4`:                           "4N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,,,",
		`name "1N-7": span 1 has 6 girder lines`:                    "1N-7,A1,,W33X130,rocker,fixed,3,8,11,33,,,,",
		`support "P1": must be A1`:                                  "1N-1,P1,,W33X130,rocker,fixed,3,8,11,33,,,,",
		`face "back": must be ahead for 1N-1`:                       "1N-1,A1,back,W33X130,rocker,fixed,3,8,11,33,,,,",
		`section "W99X1": no section of this name`:                  "1N-1,A1,,W99X1,rocker,fixed,3,8,11,33,,,,",
		`bearing "magnet": must be one of`:                          "1N-1,A1,,W33X130,magnet,fixed,3,8,11,33,,,,",
		`bearing_length "0": must be more than 0`:                   "1N-1,A1,,W33X130,rocker,fixed,3,0,11,33,,,,",
		`fy "3300": must lie from 100 to 1000 MPa`:                  "1N-1,A1,,W33X130,rocker,fixed,3,8,11,3300,,,,",
		`fu "20": must be at least the yield strength`:              "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,20,,,",
		`stiffener_thickness: is needed`:                            "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,1,5,",
		`stiffener_width "5": must be blank where`:                  "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,,5,",
		`reaction_factored "-4": must be from 0`:                    "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,,,-4",
		`fy "33 kip": is`:                                           "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33 kip,,,,",
		`fy "` + strings.Repeat("1", 49) + `": is longer than`:      "1N-1,A1,,W33X130,rocker,fixed,3,8,11," + strings.Repeat("1", 49) + ",,,,",
		`support "` + strings.Repeat("A", 79) + `…": has more than`: "1N-1," + strings.Repeat("A", 5000) + ",,W33X130,rocker,fixed,3,8,11,33,,,,",
	}
	var files []File
	for _, f := range sample(t, "us") {
		if f.Name == "Supports.csv" || f.Name == "Spans.csv" || f.Name == "Sections.csv" {
			files = append(files, f)
		}
	}
	_, err := Read(with(files, "Ends.csv", header+"1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,,,\n"), us)
	require.NoError(t, err)
	for want, line := range rows {
		_, err := Read(with(files, "Ends.csv", header+line+"\n"), us)
		require.ErrorContains(t, err, "Ends row 2, "+want)
	}
}

func TestSurveysOfAKnownBridge(t *testing.T) {
	t.Parallel()
	known, err := Read(sample(t, "us"), us)
	require.NoError(t, err)
	opt := Options{System: units.US, Known: &known}
	surveys := File{"Surveys.csv", []byte("end,survey_no,kind,taken_at,taken_by\n1N-1,3,cleaned,2027-06-01,I. Wren\n")}
	readings := File{"Readings.csv", []byte("end,survey_no,face,x,z,t\n1N-1,3,L,2,1,0.3\n")}
	b, err := Read([]File{readings, surveys}, opt)
	require.NoError(t, err)
	require.Len(t, b.Surveys, 1)
	require.Empty(t, b.Ends)
	surveys.Data = []byte("end,survey_no,kind,taken_at,taken_by\n1N-1,2,cleaned,2027-06-01,I. Wren\n")
	_, err = Read([]File{surveys}, opt)
	require.ErrorContains(t, err, "the program has survey 2 of 1N-1 already")
	_, err = Read(sample(t, "us"), opt)
	require.ErrorContains(t, err, "the program has support A1 already")
}

func TestFilesThatAreNotTables(t *testing.T) {
	t.Parallel()
	bomb := func(size int) []byte {
		var buf bytes.Buffer
		z := zip.NewWriter(&buf)
		w, err := z.Create("Readings.csv")
		require.NoError(t, err)
		line := bytes.Repeat([]byte(","), 1<<20)
		for range size {
			_, err = w.Write(line)
			require.NoError(t, err)
		}
		require.NoError(t, z.Close())
		return buf.Bytes()
	}
	many, err := Zip(make([]File, 10*MaxFiles+1))
	require.NoError(t, err)
	lying := bomb(120)
	for i := 0; i+4 < len(lying); i++ { // claim a size of 16 bytes in the central list
		if bytes.Equal(lying[i:i+4], []byte("PK\x01\x02")) {
			copy(lying[i+24:], []byte{16, 0, 0, 0})
		}
	}
	for _, c := range []struct {
		name, want string
		file       File
	}{
		{"nothing", "no file was given", File{}},
		{"name", "the file's name must be that of a table", File{"notes.csv", []byte("a,b\n1,2\n")}},
		{"not text", "is not text in UTF-8", File{"Ends.csv", []byte{'n', 0xFF, 0xFE, 0x80}}},
		{"half a code", "is not text in UTF-8", File{"Ends.csv", []byte{0xFF, 0xFE, 0x80}}},
		{"old workbook", "old kind", File{"b.xls", []byte{0xD0, 0xCF, 0x11, 0xE0, 1, 2, 3}}},
		{"damaged zip", "cannot be read as a zip", File{"b.zip", []byte("PK\x03\x04 nothing")}},
		{"zip without tables", "holds no table", File{"b.zip", func() []byte { z, _ := Zip([]File{{"a.pdf", nil}}); return z }()}},
		{"bomb", "must unpack to at most", File{"b.zip", bomb(101)}},
		{"bomb that lies", "", File{"b.zip", lying}},
		{"many files", "must hold at most", File{"b.zip", many}},
		{"too large", "must be at most", File{"Ends.csv", bytes.Repeat([]byte("x"), MaxBytes+1)}},
		{"too wide", "more than 100 columns", File{"Ends.csv", bytes.Repeat([]byte("x,"), 200)}},
		{"odd separator", "separator must be", File{"Ends.csv", []byte("sep=|\na|b\n")}},
		{"workbook of nothing", "cannot be read", File{"b.xlsx", func() []byte {
			z, _ := Zip([]File{{"[Content_Types].xml", []byte("<x/>")}})
			return z
		}()}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			files := []File{c.file}
			if c.name == "nothing" {
				files = nil
			}
			_, err := Read(files, us)
			var ps *Problems
			require.ErrorAs(t, err, &ps)
			require.ErrorContains(t, err, c.want)
		})
	}
	// A sheet that breaks off, in an archive that is otherwise sound.
	book, err := XLSX(large(12), units.US)
	require.NoError(t, err)
	z, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	require.NoError(t, err)
	var parts []File
	for _, e := range z.File {
		r, err := e.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		if strings.HasPrefix(e.Name, "xl/worksheets/") {
			data = data[:len(data)*3/4]
		}
		parts = append(parts, File{e.Name, data})
	}
	cut, err := Zip(parts)
	require.NoError(t, err)
	_, err = Read([]File{{"b.xlsx", cut}}, us)
	require.ErrorContains(t, err, "a sheet of the workbook is damaged")

	twice := append(sample(t, "us"), File{"old-Ends.csv", []byte("name\n")})
	_, err = Read(twice, us)
	require.ErrorContains(t, err, "two files hold this table")
}

func TestProblemsAreListedToAPointAndCounted(t *testing.T) {
	t.Parallel()
	var sb strings.Builder
	sb.WriteString("code,name\n")
	for range 2500 {
		sb.WriteString(",x\n")
	}
	_, err := Read([]File{{"Supports.csv", []byte(sb.String())}}, us)
	var ps *Problems
	require.ErrorAs(t, err, &ps)
	require.Equal(t, 2500, ps.Total)
	require.Len(t, ps.List, MaxProblems)
	require.ErrorContains(t, err, "and 2495 more")

	sb.Reset()
	sb.WriteString("code,name\n")
	for i := range MaxRows + 1 {
		fmt.Fprintf(&sb, "S%d,x\n", i)
	}
	_, err = Read([]File{{"Supports.csv", []byte(sb.String())}}, us)
	require.ErrorContains(t, err, "more than 200000 rows")
}

// A workbook made by hand: numbers shown with few digits, dates as dates, a
// formula, other sheets, empty rows.
func TestReadAWorkbookMadeByHand(t *testing.T) {
	t.Parallel()
	known, err := Read(sample(t, "us"), us)
	require.NoError(t, err)
	known.Surveys = nil
	book := handMade(t, "I. Wren")
	b, err := Read([]File{{"b.xlsx", book}}, Options{System: units.US, Zone: time.FixedZone("", -4*3600), Known: &known})
	require.NoError(t, err)
	require.Equal(t, units.Length(7.9375), b.Surveys[0].Findings.Readings[0].T, "the value and not what its format shows")
	require.Equal(t, time.Date(2027, 7, 17, 2, 40, 0, 0, time.UTC), b.Surveys[0].TakenAt)

	_, err = Read([]File{{"b.xlsx", handMade(t, "")}}, Options{System: units.US, Known: &known})
	require.ErrorContains(t, err, "Surveys row 4, taken_by: is needed", "the row as the workbook counts it")

	other := excelize.NewFile()
	var buf bytes.Buffer
	require.NoError(t, other.Write(&buf))
	_, err = Read([]File{{"b.xlsx", buf.Bytes()}}, us)
	require.ErrorContains(t, err, "has no sheet with the name of a table")
}

func handMade(t *testing.T, takenBy string) []byte {
	t.Helper()
	f := excelize.NewFile()
	set := func(sheet, cell string, v any) { require.NoError(t, f.SetCellValue(sheet, cell, v)) }
	for _, s := range []string{"surveys", " Readings", "Sketch"} {
		_, err := f.NewSheet(s)
		require.NoError(t, err)
	}
	for i, h := range []string{"End", "Survey No", "Kind", "Taken at", "Taken by"} {
		set("surveys", string(rune('A'+i))+"1", h)
	}
	set("surveys", "A4", "1n-1")
	set("surveys", "B4", 3.0)
	set("surveys", "C4", "Cleaned")
	set("surveys", "D4", time.Date(2027, 7, 16, 22, 40, 0, 0, time.UTC))
	set("surveys", "E4", takenBy)
	for i, h := range []string{"end", "survey", "face", "x (in)", "z (in)", "t (in)"} {
		set(" Readings", string(rune('A'+i))+"1", h)
	}
	for i, v := range []any{"1N-1", 3, "L", 2, 1, 0.3125} {
		set(" Readings", string(rune('A'+i))+"2", v)
	}
	style, err := f.NewStyle(&excelize.Style{NumFmt: 2}) // shows 0.31
	require.NoError(t, err)
	require.NoError(t, f.SetCellStyle(" Readings", "F2", "F2", style))
	require.NoError(t, f.SetCellFormula("Sketch", "A1", "1+1"))
	var buf bytes.Buffer
	require.NoError(t, f.Write(&buf))
	return buf.Bytes()
}

func TestNothingIsTakenForAFormula(t *testing.T) {
	t.Parallel()
	for _, s := range []string{"=1+1", "+1", "-x", "@SUM(A1)", "'=1", "''=1", "'", "'a", "a=b", ""} {
		g := guard(s)
		require.Equal(t, s, unguard(g))
		if g != "" {
			require.NotContains(t, "=+-@", g[:1], s)
		}
	}
	b := Bridge{Supports: []Support{{Code: "=cmd|' /C calc'!A0", Name: "@A1", Station: -5}}}
	files, err := CSV(b, units.US)
	require.NoError(t, err)
	require.Contains(t, string(files[0].Data), "'=cmd|' /C calc'!A0,'@A1,")
	book, err := XLSX(b, units.US)
	require.NoError(t, err)
	f, err := excelize.OpenReader(bytes.NewReader(book))
	require.NoError(t, err)
	formula, err := f.GetCellFormula(TableSupports, "A2")
	require.NoError(t, err)
	require.Empty(t, formula)
}

func TestTemplatesAreReadAsEmpty(t *testing.T) {
	t.Parallel()
	for _, sys := range []units.System{units.US, units.SI} {
		xlsx, zipped, err := Template(sys)
		require.NoError(t, err)
		for name, data := range map[string][]byte{"t.xlsx": xlsx, "t.zip": zipped} {
			b, err := Read([]File{{name, data}}, Options{System: units.US})
			require.NoError(t, err, name)
			require.Equal(t, Bridge{}, b)
		}
	}
	again, zipped, err := Template(units.US)
	require.NoError(t, err)
	require.NotEmpty(t, again)
	_, second, err := Template(units.US)
	require.NoError(t, err)
	require.Equal(t, zipped, second, "the same tables give the same bytes")
}

func TestExactUnitsOfCells(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind              units.Kind
		v                 float64
		typed, unit, want string
		sys               units.System
	}{
		{units.Lengths, 7.9375, "0.3125 in", "in", "0.3125", units.US},
		{units.Lengths, 7.9375, "5/16 in", "in", "5/16", units.US},
		{units.Lengths, 7.9375, "5/16 in", "mm", "5/16 in", units.SI},
		{units.Lengths, 7.9375, "0.3125", "mm", "0.3125 in", units.SI},
		{units.Lengths, 7.9375, "", "in", "0.3125", units.US},
		{units.Lengths, 7.9375, "0.9 in", "in", "0.3125", units.US}, // typed for another value
		{units.Spans, 304.8, "", "ft", "1", units.US},
	} {
		require.Equal(t, c.want, writeQuantity(c.kind, c.v, c.typed, c.unit, c.sys))
	}
}

// A full bridge: 500 ends with two surveys of 150 readings each.
func large(ends int) Bridge {
	b := Bridge{}
	entry, _ := girder.Lookup("W36X150")
	b.Sections = []Section{{Section: entry.Section}}
	b.Supports = []Support{{Code: "S1", Name: "Abutment 1"}}
	spans := (ends + 11) / 12
	for i := range spans {
		from, to := "S"+strconv.Itoa(i+1), "S"+strconv.Itoa(i+2)
		b.Supports = append(b.Supports, Support{Code: to, Name: "Support " + to, Station: units.Length(20000 * (i + 1))})
		b.Spans = append(b.Spans, Span{Number: i + 1, Length: 20000, Girders: 6, Spacing: 2000, From: from, To: to})
		for g := range 6 {
			for _, side := range []girder.Side{girder.Near, girder.Far} {
				if len(b.Ends) == ends {
					break
				}
				e := End{Support: from, Geometry: girder.Geometry{Name: girder.Name{Span: i + 1, Side: side, Girder: g + 1}, Section: entry.Section,
					Bearing: girder.Bearing{Kind: girder.Rocker, Start: 75, Length: 200, Width: 300}, Fy: 228, Fu: 414}}
				if side == girder.Far {
					e.Support = to
				}
				b.Ends = append(b.Ends, e)
				for n, kind := range []string{AsFound, Cleaned} {
					s := Survey{End: e.Geometry.Name, Number: n + 1, Kind: kind, TakenAt: time.Date(2027, 3, 1+n, 8, 0, 0, 0, time.UTC), TakenBy: "I. Wren"}
					for k := range 150 {
						s.Findings.Readings = append(s.Findings.Readings, survey.Reading{Face: survey.Left, X: units.Length(25 * (k % 15)), Z: units.Length(25 * (k / 15)), T: units.Length(8 + float64(k%70)/10)})
					}
					s.Readings = make([]ReadingNote, len(s.Findings.Readings))
					b.Surveys = append(b.Surveys, s)
				}
			}
		}
	}
	return b
}

func TestALargeBridgeGoesThrough(t *testing.T) {
	t.Parallel()
	want := large(100)
	files, err := CSV(want, units.US)
	require.NoError(t, err)
	got, err := Read(files, us)
	require.NoError(t, err)
	requireSame(t, want, got)
}

func BenchmarkReadCSV(b *testing.B) {
	files, err := CSV(large(500), units.US)
	require.NoError(b, err)
	for b.Loop() {
		_, err := Read(files, us)
		require.NoError(b, err)
	}
}

func BenchmarkReadXLSX(b *testing.B) {
	book, err := XLSX(large(500), units.US)
	require.NoError(b, err)
	b.ReportMetric(float64(len(book))/1e6, "MB")
	for b.Loop() {
		_, err := Read([]File{{"b.xlsx", book}}, us)
		require.NoError(b, err)
	}
}
