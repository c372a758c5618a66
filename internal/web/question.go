package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/drawing"
	"endcast/views/review"
	"endcast/views/ui"
)

// askSent is a question that could not be stored, as it was sent.
type askSent struct {
	typed   map[string]string
	bad     *fault.Invalid
	problem string
}

// saySent is what was said after a question and could not be stored.
type saySent struct {
	entry, said, text string
	bad               *fault.Invalid
	problem           string
}

var askBoxes = []string{"entry", "question", "face", "x", "z", "line", "holds"}

// questionAsk puts a question to a revision, pinned to a place of the drawing or to a
// line of the sheet.
func (s *Server) questionAsk(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	d, err := e.revision(chi.URLParam(r, "rev"))
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch := repair.AskQuestion{DesignID: d.ID, Question: f.text("question"), Face: f.text("face"), X: quantity[units.Length](f, "x"), Z: quantity[units.Length](f, "z"),
		Line: f.text("line"), Holds: f.text("holds") != ""}
	if ch.X != nil || ch.Z != nil {
		ch.Typed = repair.Typed{"x_mm": f.text("x"), "z_mm": f.text("z")}
	} else {
		ch.Face = "" // a face without a place says nothing
	}
	err = f.bad.Err()
	if err == nil {
		_, err = s.edit(r, []db.EndRef{{ID: e.rec.End.ID}}, time.Time{}, ch)
	}
	if err == nil {
		s.flash(r, ui.Done, "The question is on record.")
		return seeOther(w, r, e.path("designs", numberOf(d.Revision), "review")+"#questions")
	}
	sent := askSent{typed: map[string]string{}}
	for _, box := range askBoxes {
		sent.typed[box] = r.PostFormValue(box)
	}
	switch fault.KindOf(err) {
	case fault.Fields:
		sent.bad = asInvalid(err)
		for i := range sent.bad.Fields {
			sent.bad.Fields[i].Typed = sent.typed[sent.bad.Fields[i].Field]
		}
	case fault.Refused, fault.Duplicate:
		sent.problem = sentence(err)
	default:
		return err
	}
	return s.reviewPage(w, r, http.StatusUnprocessableEntity, reviewSent{ask: &sent})
}

// questionSay answers a question, asks it again or withdraws it.
func (s *Server) questionSay(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	n, err := strconv.Atoi(chi.URLParam(r, "question"))
	q := e.rec.QuestionNumbered(n)
	if err != nil || q == nil {
		return fault.New(fault.NotFound, "end %s has no question %.20s", e.rec.End.Name, chi.URLParam(r, "question"))
	}
	d := e.rec.Revision(q.DesignID)
	if d == nil {
		return fault.New(fault.NotFound, "the revision of question %d is not on record", n)
	}
	sent := saySent{entry: r.PostFormValue("entry"), said: r.PostFormValue("said"), text: r.PostFormValue("answer")}
	_, err = s.edit(r, []db.EndRef{{ID: e.rec.End.ID}}, time.Time{}, repair.AnswerQuestion{QuestionID: q.ID, Said: sent.said, Answer: sent.text})
	if err == nil {
		done := map[string]string{repair.Answered: "answered", repair.AskedOver: "asked again", repair.Withdrawn: "withdrawn"}[sent.said]
		s.flash(r, ui.Done, "Question "+numberOf(n)+" is "+done+".")
		return seeOther(w, r, e.path("designs", numberOf(d.Revision), "review")+"#question-"+numberOf(n))
	}
	status := http.StatusUnprocessableEntity
	switch fault.KindOf(err) {
	case fault.Fields:
		sent.bad = asInvalid(err)
	case fault.Conflict:
		status, sent.problem, sent.entry = http.StatusConflict, sentence(err), ""
	case fault.Refused, fault.Duplicate:
		sent.problem = sentence(err)
	default:
		return err
	}
	return s.reviewAt(w, r, e, d, status, reviewSent{say: &sent, saying: n})
}

// questionMark shows where a question stands.
func questionMark(state string) ui.Mark {
	switch state {
	case repair.QuestionAnswered:
		return ui.Mark{State: ui.Good, Text: "answered"}
	case repair.QuestionWithdrawn:
		return ui.Mark{State: ui.Void, Text: "withdrawn"}
	}
	return ui.Mark{State: ui.Wait, Text: "open"}
}

// questionsOf are the questions on a revision, in order.
func (e *endReader) questionsOf(d *repair.Design) []repair.ReviewQuestion {
	var out []repair.ReviewQuestion
	for _, q := range e.rec.Questions {
		if q.DesignID == d.ID {
			out = append(out, q)
		}
	}
	slices.SortFunc(out, func(a, b repair.ReviewQuestion) int { return a.Number - b.Number })
	return out
}

