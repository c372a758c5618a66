package repair_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

func TestWhatAKindOfAccessAsksIsConfirmedAndTakenBack(t *testing.T) {
	s := begin(t)
	w := s.shiftWindow(t, "track outage")
	require.ErrorContains(t, s.do(authz.Contractor, repair.ConfirmWindow{WindowID: w, Item: "power isolated"}), "does not ask for this")
	require.NoError(t, s.do(authz.Engineer, repair.SetWindowKind{Name: "track outage", Confirmations: []string{" power isolated ", "", "watchman", "watchman"}, SetupMin: 40, HandbackMin: 20, EveryDays: 14}))
	require.Equal(t, []string{"power isolated", "watchman"}, s.Shifts.Kinds[0].Confirmations)
	require.NoError(t, s.do(authz.Contractor, repair.ConfirmWindow{WindowID: w, Item: "power isolated", Note: "permit 12"}))
	require.Equal(t, fault.Duplicate, fault.KindOf(s.do(authz.Contractor, repair.ConfirmWindow{WindowID: w, Item: "power isolated"})))
	id := s.Shifts.Confirmations[0].ID
	require.ErrorContains(t, s.do(authz.Contractor, repair.WithdrawConfirmation{ID: id}), "say why")
	require.NoError(t, s.do(authz.Contractor, repair.WithdrawConfirmation{ID: id, Why: "switched on again"}))
	require.Equal(t, fault.Refused, fault.KindOf(s.do(authz.Contractor, repair.WithdrawConfirmation{ID: id, Why: "again"})))
	require.NoError(t, s.do(authz.Contractor, repair.ConfirmWindow{WindowID: w, Item: "power isolated"}), "it can be confirmed anew")
	require.Len(t, s.Shifts.Confirmations, 2, "nothing is removed")
	require.ErrorContains(t, s.do(authz.Engineer, repair.SetWindowKind{Name: "x", SetupMin: -1, EveryDays: 1000}), "setup_min")
}

// shiftWindow plans a window and returns its id.
func (s *story) shiftWindow(t *testing.T, kind string) string {
	t.Helper()
	from := time.Date(2027, 7, 17, 23, 30, 0, 0, time.UTC)
	require.NoError(t, s.do(authz.Contractor, repair.SetWindow{Window: repair.Window{Kind: kind, StartsAt: from, EndsAt: from.Add(5 * time.Hour), ProductiveH: 4, State: repair.WindowPlanned}}))
	return s.Windows[len(s.Windows)-1].ID
}

func TestAChoiceForAWindowNeverOverwritesAnother(t *testing.T) {
	s := begin(t)
	w, end := s.shiftWindow(t, "track outage"), s.Ends[0].End.ID
	require.NoError(t, s.do(authz.Contractor, repair.SetCrew{Name: "cast crew", Trades: []string{"cast"}}))
	require.ErrorContains(t, s.do(authz.Contractor, repair.SetCrew{Name: "Cast Crew"}), "another crew")
	crew := s.Shifts.Crews[0].ID
	require.ErrorContains(t, s.do(authz.Contractor, repair.ChooseForWindow{WindowID: w, EndID: end, CrewID: crew, LeaveOut: "no"}), "either")
	require.NoError(t, s.do(authz.Contractor, repair.ChooseForWindow{WindowID: w, EndID: end, CrewID: crew, Steps: 1}))
	first := s.Shifts.Choices[0].ID
	require.Equal(t, fault.Conflict, fault.KindOf(s.do(authz.Contractor, repair.ChooseForWindow{WindowID: w, EndID: end, LeaveOut: "boat is not free"})), "the page showed no choice")
	require.NoError(t, s.do(authz.Contractor, repair.ChooseForWindow{WindowID: w, EndID: end, LeaveOut: "boat is not free", From: first}))
	require.NotNil(t, s.Shifts.Choices[0].WithdrawnAt)
	require.Equal(t, "boat is not free", s.Shifts.Choices[1].Reason)
	require.NoError(t, s.do(authz.Contractor, repair.ChooseForWindow{WindowID: w, EndID: end, From: s.Shifts.Choices[1].ID}), "neither withdraws")
	require.Len(t, s.Shifts.Choices, 2)
}

