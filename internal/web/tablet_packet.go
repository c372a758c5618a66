package web

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"net/http"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
	"endcast/views/field"
)

// mostPacket is how many ends one shift takes along.
const mostPacket = 60

// packet is what a tablet takes along for a shift: texts for the reader, and what an
// entry must say of the record that it was made against.
type packet struct {
	Format   int         `json:"format"`
	TakenAt  time.Time   `json:"taken_at"`
	Units    string      `json:"units"`
	Unit     string      `json:"unit"` // of lengths
	Degree   string      `json:"degree"`
	Program  string      `json:"program"`
	Sequence string      `json:"sequence"`
	PhotoMB  float64     `json:"photo_mb"`
	May      []string    `json:"may"` // kinds of entry that the person may make
	Checks   []pktCheck  `json:"checks"`
	Grades   []pktPair   `json:"grades"`
	Methods  []pktPair   `json:"methods"`
	Steps    []pktPair   `json:"steps"`
	Test     string      `json:"test"` // what the shift's test studs are asked for
	Bend     pktBend     `json:"bend"`
	Ends     []packetEnd `json:"ends"`
}

type pktPair struct {
	Value string `json:"value"`
	Label string `json:"label"`
}

// pktCheck is something that a person signs for, with what to look at.
type pktCheck struct {
	Subject  string    `json:"subject"`
	Title    string    `json:"title"`
	Look     []string  `json:"look"`
	Outcomes []pktPair `json:"outcomes"`
	Caution  string    `json:"caution,omitempty"`
}

// pktBend is the rule of the proof bend.
type pktBend struct {
	Deg    float64 `json:"deg"`
	Clause string  `json:"clause"`
}

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
	Signed   []string    `json:"signed"`
	Web      string      `json:"web"` // thickness as new
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

// tabletPacket is the shift's packet: the ends that the address names, by name.
func (s *Server) tabletPacket(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	var names []string
	for _, n := range strings.Split(r.URL.Query().Get("ends"), ",") {
		if n = strings.TrimSpace(n); n != "" {
			names = append(names, n)
		}
	}
	if len(names) > mostPacket {
		return fault.New(fault.Refused, "a packet holds at most %d girder ends, got %d", mostPacket, len(names))
	}
	sys := s.units(r)
	b := frame.Basis()
	p := packet{Format: tablet.Format, TakenAt: s.now().UTC(), Units: string(sys), Unit: units.Lengths.Label(sys), Degree: units.Temperatures.Label(sys), Program: head.Name,
		Sequence: tablet.SequenceDigest(frame), PhotoMB: b.Value(basis.TabletPhoto), Ends: []packetEnd{}, May: s.tabletKinds(r), Checks: s.tabletChecks(r, frame),
		Test: fmt.Sprintf("At least %.0f test studs on metal of like thickness and in like position: collar all round, bent %.0f degrees without a crack. Again after any change of the setting.",
			b.Value(basis.CollarTestStuds), b.Value(basis.CollarTestBend))}
	bend := stud.Bend(b, stud.Gap{Clock: 12, Length: 1})
	p.Bend = pktBend{Deg: float64(bend.Angle), Clause: clauseWords(bend.Clause.Document, bend.Clause.Article, bend.Clause.Edition, string(bend.Clause.Tag))}
	for _, g := range quality.Grades() {
		p.Grades = append(p.Grades, pktPair{string(g.Grade), gradeCode(string(g.Grade)) + ", " + g.Name})
	}
	for _, m := range quality.Methods() {
		p.Methods = append(p.Methods, pktPair{string(m), sentenceCase(plainWord(string(m)))})
	}
	for _, st := range frame.Sequence() {
		if !st.Retired {
			p.Steps = append(p.Steps, pktPair{st.Code, st.Name})
		}
	}
	for _, name := range names {
		sc, err := s.store.End(r.Context(), head.ID.String(), name)
		if err != nil {
			return err
		}
		e, err := s.readEnd(r, sc)
		if err != nil {
			return err
		}
		one, err := e.packet(r.Context())
		if err != nil {
			return err
		}
		p.Ends = append(p.Ends, one)
	}
	return s.tabletJSON(w, p)
}

// tabletKinds are the kinds of entry that the person may make.
func (s *Server) tabletKinds(r *http.Request) []string {
	v := visitOf(r.Context())
	out := []string{}
	for _, k := range tablet.Kinds() {
		if a, ok := k.Action(); ok && v.program != nil && authz.MayAtSomeStep(v.person, v.program.ID, a) {
			out = append(out, string(k))
		}
	}
	return out
}

// shiftChecks are the checks of a shift, with what to look at.
var shiftChecks = []pktCheck{
	{Subject: "test_studs", Look: []string{"Collar all round, each test stud.", "Bent as asked, no crack.", "Ferrules dry.", "Setting written down: current, time, lift, plunge."}, Outcomes: accepted},
	{Subject: "form", Look: []string{"Fit and cover to the studs.", "Seals and ties tight.", "Vents and filling head open.", "Bearing free of the pour."}, Outcomes: accepted,
		Caution: "Stand clear of the fall of tools and pieces; keep the area below closed."},
	{Subject: "core", Look: []string{"Place as on the core plan.", "Bars cut: none without leave.", "Core caught and taken away.", "Hole cleaned and covered."}, Outcomes: accepted,
		Caution: "Nobody stands below a core that is being cut."},
	{Subject: "note", Outcomes: []pktPair{{"noted", "Note"}}},
}

