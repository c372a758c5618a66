package web

import (
	"strconv"
	"time"

	"endcast/internal/domain/repair"
	"endcast/views/drawing"
	views "endcast/views/outlook"
)

// stages is what the end carried at each stage of the work on it, by today's
// demand and design basis, beside the rating that goes with it.
func (e *endReader) stages(list []repair.Stage) views.Stages {
	var v views.Stages
	d := drawing.StagesData{ID: "stages", System: e.sys}
	have := map[string]bool{}
	for i, st := range list {
		have[st.Kind] = true
		mark := drawing.StageMark{Number: i + 1, Label: st.Name, Capacity: float64(st.Capacity), Demand: float64(st.Demand)}
		row := views.StageRow{Number: strconv.Itoa(i + 1), Name: sentenceCase(st.Name), Note: stageNote(st), On: "–", Who: e.stageBy(st), Capacity: st.Capacity.Format(e.sys, -1),
			Demand: st.Demand.Format(e.sys, -1), Rating: factorText(st.Least), Verdict: verdictMark(storedVerdict(st.Verdict))}
		if st.Promised > st.Capacity {
			row.Note += "; " + st.Promised.Format(e.sys, -1) + " once " + st.Specified.Format(e.sys, -1) + " is proven"
		}
		if st.Kind == repair.StageAsNew {
			// The day of building is a year at best: it stands before the dates.
			if !st.At.IsZero() {
				row.On = st.At.Format("2006")
			}
		} else if !st.At.IsZero() {
			at := st.At.In(e.zone)
			row.On, mark.On = at.Format(time.DateOnly), at
		}
		d.Stages = append(d.Stages, mark)
		v.Rows = append(v.Rows, row)
	}
	v.Chart, v.Missing = drawing.Stages(d), missingStages(have)
	return v
}

func stageNote(st repair.Stage) string {
	note := st.Words
	switch {
	case st.Survey > 0 && st.Revision > 0:
		note += "; survey " + strconv.Itoa(st.Survey) + ", revision " + strconv.Itoa(st.Revision)
	case st.Revision > 0:
		note += "; revision " + strconv.Itoa(st.Revision)
	}
	return note
}

func (e *endReader) stageBy(st repair.Stage) string {
	switch {
	case st.By != "":
		return st.By
	case st.ByID != "":
		return e.name(st.ByID)
	}
	return "–"
}

// factorText prints a rating factor; a dash where none is known.
func factorText(rf *float64) string {
	if rf == nil {
		return "–"
	}
	return strconv.FormatFloat(*rf, 'f', 2, 64)
}

// missingStages says which stages the record does not hold, and what follows.
func missingStages(have map[string]bool) []string {
	var out []string
	add := func(kind, words string) {
		if !have[kind] {
			out = append(out, words)
		}
	}
	if !have[repair.StageFound] && !have[repair.StageCleaned] {
		out = append(out, "no survey is on record: what corrosion left is not known")
	} else {
		add(repair.StageCleaned, "no survey of cleaned steel is on record: the capacity is by readings through rust and paint")
	}
	add(repair.StageStudded, "no collar is recorded: no stud counts as welded")
	add(repair.StageCast, "the end has not been cast")
	if have[repair.StageCast] {
		add(repair.StageProven, "no strength of the panel is proven yet: it counts with nothing, never with a forecast")
	}
	add(repair.StageClosed, "the end is not closed")
	return out
}
