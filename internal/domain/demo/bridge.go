package demo

import (
	"math"
	"strconv"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// Kinds of access.
const (
	open       = "open"
	lane       = "lane closure, night"
	navigation = "navigation stoppage"
)

// spanFacts is a span as the drawings of the bridge have it, in feet and inches.
type spanFacts struct {
	feet    float64
	girders int
	spacing float64 // inches
	section string
	over    string
}

const plateGirder = "PG 54x7/16"

var spans = []spanFacts{
	{58, 6, 80, "W33X130", "simple; over the yard of the old mill"},
	{66, 6, 80, "W36X150", "simple; far end beside the Osk Navigation"},
	{104, 5, 100, plateGirder, "continuous with span 4; over the Osk Navigation"},
	{112, 5, 100, plateGirder, "continuous with span 3; over the canal basin"},
	{66, 6, 80, "W36X160", "simple; over Tannery Lane"},
	{52, 6, 80, "W30X116", "simple"},
}

// line is a bearing line: the ends of one span on one face of one support.
type line struct {
	span       int
	side       girder.Side
	support    string
	skew       float64
	bearing    girder.BearingKind
	fixed      bool
	stiffeners string // none, fascia, all
	access     string
	leak       float64 // how much the joint above has leaked, 0 to 1
}

// lines are the ten bearing lines. There is no joint at Pier 3, and no end.
var lines = []line{
	{1, girder.Near, "A1", 12, girder.Rocker, false, "none", open, 0.55},
	{1, girder.Far, "P1", 12, girder.Bolster, true, "none", lane, 0.78},
	{2, girder.Near, "P1", 12, girder.SlidingPlate, false, "fascia", lane, 0.78},
	{2, girder.Far, "P2", 27, girder.Bolster, true, "fascia", navigation, 0.92},
	{3, girder.Near, "P2", 27, girder.Rocker, false, "all", navigation, 0.92},
	{4, girder.Far, "P4", 34, girder.Rocker, false, "all", lane, 0.85},
	{5, girder.Near, "P4", 34, girder.Bolster, true, "all", lane, 0.85},
	{5, girder.Far, "P5", 20, girder.SlidingPlate, false, "none", open, 0.60},
	{6, girder.Near, "P5", 20, girder.Bolster, true, "none", open, 0.60},
	{6, girder.Far, "A2", 8, girder.Elastomeric, false, "none", open, 0.38},
}

// gauged are the ends chosen for strain gauges.
var gauged = map[string]bool{"6N-2": true, "1F-3": true, "1N-2": true, "5N-2": true, "4F-2": true, "3N-2": true, "2N-6": true}

// center is where the middle of every bearing lies, from the girder end.
const center = 8.0 // inches

func lineOf(n girder.Name) line {
	for _, l := range lines {
		if l.span == n.Span && l.side == n.Side {
			return l
		}
	}
	return line{}
}

func (l line) fascia(g int) bool { return g == 1 || g == spans[l.span-1].girders }

// low tells whether a girder line lies on the low side of the crossfall.
func (l line) low(g int) bool { return 2*g > spans[l.span-1].girders+1 }

func in(v float64) units.Length { return units.Length(v) * units.Inch }

// sections are the section list of the program.
func sections() []repair.Section {
	var out []repair.Section
	row := func(s girder.Section) {
		out = append(out, repair.Section{Name: s.Name, Kind: string(s.Kind), Depth: s.Depth, FlangeWidth: s.FlangeWidth, FlangeThickness: s.FlangeThickness,
			TopFlangeWidth: s.TopFlangeWidth, TopFlangeThickness: s.TopFlangeThickness, WebThickness: s.WebThickness, FilletK: s.FilletK, Source: s.Source})
	}
	for _, name := range []string{"W30X116", "W33X130", "W36X150", "W36X160"} {
		if e, ok := girder.Lookup(name); ok {
			row(e.Section)
		}
	}
	if s, err := (girder.Plate{Name: plateGirder, WebDepth: in(54), WebThickness: in(7. / 16), FlangeWidth: in(16), FlangeThickness: in(1.25), WeldLeg: in(5. / 16),
		Source: "drawings of 1957, invented"}).Section(); err == nil {
		row(s)
	}
	return out
}

// bridge is the import that sets the bridge up.
func bridge() repair.BridgeIn {
	var b repair.BridgeIn
	b.Sections = sections()
	station := 11200.0
	names := []string{"Abutment 1", "Pier 1", "Pier 2", "Pier 3", "Pier 4", "Pier 5", "Abutment 2"}
	codes := []string{"A1", "P1", "P2", "P3", "P4", "P5", "A2"}
	for i, code := range codes {
		b.Supports = append(b.Supports, repair.SupportIn{Code: code, Name: names[i], Station: units.Length(station) * units.Foot})
		if i < len(spans) {
			s := spans[i]
			station += s.feet
			b.Spans = append(b.Spans, repair.SpanIn{Number: i + 1, Length: units.Length(s.feet) * units.Foot, Girders: s.girders, Spacing: in(s.spacing),
				From: code, To: codes[i+1], ContinuousNext: i == 2, Note: s.over})
		}
	}
	for _, l := range lines {
		for g := 1; g <= spans[l.span-1].girders; g++ {
			b.Ends = append(b.Ends, l.end(g))
		}
	}
	return b
}

func (l line) end(g int) repair.EndIn {
	name := girder.Name{Span: l.span, Side: l.side, Girder: g}
	face := "ahead"
	if l.side == girder.Far {
		face = "back"
	}
	kip := factoredReaction(l.span, l.fascia(g))
	f := repair.EndFacts{Skew: units.Angle(l.skew), BearingKind: string(l.bearing), BearingFixed: l.fixed,
		Fy: 33 * units.Ksi, Fu: 66 * units.Ksi, FyOrigin: "steel of 1957, not tested", HeldAgainstRoll: true, DiaphragmX: in(center),
		Reaction: units.Force(kip) * units.Kip, ReactionOrigin: "entered, demonstration", Access: l.access,
		Typed: repair.Typed{"reaction_n": strconv.FormatFloat(kip, 'f', -1, 64) + " kip"}}
	length, width := 8.0, 10.0
	switch l.bearing {
	case girder.Bolster:
		length = 9
	case girder.SlidingPlate:
		length = 10
	case girder.Elastomeric:
		length = 9.5
	}
	f.BearingStart, f.BearingLength, f.BearingWidth = in(center-length/2), in(length), in(width)
	if l.stiffeners == "all" || l.stiffeners == "fascia" && l.fascia(g) {
		w, thick := 5.0, 0.5
		if spans[l.span-1].section == plateGirder {
			w, thick = 7, 0.75
		}
		f.StiffenerPairs, f.StiffenerWidth, f.StiffenerThick, f.StiffenerClip, f.StiffenerX, f.StiffenerFy = 1, in(w), in(thick), in(1), in(center), 33*units.Ksi
	}
	if spans[l.span-1].section == plateGirder {
		f.EndPanel = in(48)
	}
	e := repair.EndIn{Span: l.span, Side: string(l.side), Girder: g, Support: l.support, Face: face, Section: spans[l.span-1].section, Facts: f}
	if gauged[name.String()] {
		e.Chosen = []string{"GAU", "LDP"}
	}
	return e
}

// factoredReaction is a plausible reaction by statics, in whole kips. It is made for
// the demonstration and is no rating of anything.
func factoredReaction(span int, fascia bool) float64 {
	dead, surfacing, live := reactions(span, fascia)
	return math.Round(1.25*dead + 1.5*surfacing + 1.75*live)
}

// endPart is the part of a uniform load that goes to the end of a span.
func endPart(span int) float64 {
	if continuous(span) {
		return 0.39
	}
	return 0.5
}

// reactions are those behind factoredReaction, in kips: slab 8 in, girder and
// details, barrier and surfacing as dead load; a three-axle truck with its impact and
// a lane load, shared to one girder by its spacing, as live load.
func reactions(span int, fascia bool) (dead, surfacing, live float64) {
	s := spans[span-1]
	feet, spacing := s.feet, s.spacing/12
	steel := map[string]float64{"W30X116": 0.116, "W33X130": 0.130, "W36X150": 0.150, "W36X160": 0.160, plateGirder: 0.217}[s.section]
	part := endPart(span)
	truck := 32 + 32*(feet-14)/feet + 8*(feet-28)/feet
	share := 0.2 + spacing/12 - math.Pow(spacing/35, 2)
	if fascia {
		share *= 0.88
	}
	return (0.100*spacing + steel + 0.05 + 0.9/float64(s.girders)) * feet * part, 0.025 * spacing * feet * part, share * (1.33*truck + 0.64*feet*part)
}

// opening sets up the program, the bridge and the mock-up.
func (t *teller) opening() {
	at := day(1, 11).Add(9 * time.Hour)
	date := func(m, d int) *time.Time { v := time.Date(2027, time.Month(m), d, 0, 0, 0, 0, time.UTC); return &v }
	built := 1957
	today := Today
	t.say("program", authz.Administrator, at, nil, repair.CreateProgram{Program: repair.Program{ID: ProgramID(), Code: Code, Name: "Brindle Hollow Viaduct",
		Owner: "Tamsworth Regional Roads Authority", Carries: "Route 88 over Tannery Lane, the Osk Navigation and its basin, at Verrin Mills", Contract: "TRR-27-014",
		BuiltYear: &built, Units: "us", Timezone: "Etc/GMT+5", Today: &today, CompletionDue: date(11, 19), FieldStart: date(3, 8), IsDemo: true}})
	t.all("bridge", authz.Designer, at.Add(2*time.Hour), repair.ImportBridge{Bridge: bridge()})
	t.contract()
	t.mockup()
}

// day is midnight of a day of 2027 on the bridge.
func day(month, d int) time.Time { return time.Date(2027, time.Month(month), d, 0, 0, 0, 0, zone) }
