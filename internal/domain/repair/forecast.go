package repair

import (
	"slices"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/forecast"
)

// WindowYield is a window with the steps that were finished in it.
type WindowYield struct {
	Window
	Steps int
}

// ForecastTail is the time from the last step worked in a window to a closed end: the greatest age that a strength
// of the sequence asks for, and closing.
func (s *Scope) ForecastTail() time.Duration {
	days := 0.0
	for _, st := range s.Sequence() {
		if st.Retired {
			continue
		}
		for _, q := range st.Requires {
			days = max(days, q.AgeDays)
		}
	}
	return time.Duration((days*24 + s.Basis().Value(basis.ForecastClosing)) * float64(time.Hour))
}

// ForecastInput brings together what a forecast resamples. left counts the steps that remain by kind of window; a kind
// with nothing left and no windows ahead or behind is not in it. today is an instant of the program's clock.
func (s *Scope) ForecastInput(today time.Time, shifts Shifts, past []WindowYield, left map[string]int, seed uint64) forecast.Input {
	b := s.Basis()
	in := forecast.Input{From: today, Runs: int(b.Value(basis.ForecastRuns)), Least: int(b.Value(basis.ForecastSample)), Seed: seed}
	if due := s.Program.CompletionDue; due != nil {
		// The whole of the day counts.
		in.Due = time.Date(due.Year(), due.Month(), due.Day(), 23, 59, 59, 0, today.Location())
	}
	out := map[string]string{}
	for _, x := range shifts.Exclusions {
		if x.WithdrawnAt == nil {
			out[x.WindowID] = x.Reason
		}
	}
	at := map[string]int{}
	kind := func(name string) *forecast.Kind {
		i, ok := at[name]
		if !ok {
			i = len(in.Kinds)
			at[name] = i
			in.Kinds = append(in.Kinds, forecast.Kind{Name: name, Remaining: left[name], Tail: s.ForecastTail()})
		}
		return &in.Kinds[i]
	}
	names := make([]string, 0, len(left))
	for name := range left {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		kind(name)
	}
	for _, w := range past {
		k := kind(w.Kind)
		if w.StartsAt.Before(today) {
			if w.State == WindowPlanned {
				continue // nobody wrote up what became of it
			}
			k.History = append(k.History, forecast.Window{Starts: w.StartsAt, Steps: w.Steps, Lost: w.State == WindowLost, Excluded: out[w.ID]})
		} else if w.State != WindowLost {
			k.Ahead = append(k.Ahead, w.StartsAt)
		}
	}
	for i := range in.Kinds {
		k := &in.Kinds[i]
		slices.SortFunc(k.Ahead, time.Time.Compare)
		for _, x := range shifts.Kinds {
			if x.Name == k.Name {
				k.Every = time.Duration(x.EveryDays * 24 * float64(time.Hour))
			}
		}
	}
	in.Kinds = slices.DeleteFunc(in.Kinds, func(k forecast.Kind) bool { return k.Remaining == 0 && len(k.History) == 0 && len(k.Ahead) == 0 })
	slices.SortStableFunc(in.Kinds, func(a, b forecast.Kind) int {
		if a.Name < b.Name {
			return -1
		}
		return 1
	})
	return in
}
