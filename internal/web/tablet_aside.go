package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
	view "endcast/views/tablet"
	"endcast/views/ui"
)

// mostAsides is how many entries one page of the desk holds.
const mostAsides = 200

// asideShow is the desk of entries that met a record which had moved on.
func (s *Server) asideShow(w http.ResponseWriter, r *http.Request) error {
	return s.asidePage(w, r, http.StatusOK, "", "", nil)
}

// asideDecide is the engineer's word on one entry.
func (s *Server) asideDecide(w http.ResponseWriter, r *http.Request) error {
	decision, err := entry(r)
	if err != nil {
		return err
	}
	id, how, why := r.PostFormValue("id"), r.PostFormValue("how"), strings.TrimSpace(r.PostFormValue("why"))
	if how != "apply" && how != "record" {
		return fault.New(fault.Malformed, "say whether the entry is to be applied or to stay on record")
	}
	err = s.store.DecideTablet(r.Context(), decision.String(), s.program(r).ID.String(), s.actor(r), id, how == "apply", why)
	switch {
	case err == nil:
	case refusedForm(err):
		return s.asidePage(w, r, http.StatusUnprocessableEntity, id, why, err)
	default:
		return err
	}
	if how == "apply" {
		s.flash(r, ui.Done, "The entry is applied as the record stands now.")
	} else {
		s.flash(r, ui.Done, "The entry stays on record without effect.")
	}
	return seeOther(w, r, s.program(r).Path("aside"))
}

func (s *Server) asidePage(w http.ResponseWriter, r *http.Request, status int, id, why string, refused error) error {
	head := s.program(r)
	lines, err := s.store.TabletAsides(r.Context(), head.ID.String(), mostAsides)
	if err != nil {
		return err
	}
	program, err := s.store.Program(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	zone := zoneOf(program)
	decides := s.can(r, authz.DecideNonconformance)
	var v view.Asides
	for _, line := range lines {
		a := asideView(head, line, zone, s.units(r))
		if line.State == db.TabletAside {
			if decides {
				a.Decide = &view.AsideForm{Action: head.Path("aside"), Entry: line.ID, Applies: line.EndID != nil}
				if line.ID == id && refused != nil {
					a.Decide.Why, a.Decide.Problem = why, ui.Sentence(refused.Error())
				}
			}
			v.Waiting = append(v.Waiting, a)
		} else {
			v.Looked = append(v.Looked, a)
		}
	}
	return s.render(w, r, status, view.AsidesPage(s.page(r, "Kept aside", ui.Crumb{Label: "Bridge", Href: head.Path()}), v))
}

var asideMarks = map[string]ui.Mark{
	db.TabletAside:    {State: ui.Wait, Text: "waits for the engineer"},
	db.TabletApplied:  {State: ui.Good, Text: "applied by decision"},
	db.TabletRecorded: {State: ui.Void, Text: "on record only"},
	db.TabletStored:   {State: ui.Caution, Text: "taken, with a remark"},
}

func asideView(head ProgramHead, line db.TabletLine, zone *time.Location, sys units.System) view.Aside {
	when := func(t time.Time) string { return t.In(zone).Format(moment) + ", " + zone.String() }
	a := view.Aside{ID: line.ID, Title: line.EndName + ": " + lower(tablet.Kind(line.Kind).Words()), Mark: asideMarks[line.State], Reason: inUnits(line.Reason, sys),
		By: line.ByName + ", " + sequence.RoleWords(sequence.Role(line.ByRole)), Captured: when(line.CapturedAt), Arrived: when(line.ArrivedAt), Differs: inUnits(line.Differs, sys)}
	for _, t := range line.Changed {
		a.Changed = append(a.Changed, inUnits(t, sys))
	}
	if line.EndID != nil {
		a.Href = head.Path("ends", line.EndName)
	}
	if line.ClockMarked {
		a.ClockWrong = fmt.Sprintf("told %s, its clock %s; set right to %s", toldText(line.CapturedText), clockOff(line.ClockS), when(line.CapturedAt))
	}
	if line.DecidedAt != nil {
		a.Decided = line.DecidedBy + ", " + when(*line.DecidedAt)
		if line.DecidedWhy != "" {
			a.Decided += ": " + line.DecidedWhy
		}
	}
	if e, err := tablet.Decode(line.Raw); err == nil {
		a.Says = append(e.Print(), "Figures as typed: lengths in "+units.Lengths.Label(e.Units)+" and temperatures in "+units.Temperatures.Label(e.Units)+" where no unit stands beside them.")
		a.Against = againstWords(e.Against)
	}
	var pretty bytes.Buffer
	if json.Indent(&pretty, line.Raw, "", "  ") == nil {
		a.Raw = pretty.String()
	} else {
		a.Raw = string(line.Raw)
	}
	return a
}

// storedLength is a length as judgments are stored.
var storedLength = regexp.MustCompile(`(\d+(?:\.\d+)?) mm\b`)

// inUnits turns the lengths of a stored judgment into the units of its reader.
func inUnits(text string, sys units.System) string {
	return storedLength.ReplaceAllStringFunc(text, func(m string) string {
		v, err := units.Parse[units.Length](m, units.SI)
		if err != nil {
			return m
		}
		return v.Format(sys, -1)
	})
}

// againstWords is what an entry was made on, as the tablet had it.
func againstWords(x tablet.Against) []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if x.Revision > 0 {
		add("Design revision %d.", x.Revision)
	}
	if x.Survey > 0 {
		add("Survey %d.", x.Survey)
	}
	if x.EndVersion > 0 {
		add("Version %d of the record.", x.EndVersion)
	}
	if x.TakenAt != "" {
		add("Copy taken on %s.", x.TakenAt)
	}
	return out
}

// countAsides shows whoever decides how many entries wait for it.
func (s *Server) countAsides(r *http.Request, nav []ui.NavItem) {
	if !s.can(r, authz.DecideNonconformance) {
		return
	}
	head := s.program(r)
	for i := range nav {
		if nav[i].Href == head.Path("aside") {
			if n, err := s.store.TabletWaiting(r.Context(), head.ID.String()); err == nil {
				nav[i].Count = n
			}
		}
	}
}
