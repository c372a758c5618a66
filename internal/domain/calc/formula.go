// Package calc is the arithmetic that explains itself. A formula is written once,
// as text; the number is computed from that very text and the sheet prints that
// very text, so the two cannot drift apart.
//
// A check defines its formulas as package variables with Define, evaluates them
// with a Pad when someone wants to read the sheet and without one when only the
// number counts, and closes with Finish. Which formula applies is decided in Go;
// every branch is a formula of its own.
//
// All values are in the coherent set of package units: mm, N, MPa, degrees,
// degrees Celsius.
package calc

import (
	"encoding/json"
	"errors"
	"fmt"

	"endcast/internal/domain/basis"
)

// Clause says where a formula or a check comes from.
type Clause struct {
	Document string    `json:"document,omitempty"` // a published standard or report
	Article  string    `json:"article,omitempty"`
	Edition  string    `json:"edition,omitempty"`
	Tag      basis.Tag `json:"tag,omitempty"` // how well the source is confirmed
}

// String is the clause on one line, without its tag.
func (c Clause) String() string {
	s := c.Document
	if c.Edition != "" {
		s += " (" + c.Edition + ")"
	}
	if c.Article != "" {
		s += " " + c.Article
	}
	return s
}

// Param is one symbol on the right side of a formula.
type Param struct {
	Symbol string `json:"symbol"`
	Name   string `json:"name"`
	Dim    Dim    `json:"dim"`
}

// Def is a formula as its author writes it. Expr may use numbers, the symbols of
// Params, + - * / ^ ( ), sqrt, min, max, abs, exp, ln, log10, sin, cos, tan and pi.
// A constant with a unit is written 5.5[ksi] and converts to the coherent set;
// units join as in 44e8[ksi^3] or 1[kip/in]. Symbols take a subscript after the
// first underscore and may be Greek by name: phi_c, F_yw, Delta_F, f'_c.
type Def struct {
	Symbol string  `json:"symbol"`
	Name   string  `json:"name"`
	Expr   string  `json:"expr"`
	Dim    Dim     `json:"dim"`
	Params []Param `json:"params"`
	Clause Clause  `json:"clause"`
}

// Formula is a parsed, dimension-checked and compiled Def. It is immutable and
// may be shared between goroutines.
type Formula struct {
	def  Def
	root *node
	prog program
}

// Define compiles a formula at package initialisation. It panics when the text
// does not parse or its dimensions do not fit: both are mistakes in the program,
// never of a user.
func Define(d Def) *Formula {
	f, err := Compile(d)
	if err != nil {
		panic(err)
	}
	return f
}

// Compile is Define with an error, for a definition that is read from outside.
func Compile(d Def) (*Formula, error) {
	fail := func(err error) (*Formula, error) {
		return nil, fmt.Errorf("calc: formula %s = %.80s: %w", d.Symbol, d.Expr, err)
	}
	d.Params = append([]Param(nil), d.Params...)
	if len(d.Params) > mostParams {
		return fail(fmt.Errorf("more than %d parameters", mostParams))
	}
	if !symbol(d.Symbol) {
		return fail(fmt.Errorf("%q cannot be a symbol", d.Symbol))
	}
	seen := map[string]bool{}
	for _, p := range d.Params {
		if _, reserved := functions[p.Symbol]; reserved || !symbol(p.Symbol) || seen[p.Symbol] {
			return fail(fmt.Errorf("%q cannot be a parameter, or is one twice", p.Symbol))
		}
		seen[p.Symbol] = true
	}
	root, err := parse(d.Expr, d.Params)
	if err != nil {
		return fail(err)
	}
	if err := check(root, d.Params); err != nil {
		return fail(err)
	}
	if want := dims[d.Dim.known()].exps; !root.zero && !root.exps.same(want) {
		return fail(fmt.Errorf("gives %s where a %s has %s", root.exps, d.Dim, want))
	}
	used := map[int]bool{}
	root.slots(used)
	for i, p := range d.Params {
		if !used[i] {
			return fail(fmt.Errorf("the parameter %s is not used", p.Symbol))
		}
	}
	f := &Formula{def: d, root: root}
	if err := f.prog.compile(root, 0); err != nil {
		return fail(err)
	}
	return f, nil
}

// symbol reports whether s can stand for a quantity.
func symbol(s string) bool {
	if s == "" || len(s) > 40 || !letter(s[0]) {
		return false
	}
	for i := range len(s) {
		if c := s[i]; !letter(c) && !digit(c) && c != '_' && c != '\'' {
			return false
		}
	}
	return true
}

func (n *node) slots(used map[int]bool) {
	if n.op == opSymbol {
		used[n.slot] = true
	}
	for _, kid := range n.kids {
		kid.slots(used)
	}
}

// Def returns the definition that the formula was made from.
func (f *Formula) Def() Def {
	d := f.def
	d.Params = append([]Param(nil), d.Params...)
	return d
}

// Symbol is the symbol on the left side.
func (f *Formula) Symbol() string { return f.def.Symbol }

// Dim is the dimension of the result.
func (f *Formula) Dim() Dim { return f.def.Dim }

// Eval computes the formula; args stand in the order of Params. A non-nil p also
// records the line. Nothing is allocated when p is nil. What mathematics does not
// define (a root of a negative number, 0/0) gives NaN, a division by zero an
// infinity; Finish never lets either pass. A wrong number of arguments
// is a mistake in the program and panics.
func (f *Formula) Eval(p *Pad, args ...float64) float64 {
	if len(args) != len(f.def.Params) {
		f.miscalled(len(args))
	}
	v := f.prog.run(args)
	if p != nil {
		p.lines = append(p.lines, Line{
			Kind: Computed, Symbol: f.def.Symbol, Name: f.def.Name, Value: v, Dim: f.def.Dim,
			Formula: f, Args: append([]float64(nil), args...), Clause: f.def.Clause,
		})
	}
	return v
}

func (f *Formula) miscalled(n int) {
	panic(fmt.Sprintf("calc: formula %s takes %d arguments, got %d", f.def.Symbol, len(f.def.Params), n))
}

// MarshalJSON writes the definition, so that a kept sheet can be printed again
// after the program has moved on to another formula.
func (f *Formula) MarshalJSON() ([]byte, error) { return json.Marshal(f.def) }

// UnmarshalJSON reads and compiles a definition.
func (f *Formula) UnmarshalJSON(b []byte) error {
	var d Def
	if err := json.Unmarshal(b, &d); err != nil {
		return errors.Join(errors.New("calc: formula"), err)
	}
	g, err := Compile(d)
	if err != nil {
		return err
	}
	*f = *g
	return nil
}
