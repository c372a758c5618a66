package web

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/end"
	"endcast/views/ui"
)

// standing is the short answer to where the end is and what stops it.
func (e *endReader) standing(st sequence.Status) end.Standing {
	out := end.Standing{Closed: st.Closed, Mark: ui.Mark{State: ui.Good, Text: "closed"}}
	if !st.Since.IsZero() {
		out.Since = e.when(st.Since)
	}
	if len(st.All) == 0 {
		out.Mark = ui.Mark{State: ui.Open, Text: "the program has no sequence"}
	}
	asked := 0
	for _, x := range st.All {
		switch x.State {
		case sequence.Done, sequence.Open, sequence.Requested:
			asked++
		}
	}
	if asked > 0 {
		out.Progress = fmt.Sprintf("%d of %d steps done", len(st.Done), asked)
	}
	if st.Current == nil {
		return out
	}
	out.Step = st.Current.Name
	out.Mark = ui.Mark{State: ui.Active, Text: st.Current.Name}
	if st.CurrentState == sequence.Requested {
		out.Mark.State = ui.Wait
	} else if len(st.Blocks) > 0 {
		out.Mark.State = ui.Stop
	}
	if st.Next != nil {
		out.Next = st.Next.Name
	}
	out.Blocks = e.blocks(st.Blocks)
	return out
}

func (e *endReader) blocks(bs []sequence.Block) []end.Block {
	var out []end.Block
	for _, b := range bs {
		row := end.Block{Mark: trackMark(b.Track), Text: e.blockText(b)}
		if b.Actor != "" {
			row.Actor = sequence.RoleWords(b.Actor)
		}
		if !b.Since.IsZero() {
			row.Since = e.when(b.Since)
		}
		if b.Reason == sequence.MockupMissing {
			at, text := mockupMissing(e.s.program(e.r), e.sc)
			if text != "" {
				row.Text += ": " + text
			}
			row.Href, row.Link = at, "See the mock-up"
		}
		if b.Reason == sequence.ReleaseMissing {
			row.Href, row.Link = e.path("release"), "See the list before casting"
		}
		out = append(out, row)
	}
	return out
}

// blockText is a block in words, a strength in the reader's units.
func (e *endReader) blockText(b sequence.Block) string {
	text := b.Reason.Words()
	detail := b.Detail
	if g := b.Gap; g != nil {
		detail = "needs " + g.Wanted.Format(e.sys, -1)
		if g.Reached > 0 {
			detail = g.Reached.Format(e.sys, -1) + " reached, " + detail
		}
		if g.AgeDays > 0 {
			detail += " at " + units.Days.Format(g.AgeDays, e.sys, 0)
		}
	}
	if detail != "" {
		text += ": " + detail
	}
	return text
}

// stepSent is an act on a step that was refused, shown again with what was typed.
type stepSent struct {
	id, note, at, entry string
	ticks               []string
	problem             string
}

// steps lists the sequence at this end with what this person may do at each step.
func (e *endReader) steps(status sequence.Status, facts sequence.Facts, sent *stepSent) ([]end.Step, end.StepShared) {
	shared := end.StepShared{Version: fmt.Sprint(e.rec.End.Version), Zone: e.zoneNote()}
	var out []end.Step
	rel := e.sc.ReleaseStep()
	for _, x := range status.All {
		current := status.Current != nil && status.Current.ID == x.Step.ID
		if x.State == sequence.RetiredStep && len(x.History) == 0 {
			continue
		}
		st := end.Step{ID: x.Step.ID, Code: x.Step.Code, Name: x.Step.Name, Order: numberOf(x.Step.Order), Current: current, Hold: x.Step.Hold,
			State: stepMark(x.State, current), Who: whoActs(x.Step), Records: e.records(x)}
		if current {
			st.Blocks = e.blocks(status.Blocks)
			for _, b := range status.ToDo {
				st.ToDo = append(st.ToDo, e.blockText(b))
			}
		}
		if rel != nil && rel.ID == x.Step.ID {
			st.Page = &end.Link{Label: "Release for casting: the list", Href: e.path("release")}
		}
		e.offer(&st, x, facts, sent)
		st.Quiet = len(st.Records) == 0 && !current && st.Form == nil
		out = append(out, st)
	}
	return out, shared
}

func whoActs(st sequence.Step) string {
	text := "Completed by " + roleList(st.Performer)
	if st.Hold {
		text += "; a hold, released by " + roleList(st.Releaser)
	}
	return text + "."
}

func roleList(roles []sequence.Role) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = sequence.RoleWords(r)
	}
	if len(words) == 0 {
		return "nobody"
	}
	return strings.Join(words, " or ")
}

