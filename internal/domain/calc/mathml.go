package calc

import (
	"html"
	"strings"

	"endcast/internal/domain/units"
)

// The signs that MathML names by character.
const (
	invisibleTimes = "<mo>\u2062</mo>"
	applyFunction  = "<mo>\u2061</mo>"
	timesSign      = "<mo>×</mo>"
	minusSign      = "<mo>−</mo>"
)

// markup writes a tree as presentation MathML. A nil line prints symbols, any
// other the values of its arguments.
type markup struct {
	line *Line
	leaf func(*node) (text string, prec int)
	strings.Builder
}

// MathML is the formula with its symbols, as one math element. Its alttext is
// AsText.
func (f *Formula) MathML() string {
	m := &markup{}
	m.print(f.root, 0)
	return math1(f.AsText(), SymbolMathML(f.def.Symbol)+"<mo>=</mo>"+m.Builder.String())
}

// SubstitutionMathML is the line with numbers in the units of the reader: symbol,
// numbers in place of symbols, result. A given value has no middle part; a note
// has no mathematics and gives an empty text.
func (l Line) SubstitutionMathML(sys units.System) string {
	if l.Kind == Remark {
		return ""
	}
	body := SymbolMathML(l.Symbol) + "<mo>=</mo>"
	if l.substitutes() {
		m := &markup{line: &l, leaf: l.leaf(sys)}
		m.print(l.Formula.root, 0)
		body += m.Builder.String() + "<mo>=</mo>"
	}
	return math1(l.AsText(sys), body+quantity(l.Dim.Kind().Working(l.Value, sys)))
}

// WorkingMathML is SubstitutionMathML without the symbol, to stand behind the
// formula in one chain: = numbers = value.
func (l Line) WorkingMathML(sys units.System) string {
	if !l.substitutes() {
		return l.SubstitutionMathML(sys)
	}
	m := &markup{line: &l, leaf: l.leaf(sys)}
	m.print(l.Formula.root, 0)
	_, alt, _ := strings.Cut(l.AsText(sys), " = ")
	return math1("= "+alt, "<mo>=</mo>"+m.Builder.String()+"<mo>=</mo>"+quantity(l.Dim.Kind().Working(l.Value, sys)))
}

// math1 wraps a row in the math element.
func math1(alt, body string) string {
	return `<math xmlns="http://www.w3.org/1998/Math/MathML" display="block" alttext="` + html.EscapeString(alt) +
		`"><mrow>` + body + `</mrow></math>`
}

// quantity prints a number and its unit.
func quantity(text string) string {
	figure, unit, found := strings.Cut(text, "\u00a0")
	out := ""
	if rest, negative := strings.CutPrefix(figure, "−"); negative {
		out, figure = minusSign, rest
	}
	out += "<mn>" + html.EscapeString(figure) + "</mn>"
	if found {
		out += "<mtext>\u00a0" + html.EscapeString(unit) + "</mtext>"
	}
	if strings.Count(out, "<m") > 1 {
		return "<mrow>" + out + "</mrow>"
	}
	return out
}

func (m *markup) prec(n *node) int {
	switch n.op {
	case opAdd, opSub:
		return precSum
	case opMul:
		return precProduct
	case opNeg:
		return precNeg
	case opDiv:
		return precFraction
	case opPow, opExp:
		return precPower
	case opNumber, opSymbol:
		if m.line != nil {
			_, prec := m.leaf(n)
			return prec
		}
		if n.unit != "" || n.op == opNumber && strings.Contains(n.text, "e") {
			return precFraction
		}
	}
	return precAtom
}

// print writes n, in parentheses when it holds less tightly than loosest.
func (m *markup) print(n *node, loosest int) {
	if m.prec(n) < loosest {
		m.fence("(", ")", n)
		return
	}
	switch n.op {
	case opNumber, opSymbol, opPi:
		m.number(n)
	case opNeg:
		m.WriteString("<mrow>" + minusSign)
		m.follow(n.kids[0], precProduct)
		m.WriteString("</mrow>")
	case opAdd, opSub, opMul:
		m.WriteString("<mrow>")
		m.pair(n)
		m.WriteString("</mrow>")
	case opDiv:
		m.element("mfrac", n.kids[0], n.kids[1])
	case opPow:
		m.WriteString("<msup>")
		m.print(n.kids[0], precAtom)
		m.print(n.kids[1], 0)
		m.WriteString("</msup>")
	case opExp:
		m.WriteString("<msup><mi>e</mi>")
		m.print(n.kids[0], 0)
		m.WriteString("</msup>")
	case opSqrt:
		m.element("msqrt", n.kids[0])
	case opAbs:
		m.fence("|", "|", n.kids[0])
	default:
		name := "<mi>" + n.op.name() + "</mi>"
		if n.op == opLog10 {
			name = "<msub><mi>log</mi><mn>10</mn></msub>"
		}
		m.WriteString("<mrow>" + name + applyFunction)
		if (n.op == opMin || n.op == opMax) && m.long(n) {
			m.stack(n.kids)
		} else {
			m.fence("(", ")", n.kids...)
		}
		m.WriteString("</mrow>")
	}
}

