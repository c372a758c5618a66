package exchange

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// drawText makes texts of the kind that break tables.
func drawText(t *rapid.T, label string) string {
	pool := []rune("ab Z09=+-@'\";,|\n\t<&>_x000D_°éß½雪😀\u00a0.#")
	s := strings.TrimSpace(string(rapid.SliceOfN(rapid.SampledFrom(pool), 0, 12).Draw(t, label)))
	if unguard(guard(s)) != s || strings.TrimSpace(s) != s {
		return "x"
	}
	return s
}

// drawQuantity makes a value with or without what was typed for it.
func drawQuantity(t *rapid.T, k units.Kind, lo, hi float64) (float64, string) {
	v := rapid.Float64Range(lo, hi).Draw(t, "value")
	sys := rapid.SampledFrom([]units.System{units.US, units.SI}).Draw(t, "system")
	switch rapid.IntRange(0, 2).Draw(t, "typed") {
	case 0:
		return v, ""
	case 1:
		typed := k.Exact(v, sys) + " " + k.Label(sys)
		got, err := k.Parse(typed, sys)
		if err != nil || got < lo || got > hi {
			return v, ""
		}
		return got, typed
	}
	return v, "5/16 in" // typed for another value, as a later edit leaves it
}

type draw struct{ t *rapid.T }

func (d draw) length(typed *Typed, column string, k units.Kind, lo, hi float64) units.Length {
	v, text := drawQuantity(d.t, k, lo, hi)
	if *typed == nil {
		*typed = Typed{}
	}
	if text != "" {
		if back, _, err := readQuantity(k, text, "mm", false); err == "" && back == v {
			(*typed)[column] = text
		}
	}
	return units.Length(v)
}

func drawBridge(t *rapid.T) Bridge {
	d := draw{t}
	var b Bridge
	n := rapid.IntRange(1, 3).Draw(t, "spans")
	for i := range n + 1 {
		s := Support{Code: fmt.Sprintf("S%d%s", i, drawText(t, "code")), Name: "n" + drawText(t, "name")}
		s.Station = d.length(&s.Typed, "station", units.Spans, -1e6, 1e6)
		b.Supports = append(b.Supports, s)
	}
	for i := range n {
		s := Span{Number: i + 1, Girders: rapid.IntRange(1, 5).Draw(t, "girders"), From: b.Supports[i].Code, To: b.Supports[i+1].Code, Continuous: rapid.Bool().Draw(t, "continuous"), Note: drawText(t, "span note")}
		s.Length = d.length(&s.Typed, "length", units.Spans, 1000, 1e5)
		s.Spacing = d.length(&s.Typed, "spacing", units.Spans, 1, 1e4)
		b.Spans = append(b.Spans, s)
	}
	for i := range 2 {
		s := Section{Section: girder.Section{Name: fmt.Sprintf("own %d%s", i, drawText(t, "section")), Kind: girder.BuiltUp, Source: drawText(t, "source")}}
		s.Depth = d.length(&s.Typed, "d", units.Lengths, 800, 1500)
		s.FlangeWidth = d.length(&s.Typed, "bf", units.Lengths, 250, 400)
		s.FlangeThickness = d.length(&s.Typed, "tf", units.Lengths, 15, 40)
		s.TopFlangeWidth = d.length(&s.Typed, "bf_top", units.Lengths, 250, 400)
		s.TopFlangeThickness = d.length(&s.Typed, "tf_top", units.Lengths, 15, 40)
		s.WebThickness = d.length(&s.Typed, "tw", units.Lengths, 10, 20)
		s.FilletK = d.length(&s.Typed, "k", units.Lengths, 40, 60)
		b.Sections = append(b.Sections, s)
	}
	for _, span := range b.Spans {
		for g := range span.Girders {
			if rapid.Bool().Draw(t, "end") {
				b.Ends = append(b.Ends, drawEnd(d, b, span, g+1))
			}
		}
	}
	for _, e := range b.Ends {
		for i := range rapid.IntRange(0, 2).Draw(t, "surveys") {
			b.Surveys = append(b.Surveys, drawSurvey(d, e, i+1))
		}
	}
	return b
}

