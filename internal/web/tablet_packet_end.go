package web

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
	"endcast/views/field"
)

// packetEnd is one girder end as the tablet shows it.
type packetEnd struct {
	ID       string      `json:"id"`
	Name     string      `json:"name"`
	Span     int         `json:"span"`
	Side     string      `json:"side"`
	Girder   int         `json:"girder"`
	Reading  string      `json:"reading"`
	Alias    string      `json:"alias,omitempty"`
	Version  int64       `json:"version"`
	Step     string      `json:"step"`
	StepCode string      `json:"step_code"`
	Warnings []string    `json:"warnings"` // nobody may miss them
	Holds    []string    `json:"holds"`    // what stops the end
	Findings []string    `json:"findings"` // open nonconformances
	Capacity string      `json:"capacity"`
	Drawing  string      `json:"drawing"`
	Survey   *pktSurvey  `json:"survey"`
	Design   *pktDesign  `json:"design"`
	Cleaning []pktZone   `json:"cleaning"`
	Shift    []pktShift  `json:"shift"`
	CoreNext int         `json:"core_next"` // number of the next core
	Signed   []string    `json:"signed"`
	Parts    []pktPart   `json:"parts"` // measured beside the web, where there is no survey yet
	Web      string      `json:"web"`   // thickness as new
	WebMM    float64     `json:"web_mm"`
	Limits   []pktLimits `json:"limits"`
}

type pktLimits struct {
	What string `json:"what"`
	Says string `json:"says"`
}

type pktSurvey struct {
	Number   int          `json:"number"`
	Kind     string       `json:"kind"`
	Says     string       `json:"says"`
	Readings []pktReading `json:"readings"`
	Holes    []pktHole    `json:"holes"`
	Parts    []pktPart    `json:"parts"`
}

// pktHole is a hole as the last survey has it.
type pktHole struct {
	X      string `json:"x"`
	Z      string `json:"z"`
	Width  string `json:"width"`
	Height string `json:"height"`
	Rim    string `json:"rim,omitempty"`
}

// pktPart is a measured part beside the web: what it is called in an entry, and what
// the last survey has of it.
type pktPart struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Was   string `json:"was"` // "" where it was not measured
}

type pktReading struct {
	Face string `json:"face"`
	X    string `json:"x"`
	Z    string `json:"z"`
	T    string `json:"t"` // "" where there was no access
}

type pktDesign struct {
	ID       string    `json:"id"`
	Revision int       `json:"revision"`
	State    string    `json:"state"`
	Studs    string    `json:"studs"` // digest
	Diameter string    `json:"diameter"`
	Says     string    `json:"says"`
	Caution  string    `json:"caution,omitempty"`
	Faces    []pktFace `json:"faces"`
	Repair   pktRepair `json:"repair"`
}

// pktRepair are the figures of the permitted repair of a gap, in mm: what depends on
// the gap is computed on the tablet.
type pktRepair struct {
	Diameter float64 `json:"diameter_mm"`
	Size     float64 `json:"size_mm"`
	SizeText string  `json:"size"`
	Over     float64 `json:"over_mm"`
	OverText string  `json:"over"`
	Clause   string  `json:"clause"`
	None     string  `json:"none"` // for a collar that is missing all round
}

type pktFace struct {
	ID      string   `json:"id"`
	Title   string   `json:"title"`
	Ends    string   `json:"ends"`
	Columns []string `json:"columns"`
	Rows    []pktRow `json:"rows"`
}

type pktRow struct {
	Label  string     `json:"label"`
	Height string     `json:"height"`
	Cells  []*pktStud `json:"cells"`
}

type pktStud struct {
	Mark    string `json:"mark"`
	Place   string `json:"place"`
	Outcome string `json:"outcome"`
	Found   string `json:"found"` // number of the finding that counts
	Detail  string `json:"detail,omitempty"`
}

type pktZone struct {
	Zone  string `json:"zone"`
	Title string `json:"title"`
	Asked string `json:"asked"`
	Last  string `json:"last"`
}

