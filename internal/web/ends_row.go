package web

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/ends"
	"endcast/views/ui"
)

func endRow(head ProgramHead, st repair.State, sys units.System, today time.Time) ends.Row {
	row := ends.Row{Name: st.Name, Href: head.Path("ends", st.Name), Support: st.SupportCode, Section: st.SectionName, Access: st.Access,
		Step: st.StepName, Blocked: blockMark(st), Demand: figure(units.Forces, sys, float64(st.Demand)), Design: designMark(st), Condition: conditionMark(st)}
	if st.Closed {
		row.Step = "Closed"
	}
	if st.Actor != "" {
		row.Actor = sequence.RoleWords(sequence.Role(st.Actor))
	}
	if st.Since != nil && !st.Closed {
		row.Since = days(*st.Since, today)
	}
	if st.LossMax != nil {
		row.Loss = fmt.Sprintf("%.0f %%", 100**st.LossMax)
	}
	if st.Capacity != nil {
		row.Capacity = figure(units.Forces, sys, float64(*st.Capacity))
	}
	if st.Repaired != nil {
		row.Repaired = figure(units.Forces, sys, float64(*st.Repaired))
	}
	if st.OpenNCR > 0 {
		row.NCR = strconv.Itoa(st.OpenNCR)
	}
	return row
}

func figure(k units.Kind, sys units.System, v float64) string { return k.Figure(v, sys, -1) }

func days(since, today time.Time) string {
	n := int(today.Sub(since).Hours() / 24)
	return strconv.Itoa(max(n, 0))
}

func blockMark(st repair.State) ui.Mark {
	switch {
	case st.Closed:
		return ui.Mark{State: ui.Good, Text: "closed"}
	case st.Reason == "":
		return ui.Mark{State: ui.Active, Text: "free to go on"}
	case st.Reason == string(sequence.CriticalFinding):
		return ui.Mark{State: ui.Stop, Text: sequence.Reason(st.Reason).Words()}
	case st.Track == string(sequence.Paper):
		return ui.Mark{State: ui.Caution, Text: sequence.Reason(st.Reason).Words()}
	}
	return ui.Mark{State: ui.Wait, Text: sequence.Reason(st.Reason).Words()}
}

func designMark(st repair.State) ui.Mark {
	if st.DesignRevision == nil {
		return ui.Mark{State: ui.Open, Text: "none"}
	}
	rev := "rev " + strconv.Itoa(*st.DesignRevision) + " "
	if st.OutOfDate {
		return ui.Mark{State: ui.Caution, Text: rev + "out of date"}
	}
	switch st.DesignState {
	case repair.DesignApproved, repair.DesignApprovedNoted:
		return ui.Mark{State: ui.Good, Text: rev + strings.ReplaceAll(st.DesignState, "_", " ")}
	case repair.DesignReturned:
		return ui.Mark{State: ui.Stop, Text: rev + "returned"}
	case repair.DesignSubmitted:
		return ui.Mark{State: ui.Wait, Text: rev + "waits for review"}
	}
	return ui.Mark{State: ui.Active, Text: rev + st.DesignState}
}

// conditionMark compares what the end carries today with its demand: a closed
// end carries by its repair, an open one by what corrosion left.
func conditionMark(st repair.State) ui.Mark {
	switch {
	case st.Closed && st.Repaired != nil && *st.Repaired >= st.Demand:
		return ui.Mark{State: ui.Good, Text: "repaired"}
	case st.Capacity == nil:
		return ui.Mark{State: ui.Open, Text: "not surveyed"}
	case *st.Capacity < st.Demand:
		return ui.Mark{State: ui.Stop, Text: fmt.Sprintf("short, %.2f", ratio(st))}
	case st.CapacityVerdict == "passes":
		return ui.Mark{State: ui.Good, Text: fmt.Sprintf("carries, %.2f", ratio(st))}
	}
	return ui.Mark{State: ui.Void, Text: st.CapacityVerdict}
}

func ratio(st repair.State) float64 {
	if st.Capacity == nil || *st.Capacity <= 0 {
		return 99
	}
	return float64(st.Demand / *st.Capacity)
}

func sentenceCase(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
