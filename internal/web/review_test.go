package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// submitted carries an end to a design that passes and waits for review.
func (p *testProgram) submitted(end string) {
	p.t.Helper()
	p.Do(authz.Inspector, end, asFound(0.3))
	p.Do(authz.Designer, end, p.passing(end))
	p.Do(authz.Designer, end, repair.SubmitDesign{})
}

func TestReviewDecisions(t *testing.T) {
	t.Parallel()
	for decision, want := range map[string]string{repair.DesignApproved: "Revision 1 is approved.", repair.DesignApprovedNoted: "Revision 1 is approved as noted.",
		repair.DesignReturned: "Revision 1 is returned."} {
		t.Run(decision, func(t *testing.T) {
			t.Parallel()
			p := newTestProgram(t)
			p.submitted("1N-1")
			at := p.Path("ends", "1N-1", "designs", "1")
			c := p.Role(authz.Engineer)
			form := fieldsOf(c.Get(at+"/review").Status(200), "#decision")
			require.False(t, form.Has("decision"), "no decision is chosen for the reviewer")
			send(c, at+"/review", form).Status(422).Has("Must be approved, approved as noted or returned")
			if decision != repair.DesignApproved {
				a := send(c, at+"/review", with(form, "decision", decision)).Status(422)
				require.NotEmpty(t, a.Select("#f-reasons[aria-invalid=true]"))
				require.NotEmpty(t, a.Select("[name=decision][value="+decision+"][checked]"), "the choice stays")
			}
			a := send(c, at+"/review", with(form, "decision", decision, "reasons", "cover 2 in at the left")).LeadsTo(at).Follow().Status(200).Has(want)
			require.Contains(t, a.One(".reviews"), "cover 2 in at the left")
			require.Contains(t, a.One(".reviews"), c.User.Name+", owner's engineer")
			send(c, at+"/review", with(form, "decision", decision, "reasons", "cover 2 in at the left")).LeadsTo(at)
			require.Len(t, p.End("1N-1").Reviews, 1, "sent twice it counts once")
			c.Get(at + "/review").Status(200).None("#decision").Has("there is nothing to decide")
		})
	}
}

func TestReviewIsRefusedOnDataThatMoved(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.submitted("1N-1")
	at := p.Path("ends", "1N-1", "designs", "1")
	c := p.Role(authz.Engineer)
	form := fieldsOf(c.Get(at+"/review").None(".design-moved"), "#decision")

	found := asFound(0.34)
	found.Facts.Kind = "cleaned"
	p.Do(authz.Inspector, "1N-1", found)
	a := send(c, at+"/review", with(form, "decision", repair.DesignApproved, "reasons", "looks right")).Status(409).
		Has("No decision was stored: the record moved while you looked")
	require.Contains(t, a.One(".design-moved"), "Survey 2")
	require.Contains(t, a.One(".design-moved > .table"), "thinner")
	require.Empty(t, p.End("1N-1").Reviews)
	again := fieldsOf(a, "#decision")
	require.Equal(t, "looks right", again.Get("reasons"), "the words stay")
	require.False(t, again.Has("decision"), "the choice is made again")
	require.NotEqual(t, form.Get("digest"), again.Get("digest"))
	send(c, at+"/review", with(again, "decision", repair.DesignApproved)).LeadsTo(at)

	// What does not belong to the inputs does not stand in the way.
	p.submitted("1N-2")
	at = p.Path("ends", "1N-2", "designs", "1")
	form = fieldsOf(c.Get(at+"/review"), "#decision")
	p.Do(authz.Inspector, "1N-2", repair.RecordCleaning{Zone: "encased_area", Grade: "SP11", Method: "power_tool", StartedAt: ago(2 * time.Hour), EndedAt: ago(time.Hour), Rust: "none"})
	send(c, at+"/review", with(form, "decision", repair.DesignApproved)).LeadsTo(at)
}

func TestConfirmAfterASurvey(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.submitted("1N-1")
	at := p.Path("ends", "1N-1", "designs", "1")
	c := p.Role(authz.Engineer)
	send(c, at+"/review", with(fieldsOf(c.Get(at+"/review"), "#decision"), "decision", repair.DesignApproved)).LeadsTo(at)
	c.Get(at).None(".design-moved")

	// A corrected reading, then another bearing length: both are named.
	ed := repair.EditSurvey{SurveyID: p.End("1N-1").LatestSurvey().ID, Facts: repair.SurveyFacts{Kind: "as_found"}, Readings: asFound(0.3).Readings}
	ed.Readings[19].T -= 0.02 * units.Inch
	p.Do(authz.Inspector, "1N-1", ed)
	facts := repair.FactsOf(p.End("1N-1").End)
	facts.Reaction = 105 * units.Kip
	p.Do(authz.Designer, "1N-1", repair.EditEnd{Facts: facts, Reason: "rated again"})

	for _, path := range []string{at, at + "/review"} {
		moved := c.Get(path).Status(200).One(".design-moved")
		require.Contains(t, moved, "1 reading differs.", path)
		require.Contains(t, moved, "x 12.00, z 10.00 in X thinner", path)
		require.Contains(t, moved, "Factored reaction ! changed 110.0 kip 105.0 kip", path)
	}
	c.Get(p.Path("reviews")).Has("Approved, out of date since", "1 reading was corrected.")

	p.Role(authz.Manager).Get(at + "/review").Status(200).None("form#confirmation").Has("waits for the owner&#39;s engineer, who confirms it here")
	form := fieldsOf(c.Get(at+"/review"), "#confirmation")
	send(c, at+"/confirm", with(form, "digest", "older")).Status(409).Has("the record moved while you looked")
	send(c, at+"/confirm", with(form, "reasons", strings.Repeat("long ", 1000))).Status(422).Has("at most 4000 characters")
	send(c, at+"/confirm", with(form, "reasons", "away from the studs")).LeadsTo(at).Follow().None(".design-moved").Has("away from the studs", repair.MeaningConfirmed)
	require.False(t, p.End("1N-1").State[0].OutOfDate)
	c.Get(p.Path("reviews")).Has("Nothing waits")

	// Too much loss cannot be confirmed away.
	deep := asFound(0.97)
	deep.Facts.Kind = "cleaned"
	p.Do(authz.Inspector, "1N-1", deep)
	c.Get(at + "/review").None("#confirmation").Has("a new revision is needed")
	send(c, at+"/confirm", with(form, "entry", newEntryID())).Status(409)
}