// packet is the end as the tablet takes it along.
func (e *endReader) packet(ctx context.Context) (packetEnd, error) {
	st, x := e.state(), e.rec.End
	out := packetEnd{ID: x.ID, Name: x.Name, Span: x.SpanNo, Side: x.Side, Girder: x.GirderNo, Reading: e.reading(), Alias: x.Alias, Version: x.Version, Step: stepOrClosed(st), StepCode: st.StepCode,
		Warnings: []string{}, Holds: []string{}, Findings: []string{}, Signed: []string{}}
	if st.ReasonText != "" && !st.Closed {
		out.Holds = append(out.Holds, st.ReasonText)
	}
	for _, n := range e.rec.Nonconformances {
		if n.ClosedAt != nil {
			continue
		}
		text := fmt.Sprintf("No. %d: %s. Asked: %s", n.Number, n.Found, n.Requirement)
		out.Findings = append(out.Findings, text)
		if n.Critical {
			out.Warnings = append(out.Warnings, "Critical finding "+text)
		}
	}
	if st.Capacity != nil {
		out.Capacity = fmt.Sprintf("Carries %s of %s as corroded: %s.", st.Capacity.Format(e.sys, -1), st.Demand.Format(e.sys, -1), verdictMark(storedVerdict(st.CapacityVerdict)).Text)
	}
	var svg bytes.Buffer
	if err := e.elevation().Render(ctx, &svg); err != nil {
		return out, fmt.Errorf("drawing of %s: %w", x.Name, err)
	}
	out.Drawing = svg.String()
	sec, _ := e.sc.Section(x.SectionID)
	out.Web, out.WebMM = sec.WebThickness.Format(e.sys, -1), float64(sec.WebThickness)
	out.Survey, out.Parts = e.packetSurvey(), e.packetParts(nil)
	for _, z := range zonesAsked {
		out.Cleaning = append(out.Cleaning, pktZone{Zone: string(z.zone), Title: sentenceCase(z.zone.Words()), Asked: e.leastGrade(z.zone), Last: e.lastGrade(string(z.zone))})
	}
	out.Shift, out.CoreNext = e.packetShift(), 1
	for _, x := range e.rec.LatestCores() {
		out.CoreNext = max(out.CoreNext, x.Number+1)
	}
	for _, in := range newestFirst(e.rec.Inspections, func(i repair.Inspection) time.Time { return i.CapturedAt }) {
		out.Signed = append(out.Signed, fmt.Sprintf("%s: %s, %s, %s. %s", inspectionWords[in.Subject], plainWord(in.Outcome), in.ByName, e.when(in.CapturedAt), in.Note))
	}
	if d := e.rec.DesignInForce(); d != nil {
		dd := e.packetDesign(d)
		out.Design = dd
		if stale, caution := e.designWarnings(d); stale != "" {
			out.Warnings = append(out.Warnings, "The design is out of date: "+stale+". Do not weld to it.")
		} else if caution != "" {
			out.Warnings = append(out.Warnings, caution)
		}
	}
	out.Limits = e.packetLimits(sec.WebThickness)
	return out, nil
}

// packetShift are the checks of the shift that have figures.
func (e *endReader) packetShift() []pktShift {
	var out []pktShift
	for _, c := range shiftChecks {
		v := field.Check{Against: []string{}}
		c.show(e, &v)
		out = append(out, pktShift{Kind: string(c.kind), Title: c.title, Says: c.last(e).Text, Caution: c.caution, Asked: v.Asked, Against: v.Against})
	}
	return out
}

// packetLimits are the limits that a check on the platform is held to.
func (e *endReader) packetLimits(web units.Length) []pktLimits {
	b := e.sc.Basis()
	out := []pktLimits{
		{"Reading", fmt.Sprintf("as new %s; more than that asks for a reason", web.Format(e.sys, -1))},
		{"Proof bend", fmt.Sprintf("%.0f degrees away from the gap, no fracture", b.Value(basis.CollarBend))},
		{"Test studs", fmt.Sprintf("at least %.0f, bent %.0f degrees", b.Value(basis.CollarTestStuds), b.Value(basis.CollarTestBend))},
	}
	for _, z := range zonesAsked {
		out = append(out, pktLimits{"Cleaning, " + z.zone.Words(), e.leastGrade(z.zone)})
	}
	if d := e.rec.DesignInForce(); d != nil {
		least := stud.BaseMetal{Diameter: d.StudDiameter}.Needed(nil, b)
		out = append(out, pktLimits{"Web under a stud", fmt.Sprintf("at least %s for a stud of %s", least.Format(e.sys, -1), d.StudDiameter.Format(e.sys, -1))})
	}
	return out
}

func (e *endReader) lastGrade(zone string) string {
	for _, c := range newestFirst(e.rec.Cleanings, func(c repair.Cleaning) time.Time { return c.EndedAt }) {
		if c.Zone == zone {
			return gradeCode(c.Grade) + ", flash rust " + c.Rust + ", " + e.when(c.EndedAt)
		}
	}
	return "nothing recorded"
}

// packetParts are what a survey measures beside the web. Stiffeners are asked for
// where the end has them.
func (e *endReader) packetParts(sv *repair.Survey) []pktPart {
	was := func(v *units.Length) string {
		if v == nil {
			return ""
		}
		return v.Exact(e.sys)
	}
	measured := func(v units.Length) string {
		if v == 0 {
			return ""
		}
		return v.Exact(e.sys)
	}
	var last repair.Survey
	if sv != nil {
		last = *sv
	}
	out := []pktPart{{"flange_thickness", "Bottom flange, thickness", was(last.FlangeThick)}}
	if e.rec.End.StiffenerPairs > 0 {
		out = append(out, pktPart{"stiffener_thickness", "Bearing stiffener, thickness", was(last.StiffenerThick)}, pktPart{"stiffener_width", "Bearing stiffener, width at its foot", was(last.StiffenerWidth)})
	}
	return append(out, pktPart{"web_deviation", "Web out of plumb", measured(last.WebDeviation)}, pktPart{"web_detached", "Web-to-flange joint lost, length", measured(last.WebDetached)})
}

