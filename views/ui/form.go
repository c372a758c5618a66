package ui

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/a-h/templ"
)

// common returns the attributes that every kind of control shares. A value that
// must be given is marked with aria-required, not required: the server answers with
// every reason at once, in the same words with and without scripts.
func (f Field) common() templ.Attributes {
	a := templ.Attributes{}
	if d := f.describedBy(); d != "" {
		a["aria-describedby"] = d
	}
	if f.Reason != "" {
		a["aria-invalid"] = "true"
	}
	if !f.Optional {
		a["aria-required"] = "true"
	}
	if f.InputMode != "" {
		a["inputmode"] = f.InputMode
	}
	if f.Autocomplete != "" {
		a["autocomplete"] = f.Autocomplete
	} else if f.Type != "password" {
		a["autocomplete"] = "off"
	}
	return a
}

func summaryTitle(n int) string {
	if n == 1 {
		return "One value could not be taken"
	}
	return strconv.Itoa(n) + " values could not be taken"
}

// Sentence begins a reason with a capital and ends it with a stop: inside the
// program errors are written in lower case, as parts of a longer text.
func Sentence(text string) string {
	if text == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(text)
	out := string(unicode.ToUpper(first)) + text[size:]
	if !strings.HasSuffix(out, ".") {
		out += "."
	}
	return out
}
