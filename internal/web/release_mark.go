package web

import (
	"strings"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/casting"
	"endcast/views/ui"
)

// releaseMarks says of each end of a scope whether it is released for casting.
func (c *castReader) releaseMarks(sc *repair.Scope) ([]casting.ReleaseMark, error) {
	var out []casting.ReleaseMark
	for _, rec := range sc.Ends {
		x, err := rec.ReleaseNow(sc, repair.Wording{System: c.sys, When: c.day})
		if err != nil {
			return nil, err
		}
		out = append(out, c.releaseMark(rec, x))
	}
	return out, nil
}

func (c *castReader) releaseMark(rec *repair.Record, x repair.ReleaseStanding) casting.ReleaseMark {
	m := casting.ReleaseMark{Name: rec.End.Name, Href: c.head.Path("ends", rec.End.Name, "release")}
	switch {
	case x.Step == nil: // the owner's sequence knows no release
	case x.Last != nil && x.Last.Decision == repair.CastingReleased && !x.Current && !x.Cast:
		m.Mark, m.Loud = ui.Mark{State: ui.Caution, Text: "release out of date"}, true
		m.Why = "Changed since it was released: " + strings.Join(x.Moved, "; ") + "."
	case x.Released():
		m.Mark = ui.Mark{State: ui.Good, Text: "released by " + x.Last.ByName + ", " + c.day(x.Last.At)}
	case x.Open():
		m.Mark = ui.Mark{State: ui.Good, Text: "step released"}
	default:
		m.Mark, m.Loud = ui.Mark{State: ui.Stop, Text: "not released for casting"}, true
		m.Why = "The release of this end has not been asked for."
		if x.State == sequence.Requested {
			m.Why = "Its release was asked for and is not given."
		}
		if x.Last != nil {
			m.Why = "Refused by " + x.Last.ByName + ": " + x.Last.Reasons
		}
		m.Why = ui.Sentence(m.Why)
	}
	return m
}

// choiceMark says from the stored state of an end whether it is released: where it
// stands in the sequence, and what stops it there.
func (c *castReader) choiceMark(st repair.State) ui.Mark {
	step := c.frame.ReleaseStep()
	switch {
	case step == nil || st.Closed:
		return ui.Mark{}
	case st.Reason == string(sequence.ReleaseMissing):
		return ui.Mark{State: ui.Caution, Text: "release missing or out of date"}
	case st.StepOrd <= step.Order:
		return ui.Mark{State: ui.Stop, Text: "not released for casting"}
	}
	return ui.Mark{State: ui.Good, Text: "released"}
}
