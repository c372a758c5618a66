package exchange

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

func TestEveryProblemIsNamedWithItsCell(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, file, data string
		want             []string
	}{
		{"metal that was never there", "Readings.csv", "end,survey_no,face,x [in],z [in],t [in]\n1N-1,1,L,2,1,0.3\n1N-1,1,L,4,1,0.9\n",
			[]string{"Readings row 3, t \"0.9\": must lie from 0 to 0.638\u00a0in, which is 1.1 of the as-new 0.580\u00a0in: measure again"}},
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
		{"a survey of nothing", "Readings.csv", "end,survey_no,face,x [in],z [in],t [in]\n1N-1,1,L,2,1,0.3\n2N-6,1,L,2,1,0.4\n",
			[]string{`Surveys row 4, survey_no "2": survey 2 of 1N-1 needs a reading in the table Readings`}},
		{"as found after it was cleaned", "Surveys.csv", "end,survey_no,kind,taken_at,taken_by\n1N-1,2,as found,2027-07-08,I. Wren\n1N-1,1,cleaned,2027-07-07,I. Wren\n2N-6,1,as found,2027-07-09,I\n",
			[]string{`Surveys row 2, kind "as found": survey 1 of 1N-1 was taken on cleaned steel`}},
		{"too long a code", "Supports.csv", "code,name,station\nABUTMENT NUMBER ONE OF THE NORTH,Abutment 1,100\nP1,Pier 1,158\nA2,Abutment 2,224\n",
			[]string{`Supports row 2, code "ABUTMENT NUMBER ONE OF THE NORTH": has more than 20 characters`}},
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
		`reaction_factored: is needed`:                              "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,,,",
		`name "4N-1": there is no span 4`:                           "4N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,,,96",
		`name "1N-7": span 1 has 6 girder lines`:                    "1N-7,A1,,W33X130,rocker,fixed,3,8,11,33,,,,96",
		`support "P1": must be A1`:                                  "1N-1,P1,,W33X130,rocker,fixed,3,8,11,33,,,,96",
		`face "back": must be ahead for 1N-1`:                       "1N-1,A1,back,W33X130,rocker,fixed,3,8,11,33,,,,96",
		`section "W99X1": no section of this name`:                  "1N-1,A1,,W99X1,rocker,fixed,3,8,11,33,,,,96",
		`bearing "magnet": must be one of`:                          "1N-1,A1,,W33X130,magnet,fixed,3,8,11,33,,,,96",
		`bearing_length "0": must be more than 0`:                   "1N-1,A1,,W33X130,rocker,fixed,3,0,11,33,,,,96",
		"fy \"3300\": must lie from 14.5 to 145.0\u00a0ksi":         "1N-1,A1,,W33X130,rocker,fixed,3,8,11,3300,,,,96",
		`fu "20": must be at least the yield strength`:              "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,20,,,96",
		`stiffener_thickness: is needed`:                            "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,1,5,96",
		`stiffener_width "5": must be blank where`:                  "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,,5,96",
		`reaction_factored "-4": must be more than 0`:               "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,,,-4",
		`fy "33 kip": is`:                                           "1N-1,A1,,W33X130,rocker,fixed,3,8,11,33 kip,,,,96",
		`fy "` + strings.Repeat("1", 49) + `": is longer than`:      "1N-1,A1,,W33X130,rocker,fixed,3,8,11," + strings.Repeat("1", 49) + ",,,,96",
		`support "` + strings.Repeat("A", 79) + `…": has more than`: "1N-1," + strings.Repeat("A", 5000) + ",,W33X130,rocker,fixed,3,8,11,33,,,,96",
	}
	var files []File
	for _, f := range sample(t, "us") {
		if f.Name == "Supports.csv" || f.Name == "Spans.csv" || f.Name == "Sections.csv" {
			files = append(files, f)
		}
	}
	_, err := Read(with(files, "Ends.csv", header+"1N-1,A1,,W33X130,rocker,fixed,3,8,11,33,,,,96\n"), us)
	require.NoError(t, err)
	for want, line := range rows {
		_, err := Read(with(files, "Ends.csv", header+line+"\n"), us)
		require.ErrorContains(t, err, "Ends row 2, "+want)
	}
}

