package calc

import (
	"crypto/sha256"
	"encoding/hex"
)

// Digest returns the SHA-256 of the canonical form of v, in hexadecimal: equal
// values give equal digests, on every machine and in every process.
func Digest(v any) string {
	sum := sha256.Sum256(canonical(v))
	return hex.EncodeToString(sum[:])
}
