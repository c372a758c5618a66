package drawing

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

func allMarks(p planLayout) map[string]mark {
	out := map[string]mark{}
	for _, s := range p.strips {
		for _, f := range s.faces {
			for _, m := range f.marks {
				out[m.end.Name.String()] = m
			}
		}
	}
	return out
}

// Places of the demonstration bridge, worked by hand from its stations, spacings
// and skews.
func TestPlanToScale(t *testing.T) {
	t.Parallel()
	p := layPlan(viaduct())
	marks := allMarks(p)
	require.Len(t, marks, 58)
	require.Empty(t, p.unplaced)
	px := p.scale * ft // pixels a foot

	// Girders of span 1 stand 6 ft 8 in apart, those of span 3 stand 8 ft 4 in.
	require.InDelta(t, 20.0/3*px, marks["1N-2"].y-marks["1N-1"].y, 1e-9)
	require.InDelta(t, 25.0/3*px, marks["3N-5"].y-marks["3N-4"].y, 1e-9)
	// A skew of 12 degrees moves the next end to the right ahead by 6.667 tan 12° ft.
	require.InDelta(t, 20.0/3*math.Tan(12*math.Pi/180)*px, marks["1N-2"].x-marks["1N-1"].x, 1e-9)
	require.InDelta(t, 25.0/3*math.Tan(27*math.Pi/180)*px, marks["3N-2"].x-marks["3N-1"].x, 1e-9)
	// Both bearing lines of span 1 have one skew, so its girders are 58 ft long and
	// marks stand one setback inside.
	require.InDelta(t, 58*px-2*p.setback, marks["1F-4"].x-marks["1N-4"].x, 1e-9)
	// Span 2 changes from 12 to 27 degrees: girder 1, 16.667 ft left, is shorter.
	want := 66 - 50.0/3*(math.Tan(27*math.Pi/180)-math.Tan(12*math.Pi/180))
	require.InDelta(t, want*px-2*p.setback, marks["2F-1"].x-marks["2N-1"].x, 1e-9)
	// The two faces of a support stand on either side of it, as far apart as one
	// girder line of the two spans allows.
	require.InDelta(t, 2*p.setback, marks["2N-3"].x-marks["1F-3"].x, 1e-9)
}

func TestPlanMarksKeepApart(t *testing.T) {
	t.Parallel()
	for _, target := range []float64{0, 24, 44, 64} {
		d := viaduct()
		d.Target = target
		p := layPlan(d)
		require.GreaterOrEqual(t, p.nearest(), max(target, leastTarget)-1e-9, "target %v", target)
		require.LessOrEqual(t, 2*p.hit, p.nearest()+1e-9)
		if target < 64 { // at 64 the longest span alone is wider than the sheet, which then scrolls
			require.LessOrEqual(t, p.width, planWidth+1e-6)
		}
	}
	// The default drawing of the demonstration bridge fits a sheet in two strips.
	require.Len(t, layPlan(viaduct()).strips, 2)
}

// Names of ends cover neither a mark nor another name.
func TestPlanNamesAreFree(t *testing.T) {
	t.Parallel()
	for _, s := range layPlan(viaduct()).strips {
		var boxes []box
		for _, f := range s.faces {
			for _, m := range f.marks {
				require.NotEmpty(t, m.name.Text)
				w := wide(m.name.Text, 11.5)
				x := m.name.X
				if m.name.Anchor == "end" {
					x -= w
				}
				boxes = append(boxes, box{x, m.name.Y - 8, w, 9}, box{m.x - 11, m.y - 11, 22, 22})
			}
		}
		for i, a := range boxes {
			for _, b := range boxes[i+1:] {
				require.Zero(t, overlap(a, b))
			}
		}
	}
}

func drawBridge(t *rapid.T) PlanData {
	var d PlanData
	count := rapid.IntRange(1, 14).Draw(t, "spans")
	d.System = rapid.SampledFrom([]units.System{units.US, units.SI}).Draw(t, "system")
	at := rapid.Float64Range(-50000, 900000).Draw(t, "start")
	for i := range count + 1 {
		d.Supports = append(d.Supports, Support{Code: "P" + strconv.Itoa(i), Name: "Pier", Station: units.Length(at),
			Skew: units.Angle(rapid.Float64Range(-40, 40).Draw(t, "skew"))})
		if i == count {
			break
		}
		s := Span{Number: i + 1, Length: units.Length(rapid.Float64Range(15000, 60000).Draw(t, "length")),
			Girders: rapid.IntRange(2, 12).Draw(t, "girders"), Spacing: units.Length(rapid.Float64Range(1200, 3600).Draw(t, "spacing")),
			Continuous: rapid.Bool().Draw(t, "continuous")}
		at += float64(s.Length)
		d.Spans = append(d.Spans, s)
		for g := 1; g <= s.Girders; g++ {
			for _, side := range []girder.Side{girder.Near, girder.Far} {
				d.Ends = append(d.Ends, PlanEnd{Name: girder.Name{Span: i + 1, Side: side, Girder: g}})
			}
		}
	}
	return d
}