// records are the dated acts on a step, oldest first, with what was ticked.
func (e *endReader) records(x sequence.Standing) []end.Record {
	var out []end.Record
	for _, rec := range x.History {
		row := end.Record{Kind: rec.Kind.Words(), By: rec.Name, Role: sequence.RoleWords(rec.Role), When: e.when(rec.At), Note: rec.Reason}
		for _, full := range e.rec.StepRecords {
			if full.ID == rec.ID {
				row.Ticks = strings.Join(full.Ticks, "; ")
			}
		}
		out = append(out, row)
	}
	return out
}

// offer gives a step the form of what this person may do there now.
func (e *endReader) offer(st *end.Step, x sequence.Standing, facts sequence.Facts, sent *stepSent) {
	actor := e.s.actor(e.r)
	who := sequence.Person{ID: actor.ID, Role: actor.Role}
	steps := e.sc.Sequence()
	f := &end.StepForm{Action: e.path("steps", x.Step.ID)}
	if sent != nil && sent.id == x.Step.ID {
		f.Note, f.At, f.Entry, f.Problem = sent.note, sent.at, sent.entry, sent.problem
	} else {
		sent = nil
	}
	switch {
	case x.State == sequence.Open && e.s.canStep(e.r, authz.CompleteStep, x.Step.Performer):
		f.Ticks = ticksOf(x.Step, facts, sent)
		err := sequence.CanComplete(steps, withTicks(facts, x.Step), x.Step.ID, who)
		if err != nil && f.Problem == "" {
			if st.Current {
				st.Why = whyNot(err)
			}
			return
		}
		label := "Complete"
		if x.Step.Hold {
			label = "Complete and ask for release"
		}
		f.Acts = []end.Act{{Value: string(sequence.Completed), Label: label}}
	case x.State == sequence.Requested && e.s.canStep(e.r, authz.ReleaseHold, x.Step.Releaser):
		if err := sequence.CanRelease(steps, facts, x.Step.ID, who); err == nil {
			f.Acts = append(f.Acts, end.Act{Value: string(sequence.Released), Label: "Release"})
		} else {
			st.Why = whyNot(err)
		}
		if sequence.CanReturn(steps, facts, x.Step.ID, who, "reason") == nil {
			f.Acts = append(f.Acts, end.Act{Value: string(sequence.Returned), Label: "Return", Kind: "second"})
		}
	case x.State == sequence.Done || x.State == sequence.Requested:
		if !e.mayReopen(x.Step) || sequence.CanReopen(steps, facts, x.Step.ID, who, "reason") != nil {
			return
		}
		f.Folded, f.Needs = true, true
		f.Acts = []end.Act{{Value: string(sequence.Reopened), Label: "Reopen", Kind: "danger"}}
	}
	if len(f.Acts) > 0 {
		st.Form = f
	}
}

// mayReopen is the right to have a finished step done again: that of completing
// it, or of releasing it.
func (e *endReader) mayReopen(st sequence.Step) bool {
	return e.s.can(e.r, authz.CompleteStep) || e.s.canStep(e.r, authz.CompleteStep, st.Performer) || e.s.canStep(e.r, authz.ReleaseHold, st.Releaser)
}

// ticksOf lists the lines of a step's tick list.
func ticksOf(st sequence.Step, facts sequence.Facts, sent *stepSent) []end.Tick {
	var out []end.Tick
	for _, req := range st.Requires {
		if req.Condition != sequence.TickList {
			continue
		}
		for _, item := range req.Items() {
			out = append(out, end.Tick{Text: item, Done: slices.Contains(facts.Ticks[st.ID], item), On: sent != nil && slices.Contains(sent.ticks, item)})
		}
	}
	return out
}

// withTicks is the facts as they would be with every line of the step ticked:
// what is still lacking then cannot be mended on the form.
func withTicks(facts sequence.Facts, st sequence.Step) sequence.Facts {
	ticks := make(map[string][]string, len(facts.Ticks)+1)
	for k, v := range facts.Ticks {
		ticks[k] = v
	}
	for _, req := range st.Requires {
		if req.Condition == sequence.TickList {
			ticks[st.ID] = append(slices.Clone(ticks[st.ID]), req.Items()...)
		}
	}
	facts.Ticks = ticks
	return facts
}

// whyNot says in words why an act is not offered. What is lacking stands on the
// page already.
func whyNot(err error) string {
	var ref *sequence.Refusal
	if !errors.As(err, &ref) || ref.Why == sequence.Lacking {
		return "It can be done here once nothing of the above is missing."
	}
	return ui.Sentence(ref.Detail)
}
