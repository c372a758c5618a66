package monitor

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash"
	"math"
)

// SamplesHash digests the samples of a recording row by row: SHA-256 over the
// nanoseconds since 1970 and the bits of each value, eight bytes each, the greatest
// first; every NaN has the bits of one.
type SamplesHash struct {
	h   hash.Hash
	buf []byte
}

// NewSamplesHash starts a digest.
func NewSamplesHash() *SamplesHash { return &SamplesHash{h: sha256.New()} }

var oneNaN = math.Float64bits(math.NaN())

// Add adds a row.
func (s *SamplesHash) Add(t int64, values []float64) {
	s.buf = binary.BigEndian.AppendUint64(s.buf[:0], uint64(t))
	for _, v := range values {
		bits := oneNaN
		if v == v {
			bits = math.Float64bits(v)
		}
		s.buf = binary.BigEndian.AppendUint64(s.buf, bits)
	}
	s.h.Write(s.buf)
}

// Sum is the digest in hex.
func (s *SamplesHash) Sum() string { return hex.EncodeToString(s.h.Sum(nil)) }
