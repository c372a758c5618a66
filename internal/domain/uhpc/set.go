package uhpc

import (
	"fmt"
	"math"
	"sort"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// SetState says what a set of specimens is worth.
type SetState string

// States of a set.
const (
	TooFew  SetState = "too_few" // fewer count than a set needs
	Sound   SetState = "sound"
	Review  SetState = "review"  // spread calls for a look by a named person
	Invalid SetState = "invalid" // spread too wide to mean anything
)

// Set is the specimens of one batch with the same cure, duty, kind and nominal
// age. They are never mixed with others.
type Set struct {
	Batch        string
	Kind         Kind
	Cure         Cure
	Duty         Duty
	NominalHours float64
	Specimens    []Specimen
	// Reviewed is who looked at a wide spread and let it stand; empty if nobody.
	Reviewed string
	// Voided is why a named person took the whole set out; empty if nobody did.
	Voided string
}

// Sets groups specimens; the order is by batch, cure, duty, nominal age and kind.
func Sets(specimens []Specimen) []Set {
	type key struct {
		batch string
		cure  Cure
		duty  Duty
		hours float64
		kind  Kind
	}
	at := map[key]int{}
	var out []Set
	for _, s := range specimens {
		k := key{s.Batch, s.Cure, s.Duty, s.NominalHours, s.Kind}
		i, ok := at[k]
		if !ok {
			i = len(out)
			at[k] = i
			out = append(out, Set{Batch: s.Batch, Kind: s.Kind, Cure: s.Cure, Duty: s.Duty, NominalHours: s.NominalHours})
		}
		out[i].Specimens = append(out[i].Specimens, s)
	}
	sort.SliceStable(out, func(i, j int) bool {
		a, b := out[i], out[j]
		switch {
		case a.Batch != b.Batch:
			return a.Batch < b.Batch
		case a.Cure != b.Cure:
			return a.Cure < b.Cure
		case a.Duty != b.Duty:
			return a.Duty < b.Duty
		case a.NominalHours != b.NominalHours:
			return a.NominalHours < b.NominalHours
		}
		return a.Kind < b.Kind
	})
	return out
}

// Stats are the numbers of a set, of the specimens that count. MeanBroken is the
// mean of all that were broken, those left out included: both are always shown.
type Stats struct {
	Cast, Broken, Counted int
	Mean, Least, Greatest units.Stress
	Range                 units.Stress
	RangeShare            float64 // of the mean
	Deviation             units.Stress
	MeanBroken            units.Stress
	State                 SetState
	Why                   string
}

// Stats computes the numbers of the set.
func (s Set) Stats(b basis.Basis) Stats {
	var counted, broken []float64
	for _, sp := range s.Specimens {
		if sp.Broken.IsZero() {
			continue
		}
		r := sp.Break(nil, b)
		broken = append(broken, float64(r.Converted))
		if r.Counts {
			counted = append(counted, float64(r.Converted))
		}
	}
	st := Spread(counted)
	st.Cast, st.Broken, st.Counted = len(s.Specimens), len(broken), len(counted)
	st.MeanBroken = Spread(broken).Mean
	need := int(b.Value(basis.SetSize))
	review, invalid := b.Value(basis.RangeReview), b.Value(basis.RangeInvalid)
	switch {
	case s.Voided != "":
		st.State, st.Why = Invalid, "void: "+s.Voided
	case len(counted) < need:
		st.State = TooFew
		st.Why = fmt.Sprintf("%d of the set count, at least %d needed", len(counted), need)
	case st.RangeShare > invalid:
		st.State = Invalid
		st.Why = fmt.Sprintf("range is %.2f %% of the mean, at most %.2f %%", 100*st.RangeShare, 100*invalid)
	case st.RangeShare > review:
		st.State = Review
		st.Why = fmt.Sprintf("range is %.2f %% of the mean; above %.2f %% a review is needed", 100*st.RangeShare, 100*review)
		if s.Reviewed != "" {
			st.State = Sound
			st.Why += ", done by " + s.Reviewed
		}
	default:
		st.State = Sound
	}
	return st
}

// Spread is the mean, range and sample standard deviation of plain numbers; an
// empty list gives zeros.
func Spread(values []float64) Stats {
	var st Stats
	n := float64(len(values))
	if n == 0 {
		return st
	}
	least, greatest, sum := math.Inf(1), math.Inf(-1), 0.0
	for _, v := range values {
		sum += v
		least, greatest = math.Min(least, v), math.Max(greatest, v)
	}
	mean := sum / n
	squares := 0.0
	for _, v := range values {
		squares += (v - mean) * (v - mean)
	}
	if n > 1 {
		st.Deviation = units.Stress(math.Sqrt(squares / (n - 1)))
	}
	st.Counted = len(values)
	st.Mean, st.Least, st.Greatest = units.Stress(mean), units.Stress(least), units.Stress(greatest)
	st.Range = st.Greatest - st.Least
	if mean > 0 {
		st.RangeShare = float64(st.Range) / mean
	}
	return st
}
