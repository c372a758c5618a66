package repair

import (
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

const longestSaid = 4000 // characters of a question, an answer, a list of notes

// AskQuestion asks something of a revision that is under review or in force.
type AskQuestion struct {
	DesignID string        `json:"design_id"`
	Question string        `json:"question"`
	Face     string        `json:"face,omitempty"`
	X        *units.Length `json:"x_mm,omitempty"`
	Z        *units.Length `json:"z_mm,omitempty"`
	Line     string        `json:"line,omitempty"` // key of a check of the repair
	Holds    bool          `json:"holds,omitempty"`
	Typed    Typed         `json:"typed,omitempty"`
}

// Kind implements Change.
func (AskQuestion) Kind() string { return "question.ask" }

// Apart implements Apart: a question puts nobody's open form out of date.
func (AskQuestion) Apart() {}

// Apply implements Change. A question has one place or none: on the drawing, or at a
// line of the sheet. Only the owner's engineer lets one hold the approval.
func (ch AskQuestion) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	d := r.Revision(ch.DesignID)
	if d == nil {
		return fault.New(fault.NotFound, "this end has no such revision")
	}
	if d.State == DesignDraft || d.State == DesignSuperseded {
		return fault.New(fault.Refused, "revision %d is %s; questions are asked of a revision that was submitted and not replaced", d.Revision, stateWords(d.State))
	}
	var bad fault.Invalid
	need(&bad, "question", ch.Question, "say what you ask")
	tooLong(&bad, "question", ch.Question, longestSaid)
	pin(&bad, s, r, ch.Face, ch.X, ch.Z)
	if ch.Line != "" {
		if ch.X != nil {
			bad.Add("line", ch.Line, "pin it to the drawing or to a line of the sheet, not to both")
		}
		if !r.hasCheck(s, d, ch.Line) {
			bad.Add("line", ch.Line, "the sheet of this revision has no such check")
		}
	}
	if ch.Holds && c.Actor.Role != sequence.Engineer {
		bad.Add("holds", "", "only the owner's engineer lets a question hold the approval")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	n := 0
	for _, q := range r.Questions {
		n = max(n, q.Number)
	}
	r.Questions = append(r.Questions, ReviewQuestion{ID: c.NewID(), EndID: r.End.ID, DesignID: d.ID, Number: n + 1, Question: strings.TrimSpace(ch.Question),
		Face: ch.Face, X: ch.X, Z: ch.Z, Line: ch.Line, Holds: ch.Holds, Typed: ch.Typed.orNone(),
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now})
	return nil
}

// Revision is a revision by its identifier, nil when there is none.
func (r *Record) Revision(id string) *Design {
	for i := range r.Designs {
		if r.Designs[i].ID == id {
			return &r.Designs[i]
		}
	}
	return nil
}

// hasCheck reports whether the sheet of a revision has a check.
func (r *Record) hasCheck(s *Scope, d *Design, key string) bool {
	for _, c := range r.EvaluateDraft(s, *r.DesignOf(d), nil).Checks {
		if c.Key == key {
			return true
		}
	}
	return false
}

// AnswerQuestion says something after a question: an answer, that it is asked again,
// or that it is withdrawn.
type AnswerQuestion struct {
	QuestionID string `json:"question_id"`
	Said       string `json:"said"` // answer, again, withdrawn
	Answer     string `json:"answer"`
}

// Kind implements Change.
func (ch AnswerQuestion) Kind() string {
	switch ch.Said {
	case AskedOver:
		return "question.again"
	case Withdrawn:
		return "question.withdraw"
	}
	return "question.answer"
}

// Apart implements Apart.
func (AnswerQuestion) Apart() {}

// Apply implements Change. Nobody answers a question of their own; who asked it, or
// the owner's engineer, asks again or withdraws it.
func (ch AnswerQuestion) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var q *ReviewQuestion
	for i := range r.Questions {
		if r.Questions[i].ID == ch.QuestionID {
			q = &r.Questions[i]
		}
	}
	if q == nil {
		return fault.New(fault.NotFound, "this end has no such question")
	}
	state := r.QuestionState(*q)
	own := q.ByUser == c.Actor.ID
	var bad fault.Invalid
	switch ch.Said {
	case Answered:
		if state != QuestionOpen {
			return fault.New(fault.Conflict, "question %d is %s already", q.Number, state)
		}
		if own {
			return fault.New(fault.Refused, "question %d is your own: another person answers it, or you withdraw it", q.Number)
		}
		need(&bad, "answer", ch.Answer, "write the answer")
	case AskedOver:
		if state != QuestionAnswered {
			return fault.New(fault.Conflict, "question %d is %s: only an answered one is asked again", q.Number, state)
		}
		need(&bad, "answer", ch.Answer, "say what the answer leaves open")
	case Withdrawn:
		if state == QuestionWithdrawn {
			return fault.New(fault.Conflict, "question %d is withdrawn already", q.Number)
		}
		need(&bad, "answer", ch.Answer, "say why it is withdrawn")
	default:
		bad.Add("said", ch.Said, "must be answer, again or withdrawn")
	}
	if ch.Said != Answered && !own && c.Actor.Role != sequence.Engineer {
		return fault.New(fault.Refused, "question %d was asked by %s, who asks again or withdraws it, or the owner's engineer does", q.Number, q.ByName)
	}
	tooLong(&bad, "answer", ch.Answer, longestSaid)
	if err := bad.Err(); err != nil {
		return err
	}
	r.Answers = append(r.Answers, ReviewAnswer{ID: c.NewID(), EndID: r.End.ID, QuestionID: q.ID, Kind: ch.Said, Answer: strings.TrimSpace(ch.Answer),
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now})
	return nil
}
