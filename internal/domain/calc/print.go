package calc

import (
	"strings"

	"endcast/internal/domain/units"
)

// Precedence, from loose to tight.
const (
	precSum = iota + 1
	precProduct
	precNeg
	precFraction // drawn as a fraction, or a number with its unit: only a power needs ( )
	precPower
	precAtom
)

// printer writes a tree as a line of text. leaf prints numbers and symbols and
// says how tightly they hold together.
type printer struct {
	leaf             func(*node) (text string, prec int)
	times, over, neg string
	root             string
	strings.Builder
}

func (p *printer) prec(n *node) int {
	switch n.op {
	case opNumber, opSymbol, opPi:
		_, prec := p.leaf(n)
		return prec
	case opAdd, opSub:
		return precSum
	case opMul, opDiv:
		return precProduct
	case opNeg:
		return precNeg
	case opPow:
		return precPower
	}
	return precAtom
}

func (p *printer) print(n *node, loosest int) {
	if p.prec(n) < loosest {
		p.WriteByte('(')
		defer p.WriteByte(')')
	}
	switch n.op {
	case opNumber, opSymbol, opPi:
		text, _ := p.leaf(n)
		p.WriteString(text)
	case opNeg:
		p.WriteString(p.neg)
		p.apart(n.kids[0], precNeg)
	case opAdd:
		p.pair(n, " + ", precSum)
	case opSub:
		p.pair(n, " "+p.neg+" ", precSum)
	case opMul:
		p.pair(n, p.times, precProduct)
	case opDiv:
		p.pair(n, p.over, precProduct)
	case opPow:
		p.print(n.kids[0], precAtom)
		p.WriteByte('^')
		p.print(n.kids[1], precNeg)
	default:
		name := n.op.name()
		if n.op == opSqrt {
			name = p.root
		}
		p.WriteString(name + "(")
		for i, kid := range n.kids {
			if i > 0 {
				p.WriteString(", ")
			}
			p.print(kid, 0)
		}
		p.WriteByte(')')
	}
}

func (p *printer) pair(n *node, sign string, prec int) {
	p.print(n.kids[0], prec)
	p.WriteString(sign)
	p.apart(n.kids[1], prec+1)
}

// apart prints what follows a sign. Two signs in a row are misread, and so is a
// unit with a stroke behind a stroke: both get parentheses.
func (p *printer) apart(n *node, loosest int) {
	part := printer{leaf: p.leaf, times: p.times, over: p.over, neg: p.neg, root: p.root}
	part.print(n, loosest)
	text := part.Builder.String()
	if strings.HasPrefix(text, p.neg) || len(n.kids) == 0 && strings.Contains(text, "/") && strings.HasSuffix(p.Builder.String(), p.over) {
		text = "(" + text + ")"
	}
	p.WriteString(text)
}

// String prints the formula in the grammar it was written in, with the fewest
// parentheses that read back to the same tree and keep two signs apart.
func (n *node) String() string {
	p := printer{times: "*", over: "/", neg: "-", root: "sqrt", leaf: func(n *node) (string, int) {
		if n.unit != "" {
			return n.text + "[" + n.unit + "]", precAtom
		}
		return n.text, precAtom
	}}
	p.print(n, 0)
	return p.Builder.String()
}

// Expr is the right side of the formula in the grammar of Def.
func (f *Formula) Expr() string { return f.root.String() }

// AsText is the formula on one line of plain text: V_n = 0.58·F_yw·D·t_w.
func (f *Formula) AsText() string {
	p := printer{times: "·", over: "/", neg: "−", root: "√", leaf: func(n *node) (string, int) {
		switch {
		case n.op != opNumber:
			return SymbolText(n.text), precAtom
		case n.unit != "":
			return units.PowerOfTen(n.text) + " " + unitText(n.unit), precFraction
		}
		return constantText(n.text)
	}}
	p.print(f.root, 0)
	return SymbolText(f.def.Symbol) + " = " + p.Builder.String()
}

// AsText is the line in plain text: the formula with its numbers and the result,
// a given value with its origin, or the words of a note.
func (l Line) AsText(sys units.System) string {
	if l.Kind == Remark {
		return l.Note
	}
	s := SymbolText(l.Symbol) + " = "
	if l.substitutes() {
		p := printer{times: " × ", over: " / ", neg: "−", root: "√", leaf: l.leaf(sys)}
		p.print(l.Formula.root, 0)
		s += p.Builder.String() + " = "
	}
	s += l.Dim.Kind().Working(l.Value, sys)
	if l.Origin != "" {
		s += " (" + l.Origin + ")"
	}
	return s
}

// substitutes reports whether the line has numbers to put into its formula.
func (l Line) substitutes() bool {
	return l.Formula != nil && len(l.Args) == len(l.Formula.def.Params)
}

// leaf prints symbols as their values in the units of the reader. A constant
// keeps the unit of its source: 5.5 ksi stays what the standard prints.
func (l Line) leaf(sys units.System) func(*node) (string, int) {
	return func(n *node) (string, int) {
		switch {
		case n.op == opPi:
			return "π", precAtom
		case n.op == opNumber && n.unit != "":
			return units.PowerOfTen(n.text) + " " + unitText(n.unit), precFraction
		case n.op == opNumber:
			return constantText(n.text)
		}
		text := l.Formula.def.Params[n.slot].Dim.Kind().Working(l.Args[n.slot], sys)
		switch {
		case strings.HasPrefix(text, "−"):
			return text, precNeg
		case strings.ContainsAny(text, "\u00a0×°%"):
			return text, precFraction
		}
		return text, precAtom
	}
}

// constantText prints a constant without unit. One with a power of ten is a
// product, so a power of it needs parentheses.
func constantText(text string) (string, int) {
	if s := units.PowerOfTen(text); s != text {
		return s, precFraction
	}
	return text, precAtom
}

var unitTexts = strings.NewReplacer("^2", "²", "^3", "³", "^4", "⁴", "*", "·", "in2", "in²", "in3", "in³", "in4", "in⁴",
	"mm2", "mm²", "mm3", "mm³", "mm4", "mm⁴", "degF", "°F", "degC", "°C", "deg", "°")

// unitText prints the unit of a constant.
func unitText(unit string) string { return unitTexts.Replace(unit) }