// On any bridge every end is drawn once, inside the sheet, at its place across
// the bridge, and no closer along it than the marks of one face allow.
func TestPlanOfAnyBridge(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := drawBridge(t)
		p := layPlan(d)
		require.Empty(t, p.unplaced)
		marks := allMarks(p)
		require.Len(t, marks, len(d.Ends))
		for _, m := range marks {
			require.True(t, m.x >= 0 && m.x <= p.width && m.y >= 0 && m.y <= p.height, "%s at %v %v", m.end.Name, m.x, m.y)
		}
		for i, s := range p.strips {
			if i > 0 {
				require.Equal(t, p.strips[i-1].to, s.from)
			}
			for j := s.from; j < s.to; j++ {
				sp := d.Spans[j]
				first, last := marks[girder.Name{Span: j + 1, Side: girder.Near, Girder: 1}.String()], marks[girder.Name{Span: j + 1, Side: girder.Near, Girder: sp.Girders}.String()]
				require.InDelta(t, float64(sp.Girders-1)*float64(sp.Spacing)*p.scale, last.y-first.y, 1e-6)
			}
			for _, f := range s.faces {
				for k := 1; k < len(f.marks); k++ {
					a, b := f.marks[k-1], f.marks[k]
					require.GreaterOrEqual(t, math.Hypot(a.x-b.x, a.y-b.y), leastTarget-1e-9)
				}
			}
		}
	})
}

// The demonstration bridge in two strips is cut at Pier 3: no other support gives a
// shorter longer strip, even though there is no joint.
func TestPack(t *testing.T) {
	t.Parallel()
	b := measure(viaduct())
	cuts, longest := b.pack(2)
	require.Equal(t, []int{0, 3, 6}, cuts)
	// 112 + 66 + 52 ft and the corners of a deck 2 x 19.667 ft wide at 30 and 8 degrees.
	require.InDelta(t, (230+(50.0/3+3)*(math.Tan(math.Pi/6)+math.Tan(8*math.Pi/180)))*ft, longest, 1e-6)
	for i, row := range b.lengths() {
		for j := i; j < len(row); j++ {
			require.InDelta(t, b.length(i, j), row[j], 1e-6)
		}
	}
	cuts, _ = b.pack(6)
	require.Equal(t, []int{0, 1, 2, 3, 4, 5, 6}, cuts)
	require.Equal(t, 1, b.fewest(1e9))
}

func TestPlanAsBars(t *testing.T) {
	t.Parallel()
	d := longBridge(60, 12)
	require.Greater(t, len(d.Ends), mostMarks)
	p := layPlan(d)
	require.True(t, p.bars)
	total, faces := 0, 0
	for _, s := range p.strips {
		for _, f := range s.faces {
			require.Empty(t, f.marks)
			faces++
			sum, height := 0, 0.0
			for _, part := range f.bar.parts {
				sum += part.count
				height += part.box.H
			}
			require.InDelta(t, f.bar.box.H, height, 1e-9)
			require.NotEmpty(t, f.bar.href)
			total += sum
		}
	}
	require.Equal(t, len(d.Ends), total)
	require.Equal(t, 120, faces)
}

func TestPlanOfHalfEnteredData(t *testing.T) {
	t.Parallel()
	nan := units.Length(math.NaN())
	end := PlanEnd{Name: girder.Name{Span: 9, Side: girder.Near, Girder: 1}}
	for name, d := range map[string]PlanData{
		"nothing":        {},
		"one support":    {Supports: []Support{{}}, Spans: []Span{{}}, Ends: []PlanEnd{end}},
		"zero span":      {Supports: make([]Support, 2), Spans: make([]Span, 1), Ends: []PlanEnd{end}},
		"no numbers":     {Supports: []Support{{Station: nan}, {Station: nan, Skew: units.Angle(nan)}}, Spans: []Span{{Number: 1, Length: nan, Spacing: nan, Girders: 3}}, Overhang: nan, Width: float64(nan), North: units.Angle(nan)},
		"turned station": {Supports: []Support{{Station: 10}, {Station: 5}}, Spans: []Span{{Number: 1, Length: 30000, Girders: 3, Spacing: 2000}}},
	} {
		p := layPlan(d)
		require.True(t, finite(p.width, p.height) && p.width > 0 && p.height > 0, name)
		require.Len(t, p.unplaced, len(d.Ends), name)
	}
	// A span without stations takes its length.
	b := measure(PlanData{Supports: make([]Support, 2), Spans: []Span{{Length: 30000}}})
	require.Equal(t, []float64{0, 30000}, b.station)
}

func TestStation(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		feet float64
		us   string
		si   string
	}{{0, "0+00", "0+000"}, {1234.2, "12+34", "0+376"}, {5, "0+05", "0+002"}, {99.9, "1+00", "0+030"}, {-250, "−2+50", "−0+076"}, {10000, "100+00", "3+048"}} {
		require.Equal(t, c.us, station(c.feet*ft, units.US))
		require.Equal(t, c.si, station(c.feet*ft, units.SI))
	}
}

func TestSaid(t *testing.T) {
	t.Parallel()
	e := PlanEnd{Name: girder.Name{Span: 2, Side: girder.Far, Girder: 3}, Step: "studs welded", Blocked: "paper"}
	require.Equal(t, "2F-3, Pier 2 back face: studs welded, blocked: paper", said(e, "Pier 2"))
	e = PlanEnd{Name: e.Name, Phase: Closed, OutOfDate: true, Nonconformance: true, Critical: true}
	require.Equal(t, "2F-3, back face: closed, design out of date, open nonconformance, critical finding", said(e, ""))
}