// questionPins are the marks on a drawing of questions with a place.
func (e *endReader) questionPins(d *repair.Design) []drawing.Pin {
	var out []drawing.Pin
	for _, q := range e.questionsOf(d) {
		if q.X != nil && q.Z != nil {
			out = append(out, drawing.Pin{Label: numberOf(q.Number), Words: "Question " + numberOf(q.Number) + ", " + e.rec.QuestionState(q) + ": " + e.questionPlace(q, nil), Right: q.Face == "R", X: *q.X, Z: *q.Z})
		}
	}
	return out
}

const questionPinNote = "Numbers are questions on this revision, on the left face in a circle and on the right face in a diamond; the list of questions tells them."

// questionPlace says in words where a question is pinned.
func (e *endReader) questionPlace(q repair.ReviewQuestion, names map[string]string) string {
	switch {
	case q.X != nil && q.Z != nil:
		face := map[string]string{"L": "left face", "R": "right face"}[q.Face]
		return "on the drawing, " + face + ", x " + q.X.Format(e.sys, -1) + ", z " + q.Z.Format(e.sys, -1)
	case q.Line != "" && names[q.Line] != "":
		return "at the line " + names[q.Line]
	case q.Line != "":
		return "at the line " + q.Line
	}
	return "on the revision as a whole"
}

// questions fills the part of the page of a review that asks and answers.
func (e *endReader) questions(d *repair.Design, sent reviewSent, v *review.View) {
	names, lines := markLines(&v.Checks, e.lineMarks(d, ""))
	at := e.path("designs", numberOf(d.Revision), "review")
	may := e.s.can(e.r, authz.DiscussDesign)
	out := review.Questions{}
	offered := false
	choose, _ := strconv.Atoi(e.r.URL.Query().Get("answer"))
	if sent.say != nil {
		choose = sent.saying
	}
	for _, q := range e.questionsOf(d) {
		n := numberOf(q.Number)
		state := e.rec.QuestionState(q)
		row := review.Question{Number: n, Mark: questionMark(state), Place: ui.Sentence(e.questionPlace(q, names)), Text: q.Question, By: e.spoken(q.ByName, q.ByRole), When: e.when(q.At), Holds: q.Holds}
		if q.Line != "" && names[q.Line] != "" {
			row.LineHref = "#" + lineID(q.Line)
		}
		for _, a := range e.rec.AnswersTo(q.ID) {
			row.Said = append(row.Said, review.Said{What: saidWords[a.Kind], Text: a.Answer, By: e.spoken(a.ByName, a.ByRole), When: e.when(a.At)})
		}
		if state == repair.QuestionOpen {
			out.Open++
		}
		if options := e.maySay(q, state); may && len(options) > 0 {
			if q.Number == choose {
				row.Form, offered = e.sayForm(q, options, sent.say), true
			} else {
				row.FormHref, row.FormLabel = at+"?answer="+n+"#question-"+n, optionWords(options)+" question "+n
			}
		}
		out.List = append(out.List, row)
	}
	if sent.say != nil && !offered { // nothing more can be said there: the words are not lost
		if v.Problem = sent.say.problem; sent.say.text != "" {
			v.Problem += " You wrote: " + sent.say.text
		}
	}
	for _, q := range e.rec.HoldingQuestions(e.sc, d.ID) {
		out.Holding = append(out.Holding, numberOf(q.Number))
	}
	switch {
	case d.State == repair.DesignDraft || d.State == repair.DesignSuperseded:
		out.Instead = "Questions are asked of a revision that was submitted and not replaced."
	case may:
		out.Ask = e.askForm(d, lines, sent.ask)
	}
	v.Questions = out
}

var saidWords = map[string]string{repair.Answered: "Answer", repair.AskedOver: "Asked again", repair.Withdrawn: "Withdrawn"}

func (e *endReader) spoken(name, role string) string {
	return name + ", " + sequence.RoleWords(sequence.Role(role))
}

// maySay lists what this reader may say after a question; the change itself decides.
func (e *endReader) maySay(q repair.ReviewQuestion, state string) []ui.Option {
	own := q.ByUser == e.s.user(e.r).ID.String()
	engineer := e.s.actor(e.r).Role == sequence.Engineer
	var out []ui.Option
	if state == repair.QuestionOpen && !own {
		out = append(out, ui.Option{Value: repair.Answered, Label: "Answer"})
	}
	if state == repair.QuestionAnswered && (own || engineer) {
		out = append(out, ui.Option{Value: repair.AskedOver, Label: "Ask again"})
	}
	if state != repair.QuestionWithdrawn && (own || engineer) {
		out = append(out, ui.Option{Value: repair.Withdrawn, Label: "Withdraw"})
	}
	return out
}

