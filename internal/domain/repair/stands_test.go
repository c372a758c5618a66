package repair_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

// decided is a proposed repair that was submitted and approved.
func decided(t require.TestingT) *story {
	s := proposed(t)
	require.NoError(t, s.do(authz.Designer, repair.SubmitDesign{}))
	d := s.Ends[0].LatestDesign()
	require.NoError(t, s.do(authz.Engineer, repair.ReviewDesign{DesignID: d.ID, Decision: "approved", Digest: s.Ends[0].DesignDigest(s.Scope, d)}))
	return s
}

func asProposed(_, j int) float64 { return max(0, 0.5-0.15*float64(j)) }

// again is a survey after cleaning that differs from the one approved on as told.
func again(alter func(*repair.RecordSurvey)) repair.Change {
	ch := grid(asProposed)
	ch.Facts.Kind = "cleaned"
	alter(&ch)
	return ch
}

func set(key basis.Key, v float64) repair.Change {
	return repair.EditBasis{Key: string(key), Value: v, Typed: "as told", Source: "letter of the owner"}
}

// Each row moves one thing under an approval. The thresholds are the owner's; the
// same movement under another threshold has another effect.
func TestWhatMovedMeansWhatTheOwnerSays(t *testing.T) {
	t.Parallel()
	base := decided(t)
	facts := func(alter func(*repair.EndFacts)) repair.Change {
		f := repair.FactsOf(base.Ends[0].End)
		alter(&f)
		return repair.EditEnd{Facts: f, Reason: "looked up again"}
	}
	up := 63 // the place that is farthest from the bearing: sound metal, no stud near it
	thin := func(by units.Length) repair.Change {
		return again(func(c *repair.RecordSurvey) { c.Readings[up].T -= by })
	}
	in := units.Inch
	for name, c := range map[string]struct {
		first  []repair.Change
		do     repair.Change
		effect repair.Effect
		key    string // of the gravest line
	}{
		"the same steel, measured again":     {do: again(func(*repair.RecordSurvey) {}), effect: repair.Unmoved},
		"thinner by what a gauge repeats to": {do: thin(0.02 * in), effect: repair.Confirms},
		"just within the noise":              {do: thin(0.03 * in), effect: repair.Confirms},
		"just beyond the noise":              {do: thin(0.031 * in), effect: repair.SecondLook, key: "survey.least"},
		"within a wider noise":               {first: []repair.Change{set(basis.ReviewNoise, 1)}, do: thin(0.031 * in), effect: repair.Confirms},
		"just within the stop":               {do: thin(0.125 * in), effect: repair.SecondLook, key: "survey.least"},
		"just beyond the stop":               {do: thin(0.126 * in), effect: repair.Stops, key: "survey.least"},
		"beyond the stop, which is wider":    {first: []repair.Change{set(basis.ReviewStopLoss, 10)}, do: thin(0.126 * in), effect: repair.SecondLook, key: "survey.least"},
		"thicker than known":                 {do: again(func(c *repair.RecordSurvey) { c.Readings[0].T += 0.05 * in }), effect: repair.Confirms},
		"a new hole":                         {do: again(hole), effect: repair.Stops, key: "survey.holes"},
		"a new hole that is only looked at":  {first: []repair.Change{set(basis.ReviewHoleStops, 0)}, do: again(hole), effect: repair.SecondLook, key: "survey.holes"},
		"a place that could not be read": {do: again(func(c *repair.RecordSurvey) {
			c.Readings[up].NoAccess, c.Readings[up].T, c.Readings[up].Reason = true, 0, "platform"
		}), effect: repair.SecondLook, key: "survey.blind"},
		"web a little out of plane":         {do: again(func(c *repair.RecordSurvey) { c.Facts.WebDeviation = 0.1 * in }), effect: repair.SecondLook, key: "survey.deviation"},
		"web bowed":                         {do: again(func(c *repair.RecordSurvey) { c.Facts.WebDeviation = 0.2 * in }), effect: repair.Stops, key: "survey.deviation"},
		"demand risen a little":             {do: facts(func(f *repair.EndFacts) { f.Reaction = 111 * units.Kip }), effect: repair.Confirms},
		"demand risen":                      {do: facts(func(f *repair.EndFacts) { f.Reaction = 113 * units.Kip }), effect: repair.SecondLook, key: "demand"},
		"demand fallen":                     {do: facts(func(f *repair.EndFacts) { f.Reaction = 80 * units.Kip }), effect: repair.Confirms},
		"demand beyond what the repair has": {do: facts(func(f *repair.EndFacts) { f.Reaction = 400 * units.Kip }), effect: repair.Stops},
		"another yield strength":            {do: facts(func(f *repair.EndFacts) { f.Fy = 36 * units.Ksi }), effect: repair.SecondLook, key: "end.fy"},
		"another skew":                      {do: facts(func(f *repair.EndFacts) { f.Skew = 9 }), effect: repair.SecondLook, key: "end.skew"},
		"an alias, which nothing stands on": {do: facts(func(f *repair.EndFacts) { f.Alias = "old G1" }), effect: repair.Unmoved},
		"a threshold of review":             {do: set(basis.ReviewNoise, 2), effect: repair.Unmoved},
		"a factor that no check comes near": {do: set(basis.WebPhiYielding, 0.99), effect: repair.Confirms},
		"most of the web gone": {do: again(func(c *repair.RecordSurvey) {
			c.Readings[0].T = 0.02 * in
			c.Readings[1].T = 0.02 * in
			c.Readings[2].T = 0.02 * in
		}), effect: repair.Stops},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := &story{Scope: base.Scope.Clone(), n: base.n, now: base.now}
			for _, ch := range c.first {
				require.NoError(t, s.do(authz.Engineer, ch))
			}
			role := authz.Engineer
			require.NoError(t, s.do(role, c.do))
			r := s.Ends[0]
			m := r.Movement(s.Scope, r.DesignInForce())
			w, _ := m.Worst()
			require.Equal(t, c.effect.Words(), m.Effect.Words(), "%+v", m.Ruled)
			if c.key != "" {
				require.Equal(t, c.key, w.Key, w.Says(units.US))
			}
			st := r.State[0]
			require.Equal(t, c.effect.Key(), st.Stale)
			require.Equal(t, c.effect > repair.Unmoved, st.OutOfDate)
			require.Equal(t, c.effect > repair.Unmoved, st.WaitsSince != nil)
			for _, x := range m.Ruled {
				require.NotContains(t, x.Says(units.US), "%")
				require.NotContains(t, x.Says(units.SI), "#")
			}

			// What merely confirms is signed as it is; the rest asks why, and nothing that
			// fails is signed at all.
			confirm := repair.ConfirmDesign{DesignID: r.DesignInForce().ID, Digest: r.DesignDigest(s.Scope, r.DesignInForce())}
			err := s.do(authz.Engineer, confirm)
			switch {
			case c.effect == repair.Unmoved, m.Hopeless():
				require.ErrorIs(t, err, fault.Refused)
			case c.effect == repair.Confirms:
				require.NoError(t, err)
			default:
				require.ErrorIs(t, err, fault.Fields)
				confirm.Reasons = "looked at again on the platform"
				require.NoError(t, s.do(authz.Engineer, confirm))
			}
			if !m.Hopeless() {
				require.Empty(t, s.Ends[0].State[0].Stale)
			}
		})
	}
}

