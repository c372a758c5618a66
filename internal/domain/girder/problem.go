package girder

import (
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/fault"
)

// Problem is one value that cannot be true of a girder end: the field it stands
// in, the value found and the limit it breaks, in words.
type Problem struct {
	Field string // path of the field, for example "bearing.start"
	Value string
	Limit string // reads after "must"
}

// Error says which field must keep which limit, and what was found.
func (p Problem) Error() string { return p.Field + " must " + p.Limit + ", got " + p.Value }

// Problems is every problem found in one look, in the order of the fields.
type Problems []Problem

// Error lists the problems.
func (ps Problems) Error() string {
	texts := make([]string, len(ps))
	for i, p := range ps {
		texts[i] = p.Error()
	}
	return strings.Join(texts, "; ")
}

// Err returns ps as a *fault.Invalid, by field, or nil when there are none.
func (ps Problems) Err() error {
	var v fault.Invalid
	for _, p := range ps {
		v.Fields = append(v.Fields, fault.Field{Field: p.Field, Typed: p.Value, Reason: "must " + p.Limit + ", got " + p.Value})
	}
	return v.Err()
}

// Of reports whether a field has a problem.
func (ps Problems) Of(field string) bool {
	for _, p := range ps {
		if p.Field == field {
			return true
		}
	}
	return false
}

// find adds a problem unless ok. ok must be written so that a NaN makes it false.
func (ps *Problems) find(ok bool, field string, value float64, limit string) {
	if ok && !math.IsNaN(value) && !math.IsInf(value, 0) {
		return
	}
	*ps = append(*ps, Problem{Field: field, Value: number(value), Limit: limit})
}

// mm prints a length for a message; messages of the domain speak in millimetres.
func mm(v float64) string { return number(v) + " mm" }

func number(v float64) string {
	return strconv.FormatFloat(math.Round(float64(v*1000))/1000, 'f', -1, 64)
}