var accepted = []pktPair{{"accepted", "Accepted"}, {"not_accepted", "Not accepted"}}

func (s *Server) tabletChecks(r *http.Request, frame *repair.Scope) []pktCheck {
	var out []pktCheck
	for _, c := range shiftChecks {
		c.Title = inspectionWords[c.Subject]
		out = append(out, c)
	}
	e := &endReader{s: s, r: r, sc: frame}
	for _, x := range inspected {
		if e.allowedInspection(x.key) != nil {
			continue
		}
		c := pktCheck{Subject: x.key, Title: inspectionWords[x.key], Look: x.look, Caution: x.caution}
		for _, o := range x.outcomes {
			c.Outcomes = append(c.Outcomes, pktPair{o.Value, o.Label})
		}
		out = append(out, c)
	}
	return out
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
	out.Survey = e.packetSurvey()
	for _, z := range zonesAsked {
		out.Cleaning = append(out.Cleaning, pktZone{Zone: string(z.zone), Title: sentenceCase(z.zone.Words()), Asked: e.leastGrade(z.zone), Last: e.lastGrade(string(z.zone))})
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

func (e *endReader) packetSurvey() *pktSurvey {
	sv := e.rec.LatestSurvey()
	if sv == nil {
		return nil
	}
	out := &pktSurvey{Number: sv.Number, Kind: sv.Kind, Says: fmt.Sprintf("Survey %d, %s, %s, %s", sv.Number, surveyKinds[sv.Kind], e.when(sv.CapturedAt), sv.TakenBy), Readings: []pktReading{}}
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
	out := &pktDesign{ID: d.ID, Revision: d.Revision, State: revisionMark(d.State).Text, Studs: tablet.StudsDigest(e.rec, d.ID),
		Says: fmt.Sprintf("Revision %d, %s. Studs %s by %s.", d.Revision, revisionMark(d.State).Text, d.StudDiameter.Format(e.sys, -1), d.StudHeight.Format(e.sys, -1)),
		Repair: pktRepair{Diameter: float64(d.StudDiameter), Size: float64(fillet.Size), SizeText: fillet.Size.Format(e.sys, -1), Over: float64(over), OverText: over.Format(e.sys, -1),
			Clause: clauseWords(fillet.Clause.Document, fillet.Clause.Article, fillet.Clause.Edition, string(fillet.Clause.Tag))}}
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

// chooseEnd is an end among which a shift is chosen.
type chooseEnd struct {
	Name     string `json:"name"`
	Span     int    `json:"span"`
	Side     string `json:"side"`
	Girder   int    `json:"girder"`
	Reading  string `json:"reading"`
	Support  string `json:"support"`
	StepCode string `json:"step_code"`
	Step     string `json:"step"`
	Access   string `json:"access"`
	Mine     bool   `json:"mine"`
	Says     string `json:"says"`
}

// chooseWindow is an access window that is still to come or under way.
type chooseWindow struct {
	Kind string `json:"kind"`
	Says string `json:"says"`
}

// tabletChoice lists the ends of the program with what a shift is chosen by.
func (s *Server) tabletChoice(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	rows, err := s.store.TabletEnds(r.Context(), head.ID.String(), string(s.actor(r).Role))
	if err != nil {
		return err
	}
	out := struct {
		Ends    []chooseEnd    `json:"ends"`
		Windows []chooseWindow `json:"windows"`
		Open    string         `json:"open"` // the access that needs no window
	}{[]chooseEnd{}, []chooseWindow{}, repair.OpenAccess}
	for _, row := range rows {
		n, err := girder.ParseName(row.Name)
		if err != nil {
			return fmt.Errorf("choice of ends: %w", err)
		}
		out.Ends = append(out.Ends, chooseEnd{Name: row.Name, Span: n.Span, Side: string(n.Side), Girder: row.Girder, Reading: row.SupportName + ", " + row.Face + " face", Support: row.SupportName,
			StepCode: row.StepCode, Step: stepOrClosed(row.State), Access: row.Access, Mine: row.Mine, Says: row.ReasonText})
	}
	now, zone := s.store.Today(frame.Program), zoneOf(frame.Program)
	for _, x := range frame.Windows {
		if x.EndsAt.After(now) && x.State != "lost" && x.State != "used" {
			out.Windows = append(out.Windows, chooseWindow{x.Kind, x.StartsAt.In(zone).Format(moment) + " to " + x.EndsAt.In(zone).Format("15:04") + ", " + x.Kind})
		}
	}
	return s.tabletJSON(w, out)
}

// tabletWho says who is signed in, and what time the server has.
func (s *Server) tabletWho(w http.ResponseWriter, r *http.Request) error {
	a := s.actor(r)
	return s.tabletJSON(w, map[string]any{"user": a.ID, "name": a.Name, "role": sequence.RoleWords(a.Role), "now": s.now().UTC(), "version": s.tabletVersion()})
}
