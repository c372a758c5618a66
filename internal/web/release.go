package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/casting"
	"endcast/views/ui"
)

// releaseShow is the list before casting of an end.
func (s *Server) releaseShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return e.releasePage(w, http.StatusOK, releaseSent{})
}

// releaseSent is what came from a form of the page and was not taken.
type releaseSent struct {
	act, key, entry, reason, problem, at string
	lines                                []string
	notes                                map[string]string
}

// of is the entry and the problem of one act on one line.
func (x releaseSent) of(act, key string) (entry, typed, problem string) {
	if x.act == act && x.key == key {
		return x.entry, x.reason, x.problem
	}
	return "", "", ""
}

func (e *endReader) wording() repair.Wording { return repair.Wording{System: e.sys, When: e.when} }

func (e *endReader) releasePage(w http.ResponseWriter, status int, sent releaseSent) error {
	x, err := e.rec.ReleaseNow(e.sc, e.wording())
	if err != nil {
		return err
	}
	h := e.head()
	v := casting.Release{Name: h.Name, Reading: h.Reading, Href: h.Href, Field: h.Field, Zone: e.zoneNote(), Standing: e.approvalStanding(),
		Links: []casting.Link{{Text: "Quantities", Href: e.quantitiesHref()}}}
	v.State, v.Said = e.releaseState(x)
	if x.Last != nil && x.Last.Decision == repair.CastingReleased && !x.Cast {
		v.Moved = x.Moved
	}
	if x.Step == nil {
		v.None = "The sequence of this program has no hold before its casting, so nobody is named who releases one. An administrator adds such a step."
	}
	waives := x.Step != nil && !x.Cast && e.s.canStep(e.r, authz.Waive, repair.Waivers(*x.Step))
	ticks := x.Step != nil && !x.Cast && e.mayTick(*x.Step)
	for _, l := range x.Lines {
		row := e.releaseRow(x, l, sent, waives, ticks)
		if l.Person {
			v.Persons = append(v.Persons, row)
		} else {
			v.Record = append(v.Record, row)
		}
	}
	here := e.path("release")
	if ticks {
		v.Tick = e.releaseTicks(x, sent)
	}
	if x.Step != nil && x.State == sequence.Open && e.s.canStep(e.r, authz.CompleteStep, x.Step.Performer) {
		f := &casting.ReleaseForm{Action: here, Act: "request", Submit: "Ask for the release",
			Label: "You say that the end is ready to be cast but for what stands open above. Another person releases it: " + roleList(x.Step.Releaser) + "."}
		f.Entry, _, f.Problem = sent.of("request", "")
		v.Request = f
	}
	if x.Step != nil && e.s.canStep(e.r, authz.ReleaseHold, x.Step.Releaser) {
		v.Decide = e.releaseDecision(x, sent)
	}
	if sent.problem != "" && !sent.shown(v) {
		v.Said = joined(" ", v.Said, sent.problem)
	}
	v.Past = e.releasePast()
	p := e.fieldPage("Release for casting,")
	return e.s.render(w, e.r, status, casting.ReleasePage(p, v))
}

// shown reports whether the page has the form that a refusal belongs to.
func (x releaseSent) shown(v casting.Release) bool {
	switch x.act {
	case "tick":
		return v.Tick != nil
	case "request":
		return v.Request != nil
	case "release", "refuse":
		return v.Decide != nil
	}
	return slices.ContainsFunc(append(slices.Clone(v.Record), v.Persons...), func(r casting.ReleaseRow) bool {
		return slices.ContainsFunc([]*casting.ReleaseForm{r.Waive, r.Unwaive, r.Untick}, func(f *casting.ReleaseForm) bool { return f != nil && f.Problem != "" })
	})
}

// mayTick reports whether the reader may tick lines of the step.
func (e *endReader) mayTick(st sequence.Step) bool {
	return e.s.canStep(e.r, authz.CompleteStep, st.Performer) || e.s.canStep(e.r, authz.ReleaseHold, st.Releaser)
}

