package calc

import "fmt"

// check sets the exponents of every node and reports the first part whose
// dimensions do not fit.
func check(n *node, params []Param) error {
	for _, kid := range n.kids {
		if err := check(kid, params); err != nil {
			return err
		}
	}
	switch n.op {
	case opSymbol:
		n.exps = dims[params[n.slot].Dim.known()].exps
	case opNeg, opAbs:
		n.exps, n.zero = n.kids[0].exps, n.kids[0].zero
	case opAdd, opSub, opMin, opMax:
		return alike(n)
	case opMul:
		n.exps = n.kids[0].exps.plus(n.kids[1].exps, 1)
	case opDiv:
		n.exps = n.kids[0].exps.plus(n.kids[1].exps, -1)
	case opSqrt:
		n.exps = exps{}.plus(n.kids[0].exps, 0.5)
	case opPow:
		return power(n)
	case opExp, opLn, opLog10:
		if !n.kids[0].exps.scalar() {
			return fmt.Errorf("%s takes a number without unit, %s has %s", n.op.name(), n.kids[0], n.kids[0].exps)
		}
	case opSin, opCos, opTan:
		if e := n.kids[0].exps; !e.scalar() && !e.same(dims[Angle].exps) {
			return fmt.Errorf("%s takes an angle, %s has %s", n.op.name(), n.kids[0], e)
		}
	}
	return nil
}

// alike checks parts that are added or compared.
func alike(n *node) error {
	n.zero = true
	var first *node
	for _, kid := range n.kids {
		if kid.zero {
			continue
		}
		n.zero = false
		if first == nil {
			first = kid
			n.exps = kid.exps
		} else if !first.exps.same(kid.exps) {
			return fmt.Errorf("%s has %s where %s has %s", kid, kid.exps, first, first.exps)
		}
	}
	return nil
}

// power checks a power. The exponent of a quantity must be a constant, or the
// dimension of the result would change with its value.
func power(n *node) error {
	base, exponent := n.kids[0], n.kids[1]
	if !exponent.exps.scalar() {
		return fmt.Errorf("the exponent %s has %s", exponent, exponent.exps)
	}
	if base.exps.scalar() {
		return nil
	}
	k, ok := exponent.constant()
	if !ok {
		return fmt.Errorf("%s has %s, so its exponent must be a constant, not %s", base, base.exps, exponent)
	}
	n.exps = exps{}.plus(base.exps, k)
	return nil
}
