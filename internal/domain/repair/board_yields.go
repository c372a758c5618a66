package repair

import (
	"slices"
	"time"

	"endcast/internal/domain/sequence"
)

// lateWriting is how long after its end a window still takes in what was written up.
const lateWriting = 3 * time.Hour

// Yields counts the steps completed in each window, by its identifier, from counts by
// the quarter of an hour; a completion counts for the window that had begun last, a
// lost window takes none. Windows that begin or end off the quarter take in the whole
// of it. outside counts, by kind, what was completed outside every window.
func (b Board) Yields(list []Window) (inside map[string]int, outside map[string]int) {
	inside, outside = map[string]int{}, map[string]int{}
	byKind := map[string][]Window{}
	for _, w := range list {
		if w.State != WindowLost {
			byKind[w.Kind] = append(byKind[w.Kind], w)
		}
	}
	for _, ws := range byKind {
		slices.SortFunc(ws, func(a, c Window) int { return a.StartsAt.Compare(c.StartsAt) })
	}
	for kind, quarters := range b.Worked {
		ws := byKind[kind]
		for _, q := range quarters {
			// The windows that had begun, the last of them first.
			i, _ := slices.BinarySearchFunc(ws, q.At, func(w Window, at time.Time) int {
				if w.StartsAt.Truncate(15 * time.Minute).After(at) {
					return 1
				}
				return -1
			})
			found := false
			for i--; i >= 0 && !found; i-- {
				if found = !q.At.After(ws[i].EndsAt.Add(lateWriting)); found {
					inside[ws[i].ID] += int(q.N)
				}
			}
			if !found {
				outside[kind] += int(q.N)
			}
		}
	}
	return inside, outside
}

// WindowYields are the windows with the steps that were finished in them.
func (b Board) WindowYields(list []Window) (yields []WindowYield, outside map[string]int) {
	inside, outside := b.Yields(list)
	yields = make([]WindowYield, len(list))
	for i, w := range list {
		yields[i] = WindowYield{Window: w, Steps: inside[w.ID]}
	}
	return yields, outside
}

// TrackWords are the words of what stops an open end.
func (o BoardOpen) TrackWords() string {
	if o.Track == "" {
		return "nothing in the way"
	}
	return sequence.Track(o.Track).Words()
}

// ReasonWords are the words of the reason.
func (o BoardOpen) ReasonWords() string {
	if o.Reason == "" {
		return "free to go on"
	}
	return sequence.Reason(o.Reason).Words()
}
