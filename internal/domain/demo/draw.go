package demo

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/units"
)

// seed is the first part of every draw.
const seed = "brindle hollow viaduct, 1957"

// uniform draws a number between 0 and 1, both excluded, for what its parts name.
func uniform(parts ...string) float64 {
	sum := sha256.Sum256([]byte(seed + "\n" + strings.Join(parts, "\n")))
	return (float64(binary.BigEndian.Uint64(sum[:8])>>12) + 0.5) / (1 << 52)
}

// between draws a number from lo to hi.
func between(lo, hi float64, parts ...string) float64 { return lo + (hi-lo)*uniform(parts...) }

// normal draws from a normal distribution. Source: Box and Muller (1958).
func normal(mean, deviation float64, parts ...string) float64 {
	p := strings.Join(parts, "\n")
	return mean + deviation*math.Sqrt(-2*math.Log(uniform(p, "radius")))*math.Cos(2*math.Pi*uniform(p, "angle"))
}

// exponential draws from an exponential distribution.
func exponential(mean float64, parts ...string) float64 { return -mean * math.Log(uniform(parts...)) }

// pick draws one of several.
func pick[T any](from []T, parts ...string) T { return from[int(uniform(parts...)*float64(len(from)))] }

func clip(v, lo, hi float64) float64 { return max(lo, min(hi, v)) }

// round is v to the nearest multiple of step.
func round(v, step float64) float64 { return math.Round(v/step) * step }

// typed is a number as a person types it in US units, and what it reads as.
func typed[Q units.Quantity](v float64, decimals int) (Q, string) {
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	q, err := units.Parse[Q](text, units.US)
	if err != nil {
		panic(err) // a number printed by this very function
	}
	return q, text
}
