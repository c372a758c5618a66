package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// season puts windows of a kind behind, a week apart, with the state given.
func (p *testProgram) season(kind string, states ...string) []repair.Window {
	p.t.Helper()
	now := time.Now().UTC().Truncate(time.Hour)
	var ch repair.SetWindows
	for i, state := range states {
		from := now.AddDate(0, 0, -7*(len(states)-i))
		w := repair.Window{Kind: kind, StartsAt: from, EndsAt: from.Add(6 * time.Hour), ProductiveH: 5, State: state}
		if state == repair.WindowLost {
			w.Party, w.Reason = "weather", "rain"
		}
		ch.Windows = append(ch.Windows, w)
	}
	p.Do(authz.Contractor, "1N-1", ch)
	return p.Scope("1N-1").Windows
}

func TestForecastStandsOnPastWindows(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	manager := p.Role(authz.Manager)
	path := p.Path("forecast")
	p.underClosure("1N-1", "ramp closure")
	manager.Get(path).Status(200).Has("no past window of this kind is on record", "Ramp closure")

	windows := p.season("ramp closure", repair.WindowUsed, repair.WindowLost, repair.WindowUsed)
	manager.Get(path).Status(200).Has("No past window of this kind finished a step", "weather: rain")

	// Leaving out: for a reason, by whoever may.
	first := windows[0].ID
	p.Role(authz.Inspector).Post(path, "entry", newEntryID(), "window", first, "reason", "x").Status(403)
	manager.Post(path, "entry", newEntryID(), "window", "", "reason", "start-up").Status(422).Has("Choose the window", "start-up")
	manager.Post(path, "entry", newEntryID(), "window", first, "reason", "").Status(422).Has("tells nothing of those to come")
	manager.Post(path, "entry", newEntryID(), "window", first, "reason", "the crew was learning").LeadsTo(path).Follow().Has("the crew was learning")
	sh, err := p.Store.Shifts(p.ctx, p.ID)
	require.NoError(t, err)
	require.Len(t, sh.Exclusions, 1)
	manager.Post(path, "entry", newEntryID(), "window", first, "reason", "").LeadsTo(path).Follow().Lacks("the crew was learning")

	manager.Get(path + "?windows1=0").Status(422).Has("Must be a number from 0.1 to 10")
	manager.Get(path + "?windows1=2&yield1=1.5").Status(200)
}

func TestForecastCountsStepsOfTheirWindow(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.underClosure("1N-1", "ramp closure")
	windows := p.season("ramp closure", repair.WindowUsed, repair.WindowLost, repair.WindowUsed)
	var step string
	for _, st := range p.Scope("1N-1").Sequence() {
		if st.Window == "own" {
			step = st.ID
			break
		}
	}
	actor := p.Role(authz.Contractor).User
	at := func(i int, h time.Duration) time.Time { return windows[i].StartsAt.Add(h * time.Hour) }
	for _, x := range []struct {
		end string
		at  time.Time
	}{{"1N-1", at(0, 2)}, {"1N-1", at(0, 8)}, {"1N-1", at(2, 5)}, {"1N-1", at(1, 2)}, {"1N-2", at(0, 2)}, {"1N-1", at(0, 30)}} {
		_, err := p.Pool.Exec(p.ctx, `insert into step_record (id, end_id, step_id, kind, by_user, by_name, by_role, captured_at, arrived_at)
			values (gen_random_uuid(), $1, $2, 'completed', $3, 'x', 'contractor', $4, $4)`, p.End(x.end).End.ID, step, actor.ID, x.at)
		require.NoError(t, err)
	}
	yields, outside, err := p.Store.WindowYields(p.ctx, p.ID)
	require.NoError(t, err)
	got := map[string]int{}
	for _, y := range yields {
		got[y.ID] = y.Steps
	}
	require.Equal(t, map[string]int{windows[0].ID: 2, windows[1].ID: 0, windows[2].ID: 1}, got, "late writing-up counts for three hours; a lost window takes nothing")
	require.Equal(t, map[string]int{"ramp closure": 2, "open": 1}, outside)
	left, ends, err := p.Store.Remaining(p.ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, 1, ends["ramp closure"])
	require.Equal(t, 3, ends["open"])
	require.Equal(t, 3*left["ramp closure"], left["open"])
}

func TestForecastPageInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.underClosure("1N-1", "ramp closure")
	p.season("ramp closure", repair.WindowUsed, repair.WindowLost, repair.WindowUsed)
	p.Look(p.Browser(authz.Manager), p.Path("forecast")+"?windows1=2", "forecast")
}