func TestPromisesAreKeptOrSlipForACause(t *testing.T) {
	s := begin(t)
	w, end := s.shiftWindow(t, "track outage"), s.Ends[0].End.ID
	step := s.Steps[0].ID
	require.ErrorContains(t, s.do(authz.Contractor, repair.MakePromises{WindowID: w, Steps: []repair.PromiseIn{{EndID: end, StepID: step, Needs: "flagman"}}}), "name who clears")
	require.NoError(t, s.do(authz.Contractor, repair.MakePromises{WindowID: w, Steps: []repair.PromiseIn{{EndID: end, StepID: step, Needs: "flagman", Owner: "railway"}}}))
	require.False(t, s.Shifts.Promises[0].Ready)
	require.ErrorContains(t, s.do(authz.Contractor, repair.MakePromises{WindowID: w, Steps: []repair.PromiseIn{{EndID: end, StepID: step}}}), "promised for this window already")
	id := s.Shifts.Promises[0].ID
	require.ErrorContains(t, s.do(authz.Contractor, repair.SettlePromise{ID: id, State: "slipped", Why: "no flagman"}), "cause")
	require.NoError(t, s.do(authz.Contractor, repair.SettlePromise{ID: id, State: "slipped", Why: "no flagman", Cause: repair.SlipCauses()[0]}))
	require.Equal(t, fault.Conflict, fault.KindOf(s.do(authz.Contractor, repair.SettlePromise{ID: id, State: "kept"})))
	require.ErrorContains(t, s.do(authz.Contractor, repair.SetEffort{StepID: step, Minutes: 0}), "minutes")
	require.NoError(t, s.do(authz.Contractor, repair.SetEffort{StepID: step, Minutes: 90, Source: "timed in March", Uses: map[string]int{"forms": 1}}))
	require.NoError(t, s.do(authz.Contractor, repair.SetStock{Name: "forms", OnHand: 3}))
	require.ErrorContains(t, s.do(authz.Contractor, repair.SetStock{Name: "forms", OnHand: -3}), "on_hand")
}

// A window is left out of the sample only with a reason, and the forecast's input says so.
func TestTheForecastStandsOnTheRecord(t *testing.T) {
	s := begin(t)
	today := time.Date(2027, 7, 16, 12, 0, 0, 0, time.UTC)
	var past []repair.WindowYield
	for i, state := range []string{repair.WindowUsed, repair.WindowLost, repair.WindowUsed, repair.WindowPlanned} {
		w := repair.Window{ID: string(rune('a' + i)), Kind: "track outage", StartsAt: today.AddDate(0, 0, -14*(4-i)), State: state}
		s.Windows = append(s.Windows, w)
		past = append(past, repair.WindowYield{Window: w, Steps: map[string]int{repair.WindowUsed: 2}[state]})
	}
	past = append(past, repair.WindowYield{Window: repair.Window{ID: "z", Kind: "track outage", StartsAt: today.AddDate(0, 0, 7), State: repair.WindowGranted}})
	require.ErrorContains(t, s.do(authz.Manager, repair.LeaveOutWindow{WindowID: "a"}), "say why")
	require.NoError(t, s.do(authz.Manager, repair.LeaveOutWindow{WindowID: "a", Reason: "crew was learning"}))
	in := s.ForecastInput(today, s.Shifts, past, map[string]int{"track outage": 6}, 1)
	require.Len(t, in.Kinds, 1)
	k := in.Kinds[0]
	require.Len(t, k.History, 3, "a window behind that nobody wrote up tells nothing")
	require.Equal(t, "crew was learning", k.History[0].Excluded)
	require.True(t, k.History[1].Lost)
	require.Len(t, k.Ahead, 1)
	require.Equal(t, 42*24*time.Hour, k.Tail, "28 days to the last test and 14 to close")
	require.NoError(t, s.do(authz.Manager, repair.LeaveOutWindow{WindowID: "a"}))
	require.Empty(t, s.ForecastInput(today, s.Shifts, past, nil, 1).Kinds[0].History[0].Excluded)
}
