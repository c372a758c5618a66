package repair

import (
	"cmp"
	"slices"
	"strings"
)

// NearMarks returns up to most of the known marks that a mistyped one may have
// meant, the nearest first: those that differ in a few letters, or only in case,
// spaces, strokes and leading zeros.
func NearMarks(mark string, known []string, most int) []string {
	type near struct {
		mark string
		off  int
	}
	want := []rune(bare(mark))
	if len(want) == 0 || len(want) > 64 {
		return nil
	}
	reach := 1 + len(want)/4
	var list []near
	for _, k := range known {
		if off := edits(want, []rune(bare(k)), reach); off <= reach {
			list = append(list, near{k, off})
		}
	}
	slices.SortFunc(list, func(a, b near) int { return cmp.Or(cmp.Compare(a.off, b.off), cmp.Compare(a.mark, b.mark)) })
	var out []string
	for _, n := range list[:min(most, len(list))] {
		out = append(out, n.mark)
	}
	return out
}

// bare is a mark in capitals, its parts joined by one stroke, numbers without
// leading zeros.
func bare(mark string) string {
	parts := strings.FieldsFunc(strings.ToUpper(mark), func(r rune) bool { return strings.ContainsRune(" -_/.\t", r) })
	for i, p := range parts {
		head := strings.TrimRight(p, "0123456789")
		number := strings.TrimLeft(p[len(head):], "0")
		parts[i] = head + number
	}
	return strings.Join(parts, "-")
}

// edits is the least number of letters to add, drop, change or swap with their
// neighbor to turn a into b; it gives up, with more than limit, where their
// lengths alone differ by more.
func edits(a, b []rune, limit int) int {
	if len(a)-len(b) > limit || len(b)-len(a) > limit {
		return limit + 1
	}
	before, last, now := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		now[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			now[j] = min(last[j]+1, now[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				now[j] = min(now[j], before[j-2]+1)
			}
		}
		before, last, now = last, now, before
	}
	return last[len(b)]
}