func drawEnd(d draw, b Bridge, span Span, g int) End {
	t := d.t
	section := rapid.SampledFrom(b.Sections).Draw(t, "its section").Section
	side := rapid.SampledFrom([]girder.Side{girder.Near, girder.Far}).Draw(t, "side")
	e := End{Support: span.From, FySource: drawText(t, "fy source"), ReactionSource: drawText(t, "reaction source"), Access: "a" + drawText(t, "access"), Typed: Typed{}}
	if side == girder.Far {
		e.Support = span.To
	}
	e.Geometry = girder.Geometry{Name: girder.Name{Span: span.Number, Side: side, Girder: g}, Section: section, SkewDeg: units.Angle(rapid.Float64Range(-60, 60).Draw(t, "skew")),
		Fy: units.Stress(rapid.Float64Range(200, 400).Draw(t, "fy")), HeldAgainstRoll: rapid.Bool().Draw(t, "held"),
		Bearing: girder.Bearing{Kind: girder.Rocker, Fixed: rapid.Bool().Draw(t, "fixed")}}
	e.Geometry.Fu = e.Geometry.Fy * units.Stress(rapid.SampledFrom([]float64{1, 1.5}).Draw(t, "fu"))
	e.Geometry.Bearing.Start = d.length(&e.Typed, "bearing_start", units.Lengths, 0, 100)
	e.Geometry.Bearing.Length = d.length(&e.Typed, "bearing_length", units.Lengths, 100, 300)
	e.Geometry.Bearing.Width = d.length(&e.Typed, "bearing_width", units.Lengths, 100, 400)
	if rapid.Bool().Draw(t, "stiffened") {
		st := girder.Stiffener{Pairs: rapid.IntRange(1, 3).Draw(t, "pairs"), X: e.Geometry.Bearing.Start + e.Geometry.Bearing.Length/2, Fy: e.Geometry.Fy}
		st.Width = d.length(&e.Typed, "stiffener_width", units.Lengths, 50, 100)
		st.Thickness = d.length(&e.Typed, "stiffener_thickness", units.Lengths, 8, 30)
		st.Clip = units.Length(rapid.SampledFrom([]float64{0, 25}).Draw(t, "clip"))
		e.Geometry.Stiffener = &st
	}
	e.Reaction = units.Force(rapid.Float64Range(1, 1e6).Draw(t, "reaction"))
	for i := range rapid.IntRange(0, 2).Draw(t, "chosen") {
		e.Chosen = append(e.Chosen, fmt.Sprintf("STEP%d", i))
	}
	for i := range rapid.IntRange(0, 2).Draw(t, "aliases") {
		e.Aliases = append(e.Aliases, fmt.Sprintf("A%d%s", i, strings.TrimSpace(strings.NewReplacer(";", "", "\n", "").Replace(drawText(t, "alias")))))
	}
	if len(e.Typed) == 0 {
		e.Typed = nil
	}
	return e
}

func drawSurvey(d draw, e End, number int) Survey {
	t := d.t
	s := Survey{End: e.Geometry.Name, Number: number, Kind: []string{AsFound, Cleaned}[number-1], Gauge: drawText(t, "gauge"), ThickerReason: drawText(t, "thicker"),
		TakenAt: time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), rapid.Int64Range(0, 1e9-1).Draw(t, "ns")).UTC(),
		TakenBy: "I" + drawText(t, "by"), Method: drawText(t, "method"), Note: drawText(t, "note"), Typed: Typed{}}
	if rapid.Bool().Draw(t, "flange") {
		l := d.length(&s.Typed, "flange_t", units.Lengths, 0, 15)
		s.Findings.FlangeThickness = &l
	}
	for i := range rapid.IntRange(1, 4).Draw(t, "readings") {
		var typed Typed
		r := survey.Reading{Face: rapid.SampledFrom([]survey.Face{survey.Left, survey.Right, survey.Through}).Draw(t, "face"), Z: units.Length(25 * i), NoAccess: rapid.IntRange(0, 4).Draw(t, "no access") == 0}
		r.X = d.length(&typed, "x", units.Lengths, 0, 500)
		note := ReadingNote{X: typed["x"], Reason: drawText(t, "reason")}
		if !r.NoAccess {
			r.T = d.length(&typed, "t", units.Lengths, 0, 10)
			note.T = typed["t"]
		}
		s.Findings.Readings = append(s.Findings.Readings, r)
		s.Readings = append(s.Readings, note)
	}
	if rapid.IntRange(0, 3).Draw(t, "hole") == 0 {
		var typed Typed
		h := survey.Hole{X: d.length(&typed, "x", units.Lengths, 0, 200), Z: 10, Width: 20, Height: 30}
		s.Findings.Holes = append(s.Findings.Holes, h)
		if len(typed) == 0 {
			typed = nil
		}
		s.Holes = append(s.Holes, typed)
	}
	if len(s.Typed) == 0 {
		s.Typed = nil
	}
	return s
}