func TestFilesThatAreNotTables(t *testing.T) {
	t.Parallel()
	// An entry that claims one size and holds another.
	claim := func(claimed uint64, holds int) []byte {
		var packed, buf bytes.Buffer
		w, err := flate.NewWriter(&packed, flate.BestCompression)
		require.NoError(t, err)
		_, err = w.Write(bytes.Repeat([]byte(","), holds))
		require.NoError(t, err)
		require.NoError(t, w.Close())
		z := zip.NewWriter(&buf)
		raw, err := z.CreateRaw(&zip.FileHeader{Name: "Readings.csv", Method: zip.Deflate, UncompressedSize64: claimed, CompressedSize64: uint64(packed.Len())})
		require.NoError(t, err)
		_, err = raw.Write(packed.Bytes())
		require.NoError(t, err)
		require.NoError(t, z.Close())
		return buf.Bytes()
	}
	many, err := Zip(make([]File, 10*MaxFiles+1))
	require.NoError(t, err)
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
		{"bomb", "must unpack to at most", File{"b.zip", claim(MaxUnpacked+1, 100)}},
		{"bomb that lies", "cannot be unpacked", File{"b.zip", claim(16, 1<<20)}},
		{"bomb of more than can be", "must unpack to at most", File{"b.zip", claim(1<<63, 100)}},
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

func TestWhatTheProgramKnowsDecides(t *testing.T) {
	t.Parallel()
	opt := us
	opt.Now, opt.Steps = time.Date(2027, 3, 9, 12, 0, 0, 0, time.UTC), []string{"GAU"}
	_, err := Read(sample(t, "us"), opt)
	require.ErrorContains(t, err, `Surveys row 4, taken_at "2027-04-02T23:10:00-04:00": lies after the moment of the import, 2027-03-09 12:00`)
	opt.Now = time.Time{}
	ends := "name,support,section,bearing,fixity,bearing_start [in],bearing_length [in],bearing_width [in],fy [ksi],reaction [kip],chosen_steps\n" +
		"1N-1,A1,W33X130,rocker,fixed,3,8,11,33,96,GAU\n1N-2,A1,W33X130,rocker,fixed,3,8,11,33,96,GAU; XYZ\n2N-6,P1,W33X130,rocker,fixed,3,8,11,33,96,\n"
	_, err = Read(with(sample(t, "us"), "Ends.csv", ends), opt)
	require.ErrorContains(t, err, `Ends row 3, chosen_steps "GAU; XYZ": the program has no step "XYZ" for chosen ends; it has GAU`)

	known, err := Read(sample(t, "us"), us)
	require.NoError(t, err)
	known.Surveys[1].Number = 5 // the program counted on
	opt.Known = &known
	late := []File{{"Surveys.csv", []byte("end,survey_no,kind,taken_at,taken_by\n1N-1,4,cleaned,2027-06-01,I. Wren\n1N-1,6,as_found,2027-06-01,I. Wren\n")},
		{"Readings.csv", []byte("end,survey_no,face,x,z,t\n1N-1,4,L,2,1,0.3\n1N-1,6,L,2,1,0.3\n")}}
	_, err = Read(late, opt)
	require.ErrorContains(t, err, `Surveys row 2, survey_no "4": must be more than 5, the last survey of 1N-1 on record`)
	require.ErrorContains(t, err, `Surveys row 3, kind "as_found": survey 5 of 1N-1 was taken on cleaned steel`)
}

// A doubler makes more metal than the section had; it stands with its reason only.
func TestMetalAboveTheSectionNeedsAReason(t *testing.T) {
	t.Parallel()
	readings := "end,survey_no,face,x [in],z [in],t [in]\n1N-1,1,L,2,1,0.8\n1N-1,2,L,2,1,0.3\n2N-6,1,L,2,1,0.4\n"
	files := with(sample(t, "us"), "Readings.csv", readings)
	_, err := Read(files, us)
	require.ErrorContains(t, err, `Readings row 2, t "0.8": must lie from 0 to`)
	surveys := "end,survey_no,kind,taken_at,taken_by,thicker_reason\n1N-1,1,as found,2027-03-09,I. Wren,doubler welded on\n1N-1,2,cleaned,2027-03-09,I. Wren,\n2N-6,1,as found,2027-03-09,I. Wren,\n"
	b, err := Read(with(files, "Surveys.csv", surveys), us)
	require.NoError(t, err)
	require.Equal(t, "doubler welded on", b.Surveys[0].ThickerReason)
}

func TestLimitsAreSaidInTheUnitsOfTheirColumn(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ limit, unit, want string }{
		{"must lie from 0 to 16.205 mm, which is 1.1 of the as-new 14.732 mm, got 101.6: measure again", "in", "must lie from 0 to 0.638\u00a0in, which is 1.1 of the as-new 0.580\u00a0in: measure again"},
		{"must lie from 0 to 16.205 mm, got 101.6", "mm", "must lie from 0 to 16.205 mm"},
		{"must lie from 100 to 1000 MPa, got 3", "psi", "must lie from 14.5 to 145.0\u00a0ksi"},
		{"must be more than 0, got -2", "ft", "must be more than 0"},
		{"x 50.8 mm, z 25.4 mm", "", "x 2.000\u00a0in, z 1.000\u00a0in"},
	} {
		require.Equal(t, c.want, limitIn(c.limit, c.unit, units.US))
	}
	require.Equal(t, "x 50.8 mm", limitIn("x 50.8 mm", "", units.SI))
}