// releaseState is the one answer of the page, with who gave it.
func (e *endReader) releaseState(x repair.ReleaseStanding) (ui.Mark, string) {
	said := func(verb string) string {
		return verb + " by " + x.Last.ByName + ", " + sequence.RoleWords(sequence.Role(x.Last.ByRole)) + ", " + e.when(x.Last.At) + "."
	}
	switch {
	case x.Step == nil:
		return ui.Mark{State: ui.Void, Text: "no step releases a casting"}, ""
	case x.Cast && x.Released():
		return ui.Mark{State: ui.Good, Text: "cast on its release"}, said("Released")
	case x.Cast && x.Open():
		return ui.Mark{State: ui.Good, Text: "cast; the step was released"}, "Nobody decided on this list."
	case x.Cast:
		return ui.Mark{State: ui.Stop, Text: "cast without a release"}, ""
	case x.Released():
		return ui.Mark{State: ui.Good, Text: "released for casting"}, said("Released")
	case x.Last != nil && x.Last.Decision == repair.CastingReleased:
		return ui.Mark{State: ui.Caution, Text: "out of date: shut again"}, said("Released") + " What it stood on has changed: look at it and decide anew."
	case x.Last != nil:
		return ui.Mark{State: ui.Stop, Text: "not released"}, said("Refused") + " " + ui.Sentence(x.Last.Reasons)
	case x.Open():
		return ui.Mark{State: ui.Good, Text: "the step is released"}, "The sequence does not ask for this list, and nobody decided on it."
	case x.State == sequence.Requested:
		return ui.Mark{State: ui.Wait, Text: "asked for, not released"}, "Asked for by " + x.Requested.Name + ", " + e.when(x.Requested.At) + "."
	}
	return ui.Mark{State: ui.Open, Text: "not released"}, ""
}

func (e *endReader) releaseRow(x repair.ReleaseStanding, l repair.ReleaseLine, sent releaseSent, waives, ticks bool) casting.ReleaseRow {
	row := casting.ReleaseRow{ID: "line-" + strings.NewReplacer(" ", "-", ":", "").Replace(l.Key), Title: l.Title, Text: l.Text, Lacks: l.Lacks, Mark: ui.Mark{State: ui.Good, Text: "met"}}
	row.Href, row.Link = e.lineHref(l.Key)
	here := e.path("release")
	form := func(act, label, submit, key string) *casting.ReleaseForm {
		f := &casting.ReleaseForm{Action: here + "#" + row.ID, Act: act, Key: key, Label: label, Submit: submit}
		f.Entry, f.Typed, f.Problem = sent.of(act, key)
		return f
	}
	switch {
	case l.Waiver != nil && !l.Never && !l.Met:
		row.Mark = ui.Mark{State: ui.Caution, Text: "waived"}
	case l.Person && l.Met:
		row.Mark = ui.Mark{State: ui.Good, Text: "ticked"}
	case l.Person:
		row.Mark, row.Lacks = ui.Mark{State: ui.Wait, Text: "not ticked"}, ""
	case !l.Met:
		row.Mark = ui.Mark{State: ui.Stop, Text: "missing"}
	case l.Key == repair.LineLimits:
		row.Mark = ui.Mark{State: ui.Void, Text: "to be kept"}
	}
	if t := l.Tick; t != nil {
		verb := "Ticked by "
		if !t.Done {
			verb = "Taken back by "
		}
		row.By, row.Note = verb+byLine(t.ByName, t.ByRole, e.when(t.CapturedAt)), t.Note
		if t.Done && ticks {
			row.Untick = form("untick", "Why it is no longer so", "Take the tick back", l.Title)
		}
	}
	if w := l.Waiver; w != nil {
		row.Waived = "Waived by " + byLine(w.ByName, w.ByRole, e.when(w.At)) + ": " + w.Reason
		if waives {
			row.Unwaive = form("unwaive", "Why it is asked for again", "Withdraw the waiver", w.ID)
		}
	} else if waives && !l.Met && !l.Never {
		row.Waive = form("waive", "Why it may be done without", "Waive it", l.Key)
	}
	return row
}

// lineHref is where a line of the list is dealt with.
func (e *endReader) lineHref(key string) (href, link string) {
	head := e.s.program(e.r)
	switch key {
	case repair.LineSteps:
		return e.path() + "#sequence", "Sequence"
	case repair.LineDesign:
		return e.path() + "#design", "Design"
	case repair.LineStuds:
		return e.path("collars"), "Collars"
	case repair.LineTestStuds:
		return e.path("checks", "test-studs"), "Test studs"
	case repair.LineCleaning:
		return e.path("cleaning"), "Cleaning"
	case repair.LineCores:
		return e.path("checks", "cores"), "Cores"
	case repair.LineForm, repair.LineBearing:
		return e.path("checks", "form"), "Form"
	case repair.LineMockup:
		at, text := mockupMissing(head, e.sc)
		if text == "" {
			at = head.Path("mockups")
		}
		return at, "Mock-up"
	case repair.LineWindow:
		return head.Path("windows"), "Windows"
	case repair.LineQuantities, repair.LineSpecimens:
		return e.quantitiesHref(), "Quantities"
	case repair.LineLimits:
		return head.Path("basis"), "Basis"
	case repair.LineNonconformances:
		return e.path() + "#nonconformances", "Nonconformances"
	}
	return "", ""
}

