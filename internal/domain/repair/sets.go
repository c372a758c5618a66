package repair

import (
	"fmt"
	"slices"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/uhpc"
)

// digestOf is the digest of a value.
func digestOf(v any) string { return calc.Digest(v) }

// BuildSets groups the specimens of a casting into sets, with the reviews that hold
// for them. Specimens of refused batches are in none, and spare ones only once they
// are broken: then they stand with the set of their age, none left out. It is the one way from rows to
// sets: facts, stages, gates and pages all read what it returns.
func BuildSets(p Pour, batches []Batch, specimens []Specimen, reviews []SetReview) []uhpc.Set {
	gone := map[int]bool{}
	for _, b := range batches {
		if b.PourID == p.ID && b.Refused {
			gone[b.Number] = true
		}
	}
	var list []uhpc.Specimen
	for _, sp := range specimens {
		if sp.PourID == p.ID && !gone[sp.BatchNo] && !(sp.Purpose == string(uhpc.Spare) && sp.BrokenAt == nil) {
			list = append(list, sp.specimen(p))
		}
	}
	out := uhpc.Sets(list)
	for i := range out {
		if r := reviewOf(p, out[i], reviews); r != nil {
			who := r.ByName + " on " + r.At.Format("2006-01-02")
			if r.Verdict == "void" {
				out[i].Voided = r.Reason + ", " + who
			} else {
				out[i].Reviewed = who
			}
		}
	}
	return out
}

// reviewOf is the last review that was made of a set as it is now, nil if none was.
func reviewOf(p Pour, set uhpc.Set, reviews []SetReview) *SetReview {
	var out *SetReview
	digest := ""
	for i := range reviews {
		r := &reviews[i]
		if r.PourID != p.ID || batchMark(p, r.BatchNo) != set.Batch || r.Kind != string(set.Kind) || r.Curing != string(set.Cure) || r.Duty != string(set.Duty) ||
			r.NominalDays*24 != set.NominalHours {
			continue
		}
		if digest == "" {
			digest = SetDigest(set)
		}
		if r.Digest == digest && (out == nil || r.At.After(out.At)) {
			out = r
		}
	}
	return out
}

// SetDigest names the breaks of a set: one more break, a correction or an exclusion
// gives another.
func SetDigest(set uhpc.Set) string {
	type one struct {
		Mark, Broken, Excluded string
		Load, W1, W2, H        float64
		Ground                 bool
		Fracture               int
	}
	var list []one
	for _, s := range set.Specimens {
		if !s.Broken.IsZero() {
			list = append(list, one{s.Mark, s.Broken.UTC().Format("2006-01-02T15:04:05.999999"), s.Excluded, float64(s.Load), float64(s.Width[0]), float64(s.Width[1]),
				float64(s.Height), s.EndsGround, s.Fracture})
		}
	}
	slices.SortFunc(list, func(a, b one) int {
		if a.Mark < b.Mark {
			return -1
		}
		return 1
	})
	return digestOf(list)
}

// batchMark is the mark of a batch of a casting.
func batchMark(p Pour, number int) string { return fmt.Sprintf("P%03d-%d", p.Number, number) }

// SetsOf returns the sets of a casting.
func (s *Scope) SetsOf(p Pour) []uhpc.Set {
	return BuildSets(p, s.Batches, s.Specimens, s.SetReviews)
}

// Reached reports whether a batch went to an end: one whose ends are not on record
// went to every end of its casting.
func (s *Scope) Reached(b Batch, endID string) bool { return BatchReached(b, endID, s.BatchEnds) }

// BatchReached is Scope.Reached over rows.
func BatchReached(b Batch, endID string, ends []BatchEnd) bool {
	named := false
	for _, e := range ends {
		if e.BatchID == b.ID {
			if e.EndID == endID {
				return true
			}
			named = true
		}
	}
	return !named
}

// setsAt returns the sets of the batches of a casting that went to an end.
func (s *Scope) setsAt(p Pour, endID string) []uhpc.Set { return s.setsOfEnd(p, endID, s.Specimens) }

// setsOfEnd is setsAt over some of the specimens.
func (s *Scope) setsOfEnd(p Pour, endID string, specimens []Specimen) []uhpc.Set {
	elsewhere := map[string]bool{}
	for _, b := range s.Batches {
		if b.PourID == p.ID && !s.Reached(b, endID) {
			elsewhere[batchMark(p, b.Number)] = true
		}
	}
	all := BuildSets(p, s.Batches, specimens, s.SetReviews)
	if len(elsewhere) == 0 {
		return all
	}
	return slices.DeleteFunc(all, func(set uhpc.Set) bool { return elsewhere[set.Batch] })
}