func hole(c *repair.RecordSurvey) {
	c.Holes = append(c.Holes, repair.HoleIn{X: 22 * units.Inch, Z: 20 * units.Inch, Width: 0.5 * units.Inch, Height: 0.5 * units.Inch})
}

// What an approval stands on is kept with it, and moves only where the record does.
func TestAnApprovalKeepsWhatItStandsOn(t *testing.T) {
	t.Parallel()
	s := decided(t)
	r := s.Ends[0]
	kept := r.LastApproval(r.DesignInForce()).StandsOn
	require.Equal(t, kept, r.StandsOn(s.Scope, r.DesignInForce()))
	by := map[string]repair.StandFact{}
	for _, f := range kept {
		require.NotContains(t, by, f.Key, "each fact once")
		require.Len(t, f.Sum, 64)
		by[f.Key] = f
	}
	require.Equal(t, "0.290 in", by["survey.least"].Format(units.US))
	require.Equal(t, "110.0 kip", by["demand"].Format(units.US))
	require.Equal(t, "survey 1", by["survey"].Format(units.US))
	require.Equal(t, "33.0 ksi", by["end.fy"].Format(units.US))
	require.Equal(t, "passes", by["result.verdict"].Text)

	// An approval of before this was kept asks for a look, whatever moved.
	for i := range s.Ends[0].Reviews {
		s.Ends[0].Reviews[i].StandsOn = nil
	}
	require.NoError(t, s.do(authz.Inspector, again(func(c *repair.RecordSurvey) { c.Readings[63].T -= 0.01 * units.Inch })))
	m := s.Ends[0].Movement(s.Scope, s.Ends[0].DesignInForce())
	require.False(t, m.Kept)
	require.Equal(t, repair.SecondLook, m.Effect)
}

