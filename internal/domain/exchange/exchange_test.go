package exchange

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/girder"
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
		roundTrip(t, want, units.US, units.SI)
	}
}

func roundTrip(t require.TestingT, want Bridge, systems ...units.System) {
	for _, sys := range systems {
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
