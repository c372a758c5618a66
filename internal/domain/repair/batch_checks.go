package repair

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/uhpc"
)

// Findings compares a batch that is not on record yet with the limits of the
// design basis: for a form that warns while it is filled. A batch that cannot be
// true has none, it is refused.
func (b BatchIn) Findings(number int, bs basis.Basis) []uhpc.Finding {
	row := b.row(number).batch(Pour{})
	if row.Validate(bs) != nil {
		return nil
	}
	return row.Check(bs)
}

// Gaps compares the time from placing one batch to having the next mixed with the
// limit against a cold joint. Placing begins no earlier than that, so the true gap
// is at least this long. Refused batches, which were never placed, are left out.
func Gaps(p Pour, batches []Batch, bs basis.Basis) []uhpc.Finding {
	var placed []uhpc.Batch
	for _, b := range batches {
		if b.PourID != p.ID || b.Refused {
			continue
		}
		x := b.batch(p)
		if x.PlaceStart.IsZero() {
			x.PlaceStart = x.MixEnd
		}
		placed = append(placed, x)
	}
	return uhpc.Intervals(placed, bs)
}

// Rows are the batches of an entry as they would be stored for a pour.
func (ch RecordPour) Rows(p Pour) []Batch {
	out := make([]Batch, 0, len(ch.Batches))
	for i, b := range ch.Batches {
		row := b.row(i + 1)
		row.PourID = p.ID
		out = append(out, row)
	}
	return out
}
