package repair

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash"
	"math"
	"time"

	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// CuringReading is one stored temperature of a curing log. Readings are not
// journaled one by one: the digest in their log's row stands for them.
type CuringReading struct {
	LogID string            `db:"log_id" json:"log_id"`
	At    time.Time         `db:"at" json:"at"`
	Temp  units.Temperature `db:"temp_c" json:"temp_c"`
}

// ReadingsHash digests readings one after another, in order of time: SHA-256 over
// the microseconds since 1970 and the bits of the temperature, eight bytes each,
// the greatest first.
type ReadingsHash struct {
	h hash.Hash
	n int
}

// NewReadingsHash starts a digest.
func NewReadingsHash() *ReadingsHash { return &ReadingsHash{h: sha256.New()} }

// Add adds a reading.
func (r *ReadingsHash) Add(t uhpc.Temperature) {
	var b [16]byte
	binary.BigEndian.PutUint64(b[:8], uint64(t.At.UnixMicro()))
	binary.BigEndian.PutUint64(b[8:], math.Float64bits(float64(t.Value)))
	r.h.Write(b[:])
	r.n++
}

// Count is how many were added.
func (r *ReadingsHash) Count() int { return r.n }

// Sum is the digest in hex.
func (r *ReadingsHash) Sum() string { return hex.EncodeToString(r.h.Sum(nil)) }
