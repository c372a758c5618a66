package calc

// LineKind says what a line of a sheet is.
type LineKind uint8

// Kinds of line.
const (
	Computed LineKind = iota // a formula with its substitution and value
	Known                    // a value that was given, with its origin
	Remark                   // plain words
)

// Line is one line of a calculation sheet.
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
