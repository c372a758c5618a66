package repair

import (
	"fmt"
	"slices"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
)

// What the signer of a decision on the list before casting says.
const (
	MeaningCastingReleased = "I looked at every line of this list and at the place, and release this end for casting on what stands here."
	MeaningCastingRefused  = "I looked at the list of this hour and do not release this end for casting, for the reasons given."
)

// DecideRelease releases one end for casting on its list, refuses it, or takes a
// release back. Where the hold waits for its release, that is answered with it.
type DecideRelease struct {
	Decision string `json:"decision"`
	Reasons  string `json:"reasons"` // needed to refuse
	// From is the digest of the list that the decision was made on; empty asks for no
	// comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (ch DecideRelease) Kind() string { return "casting." + ch.Decision }

// Apply implements Change. Nothing is released while a line is neither met, ticked nor
// waived, nor by the person who asked for it. What is missing is named.
func (ch DecideRelease) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	step := s.ReleaseStep()
	if step == nil {
		return fault.New(fault.Refused, "the sequence of this program has no hold at which a casting is released")
	}
	if may := Waivers(*step); !slices.Contains(may, c.Actor.Role) {
		return fault.New(fault.Forbidden, "%q is released by %s", step.Name, roleList(may, " or "))
	}
	var bad fault.Invalid
	if ch.Decision != CastingReleased && ch.Decision != CastingRefused {
		bad.Add("decision", ch.Decision, "must be released or refused")
	}
	if ch.Decision == CastingRefused {
		need(&bad, "reasons", ch.Reasons, "say why it is not released")
	}
	tooLong(&bad, "reasons", ch.Reasons, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	x, err := r.ReleaseNow(s, s.onRecord())
	if err != nil {
		return err
	}
	if err := from(ch.From, x.Digest, "the lines of the list"); err != nil {
		return err
	}
	if ch.Decision == CastingReleased {
		if err := x.refuses(r, c); err != nil {
			return err
		}
	}
	if x.Last != nil && x.Last.Decision == ch.Decision && x.Current {
		return fault.New(fault.Refused, "%s was %s by %s on this same list", r.End.Name, x.Last.Decision, x.Last.ByName)
	}
	row := ReleaseDecision{ID: c.NewID(), EndID: r.End.ID, StepID: step.ID, Decision: ch.Decision, Evidence: x.evidence(), Digest: x.Digest, Reasons: ch.Reasons,
		Meaning: MeaningCastingReleased, ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now}
	if ch.Decision == CastingRefused {
		row.Meaning = MeaningCastingRefused
	}
	r.Releases = append(r.Releases, row)
	return ch.answerHold(s, r, x, c)
}

// refuses says why the list does not let the end be released by this person.
func (x ReleaseStanding) refuses(r *Record, c Context) error {
	if x.State == sequence.Open {
		return fault.New(fault.Refused, "the release of %s has not been asked for: %s completes step %q first", r.End.Name, roleList(x.Step.Performer, " or "), x.Step.Name)
	}
	if x.Requested != nil && x.Requested.By == c.Actor.ID {
		return fault.New(fault.Forbidden, "the person who asked for the release cannot also give it")
	}
	var lacks []string
	for _, l := range x.Lines {
		if !l.Settled() {
			lacks = append(lacks, l.Title+": "+l.Lacks)
		}
	}
	if len(lacks) > 0 {
		return fault.New(fault.Refused, "%s is not released: %s", r.End.Name, strings.Join(lacks, "; "))
	}
	return nil
}

// answerHold releases, returns or reopens the step together with the decision.
func (ch DecideRelease) answerHold(s *Scope, r *Record, x ReleaseStanding, c Context) error {
	f, err := r.Facts(s)
	if err != nil {
		return err
	}
	act, p := sequence.RecordKind(""), sequence.Person{ID: c.Actor.ID, Role: c.Actor.Role}
	switch {
	case ch.Decision == CastingReleased && x.State == sequence.Requested:
		act, err = sequence.Released, sequence.CanRelease(s.Sequence(), f, x.Step.ID, p)
	case ch.Decision == CastingRefused && x.State == sequence.Requested:
		act, err = sequence.Returned, sequence.CanReturn(s.Sequence(), f, x.Step.ID, p, ch.Reasons)
	case ch.Decision == CastingRefused && x.State == sequence.Done && !x.Cast:
		act, err = sequence.Reopened, sequence.CanReopen(s.Sequence(), f, x.Step.ID, p, ch.Reasons)
	}
	if err != nil {
		return stepFault(err)
	}
	if act != "" {
		r.StepRecords = append(r.StepRecords, StepRecord{ID: c.NewID(), EndID: r.End.ID, StepID: x.Step.ID, Kind: string(act), ByUser: c.Actor.ID, ByName: c.Actor.Name,
			ByRole: string(c.Actor.Role), Note: ch.Reasons, Ticks: []string{}, CapturedAt: c.Now, ArrivedAt: c.Now})
	}
	return nil
}

// evidence is the list as it is stored with a decision.
func (x ReleaseStanding) evidence() []ReleaseEvidence {
	out := []ReleaseEvidence{}
	for _, l := range x.Lines {
		e := ReleaseEvidence{Key: l.Key, Title: l.Title, Text: l.Text, Met: l.Met, Digest: l.Digest}
		if !l.Met {
			e.Text = strings.TrimPrefix(l.Text+"; "+l.Lacks, "; ")
		}
		if t := l.Tick; t != nil && t.Done {
			e.Text = fmt.Sprintf("ticked by %s, %s, %s", t.ByName, sequence.RoleWords(sequence.Role(t.ByRole)), t.CapturedAt.UTC().Format("2006-01-02 15:04 UTC"))
			if t.Note != "" {
				e.Text += ": " + t.Note
			}
		}
		if l.Waiver != nil {
			e.Waived = l.Waiver.ByName + ", " + sequence.RoleWords(sequence.Role(l.Waiver.ByRole)) + ": " + l.Waiver.Reason
		}
		out = append(out, e)
	}
	return out
}

// TickIn is what a person says of one line of a tick list.
type TickIn struct {
	Line string `json:"line"`
	Done bool   `json:"done"`
	Note string `json:"note"` // needed where it is no longer so
}

// TickLines says of lines of a step's tick list that they are so at an end, or no
// longer are, one by one and before the step is completed.
type TickLines struct {
	StepID string   `json:"step_id"`
	Lines  []TickIn `json:"lines"`
}

// Kind implements Change.
func (TickLines) Kind() string { return "step.tick" }

// Apply implements Change. Those who complete the step or release it may tick.
func (ch TickLines) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	steps := s.Sequence()
	i := slices.IndexFunc(steps, func(x sequence.Step) bool { return x.ID == ch.StepID && !x.Retired })
	if i < 0 {
		return fault.New(fault.NotFound, "the sequence has no such step")
	}
	st := steps[i]
	if may := append(slices.Clone(st.Performer), Waivers(st)...); !slices.Contains(may, c.Actor.Role) {
		return fault.New(fault.Forbidden, "lines of step %q are ticked by %s", st.Name, roleList(slices.Compact(may), " or "))
	}
	var known []string
	if rel := s.ReleaseStep(); rel != nil && rel.ID == st.ID {
		known = PersonLines(st)
	} else {
		for _, q := range st.Requires {
			if q.Condition == sequence.TickList {
				known = append(known, q.Items()...)
			}
		}
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	if len(ch.Lines) == 0 {
		bad.Add("lines", "", "tick at least one line")
	}
	for j, l := range ch.Lines {
		line, field := strings.TrimSpace(l.Line), fmt.Sprintf("lines-%d", slices.Index(known, strings.TrimSpace(l.Line))+1)
		last := r.LineTick(st.ID, line)
		switch {
		case !slices.Contains(known, line):
			bad.Add("lines", l.Line, "the tick list of step %q has no such line", st.Name)
		case l.Done && last != nil && last.Done:
			bad.Add(field, l.Line, "was ticked by %s", last.ByName)
		case !l.Done && (last == nil || !last.Done):
			bad.Add(field, l.Line, "is not ticked")
		case !l.Done:
			need(&bad, field+"-note", l.Note, "say why it is no longer so")
		}
		tooLong(&bad, field+"-note", l.Note, 1000)
		if slices.ContainsFunc(ch.Lines[:j], func(o TickIn) bool { return strings.TrimSpace(o.Line) == line }) {
			bad.Add(field, l.Line, "stands twice in this entry")
		}
	}
	if err := bad.Err(); err != nil {
		return err
	}
	for _, l := range ch.Lines {
		r.Ticks = append(r.Ticks, StepTick{ID: c.NewID(), EndID: r.End.ID, StepID: st.ID, Line: strings.TrimSpace(l.Line), Done: l.Done, Note: l.Note, ByUser: c.Actor.ID, ByName: c.Actor.Name,
			ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now})
	}
	return nil
}
