// Package fault names the few ways in which a request can be refused, so that
// every layer speaks of a refusal in the same words and one table in package web
// turns it into a status and a page.
//
// A rule returns an *Error made by one of the functions below, or an *Invalid
// that lists the fields that could not be read. Both travel wrapped: a caller asks
// with KindOf, errors.Is(err, fault.NotFound) or errors.As.
package fault

import (
	"errors"
	"fmt"
	"strings"
)

// Kind says why something was refused. A Kind is itself an error, so that
// errors.Is(err, fault.NotFound) works on any wrapped fault.
type Kind uint8

// Kinds of refusal. Internal is the zero value: an error that nobody classified.
const (
	Internal    Kind = iota // a defect or a failure of the machine
	NotFound                // no such thing, or none that this person may know of
	Forbidden               // the person's role does not allow it
	SignIn                  // nobody is signed in
	Malformed               // the request could not be read at all
	Method                  // the address does not take this kind of request
	Fields                  // fields of a form hold values that cannot be taken
	Refused                 // a rule of the work refuses: a hold, a missing survey
	Conflict                // the record moved since it was read
	Duplicate               // the same thing exists already
	TooLarge                // the body is larger than the route takes
	TooMany                 // too many requests in a short time
	Unavailable             // something needed does not answer now
)

var kindNames = [...]string{"internal", "not found", "forbidden", "sign in", "malformed", "wrong method", "invalid fields",
	"refused", "conflict", "duplicate", "too large", "too many", "unavailable"}

// String returns the name of the kind in lower case.
func (k Kind) String() string {
	if int(k) < len(kindNames) {
		return kindNames[k]
	}
	return "unknown"
}

// Error makes a Kind usable as the target of errors.Is.
func (k Kind) Error() string { return k.String() }

// Error is a refusal with a message for the person. Message is a plain sentence
// without secrets: it is shown as it stands. Cause, if any, goes to the log only.
type Error struct {
	Kind    Kind
	Message string
	Cause   error
}

// Error returns the message, with the cause after it.
func (e *Error) Error() string {
	if e.Cause != nil {
		return e.Message + ": " + e.Cause.Error()
	}
	return e.Message
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

// Is reports whether target is the kind of e.
func (e *Error) Is(target error) bool {
	k, ok := target.(Kind)
	return ok && k == e.Kind
}

// New returns a refusal of the given kind with a formatted message.
func New(k Kind, format string, args ...any) error {
	return &Error{Kind: k, Message: fmt.Sprintf(format, args...)}
}

// Wrap returns a refusal of the given kind that hides cause from the person and
// keeps it for the log. It returns nil for a nil cause.
func Wrap(k Kind, cause error, format string, args ...any) error {
	if cause == nil {
		return nil
	}
	return &Error{Kind: k, Message: fmt.Sprintf(format, args...), Cause: cause}
}

// Field is one value that could not be taken.
type Field struct {
	Field  string // name of the form field, or column of an import
	Typed  string // what the person typed, shown back unchanged
	Reason string // lower case: names the limit and the value
}

// Invalid lists every field of one form that could not be taken. The zero value
// is ready to use: Add what is wrong, then return Err().
type Invalid struct {
	Fields []Field
}

// Add notes that a field cannot be taken, with a formatted reason.
func (v *Invalid) Add(field, typed, reason string, args ...any) {
	if len(args) > 0 {
		reason = fmt.Sprintf(reason, args...)
	}
	v.Fields = append(v.Fields, Field{Field: field, Typed: typed, Reason: reason})
}

// Err returns v as an error, or nil when no field was added.
func (v *Invalid) Err() error {
	if v == nil || len(v.Fields) == 0 {
		return nil
	}
	return v
}

// Error lists the fields and their reasons.
func (v *Invalid) Error() string {
	parts := make([]string, len(v.Fields))
	for i, f := range v.Fields {
		parts[i] = f.Field + ": " + f.Reason
	}
	return strings.Join(parts, "; ")
}

// Is reports whether target is the kind Fields.
func (v *Invalid) Is(target error) bool {
	k, ok := target.(Kind)
	return ok && k == Fields
}

// All returns the fields; none for a nil Invalid.
func (v *Invalid) All() []Field {
	if v == nil {
		return nil
	}
	return v.Fields
}

// Of returns the fault of one field, or nil. It is safe on a nil Invalid, so a
// page that shows a form for the first time can ask as well.
func (v *Invalid) Of(field string) *Field {
	if v == nil {
		return nil
	}
	for i := range v.Fields {
		if v.Fields[i].Field == field {
			return &v.Fields[i]
		}
	}
	return nil
}

// KindOf returns the kind of an error, looking through wrapping: Internal for one
// that was never classified.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	var v *Invalid
	if errors.As(err, &v) {
		return Fields
	}
	var k Kind
	if errors.As(err, &k) {
		return k
	}
	return Internal
}

// Message returns the sentence to show for an error, or "" when the error was
// never meant for a person.
func Message(err error) string {
	var e *Error
	if errors.As(err, &e) {
		return e.Message
	}
	var v *Invalid
	if errors.As(err, &v) {
		return v.Error()
	}
	return ""
}
