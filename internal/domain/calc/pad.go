package calc

import (
	"encoding/json"
	"fmt"
)

// LineKind says what a line of a sheet is.
type LineKind uint8

// Kinds of line.
const (
	Computed LineKind = iota // a formula with its substitution and value
	Known                    // a value that was given, with its origin
	Remark                   // plain words
)

var lineKinds = [...]string{Computed: "computed", Known: "given", Remark: "note"}

// Line is one line of a calculation sheet. It can be stored as JSON; its formula
// is stored as text and compiled again on reading, so that a kept sheet prints as
// it was however the program's own formulas have changed since.
type Line struct {
	Kind    LineKind
	Symbol  string
	Name    string
	Value   float64
	Dim     Dim
	Origin  string    // of a Known line: where the value comes from
	Note    string    // of a Remark
	Formula *Formula  // of a Computed line
	Args    []float64 // of a Computed line, in the order of the formula's parameters
	Clause  Clause
}

// Pad collects the lines of a sheet. A nil *Pad is valid and means that nobody
// reads along. A Pad must not be used by two goroutines at once.
type Pad struct{ lines []Line }

// NewPad returns an empty pad.
func NewPad() *Pad { return &Pad{} }

// Given records a value that the calculation starts from and its origin, such as
// the survey or the setting of the design basis that it was taken from.
func (p *Pad) Given(symbol, name string, d Dim, value float64, origin string) {
	if p != nil {
		p.lines = append(p.lines, Line{Kind: Known, Symbol: symbol, Name: name, Dim: d, Value: value, Origin: origin})
	}
}

// Note records plain words, such as which of two formulas applies and why.
func (p *Pad) Note(text string) {
	if p != nil {
		p.lines = append(p.lines, Line{Kind: Remark, Note: text})
	}
}

// Lines returns what was recorded, in order.
func (p *Pad) Lines() []Line {
	if p == nil {
		return nil
	}
	return append([]Line(nil), p.lines...)
}

// lineJSON is the JSON form of a Line.
type lineJSON struct {
	Kind    string   `json:"kind"`
	Symbol  string   `json:"symbol,omitempty"`
	Name    string   `json:"name,omitempty"`
	Value   number   `json:"value"`
	Dim     Dim      `json:"dim"`
	Origin  string   `json:"origin,omitempty"`
	Note    string   `json:"note,omitempty"`
	Formula *Formula `json:"formula,omitempty"`
	Args    []number `json:"args,omitempty"`
	Clause  Clause   `json:"clause,omitzero"`
}

// MarshalJSON writes the line; numbers that JSON lacks are written as texts.
func (l Line) MarshalJSON() ([]byte, error) {
	if int(l.Kind) >= len(lineKinds) {
		return nil, fmt.Errorf("calc: a line of the unknown kind %d", l.Kind)
	}
	var args []number
	for _, a := range l.Args {
		args = append(args, number(a))
	}
	return json.Marshal(lineJSON{lineKinds[l.Kind], l.Symbol, l.Name, number(l.Value), l.Dim, l.Origin, l.Note, l.Formula, args, l.Clause})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (l *Line) UnmarshalJSON(b []byte) error {
	var j lineJSON
	if err := json.Unmarshal(b, &j); err != nil {
		return fmt.Errorf("calc: line: %w", err)
	}
	*l = Line{Symbol: j.Symbol, Name: j.Name, Value: float64(j.Value), Dim: j.Dim, Origin: j.Origin, Note: j.Note,
		Formula: j.Formula, Clause: j.Clause}
	for _, a := range j.Args {
		l.Args = append(l.Args, float64(a))
	}
	for i, name := range lineKinds {
		if name == j.Kind {
			l.Kind = LineKind(i)
			return nil
		}
	}
	return fmt.Errorf("calc: no line is called %.40q", j.Kind)
}
