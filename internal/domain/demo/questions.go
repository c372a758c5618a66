package demo

import (
	"fmt"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// asked is a question about the latest revision of an end.
type asked struct {
	key, end string
	by       authz.Role
	at       time.Time
	ask      repair.AskQuestion
	answerBy authz.Role // none: it is open
	answered time.Time
	answer   string
}

func inches(v float64) *units.Length {
	l := units.Length(v) * units.Inch
	return &l
}

// questionsAsked are pinned to a place on the drawing or to a line of the sheet.
var questionsAsked = []asked{
	{"low studs", "3N-5", authz.Engineer, day(7, 12).Add(10*hour + 20*minute),
		repair.AskQuestion{Question: "The lowest studs stand close over the thinned foot. Which readings show sound steel under them?", Face: string(survey.Left), X: inches(4), Z: inches(9.5)},
		authz.Designer, day(7, 13).Add(9 * hour), "Readings of the second survey round the two studs are within 0.03 in of the nominal web; the check of metal under the studs takes the least of them."},
	{"short studs", "3N-5", authz.Engineer, day(7, 15).Add(15 * hour),
		repair.AskQuestion{Question: "The studs are shorter than five diameters, outside the limit of this clause. Say on the sheet what stands in for it.", Line: "stud.aisc", Holds: true},
		"", time.Time{}, ""},
	{"low row", "4F-4", authz.Designer, day(7, 14).Add(11 * hour),
		repair.AskQuestion{Question: "Would a row less at the foot do, with the panel as it is? Moving the whole group up meets the stiffener.", Face: string(survey.Right), X: inches(6), Z: inches(8)},
		"", time.Time{}, ""},
}

// questions tells of them.
func (t *teller) questions() {
	for _, q := range questionsAsked {
		ref := []string{q.end}
		t.tell(q.end+" asked "+q.key, q.by, q.at, ref, false, func(s *repair.Scope) (repair.Change, error) {
			r, err := s.One()
			if err != nil {
				return nil, err
			}
			ask := q.ask
			ask.DesignID = r.Designs[len(r.Designs)-1].ID
			return ask, nil
		})
		if q.answerBy == "" {
			continue
		}
		t.tell(q.end+" answered "+q.key, q.answerBy, q.answered, ref, false, func(s *repair.Scope) (repair.Change, error) {
			r, err := s.One()
			if err != nil {
				return nil, err
			}
			for _, x := range r.Questions {
				if x.Question == q.ask.Question {
					return repair.AnswerQuestion{QuestionID: x.ID, Said: repair.Answered, Answer: q.answer}, nil
				}
			}
			return nil, fmt.Errorf("%s has no such question", q.end)
		})
	}
}
