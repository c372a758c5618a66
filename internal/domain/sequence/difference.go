package sequence

import (
	"fmt"
	"slices"
	"strings"
)

// Difference is one thing that an edited sequence does to the stored one, in
// words for the person who edits it.
type Difference struct {
	StepID string // empty for a step that is new
	Step   string // its name
	Text   string
}

// Differences lists what edited does to old, in the order of the edited steps,
// the retired ones last. Steps of old that edited does not name are retired by
// it; Order counts only among the steps in use.
func Differences(old, edited []Step) []Difference {
	was := map[string]Step{}
	place := map[string]int{}
	for _, s := range Ordered(old) {
		was[s.ID] = s
		if !s.Retired {
			place[s.ID] = len(place) + 1
		}
	}
	var out []Difference
	add := func(s Step, format string, args ...any) {
		out = append(out, Difference{s.ID, s.Name, fmt.Sprintf(format, args...)})
	}
	named := map[string]bool{}
	kept := keptInOrder(old, edited)
	for i, s := range Ordered(edited) {
		named[s.ID] = true
		o, known := was[s.ID]
		switch {
		case s.ID == "" || !known:
			add(s, "is added at place %d", i+1)
			continue
		case o.Retired:
			add(s, "is brought back at place %d", i+1)
		case !kept[s.ID]:
			add(s, "moves from place %d to place %d", place[s.ID], i+1)
		}
		for _, text := range changed(o, s) {
			add(s, "%s", text)
		}
	}
	for _, s := range Ordered(old) {
		if !s.Retired && !named[s.ID] {
			add(s, "is retired; what was done under it stays on record")
		}
	}
	return out
}

// changed tells in words how one step differs from what it was.
func changed(o, s Step) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if o.Name != s.Name {
		say("was called %q", o.Name)
	}
	if !sameRoles(o.Performer, s.Performer) {
		say("is completed by %s, no longer by %s", rolesInWords(s.Performer), rolesInWords(o.Performer))
	}
	switch {
	case s.Hold && !o.Hold:
		say("becomes a hold that %s releases", rolesInWords(s.Releaser))
	case o.Hold && !s.Hold:
		say("is no longer a hold")
	case s.Hold && !sameRoles(o.Releaser, s.Releaser):
		say("is released by %s, no longer by %s", rolesInWords(s.Releaser), rolesInWords(o.Releaser))
	}
	switch {
	case s.AppliesToAll && !o.AppliesToAll:
		say("is for every end, no longer for chosen ones only")
	case o.AppliesToAll && !s.AppliesToAll:
		say("is for chosen ends only, no longer for every end")
	}
	if o.Window != s.Window {
		say("needs %s, no longer %s", WindowWords(s.Window), WindowWords(o.Window))
	}
	for _, r := range s.Requires {
		if !slices.Contains(o.Requires, r) {
			say("asks for %s", r.Words())
		}
	}
	for _, r := range o.Requires {
		if !slices.Contains(s.Requires, r) {
			say("no longer asks for %s", r.Words())
		}
	}
	return out
}

// WindowWords is the kind of window of a step in plain words.
func WindowWords(kind string) string {
	switch kind {
	case "":
		return "no window"
	case OwnWindow:
		return "a window of the end's own access"
	}
	return fmt.Sprintf("a window of %q", kind)
}

// Words is a requirement in plain words, without the unit of a strength: that is
// the reader's and belongs to the page.
func (r Requirement) Words() string {
	switch r.Condition {
	case Photo:
		if r.Value == 1 {
			return "one photograph"
		}
		return fmt.Sprintf("%g photographs", r.Value)
	case TickList:
		items := r.Items()
		if len(items) == 1 {
			return "a tick list: " + items[0]
		}
		return fmt.Sprintf("a tick list of %d lines: %s", len(items), strings.Join(items, "; "))
	}
	return r.Condition.Words()
}

// RolesInWords joins roles as "inspector or contractor".
func RolesInWords(list []Role) string { return rolesInWords(list) }

func sameRoles(a, b []Role) bool {
	a, b = slices.Clone(a), slices.Clone(b)
	slices.Sort(a)
	slices.Sort(b)
	return slices.Equal(a, b)
}

// keptInOrder finds the longest run of steps in use that keep their order, so
// that a step moved past ten others is one move and not eleven.
func keptInOrder(old, edited []Step) map[string]bool {
	at := map[string]int{}
	for _, s := range Ordered(old) {
		if !s.Retired {
			at[s.ID] = len(at)
		}
	}
	var ids []string
	for _, s := range Ordered(edited) {
		if _, ok := at[s.ID]; ok && s.ID != "" {
			ids = append(ids, s.ID)
		}
	}
	best, before := make([]int, len(ids)), make([]int, len(ids))
	last := -1
	for i := range ids {
		best[i], before[i] = 1, -1
		for j := range i {
			if at[ids[j]] < at[ids[i]] && best[j]+1 > best[i] {
				best[i], before[i] = best[j]+1, j
			}
		}
		if last < 0 || best[i] > best[last] {
			last = i
		}
	}
	out := map[string]bool{}
	for i := last; i >= 0; i = before[i] {
		out[ids[i]] = true
	}
	return out
}