func (e *endReader) quantitiesHref() string {
	q := url.Values{"end": {e.rec.End.Name}}
	if w := e.sc.NextWindow(e.rec.End.Access); w != nil {
		q.Set("window", w.ID)
	}
	return e.s.program(e.r).Path("pours", "quantities") + "?" + q.Encode()
}

// releaseTicks is the form of the lines that nobody ticked yet.
func (e *endReader) releaseTicks(x repair.ReleaseStanding, sent releaseSent) *casting.ReleaseTick {
	t := &casting.ReleaseTick{Action: e.path("release")}
	t.Entry, _, t.Problem = sent.of("tick", "")
	for i, line := range repair.PersonLines(*x.Step) {
		if last := e.rec.LineTick(x.Step.ID, line); last != nil && last.Done {
			continue
		}
		n := strconv.Itoa(i + 1)
		t.Rows = append(t.Rows, casting.ReleaseTickRow{Number: n, Text: line, Note: sent.notes[n], On: slices.Contains(sent.lines, line)})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	t.At = ui.Field{Name: "captured_at", Label: "Looked at", Type: "datetime-local", Optional: true, Hint: "Empty: now, " + e.clock(), Value: sent.at}
	return t
}

func (e *endReader) releaseDecision(x repair.ReleaseStanding, sent releaseSent) *casting.ReleaseDecide {
	d := &casting.ReleaseDecide{Action: e.path("release") + "#decide", From: x.Digest, Meaning: repair.MeaningCastingReleased, Refuse: "Do not release it"}
	if x.State == sequence.Done {
		d.Refuse = "Take the release back"
	}
	if sent.act == "release" || sent.act == "refuse" {
		d.Entry, d.Problem = sent.entry, sent.problem
	}
	open := 0
	for _, l := range x.Lines {
		if !l.Settled() {
			open++
		}
	}
	switch {
	case x.Released():
	case x.State == sequence.Open:
		d.WhyNot = "Its release has not been asked for yet."
	case x.Requested != nil && x.Requested.By == e.s.actor(e.r).ID:
		d.WhyNot = "You asked for it: another person releases it."
	case open > 0:
		d.WhyNot = counted(open, "line is", "lines are") + " neither met, ticked nor waived."
	default:
		d.MayRelease = true
	}
	typed := ""
	if d.Entry != "" {
		typed = sent.reason
	}
	d.Reasons = ui.Field{Name: "reason", Label: "Reasons", Hint: "Needed to refuse it or to take it back.", Value: typed, Rows: 3, Optional: true}
	return d
}

// releasePast lists the decisions, the last first, each with its list of that hour.
func (e *endReader) releasePast() []casting.ReleasePast {
	var out []casting.ReleasePast
	for _, d := range newestFirst(e.rec.Releases, func(d repair.ReleaseDecision) time.Time { return d.At }) {
		row := casting.ReleasePast{Title: sentenceCase(d.Decision) + ", " + e.when(d.At), Text: joined(" ", d.Meaning, d.Reasons), By: byLine(d.ByName, d.ByRole, e.when(d.At)) + ", list " + shortDigest(d.Digest),
			Mark: ui.Mark{State: ui.Good, Text: "released"}}
		if d.Decision == repair.CastingRefused {
			row.Mark = ui.Mark{State: ui.Stop, Text: "refused"}
		}
		for _, l := range d.Evidence {
			r := casting.ReleaseRow{ID: "past-" + d.ID + "-" + strings.NewReplacer(" ", "-", ":", "").Replace(l.Key), Title: l.Title, Text: l.Text, Mark: ui.Mark{State: ui.Good, Text: "met"}}
			switch {
			case l.Waived != "":
				r.Mark, r.Waived = ui.Mark{State: ui.Caution, Text: "waived"}, "Waived by "+l.Waived
			case !l.Met:
				r.Mark = ui.Mark{State: ui.Stop, Text: "missing"}
			}
			row.Lines = append(row.Lines, r)
		}
		out = append(out, row)
	}
	return out
}
