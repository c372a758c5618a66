package web

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/ui"
)

// collarMap shows every stud of the design in force with what was found at it.
func (s *Server) collarMap(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	v := field.Collars{Head: e.head(), Form: s.can(r, authz.RecordCollar), Pictures: e.pictures(e.photoSubjectOf(sequence.StudsAccounted, ""), "collar")}
	d := e.rec.DesignInForce()
	if d == nil || len(e.rec.StudsOf(d.ID)) == 0 {
		v.Empty = "This end has no design with studs yet."
		return s.render(w, r, http.StatusOK, field.CollarsPage(e.fieldPage("Collars"), v))
	}
	m := e.studMap(d)
	v.Design = fmt.Sprintf("Revision %d, %s", d.Revision, revisionMark(d.State).Text)
	v.Stud = "Studs " + d.StudDiameter.Format(e.sys, -1) + " by " + d.StudHeight.Format(e.sys, -1)
	v.OutOfDate, v.Caution = e.designWarnings(d)
	stands := e.approvalStanding()
	if v.OutOfDate != "" {
		stands.Because = "" // the banner says it
	}
	v.Standing = &stands
	v.Counts, v.Legend = m.counts(), m.legend()
	if v.Capacity, err = e.welded(m); err != nil {
		return err
	}
	if next := m.nextOpen(""); next != nil {
		v.Next = &field.StudLink{Mark: next.Mark, Href: e.path("collars", next.Mark)}
	}
	for _, face := range []string{"L", "R"} {
		if f, ok := m.face(face); ok {
			v.Faces = append(v.Faces, f)
		}
	}
	return s.render(w, r, http.StatusOK, field.CollarsPage(e.fieldPage("Collars"), v))
}

// designWarnings says what a person who works to a design must know of it.
func (e *endReader) designWarnings(d *repair.Design) (outOfDate, caution string) {
	switch a := e.approvalNow(); {
	case a.Standing == repair.ApprovalConfirms && a.Builds():
		caution = fmt.Sprintf("The approval of revision %d waits to be confirmed, and work goes on meanwhile: %s.", d.Revision, a.Because)
	case a.Standing >= repair.ApprovalConfirms && a.Standing <= repair.ApprovalOutOfDate:
		outOfDate = fmt.Sprintf("revision %d no longer stands on what is known: %s", d.Revision, a.Because)
	}
	if d.State != repair.DesignApproved && d.State != repair.DesignApprovedNoted {
		caution = fmt.Sprintf("Revision %d is not approved: it is %s. Weld nothing to it.", d.Revision, revisionMark(d.State).Text)
	}
	return outOfDate, caution
}

// studMap is the studs of a revision with the finding that counts at each.
type studMap struct {
	e      *endReader
	design *repair.Design
	studs  []repair.Stud // in the order in which they are looked at
	latest map[string]repair.Collar
}

func (e *endReader) studMap(d *repair.Design) studMap {
	m := studMap{e: e, design: d, studs: e.rec.StudsOf(d.ID), latest: e.rec.LatestCollars(d.ID)}
	// Face by face, each from the top row down, as a person at the web goes.
	slices.SortStableFunc(m.studs, func(a, b repair.Stud) int {
		return cmp.Or(cmp.Compare(a.Face, b.Face), cmp.Compare(tenth(b.Z), tenth(a.Z)), cmp.Compare(tenth(a.X), tenth(b.X)))
	})
	return m
}

// tenth is a place to the tenth of a millimeter: studs nearer than that are in one
// row.
func tenth(l units.Length) int { return int(math.Round(10 * float64(l))) }

func (m studMap) outcome(mark string) stud.Outcome { return stud.Outcome(m.latest[mark].Outcome) }

func (m studMap) index(mark string) int {
	return slices.IndexFunc(m.studs, func(st repair.Stud) bool { return st.Mark == mark })
}

// nextOpen is the next stud after a mark that has no finding, going round once.
func (m studMap) nextOpen(after string) *repair.Stud {
	at := m.index(after)
	for i := range m.studs {
		st := &m.studs[(at+1+i)%len(m.studs)]
		if st.Mark != after && m.outcome(st.Mark) == stud.Unseen {
			return st
		}
	}
	return nil
}