// optionWords are the labels of options in one phrase.
func optionWords(options []ui.Option) string {
	out := options[0].Label
	for _, o := range options[1:] {
		out += " or " + strings.ToLower(o.Label)
	}
	return out
}

func (e *endReader) sayForm(q repair.ReviewQuestion, options []ui.Option, sent *saySent) *review.SayForm {
	f := &review.SayForm{Action: e.path("questions", numberOf(q.Number)), Choice: ui.Field{Name: "said", Label: "I want to", Options: options, Value: options[0].Value},
		Text: ui.Field{Name: "answer", Label: "In words", Rows: 3}}
	if sent != nil {
		f.Entry, f.Choice.Value, f.Text.Value, f.Problem, f.Bad = sent.entry, sent.said, sent.text, sent.problem, sent.bad
		f.Choice, f.Text = f.Choice.With(sent.bad), f.Text.With(sent.bad)
	}
	return f
}

func (e *endReader) askForm(d *repair.Design, lines []ui.Option, sent *askSent) *review.AskForm {
	if sent == nil {
		sent = &askSent{typed: map[string]string{}}
	}
	box := func(f ui.Field) ui.Field { f.Value = sent.typed[f.Name]; return f.With(sent.bad) }
	unit := units.Lengths.Label(e.sys)
	f := &review.AskForm{Action: e.path("designs", numberOf(d.Revision), "questions"), Entry: sent.typed["entry"], Problem: sent.problem, Bad: sent.bad, Unit: unit,
		Text: box(ui.Field{Name: "question", Label: "Question", Rows: 3}),
		Face: box(ui.Field{Name: "face", Label: "Face of the web", Options: []ui.Option{{Value: "L", Label: "Left face"}, {Value: "R", Label: "Right face"}, {Value: "", Label: "No place on the drawing"}}}),
		X:    box(ui.Field{Name: "x", Label: "From the girder end, x", Unit: unit, Optional: true}),
		Z:    box(ui.Field{Name: "z", Label: "Above the bottom flange, z", Unit: unit, Optional: true}),
		Line: box(ui.Field{Name: "line", Label: "Or at a line of the sheet", Options: append([]ui.Option{{Value: "", Label: "No line"}}, lines...), Optional: true}),
		On:   sent.typed["holds"] != ""}
	if e.s.actor(e.r).Role == sequence.Engineer {
		f.Holds = "The revision cannot be approved while this question is open"
		switch e.sc.Basis().Value(basis.ReviewQuestionsHold) {
		case 0:
			f.Holds = ""
		case 2:
			f.Holds, f.Rule = "", "By the owner's setting every open question holds the approval."
		}
	}
	return f
}

// lineMarks are the marks at lines of the sheet that questions are pinned to, by the key
// of the check. Before each link stands the address of the page, empty on the page itself.
func (e *endReader) lineMarks(d *repair.Design, page string) map[string][]design.LineMark {
	out := map[string][]design.LineMark{}
	if d == nil {
		return out
	}
	for _, q := range e.questionsOf(d) {
		if q.Line != "" {
			state := e.rec.QuestionState(q)
			out[q.Line] = append(out[q.Line], design.LineMark{Label: "Question " + numberOf(q.Number), Href: page + "#question-" + numberOf(q.Number), Mark: questionMark(state)})
		}
	}
	return out
}

// lineID is the id of the line of a check on a page.
func lineID(key string) string { return "line-" + strings.ReplaceAll(key, ".", "-") }

// markLines puts marks at the checks of a page, and returns the names of all checks by
// their keys, and all of them to choose from. A key that stands twice is marked once.
func markLines(v *design.Checks, marks map[string][]design.LineMark) (map[string]string, []ui.Option) {
	names := map[string]string{}
	var lines []ui.Option
	place := func(rows []design.Check) (marked bool) {
		for i := range rows {
			c := &rows[i]
			if c.Key == "" || names[c.Key] != "" {
				continue
			}
			names[c.Key], c.ID = c.Name, lineID(c.Key)
			lines = append(lines, ui.Option{Value: c.Key, Label: c.Name})
			c.Marks = marks[c.Key]
			marked = marked || len(c.Marks) > 0
		}
		return marked
	}
	for i := range v.Groups {
		place(v.Groups[i].Rows)
		v.Groups[i].Unfolded = place(v.Groups[i].Folded)
	}
	return names, lines
}

// sheetMarks are the marks of a condition of the calculation sheet: those of the revision
// in force, at its repaired end.
func (e *endReader) sheetMarks(condition string, c calc.Check) []design.LineMark {
	d := e.rec.DesignInForce()
	if d == nil || condition != "repaired" && condition != "as_welded" {
		return nil
	}
	return e.lineMarks(d, e.path("designs", numberOf(d.Revision), "review"))[c.Key]
}
