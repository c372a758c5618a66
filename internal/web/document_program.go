package web

import (
	"fmt"
	"net/http"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/paper"
	"endcast/views/ui"
)

// programBook gathers the document of the whole program.
func (s *Server) programBook(r *http.Request, signable bool) (printJob, paper.Book, error) {
	job := printJob{kind: repair.PaperProgram}
	if err := parseForm(r); err != nil {
		return job, paper.Book{}, err
	}
	if kind := r.PostFormValue("kind"); kind != job.kind {
		return job, paper.Book{}, fault.New(fault.Refused, "say which document is wanted: %.20q is none", kind)
	}
	head := s.program(r)
	var err error
	if job.seq, job.hash, err = s.store.LastBearing(r.Context(), head.ID.String(), ""); err != nil {
		return job, paper.Book{}, err
	}
	sc, err := s.store.States(r.Context(), head.ID.String())
	if err != nil {
		return job, paper.Book{}, err
	}
	sys := paperUnits(r, s.units(r))
	if err := job.of(s, sc, sys); err != nil {
		return job, paper.Book{}, err
	}
	b := s.newBook(job, sc.Program, fmt.Sprintf("%d girder ends", len(sc.States)), signable)
	b.Lead = "Where every end stands: what it carries, what it must carry, the design that mends it, and what comes next."
	closed, short, open := 0, 0, 0
	for _, st := range sc.States {
		closed += boolInt(st.Closed)
		short += boolInt(st.Capacity != nil && *st.Capacity < st.Demand && !st.Closed)
		open += st.OpenNCR
	}
	b.Block = ui.TitleBlock{Cells: []ui.Cell{{Label: "Program", Value: sc.Program.Name, Wide: true}, {Label: "Contract", Value: sc.Program.Contract}, {Label: "Owner", Value: sc.Program.Owner},
		{Label: "Ends", Value: fmt.Sprint(len(sc.States))}, {Label: "Closed", Value: fmt.Sprint(closed)}, {Label: "Below demand, not closed", Value: fmt.Sprint(short)},
		{Label: "Nonconformances open", Value: fmt.Sprint(open)}, {Label: "Record", Value: shortDigest(job.record)}, {Label: "By", Value: s.user(r).Name}}}
	approvals, err := s.approvals(r.Context(), sc)
	if err != nil {
		return job, paper.Book{}, err
	}
	b.Sections = []paper.Section{endIndex(sc, approvals, sys), endSummaries(sc, approvals, sys)}
	return job, b, nil
}

// endIndex is a line for each end.
func endIndex(sc *repair.Scope, approvals map[string]repair.Approval, sys units.System) paper.Section {
	t := paper.Table{Caption: "Ends in the order of the bridge: capacities against the factored demand", Heads: heads("~End", "Support", "Section", "Next step", "Design", "Approval", "#Corroded", "#Repaired", "#Demand", "Verdict", "Inputs")}
	for _, st := range sc.States {
		row := cells(st.Name, st.SupportCode, st.SectionName, stepOrClosed(st), designOf(st), "", "–", "–", st.Demand.Format(sys, -1), "", shortDigest(st.InputDigest))
		row[5] = mark(approvalMark(approvals[st.Name]))
		if st.Capacity != nil {
			row[6].Text = st.Capacity.Format(sys, -1)
			row[9] = mark(verdictMark(storedVerdict(st.CapacityVerdict)))
		}
		if st.Repaired != nil {
			row[7].Text = st.Repaired.Format(sys, -1)
		}
		t.Rows = append(t.Rows, row)
	}
	return paper.Section{ID: "index", Title: "Index of ends", Words: []string{"The verdict is that of the end as corroded, by its latest survey."}, Tables: []paper.Table{t}}
}

func designOf(st repair.State) string {
	if st.DesignRevision == nil {
		return "none"
	}
	text := "revision " + numberOf(*st.DesignRevision) + ", " + revisionMark(st.DesignState).Text
	if st.OutOfDate {
		text += ", out of date"
	}
	return text
}

// endSummaries is a short account of each end.
func endSummaries(sc *repair.Scope, approvals map[string]repair.Approval, sys units.System) paper.Section {
	sec := paper.Section{ID: "summaries", Title: "Each end"}
	for _, st := range sc.States {
		m := ui.Mark{State: ui.Active, Text: stepOrClosed(st)}
		switch {
		case st.Closed:
			m.State = ui.Good
		case st.ReasonText != "":
			m.State = ui.Stop
		}
		p := paper.Part{ID: "end-" + st.Name, Title: st.Name + ", " + st.SupportCode + ", " + st.SectionName, Mark: &m}
		add := func(label, value string) { p.Facts = append(p.Facts, paper.Fact{Label: label, Value: value}) }
		add("Factored demand", st.Demand.Format(sys, -1))
		add("As new", st.CapacityNew.Format(sys, -1))
		if st.Capacity != nil {
			add("As corroded", st.Capacity.Format(sys, -1)+", "+verdictMark(storedVerdict(st.CapacityVerdict)).Text+" by "+plainWord(st.Governing))
		} else {
			add("As corroded", "no survey is on record")
		}
		if st.Repaired != nil {
			add("Repaired as designed", st.Repaired.Format(sys, -1))
		}
		if st.LossMax != nil {
			add("Deepest loss of web", share(*st.LossMax))
		}
		add("Design", designOf(st))
		add("Approval", standingWords(approvals[st.Name], sys))
		if st.RatingLeast != nil {
			add("Least rating factor", factorText(st.RatingLeast))
		}
		if st.OpenNCR > 0 {
			add("Nonconformances open", numberOf(st.OpenNCR))
		}
		if st.ReasonText != "" && !st.Closed {
			p.Words = append(p.Words, ui.Sentence(units.Reword(st.ReasonText, sys)))
		}
		if st.Outside {
			p.Words = append(p.Words, "A limit of the method is not met: the capacity proves nothing.")
		}
		sec.Parts = append(sec.Parts, p)
	}
	return sec
}
