package uhpc

import (
	"fmt"
	"sort"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// BatchFacts is what decides which batch of an end governs a gate. A batch that
// did not go to the end, or was refused, is not among them.
type BatchFacts struct {
	Mark   string
	Placed time.Time // end of placing; zero if not recorded
	// Temperature says how cold the batch has been: all batches of an end by the
	// same measure, or nil where it is not known.
	Temperature *units.Temperature
}

// Governs names a batch that governs and why.
type Governs struct {
	Batch string
	Last  bool // placed last
	Cold  bool // the coldest
}

// Why is the reason in words.
func (g Governs) Why() string {
	switch {
	case g.Last && g.Cold:
		return "placed last and coldest"
	case g.Cold:
		return "coldest"
	}
	return "placed last"
}

// GoverningBatches returns the batches whose breaks decide a gate: the last placed,
// the coldest, or each of the two, as the design basis has it. Unknown lists why
// one of them cannot be named; a gate with such a reason stays shut. Of batches
// that are equally cold the one placed later governs. The rule is our proposal.
func GoverningBatches(batches []BatchFacts, b basis.Basis) (list []Governs, unknown []string) {
	if len(batches) == 0 {
		return nil, []string{"no batch is on record for this end"}
	}
	mode := b.Value(basis.Governing)
	in := append([]BatchFacts(nil), batches...)
	sort.SliceStable(in, func(i, j int) bool {
		if !in[i].Placed.Equal(in[j].Placed) {
			return in[i].Placed.Before(in[j].Placed)
		}
		return in[i].Mark < in[j].Mark
	})
	name := func(mark string) *Governs {
		for i := range list {
			if list[i].Batch == mark {
				return &list[i]
			}
		}
		list = append(list, Governs{Batch: mark})
		return &list[len(list)-1]
	}
	if mode < 2 {
		if in[0].Placed.IsZero() && len(in) > 1 {
			unknown = append(unknown, fmt.Sprintf("the batch placed last cannot be named: batch %s has no time of placing", in[0].Mark))
		} else {
			name(in[len(in)-1].Mark).Last = true
		}
	}
	if mode == 0 || mode >= 1.5 {
		coldest := len(in) - 1
		for i := len(in) - 1; i >= 0; i-- {
			switch t := in[i].Temperature; {
			case len(in) == 1:
			case t == nil:
				return list, append(unknown, fmt.Sprintf("the coldest batch cannot be named: batch %s has no temperature", in[i].Mark))
			case *t < *in[coldest].Temperature:
				coldest = i
			}
		}
		name(in[coldest].Mark).Cold = true
	}
	return list, unknown
}
