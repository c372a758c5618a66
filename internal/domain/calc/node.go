package calc

import "math"

// op is the operation of a node and, below, of an instruction.
type op uint8

const (
	opNumber op = iota
	opSymbol
	opPi
	opNeg
	opAdd
	opSub
	opMul
	opDiv
	opPow
	opSqrt
	opAbs
	opExp
	opLn
	opLog10
	opSin
	opCos
	opTan
	opMin
	opMax
	// Only in compiled programs.
	opSquare
	opCube
	opSinDeg
	opCosDeg
	opTanDeg
)

// functions are the names that may be called, with how many arguments they take.
var functions = map[string]struct {
	op       op
	min, max int
}{
	"sqrt": {opSqrt, 1, 1}, "abs": {opAbs, 1, 1}, "exp": {opExp, 1, 1}, "ln": {opLn, 1, 1}, "log10": {opLog10, 1, 1},
	"sin": {opSin, 1, 1}, "cos": {opCos, 1, 1}, "tan": {opTan, 1, 1}, "min": {opMin, 2, 8}, "max": {opMax, 2, 8},
}

func (o op) name() string {
	for name, f := range functions {
		if f.op == o {
			return name
		}
	}
	return ""
}

// node is one part of a parsed formula.
type node struct {
	op   op
	kids []*node
	val  float64 // of a number, in the coherent unit
	text string  // a number or a symbol as written
	unit string  // the unit written behind a number
	slot int     // place of a symbol among the parameters
	exps exps    // set by check
	zero bool    // a plain 0, which fits any dimension
}

// constant is the value of a node that holds no symbol and no unit.
func (n *node) constant() (float64, bool) {
	if n.op == opSymbol || n.unit != "" {
		return 0, false
	}
	var v [2]float64
	for i, kid := range n.kids {
		x, ok := kid.constant()
		if !ok || i > 1 {
			return 0, false
		}
		v[i] = x
	}
	switch n.op {
	case opNumber:
		return n.val, true
	case opPi:
		return math.Pi, true
	case opNeg:
		return -v[0], true
	case opAdd:
		return v[0] + v[1], true
	case opSub:
		return v[0] - v[1], true
	case opMul:
		return v[0] * v[1], true
	case opDiv:
		return v[0] / v[1], true
	}
	return 0, false
}
