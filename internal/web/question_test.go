package web_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

func TestQuestionsPinnedToAPlace(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.submitted("1N-1")
	at := p.Path("ends", "1N-1", "designs", "1")
	inspector, designer, engineer := p.Role(authz.Inspector), p.Role(authz.Designer), p.Role(authz.Engineer)
	version := p.End("1N-1").End.Version
	form := fieldsOf(inspector.Get(at+"/review").Status(200).Has("Nobody has asked anything"), "#ask")

	// Bad input: the field and what was typed are named, and nothing is stored.
	for _, c := range []struct{ field, value, says string }{
		{"question", "", "say what you ask"}, {"x", "four", "x"}, {"x", "-999 ft", "must lie within ten depths"}, {"z", "", "a pin needs both"}, {"face", "T", "must be L or R"}, {"line", "web.crippling", "not to both"},
	} {
		a := send(inspector, at+"/questions", with(form, "question", "Is the cope clear?", "face", "L", "x", "4", "z", "3.5", c.field, c.value)).Status(422)
		require.Contains(t, strings.ToLower(a.One("#errors")), strings.ToLower(c.says), c.field)
		if c.field != "question" {
			require.Contains(t, a.One("#f-question"), "Is the cope clear?", "what was typed stays")
		}
	}
	a := send(inspector, at+"/questions", with(form, "question", "Is it so?", "line", "no.such")).Status(422)
	require.Contains(t, a.One("#errors"), "has no such check")
	require.Empty(t, p.End("1N-1").Questions)

	// Pinned to the drawing: numbered there and in the list beside it.
	entry := with(form, "question", "Is the cope clear of this stud?", "face", "R", "x", "4 1/2", "z", "3.5")
	send(inspector, at+"/questions", entry).LeadsTo(at + "/review#questions")
	send(inspector, at+"/questions", entry).LeadsTo(at + "/review#questions")
	require.Len(t, p.End("1N-1").Questions, 1, "sent twice it is asked once")
	require.Equal(t, version, p.End("1N-1").End.Version, "a question puts nobody's open form out of date")
	a = designer.Get(at + "/review").Status(200)
	require.NotEmpty(t, a.Select(".dwg [data-pin='1']"))
	require.Contains(t, a.One("#question-1"), "On the drawing, right face, x 4.500 in, z 3.500 in.")
	require.NotEmpty(t, designer.Get(at).Select(".dwg [data-pin='1']"), "the revision itself shows it")
	designer.Get(at).Has("Review and questions, 1 open")

	// Pinned to a line of the sheet: marked at the line, on the review and on the sheet.
	send(engineer, at+"/questions", with(fieldsOf(engineer.Get(at+"/review"), "#ask"), "question", "Which studs count?", "line", "repair.studs", "holds", "on")).LeadsTo(at + "/review#questions")
	a = engineer.Get(at + "/review").Status(200)
	require.Contains(t, a.One("#line-repair-studs"), "Question 2 W open")
	require.Contains(t, a.One("#question-2"), "holds the approval")
	engineer.Get(p.Path("ends", "1N-1", "sheet")).Status(200).Has("Question 2")

	// An open one holds the approval, and the words of the decision stay.
	decision := fieldsOf(a.Has("Question 2 is open and holds the approval"), "#decision")
	refused := send(engineer, at+"/review", with(decision, "decision", repair.DesignApproved, "reasons", "looks right")).Status(422)
	refused.Has("cannot be approved while question 2 is open", "looks right")

	// Answered by another, asked again, answered, withdrawn.
	say := func(who *webtest.Client, n, said, text string) {
		t.Helper()
		f := fieldsOf(who.Get(at+"/review?answer="+n), "#say")
		send(who, p.Path("ends", "1N-1", "questions", n), with(f, "said", said, "answer", text)).LeadsTo(at + "/review#question-" + n)
	}
	own := fieldsOf(inspector.Get(at+"/review?answer=1"), "#say")
	send(inspector, p.Path("ends", "1N-1", "questions", "1"), with(own, "said", repair.Answered, "answer", "yes")).Status(422).Has("is your own")
	say(designer, "2", repair.Answered, "All but the two at the cope.")
	early := send(designer, p.Path("ends", "1N-1", "questions", "2"), with(own, "entry", newEntryID(), "said", repair.Answered, "answer", "and more")).Status(409)
	early.Has("is answered already")
	say(engineer, "2", repair.AskedOver, "And those behind the stiffener?")
	require.Len(t, p.End("1N-1").OpenQuestions(""), 2)
	say(designer, "2", repair.Answered, "They count.")
	say(inspector, "1", repair.Withdrawn, "seen from the lift: it is clear")
	send(engineer, p.Path("ends", "1N-1", "questions", "2"), with(own, "entry", newEntryID(), "said", repair.Withdrawn, "answer", "")).Status(422).Has("Say why it is withdrawn.")
	require.Empty(t, p.End("1N-1").OpenQuestions(""))
	a = designer.Get(at + "/review").Status(200)
	require.Contains(t, a.One("#question-2"), "And those behind the stiffener?")
	require.Contains(t, a.One("#question-1"), "withdrawn")
	send(engineer, at+"/review", with(fieldsOf(engineer.Get(at+"/review"), "#decision"), "decision", repair.DesignApproved)).LeadsTo(at)

	// Who may ask, and where nobody asks.
	p.Role(authz.Manager).Get(at + "/review").Status(200).None("#ask").Has("Whoever designs, reviews, inspects or builds")
	send(p.Role(authz.Laboratory), at+"/questions", form).Status(403)
	send(engineer, p.Path("ends", "1N-1", "questions", "9"), own).Status(404)
	send(p.AsIn(p.NewProgram("other"), authz.Engineer), at+"/questions", form).Status(404)
	p.DoProgram(authz.Engineer, repair.EditBasis{Key: string(basis.ReviewQuestionsHold), Value: 2, Typed: "2", Source: "letter"})
	engineer.Get(at + "/review").Has("every open question holds the approval")
}

func TestQuestionPages(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.submitted("1N-1")
	at := p.Path("ends", "1N-1", "designs", "1", "review")
	d := p.End("1N-1").LatestDesign()
	x, z := 6*units.Inch, 7*units.Inch
	p.Do(authz.Inspector, "1N-1", repair.AskQuestion{DesignID: d.ID, Question: "The cope ends here: does the panel meet it?", Face: "L", X: &x, Z: &z})
	p.Do(authz.Contractor, "1N-1", repair.AskQuestion{DesignID: d.ID, Question: "May the second row go first?", Line: "repair.studs"})
	p.Do(authz.Designer, "1N-1", repair.AnswerQuestion{QuestionID: p.End("1N-1").Questions[1].ID, Said: repair.Answered, Answer: "Yes."})
	page := p.Browser(authz.Engineer)
	p.Look(page, at+"?answer=1", "questions")
	// Pressing on the drawing fills in the place.
	page.WaitFor(`document.querySelector("#f-x").value === "" && !document.querySelector("#pin-how").hidden`)
	page.Click("#pin-drawing svg[data-scale] .web")
	page.WaitFor(`document.querySelector("#f-x").value !== "" && document.querySelector("#f-z").value !== ""`)
	page.Choose("#f-question", "And here?")
	require.Equal(t, 200, page.Submit("#ask button[type=submit]"))
	require.Contains(t, page.Text("#question-3"), "On the drawing, left face")
	require.True(t, page.Exists(".dwg [data-pin='3']"))
	require.Empty(t, page.Problems())
}
