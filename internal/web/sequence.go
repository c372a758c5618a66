package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/settings"
)

// sequenceShow shows the owner's sequence of steps, and the retired ones with what
// was done under them.
func (s *Server) sequenceShow(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	id := head.ID.String()
	frame, err := s.store.Frame(r.Context(), id)
	if err != nil {
		return err
	}
	uses, err := s.store.StepUses(r.Context(), id)
	if err != nil {
		return err
	}
	at, _, err := s.store.Tallies(r.Context(), id)
	if err != nil {
		return err
	}
	here := map[string]int{}
	for _, t := range at {
		here[t.Key] += t.Count
	}
	zone := zoneOf(frame.Program)
	var v settings.SequenceView
	holds := 0
	for _, st := range frame.Sequence() {
		if st.Retired {
			v.Retired = append(v.Retired, retiredRow(st, uses[st.ID], zone))
			continue
		}
		row := stepRow(st, s.units(r))
		row.Place = len(v.Steps) + 1
		if st.Hold {
			holds++
		}
		if n := here[st.Code]; n > 0 {
			row.Here, row.HereHref = strconv.Itoa(n), head.Path("ends")+"?"+url.Values{"step": {st.Code}}.Encode()
		}
		v.Steps = append(v.Steps, row)
	}
	v.Summary = fmt.Sprintf("%s in use, %s among them. An end goes through them in this order; a step may also ask for what is not a step.", count(len(v.Steps), "step", "steps"), count(holds, "hold", "holds"))
	if s.can(r, authz.EditSequence) {
		v.Edit = head.Path("sequence", "edit")
	}
	if v.Log, err = s.settingsLog(r, zone, "sequence.edit"); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, settings.Sequence(s.page(r, "Sequence of steps"), v))
}

func stepRow(st sequence.Step, sys units.System) settings.StepRow {
	row := settings.StepRow{Code: st.Code, Name: st.Name, Who: sentenceCase(sequence.RolesInWords(st.Performer)), Hold: st.Hold, All: st.AppliesToAll, Window: "none", Here: "0"}
	if st.Hold {
		row.Releasers = sequence.RolesInWords(st.Releaser)
	}
	switch st.Window {
	case "":
	case sequence.OwnWindow:
		row.Window = "end's own"
	default:
		row.Window = st.Window
	}
	for _, q := range st.Requires {
		row.Asks = append(row.Asks, askOf(q, sys))
	}
	return row
}

// askOf puts a requirement in words, a strength in the reader's units.
func askOf(q sequence.Requirement, sys units.System) settings.Ask {
	switch q.Condition {
	case sequence.TickList:
		return settings.Ask{Text: "a tick list:", Items: q.Items()}
	case sequence.StrengthReached:
		return settings.Ask{Text: "a strength of " + units.Stress(q.Value).Format(sys, -1) + ageWords(q.AgeDays)}
	case sequence.DesignStrengthReached:
		return settings.Ask{Text: "the strength that the design counts on" + ageWords(q.AgeDays)}
	}
	return settings.Ask{Text: q.Words()}
}

func ageWords(days float64) string {
	if days == 0 {
		return ", at whatever age"
	}
	return " at " + units.Significant(days, 4) + " days"
}

func retiredRow(st sequence.Step, u db.StepUse, zone *time.Location) settings.RetiredRow {
	row := settings.RetiredRow{Code: st.Code, Name: st.Name, Done: "nothing", Last: "–"}
	if u.Ends > 0 || u.Photographs > 0 {
		row.Done = fmt.Sprintf("completed %s at %s, %s", count(u.Completed, "time", "times"), count(u.Ends, "end", "ends"), count(u.Photographs, "photograph", "photographs"))
	}
	if u.Last != nil {
		row.Last = u.Last.In(zone).Format(moment)
	}
	return row
}