func (e *endReader) packetSurvey() *pktSurvey {
	sv := e.rec.LatestSurvey()
	if sv == nil {
		return nil
	}
	out := &pktSurvey{Number: sv.Number, Kind: sv.Kind, Says: fmt.Sprintf("Survey %d, %s, %s, %s", sv.Number, surveyKinds[sv.Kind], e.when(sv.CapturedAt), sv.TakenBy), Readings: []pktReading{}, Holes: []pktHole{}, Parts: e.packetParts(sv)}
	for _, h := range e.rec.Holes {
		if h.SurveyID != sv.ID || h.Withdrawn {
			continue
		}
		row := pktHole{X: h.X.Exact(e.sys), Z: h.Z.Exact(e.sys), Width: h.Width.Exact(e.sys), Height: h.Height.Exact(e.sys)}
		if h.Rim > 0 {
			row.Rim = h.Rim.Exact(e.sys)
		}
		out.Holes = append(out.Holes, row)
	}
	for _, x := range e.rec.Readings {
		if x.SurveyID != sv.ID || x.SupersededBy != nil {
			continue
		}
		row := pktReading{Face: x.Face, X: x.X.Exact(e.sys), Z: x.Z.Exact(e.sys)}
		if !x.NoAccess {
			row.T = x.T.Exact(e.sys)
		}
		out.Readings = append(out.Readings, row)
	}
	return out
}

func (e *endReader) packetDesign(d *repair.Design) *pktDesign {
	m := e.studMap(d)
	b := e.sc.Basis()
	gap := stud.Gap{Clock: 12, Length: 1}
	fillet := stud.Fillet(b, d.StudDiameter, gap)
	over := units.Length(b.Value(basis.CollarOverrun))
	out := &pktDesign{ID: d.ID, Revision: d.Revision, State: revisionMark(d.State).Text, Studs: tablet.StudsDigest(e.rec, d.ID), Diameter: d.StudDiameter.Exact(e.sys),
		Says: fmt.Sprintf("Revision %d, %s. Studs %s by %s.", d.Revision, revisionMark(d.State).Text, d.StudDiameter.Format(e.sys, -1), d.StudHeight.Format(e.sys, -1)),
		Repair: pktRepair{Diameter: float64(d.StudDiameter), Size: float64(fillet.Size), SizeText: fillet.Size.Format(e.sys, -1), Over: float64(over), OverText: over.Format(e.sys, -1),
			Clause: clauseWords(fillet.Clause.Document, fillet.Clause.Article, fillet.Clause.Edition, string(fillet.Clause.Tag))}}
	a := e.approvalNow()
	out.Says += " Approval: " + standingWords(a, e.sys) + "."
	for i, n := range a.Notes {
		out.Says += fmt.Sprintf(" Note %d: %s.", i+1, strings.TrimSuffix(n, "."))
	}
	if all, err := stud.Repairs(b, d.StudDiameter, stud.Gap{Clock: 12, Length: units.Length(math.Pi) * d.StudDiameter}); err == nil {
		out.Repair.None = all[0].Words
	}
	for _, face := range []string{"L", "R"} {
		f, ok := m.face(face)
		if !ok {
			continue
		}
		out.Faces = append(out.Faces, e.packetFace(m, f))
	}
	return out
}

func (e *endReader) packetFace(m studMap, f field.Face) pktFace {
	out := pktFace{ID: f.ID, Title: f.Title, Ends: f.Ends, Columns: f.Columns}
	for _, row := range f.Rows {
		line := pktRow{Label: row.Label, Height: row.Height, Cells: []*pktStud{}}
		for _, c := range row.Cells {
			if c == nil {
				line.Cells = append(line.Cells, nil)
				continue
			}
			st := m.studs[m.index(c.Mark)]
			one := &pktStud{Mark: c.Mark, Place: fmt.Sprintf("row %d, column %d, x %s, z %s", st.Row, st.Col, st.X.Format(e.sys, -1), st.Z.Format(e.sys, -1))}
			if found, ok := m.latest[c.Mark]; ok {
				one.Outcome, one.Found = found.Outcome, found.ID
				one.Detail = strings.TrimSpace(e.collarDetail(found) + " " + e.name(found.ByUser) + ", " + e.when(found.CapturedAt))
			}
			line.Cells = append(line.Cells, one)
		}
		out.Rows = append(out.Rows, line)
	}
	return out
}
