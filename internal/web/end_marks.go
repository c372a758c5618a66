package web

import (
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/ui"
)

func numberOf(n int) string { return strconv.Itoa(n) }

// verdictMark shows a verdict. Outside the method's limits has the mark of
// caution: it must never look like a pass.
func verdictMark(v calc.Verdict) ui.Mark {
	m := ui.Mark{State: ui.Void, Text: v.String()}
	switch v {
	case calc.Passes:
		m.State = ui.Good
	case calc.Fails:
		m.State = ui.Stop
	case calc.Outside:
		m.State = ui.Caution
	case calc.Informs:
		m.State = ui.Open
	}
	return m
}

// storedVerdict reads the verdict of a stored row, which is kept in words or as a key.
func storedVerdict(text string) calc.Verdict {
	for v := calc.Undecided; v <= calc.Informs; v++ {
		if text == v.String() || text == v.Key() {
			return v
		}
	}
	return calc.Undecided
}

// ratioText prints demand over resistance. A ratio a little above 1 is given with
// the digits that show it, since 1.00 would read as a pass.
func ratioText(r float64) string {
	switch {
	case math.IsNaN(r):
		return "–"
	case math.IsInf(r, 0):
		return "∞"
	}
	for decimals := 2; decimals < 6; decimals++ {
		s := strconv.FormatFloat(r, 'f', decimals, 64)
		if r <= 1 || strings.Trim(s[2:], "0") != "" || r >= 2 {
			return s
		}
	}
	return "> 1"
}

// revisionMark shows the state of a revision.
func revisionMark(state string) ui.Mark {
	switch state {
	case repair.DesignDraft:
		return ui.Mark{State: ui.Active, Text: "draft"}
	case repair.DesignSubmitted:
		return ui.Mark{State: ui.Wait, Text: "waits for review"}
	case repair.DesignApproved:
		return ui.Mark{State: ui.Good, Text: "approved"}
	case repair.DesignApprovedNoted:
		return ui.Mark{State: ui.Good, Text: "approved as noted"}
	case repair.DesignReturned:
		return ui.Mark{State: ui.Stop, Text: "returned"}
	case repair.DesignSuperseded:
		return ui.Mark{State: ui.Void, Text: "superseded"}
	}
	return ui.Mark{State: ui.Open, Text: state}
}

// decisionMark shows a decision of a review.
func decisionMark(decision string) ui.Mark {
	if decision == "confirmed" {
		return ui.Mark{State: ui.Good, Text: "confirmed"}
	}
	return revisionMark(decision)
}

// trackMark shows which of the three tracks stops an end.
func trackMark(t sequence.Track) ui.Mark {
	m := ui.Mark{State: ui.Stop, Text: t.Words()}
	switch t {
	case sequence.Access:
		m.State = ui.Wait
	case sequence.SteelAndConcrete:
		m.State = ui.Active
	}
	return m
}

// stepMark shows where a step stands.
func stepMark(st sequence.StepState, current bool) ui.Mark {
	m := ui.Mark{State: ui.Open, Text: st.Words()}
	switch {
	case st == sequence.Done:
		m.State = ui.Good
	case st == sequence.Requested:
		m.State = ui.Wait
	case st == sequence.Open && current:
		m.State, m.Text = ui.Active, "next"
	case st != sequence.Open:
		m.State = ui.Void
	}
	return m
}

// plainWord turns a stored word such as use_as_is into plain words.
func plainWord(word string) string { return strings.ReplaceAll(word, "_", " ") }
