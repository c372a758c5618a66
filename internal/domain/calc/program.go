package calc

import (
	"fmt"
	"math"
)

// instr is one step of a compiled formula. arg is the slot of a symbol or the
// place of a constant.
type instr struct {
	op  op
	arg uint8
}

// program is a formula in reverse order for a small stack machine. Every
// intermediate value is stored before it is used again, so no processor can fuse
// a product with a sum and the same arguments give the same bits everywhere the
// elementary functions of the standard library do.
type program struct {
	code   []instr
	consts []float64
	height int
}

// compile adds the steps of n; below is the number of values already stacked.
func (pr *program) compile(n *node, below int) error {
	if below+1 > pr.height {
		if pr.height = below + 1; pr.height > deepestStack {
			return fmt.Errorf("needs more than %d intermediate values", deepestStack)
		}
	}
	o := n.op
	switch o {
	case opNumber, opPi:
		v := n.val
		if o == opPi {
			v = math.Pi
		}
		if len(pr.consts) > math.MaxUint8 {
			return fmt.Errorf("holds more than %d constants", math.MaxUint8)
		}
		pr.code = append(pr.code, instr{opNumber, uint8(len(pr.consts))})
		pr.consts = append(pr.consts, v)
		return nil
	case opSymbol:
		pr.code = append(pr.code, instr{opSymbol, uint8(n.slot)})
		return nil
	case opPow:
		// Short powers are products: faster than the general one, and exact
		// where it is.
		k, ok := n.kids[1].constant()
		special := map[float64]op{2: opSquare, 3: opCube, 0.5: opSqrt}
		if s, found := special[k]; ok && found {
			if err := pr.compile(n.kids[0], below); err != nil {
				return err
			}
			pr.code = append(pr.code, instr{op: s})
			return nil
		}
	case opSin, opCos, opTan:
		if !n.kids[0].exps.scalar() {
			o = o - opSin + opSinDeg
		}
	}
	for i, kid := range n.kids {
		if err := pr.compile(kid, below+min(i, 1)); err != nil {
			return err
		}
		if i > 0 && (o == opMin || o == opMax) {
			pr.code = append(pr.code, instr{op: o})
		}
	}
	if o != opMin && o != opMax {
		pr.code = append(pr.code, instr{op: o})
	}
	return nil
}

const radPerDeg = math.Pi / 180

// run evaluates the program. args must hold a value for every slot.
func (pr *program) run(args []float64) float64 {
	var stack [deepestStack + 1]float64
	top := 0 // stack[top] is the last value; stack[0] is never read
	for _, in := range pr.code {
		switch in.op {
		case opNumber:
			top++
			stack[top] = pr.consts[in.arg]
			continue
		case opSymbol:
			top++
			stack[top] = args[in.arg]
			continue
		case opAdd, opSub, opMul, opDiv, opPow, opMin, opMax:
			a, b := stack[top-1], stack[top]
			top--
			switch in.op {
			case opAdd:
				a += b
			case opSub:
				a -= b
			case opMul:
				a *= b
			case opDiv:
				a /= b
			case opPow:
				a = math.Pow(a, b)
			case opMin:
				a = min(a, b)
			case opMax:
				a = max(a, b)
			}
			stack[top] = a
			continue
		}
		x := stack[top]
		switch in.op {
		case opNeg:
			x = -x
		case opSquare:
			x *= x
		case opCube:
			x = float64(x*x) * x
		case opSqrt:
			x = math.Sqrt(x)
		case opAbs:
			x = math.Abs(x)
		case opExp:
			x = math.Exp(x)
		case opLn:
			x = math.Log(x)
		case opLog10:
			x = math.Log10(x)
		case opSin:
			x = math.Sin(x)
		case opCos:
			x = math.Cos(x)
		case opTan:
			x = math.Tan(x)
		case opSinDeg:
			x = math.Sin(x * radPerDeg)
		case opCosDeg:
			x = math.Cos(x * radPerDeg)
		case opTanDeg:
			x = math.Tan(x * radPerDeg)
		}
		stack[top] = x
	}
	return stack[top]
}
