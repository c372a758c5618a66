package repair

import (
	"slices"
	"time"

	"endcast/internal/domain/sequence"
)

// lateWriting is how long after its end a window still takes in what was written up.
const lateWriting = 3 * time.Hour

// BoardYields counts the steps completed in each window, by its identifier, from
// counts by the quarter of an hour; a completion counts for the window that had begun
// last, a lost window takes none. Windows that begin off the quarter take in the whole
// of it.
func (b Board) BoardYields(list []Window) map[string]int64 {
	out := map[string]int64{}
	byKind := map[string][]Window{}
	for _, w := range list {
		if w.State != WindowLost {
			byKind[w.Kind] = append(byKind[w.Kind], w)
		}
	}
	for kind, ws := range byKind {
		slices.SortFunc(ws, func(a, c Window) int { return c.StartsAt.Compare(a.StartsAt) })
		for _, q := range b.Worked[kind] {
			for _, w := range ws {
				if !w.StartsAt.Truncate(15*time.Minute).After(q.At) && !q.At.After(w.EndsAt.Add(lateWriting)) {
					out[w.ID] += q.N
					break
				}
			}
		}
	}
	return out
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