// number writes a number, a symbol or its value.
func (m *markup) number(n *node) {
	switch {
	case m.line != nil:
		text, _ := m.leaf(n)
		if n.op == opPi {
			m.WriteString("<mi>π</mi>")
			return
		}
		if n.unit != "" {
			text = strings.Replace(text, " ", "\u00a0", 1)
		}
		m.WriteString(quantity(text))
	case n.op == opNumber && n.unit != "":
		m.WriteString(quantity(units.PowerOfTen(n.text) + "\u00a0" + unitText(n.unit)))
	case n.op == opNumber:
		m.WriteString(quantity(units.PowerOfTen(n.text)))
	default:
		m.WriteString(SymbolMathML(n.text))
	}
}

// pair writes a sum, a difference or a product.
func (m *markup) pair(n *node) {
	left, right := n.kids[0], n.kids[1]
	switch n.op {
	case opAdd:
		m.print(left, precSum)
		m.WriteString("<mo>+</mo>")
		m.follow(right, precProduct)
	case opSub:
		m.print(left, precSum)
		m.WriteString(minusSign)
		m.follow(right, precProduct)
	default:
		m.print(left, precProduct)
		if m.line != nil || numeric(left, false) && left.unit != "" || numeric(right, true) {
			m.WriteString(timesSign)
		} else {
			m.WriteString(invisibleTimes)
		}
		m.follow(right, precNeg+1)
	}
}

// follow writes a part behind a sign; it may not begin with another sign.
func (m *markup) follow(n *node, loosest int) {
	if m.negative(n) {
		loosest = precAtom + 1
	}
	m.print(n, loosest)
}

// negative reports whether n is drawn with a minus at its front.
func (m *markup) negative(n *node) bool {
	switch n.op {
	case opNeg:
		return true
	case opMul, opAdd, opSub:
		return m.prec(n) >= precProduct && m.negative(n.kids[0])
	case opSymbol:
		return m.line != nil && m.prec(n) == precNeg
	}
	return false
}

// numeric reports whether the first (or last) thing drawn of n is a number.
func numeric(n *node, first bool) bool {
	switch n.op {
	case opNumber:
		return true
	case opPow:
		return numeric(n.kids[0], first)
	case opMul:
		if first {
			return numeric(n.kids[0], first)
		}
		return numeric(n.kids[1], first)
	}
	return false
}

func (m *markup) element(name string, kids ...*node) {
	m.WriteString("<" + name + ">")
	for _, kid := range kids {
		m.print(kid, 0)
	}
	m.WriteString("</" + name + ">")
}

func (m *markup) fence(open, shut string, kids ...*node) {
	m.WriteString("<mrow><mo>" + open + "</mo>")
	for i, kid := range kids {
		if i > 0 {
			m.WriteString("<mo>,</mo>")
		}
		m.print(kid, 0)
	}
	m.WriteString("<mo>" + shut + "</mo></mrow>")
}

// longList is the length in characters from which the parts of a min or max are
// set below each other: beside each other they would run off the paper.
const longList = 60

func (m *markup) long(n *node) bool {
	p := printer{times: "×", over: "/", neg: "−", root: "√", leaf: func(n *node) (string, int) {
		switch {
		case m.line != nil:
			return m.leaf(n)
		case n.op == opNumber:
			return n.text, precAtom
		}
		return SymbolText(n.text), precAtom
	}}
	p.print(n, 0)
	return len([]rune(p.Builder.String())) > longList
}

// stack writes the parts of a function below each other.
func (m *markup) stack(kids []*node) {
	m.WriteString("<mrow><mo>(</mo><mtable>")
	for i, kid := range kids {
		m.WriteString("<mtr><mtd><mrow>")
		m.print(kid, 0)
		if i < len(kids)-1 {
			m.WriteString("<mo>,</mo>")
		}
		m.WriteString("</mrow></mtd></mtr>")
	}
	m.WriteString("</mtable><mo>)</mo></mrow>")
}
