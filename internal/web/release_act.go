package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/ui"
)

// releaseSubmit answers every form of the list before casting.
func (s *Server) releaseSubmit(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	sent := releaseSent{act: f.text("act"), key: f.text("key"), entry: f.text("entry"), reason: f.text("reason"), at: f.text("captured_at"), notes: map[string]string{}}
	ch, said, err := e.releaseChange(f, &sent)
	if err != nil && !refusedForm(err) {
		return err
	}
	if err == nil {
		captured := time.Time{}
		if sent.act == "tick" {
			captured = f.captured()
		}
		if err = f.bad.Err(); err == nil {
			_, err = s.edit(r, []db.EndRef{{ID: e.rec.End.ID}}, captured, ch)
		}
	}
	if err == nil {
		s.flash(r, ui.Done, said)
		return seeOther(w, r, e.path("release"))
	}
	status := http.StatusUnprocessableEntity
	switch {
	case fault.KindOf(err) == fault.Conflict:
		status = http.StatusConflict
	case fault.KindOf(err) == fault.Forbidden && sent.act == "release", refusedForm(err):
	default:
		return err
	}
	sent.problem = ui.Sentence(fieldReasons(err))
	fresh, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return fresh.releasePage(w, status, sent)
}

// releaseChange reads which act was sent, asks the table of rights, and makes the
// change of it.
func (e *endReader) releaseChange(f *typedForm, sent *releaseSent) (repair.Change, string, error) {
	step := e.sc.ReleaseStep()
	if step == nil {
		return nil, "", fault.New(fault.Refused, "the sequence of this program has no hold at which a casting is released")
	}
	refuse := func(what string) error { return fault.New(fault.Forbidden, "your role does not %s", what) }
	switch sent.act {
	case "tick", "untick":
		if !e.mayTick(*step) {
			return nil, "", refuse("tick lines of this list")
		}
		return e.ticksTyped(*step, f, sent)
	case "request":
		if !e.s.canStep(e.r, authz.CompleteStep, step.Performer) {
			return nil, "", refuse("ask for this release")
		}
		return repair.StepAct{StepID: step.ID, Act: string(sequence.Completed)}, "The release is asked for.", nil
	case "waive", "unwaive":
		if !e.s.canStep(e.r, authz.Waive, repair.Waivers(*step)) {
			return nil, "", refuse("waive lines of this list")
		}
		if sent.act == "unwaive" {
			return repair.WithdrawWaiver{ID: sent.key, Why: sent.reason}, "The waiver is withdrawn.", nil
		}
		return waiveOf(*step, sent.key, sent.reason), "The line is waived, under your name.", nil
	case "release", "refuse":
		if !e.s.canStep(e.r, authz.ReleaseHold, step.Releaser) {
			return nil, "", refuse("release this end for casting")
		}
		if sent.act == "refuse" {
			return repair.DecideRelease{Decision: repair.CastingRefused, Reasons: sent.reason, From: f.text("from")}, "The end is not released.", nil
		}
		return repair.DecideRelease{Decision: repair.CastingReleased, Reasons: sent.reason, From: f.text("from")}, e.rec.End.Name + " is released for casting.", nil
	}
	return nil, "", fault.New(fault.Malformed, "the form names nothing that may be done on this list")
}

// ticksTyped reads the lines that were ticked, each with its note, or the one that is
// taken back.
func (e *endReader) ticksTyped(step sequence.Step, f *typedForm, sent *releaseSent) (repair.Change, string, error) {
	ch := repair.TickLines{StepID: step.ID}
	if sent.act == "untick" {
		ch.Lines = []repair.TickIn{{Line: sent.key, Note: sent.reason}}
		return ch, "The tick is taken back.", nil
	}
	sent.lines = f.values["line"]
	for i := range repair.PersonLines(step) {
		n := strconv.Itoa(i + 1)
		sent.notes[n] = f.text("note-" + n)
	}
	known := repair.PersonLines(step)
	for _, line := range sent.lines {
		note := ""
		if i := slices.Index(known, strings.TrimSpace(line)); i >= 0 {
			note = sent.notes[strconv.Itoa(i+1)]
		}
		ch.Lines = append(ch.Lines, repair.TickIn{Line: line, Done: true, Note: note})
	}
	return ch, counted(len(ch.Lines), "line is", "lines are") + " ticked under your name.", nil
}

// waiveOf waives a line of the list: by the condition of the step where it asks for the
// same, so that one waiver serves both.
func waiveOf(step sequence.Step, key, reason string) repair.Waive {
	asks := func(c sequence.Condition) bool {
		return slices.ContainsFunc(step.Requires, func(q sequence.Requirement) bool { return q.Condition == c })
	}
	line, person := strings.CutPrefix(key, "tick: ")
	switch {
	case key == repair.LineMockup && asks(sequence.MockupAccepted):
		return repair.Waive{StepID: step.ID, Condition: string(sequence.MockupAccepted), Reason: reason}
	case person && asks(sequence.TickList):
		return repair.Waive{StepID: step.ID, Condition: string(sequence.TickList), Line: line, Reason: reason}
	}
	return repair.Waive{StepID: step.ID, Condition: string(sequence.CastingRelease), Line: line, Reason: reason}
}
