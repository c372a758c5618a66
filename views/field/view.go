// Package field shows the pages for work at a girder end: large targets, words
// that can be read in the sun, one thing at a time.
package field

import (
	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// Head says at which end the reader is, large: near and far are easily mixed up.
type Head struct {
	Name    string
	Reading string // "Pier 2, back face"
	Alias   string // what older reports call the end
	Href    string // of the end's page
	Field   string // of what may be done at this end
}

// Sent is what came back with a form that could not be taken.
type Sent struct {
	Entry   string
	Bad     *fault.Invalid
	Problem string // over the whole form
}

// Moment is when something was seen or done.
type Moment struct {
	Typed string
	Now   string // in the program's own time, with its name
	Bad   *fault.Invalid
}

func (m Moment) field() ui.Field {
	return ui.Field{Name: "captured_at", Label: "Seen at", Type: "datetime-local", Value: m.Typed, Optional: true,
		Hint: "Leave it empty for now. It is " + m.Now + "."}.With(m.Bad)
}

// Picture is a photograph on record.
type Picture struct {
	Src, Thumb, Pin, Caption, When, By string // Src leads to its page
}

func (p Picture) alt() string {
	if p.Caption != "" {
		return p.Caption
	}
	return "Photograph of " + p.When
}
