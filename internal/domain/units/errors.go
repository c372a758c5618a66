package units

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Error says why a typed text could not be taken as a quantity. Find it with
// errors.As.
type Error struct {
	Field   string // which entry, in the reader's words; may be empty
	Typed   string // what was typed, shortened to 64 characters
	Problem string // what is wrong with it
	Want    string // what would be right, with an example
}

// Error names the field, what was typed, what is wrong and what is wanted.
func (e *Error) Error() string {
	var b strings.Builder
	if e.Field != "" {
		b.WriteString(e.Field + ": ")
	}
	if e.Typed != "" {
		fmt.Fprintf(&b, "%q ", e.Typed)
	}
	b.WriteString(e.Problem)
	if e.Want != "" {
		b.WriteString("; want " + e.Want)
	}
	return b.String()
}

// RangeError says that a quantity lies outside its limits. All texts are in the
// reader's units. Find it with errors.As.
type RangeError struct {
	Field    string
	Value    string
	Min, Max string // empty when that side is open
}

// Error names the field, the value and the limit that it passes.
func (e *RangeError) Error() string {
	limits := "be a finite number"
	switch {
	case e.Min != "" && e.Max != "":
		limits = "lie from " + e.Min + " to " + e.Max
	case e.Min != "":
		limits = "be at least " + e.Min
	case e.Max != "":
		limits = "be at most " + e.Max
	}
	msg := "must " + limits + ", got " + e.Value
	if e.Field == "" {
		return msg
	}
	return e.Field + ": " + msg
}

// For gives the error of this package the name of the field it came from, and
// leaves any other error and nil as they are.
func For(field string, err error) error {
	if e, ok := errors.AsType[*Error](err); ok {
		c := *e
		c.Field = field
		return &c
	}
	if e, ok := errors.AsType[*RangeError](err); ok {
		c := *e
		c.Field = field
		return &c
	}
	return err
}

// InRange returns nil when v lies from min to max, both included, and a
// *RangeError in the units of the reader otherwise. An infinite limit leaves its
// side open; a value that is not a number is always refused.
func InRange[Q Quantity](field string, v, min, max Q, sys System) error {
	return v.Kind().InRange(field, float64(v), float64(min), float64(max), sys)
}

// InRange is the function InRange for a value whose kind is known at run time.
func (k Kind) InRange(field string, v, min, max float64, sys System) error {
	if v >= min && v <= max && !math.IsInf(v, 0) {
		return nil
	}
	text := func(x float64) string {
		if math.IsInf(x, 0) {
			return ""
		}
		return join(sign(k.Exact(x, sys)), k.Label(sys))
	}
	value := text(v)
	if _, odd := odd(v); odd {
		value = "no number"
	}
	return &RangeError{Field: field, Value: value, Min: text(min), Max: text(max)}
}
