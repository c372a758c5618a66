package demo

import (
	"encoding/json"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// played is the record at the end of the story, made once: tests read it only.
var played = sync.OnceValues(func() (*repair.Scope, error) {
	return Play(Story(), func(_ Step, ch repair.Change) {
		switch ch.(type) {
		case repair.RecordCuringLog, repair.AddHandReadings:
			logged = append(logged, ch)
		}
	})
})

// logged are the curing logs of the story with their readings, in the order in which
// they came: the record itself keeps only what they add up to.
var logged []repair.Change

func record(t *testing.T) *repair.Scope {
	t.Helper()
	s, err := played()
	require.NoError(t, err)
	return s
}

func byName(t *testing.T, name string) *repair.Record {
	t.Helper()
	for _, r := range record(t).Ends {
		if r.End.Name == name {
			return r
		}
	}
	require.Fail(t, "no such end", name)
	return nil
}

func TestBridgeIsTheOneOfTheDrawings(t *testing.T) {
	t.Parallel()
	s := record(t)
	require.Len(t, s.Ends, 58)
	perLine := map[string]int{}
	for _, r := range s.Ends {
		sup, _ := s.Support(r.End.SupportID)
		perLine[sup.Code+" "+r.End.Face]++
		require.Positive(t, r.End.Reaction)
	}
	require.Equal(t, map[string]int{"A1 ahead": 6, "P1 back": 6, "P1 ahead": 6, "P2 back": 6, "P2 ahead": 5, "P4 back": 5, "P4 ahead": 6, "P5 back": 6, "P5 ahead": 6, "A2 back": 6}, perLine)
	first, last := s.Supports[0], s.Supports[6]
	require.InDelta(t, 58+66+104+112+66+52, float64((last.Station-first.Station)/units.Foot), 1e-9)
	require.True(t, s.Program.IsDemo)
	require.Equal(t, "2027-07-16", s.Program.Today.Format(time.DateOnly))
}

// What is told of an end must not depend on when it is told.
func TestTellingInAnyOrderTellsTheSame(t *testing.T) {
	t.Parallel()
	told := func(back bool) map[string]string {
		order := slices.Clone(plans)
		if back {
			slices.Reverse(order)
		}
		x := &teller{}
		for _, p := range order {
			x.life(p)
		}
		out := map[string]string{}
		for _, st := range x.steps {
			line := st.At.String() + string(st.By)
			if st.Fixed {
				ch, err := st.Make(nil)
				require.NoError(t, err)
				b, err := json.Marshal(ch)
				require.NoError(t, err)
				line += string(b)
			}
			require.NotContains(t, out, st.Key)
			out[st.Key] = line
		}
		return out
	}
	require.Equal(t, told(false), told(true))
}

func TestStoryIsTheSameEachTime(t *testing.T) {
	t.Parallel()
	again, err := Play(Story(), nil)
	require.NoError(t, err)
	a, err := json.Marshal(record(t).Ends)
	require.NoError(t, err)
	b, err := json.Marshal(again.Ends)
	require.NoError(t, err)
	require.Equal(t, string(a), string(b))
}

func TestStepsComeInOrderAndBeforeToday(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	var last time.Time
	for _, st := range Story() {
		require.False(t, seen[st.ID()], st.Key)
		seen[st.ID()] = true
		require.False(t, st.At.Before(last), st.Key)
		require.False(t, st.Captured.After(st.At), st.Key)
		require.True(t, st.At.Before(Today), st.Key)
		last = st.At
	}
}

// The gang worked only where somebody could get there.
func TestWorkFallsOnWindowsThatWereNotLost(t *testing.T) {
	t.Parallel()
	starts := map[string]string{}
	for _, w := range append(calendar(), evening) {
		starts[w.Kind+w.StartsAt.Format(time.RFC3339)] = w.State
	}
	for _, p := range plans {
		for _, at := range []time.Time{p.clean, p.weld, p.form, p.cast} {
			state, ok := starts[lineOf(p.Name).access+at.UTC().Format(time.RFC3339)]
			if at.IsZero() {
				continue
			}
			if at.Before(cut) || ok {
				require.True(t, ok, "%s has no window at %s", p.Name, at)
				require.NotEqual(t, "lost", state, "%s at %s", p.Name, at)
			}
		}
	}
}

func TestSurveysAreFindingsThatCanBe(t *testing.T) {
	t.Parallel()
	s := record(t)
	for _, r := range s.Ends {
		web := float64(sectionOf(mustName(r.End.Name)).WebThickness)
		for i := range r.Surveys {
			sv := &r.Surveys[i]
			f := r.SurveyFindings(sv)
			require.NoError(t, survey.Validate(r.Geometry(s), f, basis.Basis{}), "%s survey %d", r.End.Name, sv.Number)
			require.GreaterOrEqual(t, len(f.Readings), 25, r.End.Name)
			require.LessOrEqual(t, len(f.Readings), 75, r.End.Name)
			least, faces := web, map[survey.Face]bool{}
			distinct := map[units.Length]bool{}
			for _, x := range f.Readings {
				if !x.NoAccess {
					least = min(least, float64(x.T))
					distinct[x.T] = true
				}
				faces[x.Face] = true
			}
			require.Greater(t, len(distinct), 3, "a field, not one number repeated")
			require.True(t, faces[survey.Through] || faces[survey.Left] && faces[survey.Right], r.End.Name)
			m := steelOf(mustName(r.End.Name), sv.Kind == "cleaned")
			if sv.CapturedAt.Year() == olderYear {
				m = olderMetal(r.End.Name)
			}
			if m.hole == nil && r.End.Name != "3N-1" {
				require.InDelta(t, web*(1-m.loss), least, 0.5, "%s: least reading is the extreme that was drawn", r.End.Name)
			}
			for _, x := range r.Readings {
				if x.SurveyID == sv.ID && !x.NoAccess {
					v, err := units.ParseLength(x.Typed, units.US)
					require.NoError(t, err)
					require.Equal(t, x.T, v, "what was typed is what is stored")
				}
			}
		}
	}
}

func TestStateOfTheProgramToday(t *testing.T) {
	t.Parallel()
	s := record(t)
	closed, stale := 0, []string{}
	at, tracks := map[string]int{}, map[string]int{}
	for _, r := range s.Ends {
		st := r.State[0]
		if st.Closed {
			closed++
		}
		if st.OutOfDate {
			stale = append(stale, st.Name)
		}
		at[st.StepCode]++
		tracks[st.Track]++
	}
	require.InDelta(t, 29, closed, 3, "about half")
	require.ElementsMatch(t, []string{"2F-1", "3N-1"}, stale)
	for _, code := range order {
		require.Positive(t, at[code], "an end stands at %s", code)
	}
	for _, track := range []string{"", "paper", "steel_and_concrete", "access"} {
		require.Positive(t, tracks[track], "track %q", track)
	}
}

func TestEveryStateOccurs(t *testing.T) {
	t.Parallel()
	s := record(t)
	got := map[string]bool{}
	for _, r := range s.Ends {
		for _, d := range r.Designs {
			got["design "+d.State] = true
		}
		for _, n := range r.Nonconformances {
			got["disposition "+n.Disposition] = true
			if n.ClosedAt != nil {
				got["nonconformance closed"] = true
			}
		}
		for _, c := range r.Collars {
			got["collar "+c.Outcome] = true
		}
		for _, x := range r.Inspections {
			got[x.Subject+" "+x.Outcome] = true
		}
		for _, x := range r.Gates {
			got["gate "+x.Gate+" "+x.Decision] = true
		}
		for _, x := range r.StepRecords {
			got["step "+x.Kind] = true
		}
		for _, x := range r.Verdicts {
			got["verdict "+x.Result] = true
		}
		for _, x := range r.Reviews {
			got["review "+x.Decision] = true
		}
	}
	for _, w := range s.Windows {
		got["window "+w.State] = true
		if w.State == "lost" || w.State == "shortened" {
			require.NotEmpty(t, w.Party)
			require.NotEmpty(t, w.Reason)
		}
	}
	for _, want := range strings.Split("design draft,design submitted,design approved,design approved_as_noted,design returned,design superseded,"+
		"disposition ,disposition use_as_is,disposition repair,disposition rework,disposition reject,nonconformance closed,"+
		"collar full,collar gap,collar repaired_fillet,collar bent_pass,collar bent_fail,collar rejected,collar removed,collar replaced,"+
		"curing accepted,hardened accepted,hardened not_accepted,gauges accepted,load_path engaged,"+
		"step completed,step released,step returned,step reopened,review approved,review approved_as_noted,review returned,review confirmed,"+
		"window planned,window granted,window shortened,window lost,window used", ",") {
		require.True(t, got[want], want)
	}
}

func TestStoryItems(t *testing.T) {
	t.Parallel()
	s := record(t)

	damp := byName(t, "2N-4")
	first, bad := map[string]bool{}, 0
	for _, c := range damp.Collars {
		if !first[c.Mark] && c.Outcome == "rejected" {
			bad++
		}
		first[c.Mark] = true
	}
	require.GreaterOrEqual(t, len(first), 12)
	require.Equal(t, 4, bad, "four collars of one end in the week of damp ferrules")

	refused := 0
	for _, b := range s.Batches {
		if b.Refused {
			refused++
			require.InDelta(t, 10.2, float64(*b.Flow/units.Inch), 1e-9)
		}
	}
	require.Equal(t, 1, refused)

	kept := 0
	for _, r := range s.Ends {
		for _, n := range r.Nonconformances {
			if strings.Contains(n.Requirement, "no bar cut") && n.Disposition == "use_as_is" {
				kept++
			}
		}
	}
	require.Equal(t, 2, kept)

	critical := byName(t, criticalEnd)
	least := units.Length(100)
	for _, x := range critical.Readings {
		if !x.NoAccess {
			least = min(least, x.T)
		}
	}
	require.InDelta(t, 0.03, float64(least/units.Inch), 0.0005)
	require.True(t, critical.Nonconformances[0].Critical)
	require.Equal(t, repair.DesignApprovedNoted, critical.LatestDesign().State)
	require.Equal(t, 3, critical.LatestDesign().Revision)

	require.Equal(t, "strength_low", byName(t, "5F-6").State[0].Reason)
	require.Equal(t, "not_engaged", byName(t, "1N-2").State[0].Reason)
	require.Equal(t, 7, len(gauged))
	for _, name := range []string{"2F-3", "2F-4"} {
		require.Equal(t, "CLN", byName(t, name).State[0].StepCode, "a canal end still to be cleaned")
		require.Greater(t, steelOf(mustName(name), true).loss, steelOf(mustName(name), false).loss+0.3)
	}
	require.NotNil(t, s.Program.MockupAcceptedAt)
	require.Equal(t, repair.MockupAccepted, s.Mockups[0].State)
	require.True(t, s.MockupProven(s.Mockups[0]))
	for _, d := range s.MockupDecisions {
		require.Empty(t, d.Waived)
	}

	low := 0
	for key := range low4 {
		var mean float64
		n := 0
		for _, p := range s.Pours {
			for _, sp := range s.Specimens {
				if sp.PourID == p.ID && p.StartedAt.Equal(pourOf(t, key).at) && sp.NominalDays == 4 {
					mean += float64(*sp.Strength / units.Ksi)
					n++
				}
			}
		}
		require.Contains(t, []int{3, 6}, n, "one set each of the batch placed last and the coldest, where they differ")
		if mean /= float64(n); mean < 14 && mean > 12.5 {
			low++
		}
	}
	require.Equal(t, 2, low, "two sets a little low at four days")
}

func pourOf(t *testing.T, key string) pour {
	t.Helper()
	for _, p := range pours() {
		if p.key == key {
			return p
		}
	}
	require.Fail(t, "no such pour", key)
	return pour{}
}

// Every design in force that is approved and current passes its checks: the
// demonstration must not teach that one may build what does not pass.
func TestApprovedDesignsPass(t *testing.T) {
	t.Parallel()
	s := record(t)
	for _, r := range s.Ends {
		d := r.DesignInForce()
		if d == nil || d.State != repair.DesignApproved && d.State != repair.DesignApprovedNoted || r.State[0].OutOfDate {
			continue
		}
		ev, err := r.Evaluate(s, nil)
		require.NoError(t, err)
		require.True(t, ev.Repaired.Passes(), "%s: %s", r.End.Name, ev.Repaired.Governing)
	}
}

func TestPeopleAreOneForEachRole(t *testing.T) {
	t.Parallel()
	require.Len(t, People(), len(authz.Roles()))
	for _, p := range People() {
		require.GreaterOrEqual(t, len(p.Password), 15)
		require.Equal(t, p.Name, Actor(p.Role).Name)
	}
}
