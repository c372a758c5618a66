package repair

import (
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/fault"
)

// number is a number for a refusal: three decimals at most.
func number(v float64) string {
	return strconv.FormatFloat(math.Round(float64(v*1000))/1000, 'f', -1, 64)
}

// within notes a number that is outside its limits or no number.
func within(bad *fault.Invalid, field string, v, low, high float64) {
	if !(v >= low && v <= high) {
		bad.Add(field, number(v), "must lie from %s to %s, got %s", number(low), number(high), number(v))
	}
}

// sourced notes a missing or too long source.
func sourced(bad *fault.Invalid, source, why string) {
	need(bad, "source", source, why)
	if n := len([]rune(source)); n > longestSource {
		bad.Add("source", source, "has %d characters, at most %d", n, longestSource)
	}
}

// refuse adds what a package of the domain refuses, in its own names of fields.
func refuse(bad *fault.Invalid, prefix string, err error) {
	if err == nil {
		return
	}
	if inv, ok := err.(*fault.Invalid); ok {
		for _, f := range inv.Fields {
			bad.Add(prefix+f.Field, f.Typed, "%s", f.Reason)
		}
		return
	}
	bad.Add(strings.TrimSuffix(prefix, "."), "", "%s", fault.Message(err))
}
