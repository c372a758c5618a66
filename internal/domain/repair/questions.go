package repair

import "endcast/internal/domain/basis"

// What may be said after a question.
const (
	Answered  = "answer"
	AskedOver = "again"
	Withdrawn = "withdrawn"
)

// States of a question.
const (
	QuestionOpen      = "open"
	QuestionAnswered  = "answered"
	QuestionWithdrawn = "withdrawn"
)

// AnswersTo is what was said after a question, in order.
func (r *Record) AnswersTo(questionID string) []ReviewAnswer {
	var out []ReviewAnswer
	for _, a := range r.Answers {
		if a.QuestionID == questionID {
			i := len(out)
			for i > 0 && a.At.Before(out[i-1].At) {
				i--
			}
			out = append(out[:i], append([]ReviewAnswer{a}, out[i:]...)...)
		}
	}
	return out
}

// QuestionState is where a question stands by what was said last.
func (r *Record) QuestionState(q ReviewQuestion) string {
	said := r.AnswersTo(q.ID)
	if len(said) == 0 {
		return QuestionOpen
	}
	switch said[len(said)-1].Kind {
	case Answered:
		return QuestionAnswered
	case Withdrawn:
		return QuestionWithdrawn
	}
	return QuestionOpen
}

// OpenQuestions are those of a revision that nobody answered yet; of every revision
// for an empty identifier.
func (r *Record) OpenQuestions(designID string) []ReviewQuestion {
	var out []ReviewQuestion
	for _, q := range r.Questions {
		if (designID == "" || q.DesignID == designID) && r.QuestionState(q) == QuestionOpen {
			out = append(out, q)
		}
	}
	return out
}

// HoldingQuestions are the open questions of a revision that hold its approval, by
// the owner's setting.
func (r *Record) HoldingQuestions(s *Scope, designID string) []ReviewQuestion {
	rule := s.Basis().Value(basis.ReviewQuestionsHold)
	var out []ReviewQuestion
	for _, q := range r.OpenQuestions(designID) {
		if rule >= 2 || rule >= 1 && q.Holds {
			out = append(out, q)
		}
	}
	return out
}

// QuestionNumbered is a question of the end, nil when there is none of that number.
func (r *Record) QuestionNumbered(n int) *ReviewQuestion {
	for i := range r.Questions {
		if r.Questions[i].Number == n {
			return &r.Questions[i]
		}
	}
	return nil
}

// NotesOf are the notes that the approval of a revision asks for, in order. An
// approval as noted of before notes were kept apart has its reasons as the only one.
func (r *Record) NotesOf(d *Design) []string {
	var out []string
	if d == nil || d.State != DesignApprovedNoted {
		return nil
	}
	for n := 1; ; n++ {
		found := false
		for _, x := range r.ReviewNotes {
			if x.DesignID == d.ID && x.Number == n {
				out, found = append(out, x.Note), true
			}
		}
		if !found {
			break
		}
	}
	if len(out) == 0 {
		for _, x := range r.Reviews {
			if x.DesignID == d.ID && x.Decision == DesignApprovedNoted && x.Reasons != "" {
				out = append(out, x.Reasons)
			}
		}
	}
	return out
}