func TestReviewComparesRevisions(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.submitted("1N-1")
	c := p.Role(authz.Engineer)
	at := func(rev string) string { return p.Path("ends", "1N-1", "designs", rev) }
	c.Get(at("1") + "/review").None(".compared")
	send(c, at("1")+"/review", with(fieldsOf(c.Get(at("1")+"/review"), "#decision"), "decision", repair.DesignReturned, "reasons", "wider panel")).LeadsTo(at("1"))

	second := p.passing("1N-1")
	second.Design.PanelWidth += 2 * units.Inch
	second.Design.Studs[0].X += units.Inch
	second.Design.Studs[1].Mark = "L-extra"
	second.Design.Note = "wider panel, as asked"
	p.Do(authz.Designer, "1N-1", second)
	c.Get(at("1") + "/review").Has("there is nothing to decide")
	c.Get(at("2")+"/review").Has("is a draft: it can be reviewed once it is submitted", "What changed since revision 1, returned")
	p.Do(authz.Designer, "1N-1", repair.SubmitDesign{})
	a := c.Get(at("2") + "/review").Status(200).Has("wider panel, as asked")
	changes := a.One(".board-changes table")
	for _, words := range []string{"Panel width ! changed", "Stud L-1-1 ! moved", "Stud L-extra A added", "Stud L-1-2 X removed", "+1.000 in, 0.000 in"} {
		require.Contains(t, changes, words)
	}
	require.NotEmpty(t, a.Select(".compared .stud-ghost"), "the revision before is drawn behind")
	a.Has("Both revisions stand on the same readings.")
	c.Get(at("1")).Has("Revisions of this end", "Computed for this page")
	c.Get(at("3")).Status(404)
	c.Get(at("two")).Status(404)
}

func TestNobodyReviewsTheirOwn(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.3))
	p.Do(authz.Engineer, "1N-1", p.passing("1N-1"))
	p.Do(authz.Engineer, "1N-1", repair.SubmitDesign{})
	at := p.Path("ends", "1N-1", "designs", "1")
	own := p.Role(authz.Engineer)
	own.Get(at + "/review").Status(200).None("#decision").Has("is your own design")
	own.Get(p.Path("reviews")).Status(200).Has("your own")
	s := p.Scope("1N-1")
	digest := s.Ends[0].DesignDigest(s, s.Ends[0].LatestDesign())
	send(own, at+"/review", with(nil, "entry", newEntryID(), "digest", digest, "decision", repair.DesignApproved)).Status(422).Has("is your own design; another person must review it")
	other := p.As(authz.Engineer)
	send(other, at+"/review", with(fieldsOf(other.Get(at+"/review"), "#decision"), "decision", repair.DesignApproved)).LeadsTo(at)
}

func TestReviewRights(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.submitted("1N-1")
	at := p.Path("ends", "1N-1", "designs", "1")
	for _, role := range authz.Roles() {
		c := p.Role(role)
		c.Get(at).Status(200).Has("Stored result on survey 1")
		c.Get(p.Path("reviews")).Status(200).Has("Revision 1")
		a := c.Get(at + "/review").Status(200)
		if role == authz.Engineer {
			require.Len(t, a.Select("form#decision"), 1)
			require.Equal(t, "1 waiting", c.Get(p.Path("ends")).One(".index ul ul .count"))
			continue
		}
		a.None("form#decision").Has("waits for the owner&#39;s engineer")
		a.None(".index .count")
		form := with(nil, "entry", newEntryID(), "decision", repair.DesignApproved)
		send(c, at+"/review", form).Status(403)
		send(c, at+"/confirm", form).Status(403)
	}
	p.Anonymous().Get(at).Status(303)
	p.Anonymous().Get(p.Path("reviews")).Status(303)
	stranger := p.AsIn(p.NewProgram("other"), authz.Engineer)
	for _, path := range []string{at, at + "/review", p.Path("reviews")} {
		stranger.Get(path).Status(404)
	}
	require.Empty(t, p.End("1N-1").Reviews)
}