// left lists the studs of a face without a finding; of one row for a row above zero.
func (m studMap) left(face string, row int) []string {
	var out []string
	for _, st := range m.studs {
		if st.Face == face && (row == 0 || st.Row == row) && m.outcome(st.Mark) == stud.Unseen {
			out = append(out, st.Mark)
		}
	}
	return out
}

// face lays the studs of one face out in rows and columns as they are seen.
func (m studMap) face(face string) (field.Face, bool) {
	e := m.e
	var xs, zs []int
	at := map[[2]int]repair.Stud{}
	row := map[int]int{}
	for _, st := range m.studs {
		if st.Face != face {
			continue
		}
		x, z := tenth(st.X), tenth(st.Z)
		xs, zs = append(xs, x), append(zs, z)
		at[[2]int{x, z}] = st
		row[z] = st.Row
	}
	if len(at) == 0 {
		return field.Face{}, false
	}
	slices.Sort(xs)
	slices.Sort(zs)
	xs, zs = slices.Compact(xs), slices.Compact(zs)
	slices.Reverse(zs)
	out := field.Face{ID: face, Title: sentenceCase(faceWords[face]) + " of the web", Ends: "The girder end is on the left.", Left: len(m.left(face, 0)), Rest: e.restPath(face, 0)}
	// Seen from the left of the girder, ahead is on the left hand.
	if (girder.Side(e.rec.End.Side) == girder.Far) != (face == "L") {
		out.Ends = "The girder end is on the right."
		slices.Reverse(xs)
	}
	figure := func(tenths int) string { return units.Length(float64(tenths)/10).Format(e.sys, -1) }
	for _, x := range xs {
		out.Columns = append(out.Columns, "x "+figure(x))
	}
	for _, z := range zs {
		n := row[z]
		line := field.StudRow{Label: "Row " + strconv.Itoa(n), Height: "z " + figure(z), Left: len(m.left(face, n)), Rest: e.restPath(face, n)}
		for _, x := range xs {
			st, ok := at[[2]int{x, z}]
			if !ok {
				line.Cells = append(line.Cells, nil)
				continue
			}
			line.Cells = append(line.Cells, &field.StudCell{StudLink: field.StudLink{Mark: st.Mark, Href: e.path("collars", st.Mark)}, Status: collarStatus(m.outcome(st.Mark))})
		}
		out.Rows = append(out.Rows, line)
	}
	return out, true
}

// letters name the outcomes inside the shape of a stud.
var letters = map[stud.Outcome]string{stud.Unseen: "?", stud.Full: "F", stud.GapFound: "G", stud.RepairedFillet: "W", stud.BentPass: "B", stud.BentFail: "C",
	stud.Rejected: "R", stud.Removed: "X", stud.Replaced: "N"}

// collarStatus is how the map shows an outcome.
func collarStatus(o stud.Outcome) field.Status {
	kind := "bad"
	switch {
	case o == stud.Unseen:
		kind = "unseen"
	case stud.Counts(o):
		kind = "good"
	case o == stud.GapFound:
		kind = "gap"
	}
	return field.Status{Kind: kind, Letter: letters[o], Words: o.Words()}
}

func (m studMap) legend() []field.Status {
	var out []field.Status
	for _, o := range append([]stud.Outcome{stud.Unseen}, stud.Outcomes()...) {
		out = append(out, collarStatus(o))
	}
	return out
}

// counts sums the studs up in the three kinds that decide.
func (m studMap) counts() []field.Count {
	out := []field.Count{{Label: "studs", Mark: ui.Mark{State: ui.Active}, Count: len(m.studs)}, {Label: "accepted", Mark: ui.Mark{State: ui.Good}},
		{Label: "rejected or open", Mark: ui.Mark{State: ui.Stop}}, {Label: "not inspected", Mark: ui.Mark{State: ui.Open}}}
	for _, st := range m.studs {
		switch o := m.outcome(st.Mark); {
		case o == stud.Unseen:
			out[3].Count++
		case stud.Counts(o):
			out[1].Count++
		default:
			out[2].Count++
		}
	}
	return out
}
