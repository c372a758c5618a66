package web

import (
	"net/http"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
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
	TestStud pktTest     `json:"test_stud"`
	Bend     pktBend     `json:"bend"`
	Casting  pktCasting  `json:"casting"`
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

// pktTest is what a set-up test begins with.
type pktTest struct {
	Studs int     `json:"studs"`
	Bend  float64 `json:"bend"`
}

// pktShift is a check of the shift at one end: what is asked, and how it stands.
type pktShift struct {
	Kind    string   `json:"kind"`
	Title   string   `json:"title"`
	Says    string   `json:"says"`
	Caution string   `json:"caution"`
	Asked   []string `json:"asked"`
	Against []string `json:"against"`
}

// pktBend is the rule of the proof bend.
type pktBend struct {
	Deg    float64 `json:"deg"`
	Clause string  `json:"clause"`
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
		TestStud: pktTest{Studs: int(b.Value(basis.CollarTestStuds) + 0.5), Bend: b.Value(basis.CollarTestBend)}}
	p.Casting = packetCasting(frame)
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
		if v.program != nil && mayKind(v, k) {
			out = append(out, string(k))
		}
	}
	return out
}

// noteCheck is the short note, which decides nothing.
var noteCheck = pktCheck{Subject: "note", Look: []string{}, Outcomes: []pktPair{{"noted", "Note"}}}

// mayKind reports whether a person may make entries of a kind. Checks of the shift
// are for those who complete steps by themselves; others need a step that names them.
func mayKind(v *visit, k tablet.Kind) bool {
	a, ok := k.Action()
	if !ok {
		return false
	}
	switch k {
	case tablet.TestStud, tablet.FormCheck, tablet.DeckCore:
		return authz.Can(v.person, v.program.ID, a)
	}
	return authz.MayAtSomeStep(v.person, v.program.ID, a)
}

func (s *Server) tabletChecks(r *http.Request, frame *repair.Scope) []pktCheck {
	var out []pktCheck
	note := noteCheck
	note.Title = inspectionWords[note.Subject]
	out = append(out, note)
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
