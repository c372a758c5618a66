package web

import (
	"context"
	"strings"
	"time"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/ui"
)

// approvalMark shows how the approval of a design stands.
func approvalMark(a repair.Approval) ui.Mark {
	m := ui.Mark{State: ui.Good, Text: a.Standing.Words()}
	switch a.Standing {
	case repair.ApprovalConfirms:
		if m.State = ui.Caution; a.GoesOn {
			m.State = ui.Active
		}
	case repair.ApprovalLook:
		m.State = ui.Caution
	case repair.ApprovalOutOfDate:
		m.State = ui.Stop
	case repair.ApprovalNone:
		m.State = ui.Open
	}
	return m
}

// approvalWords is the revision, and who approved it.
func approvalWords(a repair.Approval, when func(time.Time) string) string {
	if a.Revision == 0 {
		return ""
	}
	text := "revision " + numberOf(a.Revision)
	if a.Standing == repair.ApprovalNone {
		return text
	}
	if text += ", " + revisionMark(a.State).Text; a.At != nil {
		text += " " + when(*a.At) + " by " + a.By
	}
	return text
}

// standingOf is the standing of an approval for a sheet that somebody works by.
func standingOf(of string, a repair.Approval, when func(time.Time) string, now time.Time) ui.Standing {
	s := ui.Standing{Of: of, Mark: approvalMark(a), Text: approvalWords(a, when), Notes: a.Notes, Printed: when(now)}
	if a.Because != "" {
		s.Because = ui.Sentence(a.Because)
	}
	if !a.Builds() {
		s.Stop = "Build nothing to it before the owner's engineer has decided."
	}
	return s
}

// approvalNow is how the approval of the end's design stands, asked for once a page.
func (e *endReader) approvalNow() repair.Approval {
	if e.approved == nil {
		a := e.rec.ApprovalNow(e.sc, e.sys)
		e.approved = &a
	}
	return *e.approved
}

func (e *endReader) approvalStanding() ui.Standing {
	return standingOf("", e.approvalNow(), e.when, e.now())
}

// standingCells carry the approval into the title block of every sheet of an end.
func (e *endReader) standingCells() []ui.Cell {
	s := e.approvalStanding()
	return []ui.Cell{{Label: "Approval", Mark: &s.Mark, Value: joined(". ", s.Text, strings.TrimSuffix(s.Because, ".")), Wide: true}, {Label: "Printed", Value: s.Printed, Paper: true}}
}

// standings are the approvals of the ends of a pour.
func (c *castReader) standings(sc *repair.Scope) []ui.Standing {
	var out []ui.Standing
	for _, rec := range sc.Ends {
		out = append(out, standingOf(rec.End.Name, rec.ApprovalNow(sc, c.sys), c.day, c.now))
	}
	return out
}

// standingCells carry the approvals into the title block of a sheet of castings.
func (c *castReader) standingCells(sc *repair.Scope) []ui.Cell {
	var out []ui.Cell
	for _, rec := range sc.Ends {
		a := rec.ApprovalNow(sc, c.sys)
		m := approvalMark(a)
		out = append(out, ui.Cell{Label: "Approval, " + rec.End.Name, Mark: &m, Value: approvalWords(a, c.day), Wide: true})
	}
	return append(out, ui.Cell{Label: "Printed", Value: c.day(c.now), Paper: true})
}

// approvals are those of all ends of a program, by name, from what lists keep.
func (s *Server) approvals(ctx context.Context, sc *repair.Scope) (map[string]repair.Approval, error) {
	inForce, err := s.store.ApprovedDesigns(ctx, sc.Program.ID)
	if err != nil {
		return nil, err
	}
	out := make(map[string]repair.Approval, len(sc.States))
	for _, st := range sc.States {
		d := inForce[st.EndID]
		out[st.Name] = repair.ApprovalInList(st, d.Revision, d.State)
	}
	return out, nil
}

// standingWords is an approval in few words, for a list.
func standingWords(a repair.Approval, sys units.System) string {
	out := a.Standing.Words()
	if a.Revision > 0 && a.Standing != repair.ApprovalNone {
		out += ", revision " + numberOf(a.Revision)
	}
	if a.Because != "" {
		out += ": " + units.Reword(a.Because, sys)
	}
	return out
}
