package repair

import (
	"slices"
	"strings"
)

// Consequences is what a change of settings does to the ends of a program. Ends
// are named in the order of the bridge.
type Consequences struct {
	Ends       int
	Moves      []Move   // ends whose next step is another one, by the pair of steps
	OutOfDate  []string // approved designs that go out of date
	Current    []string // approved designs that were out of date and are no more
	Capacities []string // ends whose capacity, corroded or repaired, is another number
	Short      []string // ends whose capacity falls below what they must carry
	Enough     []string // ends whose capacity was below and no longer is
	Stopped    []string // ends free to go on that something stops now
	Freed      []string // ends that something stopped and nothing stops now
}

// Move is a change of the next step that some ends share. An empty name stands
// for a closed end.
type Move struct {
	From, To string
	Ends     []string
}

// Moved is the number of ends whose next step is another one.
func (c Consequences) Moved() int {
	n := 0
	for _, m := range c.Moves {
		n += len(m.Ends)
	}
	return n
}

// Consequences compares the stored states of a scope with those of the same
// scope after a change, recomputed. The ends must be the same in both.
func (s *Scope) Consequences(after *Scope) Consequences {
	was := make(map[string]State, len(s.Ends))
	for _, r := range s.Ends {
		if len(r.State) == 1 {
			was[r.End.ID] = r.State[0]
		}
	}
	ends := slices.Clone(after.Ends)
	slices.SortFunc(ends, func(a, b *Record) int { return strings.Compare(sortKey(a), sortKey(b)) })
	out := Consequences{Ends: len(ends)}
	at := map[[2]string]int{}
	for _, r := range ends {
		old, ok := was[r.End.ID]
		if !ok || len(r.State) != 1 {
			continue
		}
		out.note(at, old, r.State[0])
	}
	return out
}

func sortKey(r *Record) string {
	if len(r.State) == 1 {
		return r.State[0].SortKey
	}
	return r.End.Name
}

func (c *Consequences) note(at map[[2]string]int, old, now State) {
	if old.StepCode != now.StepCode || old.Closed != now.Closed {
		pair := [2]string{old.StepName, now.StepName}
		i, ok := at[pair]
		if !ok {
			i = len(c.Moves)
			at[pair] = i
			c.Moves = append(c.Moves, Move{From: pair[0], To: pair[1]})
		}
		c.Moves[i].Ends = append(c.Moves[i].Ends, now.Name)
	}
	add := func(list *[]string, when bool) {
		if when {
			*list = append(*list, now.Name)
		}
	}
	add(&c.OutOfDate, now.OutOfDate && !old.OutOfDate)
	add(&c.Current, old.OutOfDate && !now.OutOfDate)
	add(&c.Capacities, differ(old.Capacity, now.Capacity) || differ(old.Repaired, now.Repaired) || old.CapacityNew != now.CapacityNew)
	add(&c.Short, short(now) && !short(old))
	add(&c.Enough, short(old) && !short(now))
	add(&c.Stopped, !now.Closed && now.Reason != "" && old.Reason == "" && !old.Closed)
	add(&c.Freed, !now.Closed && now.Reason == "" && old.Reason != "" && !old.Closed)
}

func short(s State) bool { return s.Capacity != nil && *s.Capacity < s.Demand }

func differ[T comparable](a, b *T) bool {
	if a == nil || b == nil {
		return a != b
	}
	return *a != *b
}
