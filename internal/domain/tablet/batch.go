package tablet

import (
	"encoding/json"
	"time"

	"endcast/internal/domain/fault"
)

// MaxBatch is how many entries come at once.
const MaxBatch = 100

// Batch is what a tablet sends in one go. The entries are kept as they came, since
// each is stored word for word and answered by itself.
type Batch struct {
	Format  int               `json:"format"`
	SentAt  string            `json:"sent_at"` // the tablet's clock
	Entries []json.RawMessage `json:"entries"`

	Sent time.Time `json:"-"`
}

// DecodeBatch reads what a tablet sent.
func DecodeBatch(raw []byte) (Batch, error) {
	var b Batch
	if err := strict(raw, &b); err != nil {
		return Batch{}, err
	}
	var bad fault.Invalid
	if b.Format < 1 || b.Format > Format {
		bad.Add("format", "", "entries of format 1 to %d are understood here, got %d: load the tablet's page anew", Format, b.Format)
	}
	var err error
	if b.Sent, err = time.Parse(time.RFC3339, b.SentAt); err != nil || b.Sent.UTC().Year() < 1970 || b.Sent.UTC().Year() > 9000 {
		bad.Add("sent_at", short(b.SentAt), "must be a time with its offset such as 2026-04-30T21:15:00-04:00")
	}
	if len(b.Entries) > MaxBatch {
		bad.Add("entries", "", "at most %d come at once, got %d", MaxBatch, len(b.Entries))
	}
	return b, bad.Err()
}

// Named is the number of an entry that cannot be read otherwise, so that its refusal
// finds it on the tablet; "" where even that is missing.
func Named(raw []byte) string {
	var x struct {
		ID string `json:"id"`
	}
	if json.Unmarshal(raw, &x) != nil {
		return ""
	}
	return short(x.ID)
}