// With the owner's word that what merely confirms does not wait, the work goes on
// and the approval still says that it is out of date.
func TestWorkGoesOnWhereTheOwnerLetsIt(t *testing.T) {
	t.Parallel()
	s := decided(t)
	slight := again(func(c *repair.RecordSurvey) { c.Readings[63].T -= 0.02 * units.Inch })
	require.NoError(t, s.do(authz.Inspector, slight))
	f, err := s.Ends[0].Facts(s.Scope)
	require.NoError(t, err)
	require.True(t, f.Design.OutOfDate)
	require.Equal(t, sequence.Engineer, f.Design.Answers)
	require.NoError(t, s.do(authz.Engineer, set(basis.ReviewConfirmsWaits, 0)))
	f, err = s.Ends[0].Facts(s.Scope)
	require.NoError(t, err)
	require.False(t, f.Design.OutOfDate)
	require.True(t, s.Ends[0].State[0].OutOfDate)
	require.NoError(t, s.do(authz.Inspector, again(func(c *repair.RecordSurvey) { c.Readings[63].T -= 0.2 * units.Inch })))
	f, err = s.Ends[0].Facts(s.Scope)
	require.NoError(t, err)
	require.True(t, f.Design.OutOfDate)
	require.True(t, f.Design.Stops)
}