// clearEmpty makes an empty map and no map the same.
func clearEmpty(b *Bridge) {
	fix := func(t *Typed) {
		if len(*t) == 0 {
			*t = nil
		}
	}
	for i := range b.Supports {
		fix(&b.Supports[i].Typed)
	}
	for i := range b.Spans {
		fix(&b.Spans[i].Typed)
	}
	for i := range b.Sections {
		fix(&b.Sections[i].Typed)
	}
}

// Every bridge that the program can hold is written and read back to the last
// bit, with every text, in either family of units and either form.
func TestEveryBridgeComesBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := drawBridge(t)
		clearEmpty(&b)
		roundTrip(t, b, rapid.SampledFrom([]units.System{units.US, units.SI}).Draw(t, "family"))
	})
}

func TestEveryTextSurvivesItsGuard(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "text")
		g := guard(s)
		require.Equal(t, s, unguard(g))
		if g != "" {
			require.NotContains(t, "=+-@\t", g[:1])
		}
	})
}

func TestEveryValueIsWrittenToItsLastBit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom([]units.Kind{units.Lengths, units.Spans, units.Forces, units.Stresses, units.Angles}).Draw(t, "kind")
		sys := rapid.SampledFrom([]units.System{units.US, units.SI}).Draw(t, "system")
		v := rapid.Float64Range(-1e9, 1e9).Draw(t, "value") + 0
		unit := k.Label(sys)
		cell := writeQuantity(k, v, rapid.String().Draw(t, "typed"), unit, sys)
		got, _, err := readQuantity(k, cell, unit, false)
		require.Empty(t, err, cell)
		require.Equal(t, v, got, cell)
	})
}

func FuzzReadCSV(f *testing.F) {
	for _, set := range []string{"us", "si"} {
		for _, file := range sample(f, set) {
			f.Add(file.Name, file.Data)
		}
	}
	f.Add("Supports.csv", []byte("sep=;\ncode;name;station (m)\n=1;'+x;-5\n"))
	f.Fuzz(func(t *testing.T, name string, data []byte) {
		known := Bridge{Supports: []Support{{Code: "A1"}, {Code: "P1"}}}
		fuzzed(t, []File{{name, data}}, &known)
	})
}

func FuzzReadArchive(f *testing.F) {
	b, err := Read(sample(f, "us"), us)
	require.NoError(f, err)
	book, err := XLSX(b, units.US)
	require.NoError(f, err)
	f.Add(book)
	packed, err := Zip(sample(f, "us"))
	require.NoError(f, err)
	f.Add(packed)
	f.Fuzz(func(t *testing.T, data []byte) {
		if !bytes.HasPrefix(data, []byte("PK")) {
			data = append([]byte("PK\x03\x04"), data...)
		}
		fuzzed(t, []File{{"b.xlsx", data}}, nil)
	})
}

// The text of a sheet itself, in an archive that is sound.
func FuzzReadSheet(f *testing.F) {
	book, err := XLSX(Bridge{Supports: []Support{{Code: "A1", Name: "Abutment 1", Station: 1}}}, units.US)
	require.NoError(f, err)
	z, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	require.NoError(f, err)
	var parts []File
	sheet := -1
	for _, e := range z.File {
		r, err := e.Open()
		require.NoError(f, err)
		data, err := io.ReadAll(r)
		require.NoError(f, err)
		if bytes.Contains(data, []byte("Abutment 1")) {
			sheet = len(parts)
			f.Add(data)
		}
		parts = append(parts, File{e.Name, data})
	}
	require.GreaterOrEqual(f, sheet, 0)
	f.Fuzz(func(t *testing.T, data []byte) {
		files := append([]File(nil), parts...)
		files[sheet].Data = data
		packed, err := Zip(files)
		require.NoError(t, err)
		fuzzed(t, []File{{"b.xlsx", packed}}, nil)
	})
}

// fuzzed reads anything without failing in any other way than by saying what is
// wrong; what it takes must come back after writing.
func fuzzed(t *testing.T, files []File, known *Bridge) {
	b, err := Read(files, Options{System: units.US, Known: known})
	if err != nil {
		var ps *Problems
		require.ErrorAs(t, err, &ps)
		require.NotEmpty(t, ps.List)
		require.Equal(t, Bridge{}, b)
		return
	}
	out, err := CSV(b, units.SI)
	require.NoError(t, err)
	again, err := Read(out, Options{System: units.SI, Known: known})
	require.NoError(t, err)
	requireSame(t, b, again)
}
