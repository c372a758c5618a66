package calc

import (
	"fmt"
	"strconv"
	"strings"

	"endcast/internal/domain/units"
)

// Limits that keep a formula readable on a sheet and its evaluation on a fixed
// stack.
const (
	longestExpr  = 1000 // bytes
	deepestExpr  = 60   // nested parts
	deepestStack = 24   // intermediate values
	mostParams   = 32
)

// parser is a recursive descent over the text of one formula.
//
//	sum     = product { ("+" | "-") product }
//	product = sign { ("*" | "/") sign }
//	sign    = [ "-" ] power
//	power   = atom [ "^" sign ]
//	atom    = number [ "[" unit "]" ] | name [ "(" sum { "," sum } ")" ] | "(" sum ")"
type parser struct {
	src    string
	pos    int
	depth  int
	params []Param
}

func parse(src string, params []Param) (*node, error) {
	if len(src) > longestExpr {
		return nil, fmt.Errorf("longer than %d bytes", longestExpr)
	}
	p := &parser{src: src, params: params}
	n, err := p.sum()
	if err != nil {
		return nil, err
	}
	if c := p.peek(); c != 0 || p.pos < len(src) {
		return nil, p.errorf("unexpected %q", c)
	}
	return n, nil
}

func (p *parser) errorf(format string, args ...any) error {
	return fmt.Errorf("at byte %d: %s", p.pos, fmt.Sprintf(format, args...))
}

// peek skips spaces and returns the next byte, 0 at the end.
func (p *parser) peek() byte {
	for p.pos < len(p.src) && (p.src[p.pos] == ' ' || p.src[p.pos] == '\n' || p.src[p.pos] == '\t') {
		p.pos++
	}
	if p.pos == len(p.src) {
		return 0
	}
	return p.src[p.pos]
}

func (p *parser) take(c byte) bool {
	if p.peek() == c && p.pos < len(p.src) {
		p.pos++
		return true
	}
	return false
}

func (p *parser) sum() (*node, error) {
	if p.depth++; p.depth > deepestExpr {
		return nil, p.errorf("nested more than %d deep", deepestExpr)
	}
	defer func() { p.depth-- }()
	return p.chain(p.product, '+', opAdd, '-', opSub)
}

func (p *parser) product() (*node, error) { return p.chain(p.sign, '*', opMul, '/', opDiv) }

func (p *parser) chain(part func() (*node, error), c1 byte, op1 op, c2 byte, op2 op) (*node, error) {
	left, err := part()
	for err == nil {
		o := op1
		if !p.take(c1) {
			if !p.take(c2) {
				break
			}
			o = op2
		}
		var right *node
		if right, err = part(); err == nil {
			left = &node{op: o, kids: []*node{left, right}}
		}
	}
	return left, err
}

func (p *parser) sign() (*node, error) {
	if p.depth++; p.depth > deepestExpr {
		return nil, p.errorf("nested more than %d deep", deepestExpr)
	}
	defer func() { p.depth-- }()
	if p.take('-') {
		n, err := p.sign()
		return &node{op: opNeg, kids: []*node{n}}, err
	}
	base, err := p.atom()
	if err != nil || !p.take('^') {
		return base, err
	}
	exponent, err := p.sign()
	return &node{op: opPow, kids: []*node{base, exponent}}, err
}

func (p *parser) atom() (*node, error) {
	c := p.peek()
	switch {
	case p.take('('):
		n, err := p.sum()
		if err == nil && !p.take(')') {
			err = p.errorf("missing )")
		}
		return n, err
	case digit(c) || c == '.':
		return p.number()
	case letter(c):
		return p.name()
	case c == 0:
		return nil, p.errorf("something is missing")
	}
	return nil, p.errorf("unexpected %q", c)
}

