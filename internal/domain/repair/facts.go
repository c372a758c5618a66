package repair

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
)

// Facts is what the conditions of the sequence read about this end.
func (r *Record) Facts(s *Scope) (sequence.Facts, error) {
	return r.facts(s, r.Movement(s, r.DesignInForce()))
}

// facts is Facts for one who knows already what moved under the design in force.
func (r *Record) facts(s *Scope, moved Movement) (sequence.Facts, error) {
	f := sequence.Facts{Started: r.End.CreatedAt, Chosen: r.chosen(s), MockupAccepted: s.Program.MockupAcceptedAt != nil,
		Photos: map[string]int{}, Ticks: map[string][]string{}, Nonconformances: r.openOf(s)}
	if s.Program.FieldStart != nil && s.Program.FieldStart.After(f.Started) {
		f.Started = *s.Program.FieldStart
	}
	records := slices.Clone(r.StepRecords)
	slices.SortStableFunc(records, func(a, b StepRecord) int {
		if c := a.CapturedAt.Compare(b.CapturedAt); c != 0 {
			return c
		}
		return a.ArrivedAt.Compare(b.ArrivedAt)
	})
	reopened := map[string]time.Time{}
	for _, x := range records {
		f.Records = append(f.Records, sequence.Record{ID: x.ID, StepID: x.StepID, Kind: sequence.RecordKind(x.Kind), By: x.ByUser, Name: x.ByName,
			Role: sequence.Role(x.ByRole), At: x.CapturedAt, Reason: x.Note})
		if x.Kind == string(sequence.Reopened) {
			reopened[x.StepID] = x.CapturedAt
			f.Ticks[x.StepID] = nil
			continue
		}
		f.Ticks[x.StepID] = append(f.Ticks[x.StepID], x.Ticks...)
	}
	r.tickFacts(&f)
	r.surveyFacts(s, &f)
	if err := r.designFacts(s, &f, moved); err != nil {
		return f, err
	}
	r.castingFacts(s, &f)
	for _, p := range r.Photos {
		for _, st := range s.Steps {
			if st.Code == p.Subject && !p.CapturedAt.Before(reopened[st.ID]) {
				f.Photos[st.ID]++
			}
		}
	}
	f.TestStudsAccepted, f.FormAccepted, f.CoresAccepted = r.TestStudsAccepted(), r.FormAccepted(), r.CoresAccepted()
	f.CuringComplete, _ = r.Curing(s)
	f.Strip, f.Traffic, f.Waivers = r.gateFact(s, uhpc.StripGate), r.gateFact(s, uhpc.TrafficGate), r.waivers()
	if x := r.LatestInspection("hardened"); x != nil {
		f.HardenedAccepted = x.Outcome == "accepted"
	}
	if slices.Contains(r.End.ChosenSteps, "GAU") {
		f.GaugesPlanned = 1
		if x := r.LatestInspection("gauges"); x != nil && x.Outcome == "accepted" {
			f.GaugesZeroed = 1
		}
	}
	r.verdictFact(s, &f)
	for _, n := range r.Nonconformances {
		if n.Critical && n.ClosedAt == nil {
			f.Raised = append(f.Raised, sequence.Raised{Reason: sequence.CriticalFinding, Detail: fmt.Sprintf("nonconformance %d", n.Number),
				Actor: sequence.Engineer, Since: n.RaisedAt})
		}
	}
	f.Window = s.windowFact(r.End.Access)
	if r.underWay(s) {
		f.Window = sequence.Window{Granted: true} // work is going on at it: nothing waits for access
	}
	for _, st := range s.Steps {
		if st.WindowKind == "" || st.WindowKind == sequence.OwnWindow || st.Retired {
			continue
		}
		if f.Windows == nil {
			f.Windows = map[string]sequence.Window{}
		}
		f.Windows[st.WindowKind] = s.windowFact(st.WindowKind)
	}
	f.CastingRelease = r.releaseFact(s, &f)
	return f, nil
}

// underWay reports whether a casting of this end is open.
func (r *Record) underWay(s *Scope) bool {
	return slices.ContainsFunc(s.poursOf(r.End.ID), func(p Pour) bool { return p.Open })
}

func (r *Record) chosen(s *Scope) []string {
	var out []string
	for _, st := range s.Steps {
		if slices.Contains(r.End.ChosenSteps, st.Code) {
			out = append(out, st.ID)
		}
	}
	return out
}

func (r *Record) surveyFacts(s *Scope, f *sequence.Facts) {
	var cleanedAt time.Time
	for _, c := range r.Cleanings {
		if c.Zone != string(quality.OutsidePanel) && c.EndedAt.After(cleanedAt) {
			cleanedAt = c.EndedAt
		}
	}
	for _, sv := range r.Surveys {
		f.SurveyAsFound = true // a survey of cleaned steel is also a first survey
		if sv.Kind == "cleaned" && !sv.CapturedAt.Before(cleanedAt) {
			f.SurveyAfterCleaning = true
		}
	}
	f.CleaningAccepted = r.CleaningAssessment(s).Acceptable
}

func (r *Record) designFacts(s *Scope, f *sequence.Facts, moved Movement) error {
	d := r.DesignInForce()
	if last := r.LatestDesign(); last != nil && last != d && last.State == DesignSubmitted {
		d = last // a later revision waits for review: that is what stops the end
	}
	if d == nil {
		return nil
	}
	f.Design = sequence.Design{Revision: fmt.Sprint(d.Revision), Since: d.CreatedAt, Strength: d.Fc}
	switch d.State {
	case DesignApproved, DesignApprovedNoted:
		f.Design.State = sequence.Approved
		if was := r.lastApproval(d); was != nil {
			f.Design.Since = was.At
			if moved.Effect > Unmoved {
				f.Design.OutOfDate = moved.Effect > Confirms || s.Basis().Value(basis.ReviewConfirmsWaits) >= 1
				f.Design.Stops = moved.Effect == Stops
				f.Design.Answers = sequence.Engineer
				if moved.Hopeless() {
					f.Design.Answers = sequence.Designer
				}
				moves := r.moves(s, was.At)
				f.Design.Why = moved.reason(s, wordsOf(moves))
				if at := r.movedSince(moves, was.At); !at.IsZero() {
					f.Design.Since = at
				}
			}
		}
	case DesignSubmitted:
		f.Design.State = sequence.Submitted
		if d.SubmittedAt != nil {
			f.Design.Since = *d.SubmittedAt
		}
	case DesignReturned:
		f.Design.State = sequence.SentBack
	default:
		f.Design.State = sequence.Draft
	}
	latest := r.LatestCollars(d.ID)
	for _, st := range r.StudsOf(d.ID) {
		f.Studs.Total++
		c, ok := latest[st.Mark]
		switch {
		case !ok:
			f.Studs.Unaccounted++
		case CollarCounts(c.Outcome):
			f.Studs.Accepted++
		default:
			f.Studs.Rejected++
		}
	}
	return nil
}

// OutOfDate tells whether an approved design no longer stands on what is known,
// and what moved since.
func (r *Record) OutOfDate(s *Scope) (bool, string) { return r.outOfDate(s, "") }

// digestOr is the digest of the design in force, unless it is known.
func (r *Record) digestOr(s *Scope, d *Design, known string) string {
	if known != "" {
		return known
	}
	return r.designDigest(s, d)
}

func (r *Record) outOfDate(s *Scope, digest string) (bool, string) {
	d := r.DesignInForce()
	if d == nil || (d.State != DesignApproved && d.State != DesignApprovedNoted) {
		return false, ""
	}
	was := r.lastApproval(d)
	if was == nil || was.InputDigest == r.digestOr(s, d, digest) {
		return false, ""
	}
	return true, wordsOf(r.moves(s, was.At))
}

func (r *Record) lastApproval(d *Design) *Review {
	var out *Review
	for i := range r.Reviews {
		x := &r.Reviews[i]
		if x.DesignID == d.ID && x.Decision != DesignReturned && (out == nil || x.At.After(out.At)) {
			out = x
		}
	}
	return out
}

func (r *Record) approvedDigest(d *Design) string {
	if x := r.lastApproval(d); x != nil {
		return x.InputDigest
	}
	return ""
}

func (r *Record) castingFacts(s *Scope, f *sequence.Facts) {
	b := s.Basis()
	var sets []uhpc.Set
	for _, p := range s.poursOf(r.End.ID) {
		if !p.Open {
			f.Pours++
		}
		for _, row := range s.Batches {
			if row.PourID == p.ID && !row.Refused && row.DecidedAt == nil && s.Reached(row, r.End.ID) && uhpc.Stopped(row.batch(p).Check(b)) && !r.decided(p, row) {
				f.BatchesUndecided++
			}
		}
		sets = append(sets, s.setsAt(p, r.End.ID)...)
	}
	for _, g := range uhpc.ReachedBy(sets, b) {
		f.Strengths = append(f.Strengths, sequence.Strength{Set: g.Batch, Value: g.Value, AgeDays: g.AgeDays})
	}
}

// decided reports whether a nonconformance at this end decided that a batch may
// stay: one whose text names the batch by its mark.
func (r *Record) decided(p Pour, b Batch) bool {
	mark := batchMark(p, b.Number)
	for _, n := range r.Nonconformances {
		if info, _ := quality.Disposition(n.Disposition).Info(); info.Concession && (containsMark(n.Requirement, mark) || containsMark(n.Found, mark)) {
			return true
		}
	}
	return false
}

// containsMark reports whether a text names a mark, and not one that only begins
// with it.
func containsMark(text, mark string) bool {
	for i := 0; ; {
		k := strings.Index(text[i:], mark)
		if k < 0 {
			return false
		}
		i += k + len(mark)
		if i == len(text) || text[i] < '0' || text[i] > '9' {
			return true
		}
	}
}

// windowFact says whether a window of a kind of access is granted and not yet
// used. It reads what is on record and no clock, so that a stored state does not
// change by itself: a shortened window stays so once it is worked, and a later
// one that was used tells that it is over. Open access needs none, and where the
// program keeps no windows none is asked for.
func (s *Scope) windowFact(access string) sequence.Window {
	if access == OpenAccess || len(s.Windows) == 0 {
		return sequence.Window{Granted: true}
	}
	// Whatever lies before the last window that was used is over.
	var used time.Time
	for _, w := range s.Windows {
		if w.Kind == access && w.State == "used" && w.StartsAt.After(used) {
			used = w.StartsAt
		}
	}
	var out sequence.Window
	var lost Window
	for _, w := range s.Windows {
		if w.Kind != access || !w.StartsAt.After(used) {
			continue
		}
		switch w.State {
		case "granted", "shortened":
			if !out.Granted || w.StartsAt.Before(out.Start) {
				out.Granted, out.Start = true, w.StartsAt
			}
		case "lost":
			if w.StartsAt.After(lost.StartsAt) {
				lost = w
			}
		}
	}
	if !out.Granted && lost.ID != "" {
		out.Lost, out.Why, out.Since = true, lost.Reason, lost.StartsAt
	}
	return out
}