func TestQuestionsHoldAnApproval(t *testing.T) {
	t.Parallel()
	s := proposed(t)
	ask := repair.AskQuestion{DesignID: s.Ends[0].LatestDesign().ID, Question: "Why so near the flange?", Holds: true}
	require.ErrorIs(t, s.do(authz.Engineer, ask), fault.Refused, "a draft is nobody's to ask about")
	require.NoError(t, s.do(authz.Designer, repair.SubmitDesign{}))
	x, z, far := 6*units.Inch, 4*units.Inch, 900*units.Inch
	for field, spoil := range map[string]func(*repair.AskQuestion){
		"question": func(q *repair.AskQuestion) { q.Question = " " },
		"face":     func(q *repair.AskQuestion) { q.Face = "Q" },
		"z":        func(q *repair.AskQuestion) { q.Face, q.X = "L", &x },
		"line":     func(q *repair.AskQuestion) { q.Line = "no.such" },
		"x":        func(q *repair.AskQuestion) { q.Face, q.X, q.Z = "L", &far, &z },
	} {
		bent := ask
		spoil(&bent)
		err := s.do(authz.Engineer, bent)
		var bad *fault.Invalid
		require.ErrorAs(t, err, &bad, field)
		require.NotNil(t, bad.Of(field), "%s: %v", field, err)
	}
	held := ask
	require.ErrorIs(t, s.do(authz.Designer, held), fault.Fields, "only the engineer holds an approval")
	ask.Face, ask.X, ask.Z = "L", &x, &z
	require.NoError(t, s.do(authz.Engineer, ask))
	other := repair.AskQuestion{DesignID: ask.DesignID, Question: "Which lot of ferrules?"}
	require.NoError(t, s.do(authz.Inspector, other))
	require.Equal(t, 2, s.Ends[0].State[0].Questions)

	r := s.Ends[0]
	approve := repair.ReviewDesign{DesignID: ask.DesignID, Decision: "approved", Digest: r.DesignDigest(s.Scope, r.LatestDesign())}
	require.ErrorContains(t, s.do(authz.Engineer, approve), "while question 1 is open")
	require.NoError(t, s.do(authz.Engineer, set(basis.ReviewQuestionsHold, 2)))
	require.ErrorContains(t, s.do(authz.Engineer, approve), "while question 1, 2 is open")
	require.NoError(t, s.do(authz.Engineer, set(basis.ReviewQuestionsHold, 1)))

	first := r.QuestionNumbered(1).ID
	say := func(role authz.Role, said, words string) error {
		return s.do(role, repair.AnswerQuestion{QuestionID: first, Said: said, Answer: words})
	}
	require.ErrorIs(t, say(authz.Engineer, repair.Answered, "because"), fault.Refused, "nobody answers their own")
	require.ErrorIs(t, say(authz.Designer, repair.Answered, ""), fault.Fields)
	require.ErrorIs(t, say(authz.Engineer, "maybe", "x"), fault.Fields)
	require.ErrorIs(t, say(authz.Engineer, repair.AskedOver, "x"), fault.Conflict, "it is open")
	require.NoError(t, say(authz.Designer, repair.Answered, "The web is sound there."))
	require.ErrorIs(t, say(authz.Inspector, repair.AskedOver, "x"), fault.Refused, "it is not theirs")
	require.NoError(t, say(authz.Engineer, repair.AskedOver, "How thick?"))
	require.ErrorContains(t, s.do(authz.Engineer, approve), "while question 1 is open")
	require.NoError(t, say(authz.Designer, repair.Answered, "0.54 in."))
	require.ErrorIs(t, say(authz.Designer, repair.Answered, "twice"), fault.Conflict)
	require.Len(t, s.Ends[0].AnswersTo(first), 3)
	require.NoError(t, s.do(authz.Engineer, approve), "the open one does not hold")
	require.NoError(t, s.do(authz.Inspector, repair.AnswerQuestion{QuestionID: s.Ends[0].QuestionNumbered(2).ID, Said: repair.Withdrawn, Answer: "found it"}))
	require.Zero(t, s.Ends[0].State[0].Questions)
	require.Len(t, s.Ends[0].Questions, 2, "nothing is removed")
}

func TestNotesOfAnApproval(t *testing.T) {
	t.Parallel()
	s := proposed(t)
	require.NoError(t, s.do(authz.Designer, repair.SubmitDesign{}))
	r := s.Ends[0]
	ch := repair.ReviewDesign{DesignID: r.LatestDesign().ID, Decision: "approved_as_noted", Digest: r.DesignDigest(s.Scope, r.LatestDesign())}
	require.ErrorIs(t, s.do(authz.Engineer, ch), fault.Fields)
	ch.Reasons = "Shore stays until 28 days\n\n  Grind the old weld first  "
	require.NoError(t, s.do(authz.Engineer, ch))
	r = s.Ends[0]
	require.Equal(t, []string{"Shore stays until 28 days", "Grind the old weld first"}, r.NotesOf(r.DesignInForce()))
	r.ReviewNotes = nil
	require.Equal(t, []string{ch.Reasons}, r.NotesOf(r.DesignInForce()), "an approval of before has its reasons")
}