func (p *parser) number() (*node, error) {
	start := p.pos
	for p.pos < len(p.src) && (digit(p.src[p.pos]) || p.src[p.pos] == '.') {
		p.pos++
	}
	// An exponent needs digits, so that 2*e stays readable as a symbol.
	if m := p.pos; m < len(p.src) && p.src[m] == 'e' {
		m++
		if m < len(p.src) && (p.src[m] == '-' || p.src[m] == '+') {
			m++
		}
		if m < len(p.src) && digit(p.src[m]) {
			for m < len(p.src) && digit(p.src[m]) {
				m++
			}
			p.pos = m
		}
	}
	n := &node{op: opNumber, text: p.src[start:p.pos]}
	v, err := strconv.ParseFloat(n.text, 64)
	if err != nil {
		return nil, p.errorf("bad number %q", n.text)
	}
	n.val, n.zero = v, v == 0
	if p.take('[') {
		text, _, closed := strings.Cut(p.src[p.pos:], "]")
		if !closed {
			return nil, p.errorf("missing ]")
		}
		scale, offset, e, err := unitExps(text)
		if err != nil {
			return nil, p.errorf("%v", err)
		}
		p.pos += len(text) + 1
		n.unit, n.exps, n.zero = strings.TrimSpace(text), e, false
		n.val = float64(v*scale) + offset
	}
	return n, nil
}

func (p *parser) name() (*node, error) {
	start := p.pos
	for p.pos < len(p.src) && (letter(p.src[p.pos]) || digit(p.src[p.pos]) || p.src[p.pos] == '_' || p.src[p.pos] == '\'') {
		p.pos++
	}
	name := p.src[start:p.pos]
	if f, ok := functions[name]; ok {
		if !p.take('(') {
			return nil, p.errorf("%s needs its arguments in ( )", name)
		}
		n := &node{op: f.op}
		for {
			arg, err := p.sum()
			if err != nil {
				return nil, err
			}
			n.kids = append(n.kids, arg)
			if !p.take(',') {
				break
			}
		}
		if !p.take(')') {
			return nil, p.errorf("missing ) after the arguments of %s", name)
		}
		if len(n.kids) < f.min || len(n.kids) > f.max {
			return nil, p.errorf("%s takes %d to %d arguments, got %d", name, f.min, f.max, len(n.kids))
		}
		return n, nil
	}
	for i, q := range p.params {
		if q.Symbol == name {
			return &node{op: opSymbol, text: name, slot: i}, nil
		}
	}
	if name == "pi" {
		return &node{op: opPi, text: name}, nil
	}
	return nil, p.errorf("%q is not among the parameters", name)
}

// unitExps reads the unit of a constant: names of package units with whole
// exponents, joined by * and /, for example kip/in, ksi^3, N*mm.
func unitExps(text string) (scale, offset float64, e exps, err error) {
	scale = 1
	rest := strings.TrimSpace(text)
	for first, k := true, 1.0; ; first = false {
		end := strings.IndexAny(rest, "*/")
		part := rest
		if end >= 0 {
			part = rest[:end]
		}
		name, power, raised := strings.Cut(strings.TrimSpace(part), "^")
		n := 1
		if raised {
			if n, err = strconv.Atoi(power); err != nil || n < 1 || n > 9 {
				return 0, 0, e, fmt.Errorf("bad exponent in the unit %.40q", text)
			}
		}
		kind, s, o, ok := units.Find(name)
		if !ok {
			return 0, 0, e, fmt.Errorf("unknown unit %.40q", text)
		}
		for range n {
			if k > 0 {
				scale *= s
			} else {
				scale /= s
			}
		}
		e = e.plus(exps{}.plus(kindExps(kind), float64(n)), k)
		if first && end < 0 && n == 1 {
			offset = o // only a temperature standing alone has a zero point
		}
		if end < 0 {
			return scale, offset, e, nil
		}
		k = 1
		if rest[end] == '/' {
			k = -1
		}
		rest = rest[end+1:]
	}
}

func kindExps(k units.Kind) exps {
	for _, d := range dims {
		if d.kind == k {
			return d.exps
		}
	}
	return exps{}
}

func digit(c byte) bool  { return c >= '0' && c <= '9' }
func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }
