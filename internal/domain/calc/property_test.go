package calc

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/units"
)

// expression is a random formula over plain numbers a and b: its text with every
// part in parentheses, and a way to compute it that shares nothing with calc.
type expression struct {
	text string
	eval func(a, b float64) float64
}

func drawExpression(t *rapid.T, depth int) expression {
	kind := rapid.IntRange(0, 12).Draw(t, "kind")
	if depth == 0 {
		kind %= 3
	}
	sub := func() expression { return drawExpression(t, depth-1) }
	unary := func(name string, f func(float64) float64) expression {
		x := sub()
		return expression{name + "(" + x.text + ")", func(a, b float64) float64 { return f(x.eval(a, b)) }}
	}
	binary := func(sign string, f func(x, y float64) float64) expression {
		x, y := sub(), sub()
		return expression{"((" + x.text + ")" + sign + "(" + y.text + "))",
			func(a, b float64) float64 { return f(x.eval(a, b), y.eval(a, b)) }}
	}
	switch kind {
	case 0:
		v := float64(rapid.IntRange(0, 999).Draw(t, "number")) / 100
		return expression{strconv.FormatFloat(v, 'f', -1, 64), func(float64, float64) float64 { return v }}
	case 1:
		return expression{"a", func(a, _ float64) float64 { return a }}
	case 2:
		return expression{"b", func(_, b float64) float64 { return b }}
	case 3, 4:
		return binary("+", func(x, y float64) float64 { return x + y })
	case 5:
		return binary("-", func(x, y float64) float64 { return x - y })
	case 6, 7:
		return binary("*", func(x, y float64) float64 { return x * y })
	case 8:
		return binary("/", func(x, y float64) float64 { return x / y })
	case 9:
		return unary("-", func(x float64) float64 { return -x })
	case 10:
		return unary("sqrt", math.Sqrt)
	case 11:
		x, y := sub(), sub()
		return expression{"max(" + x.text + "," + y.text + ")",
			func(a, b float64) float64 { return math.Max(x.eval(a, b), y.eval(a, b)) }}
	}
	x := sub()
	return expression{"(" + x.text + ")^2", func(a, b float64) float64 { v := x.eval(a, b); return v * v }}
}

func TestParsePrintParse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		e := drawExpression(t, 4)
		// Adding 0*a + 0*b would change infinities; naming them in max would too.
		both := "min((" + e.text + "), a + b + 1e6)"
		d := Def{Symbol: "x", Expr: both, Params: []Param{{"a", "", Scalar}, {"b", "", Scalar}}}
		f, err := Compile(d)
		if err != nil { // the fully parenthesised text may nest deeper than allowed
			require.ErrorContains(t, err, "nested")
			return
		}
		a := rapid.Float64Range(-100, 100).Draw(t, "a")
		b := rapid.Float64Range(-100, 100).Draw(t, "b")
		want := math.Min(e.eval(a, b), a+b+1e6)
		got := f.Eval(nil, a, b)
		require.True(t, want == got || math.IsNaN(want) && math.IsNaN(got), "%s = %v, want %v", f.Expr(), got, want)

		d.Expr = f.Expr()
		g, err := Compile(d)
		require.NoError(t, err)
		again := g.Eval(nil, a, b)
		require.True(t, got == again || math.IsNaN(got) && math.IsNaN(again), "%s became %s", both, g.Expr())
		require.Equal(t, f.Expr(), g.Expr())
		require.LessOrEqual(t, len(f.Expr()), len(both)+40, "printing adds no parentheses, only spaces")

		p := NewPad()
		f.Eval(p, a, b)
		wellFormed(t, f.MathML())
		wellFormed(t, p.Lines()[0].SubstitutionMathML(units.US))
	})
}

// Products of powers carry the sum of the exponents, and only a result of just
// that dimension is accepted.
func TestDimensionsOfProducts(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var e exps
		expr := "1"
		list := []Param{}
		for i := range rapid.IntRange(1, 5).Draw(t, "factors") {
			d := Dim(rapid.IntRange(0, int(dimCount)-1).Draw(t, "dim"))
			n := rapid.IntRange(-3, 3).Draw(t, "power")
			name := fmt.Sprintf("x_%d", i)
			list = append(list, Param{name, "", d})
			expr += fmt.Sprintf("*%s^%d", name, n)
			for j := range e {
				e[j] += float64(n) * dims[d].exps[j]
			}
		}
		for d := range dimCount {
			_, err := Compile(Def{Symbol: "y", Expr: expr, Dim: d, Params: list})
			if dims[d].exps == e {
				require.NoError(t, err)
			} else {
				require.ErrorContains(t, err, "gives")
			}
		}
	})
}

func TestFinishNeverPassesBeyondALimit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		odd := rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -1, 1, 1e300})
		value := rapid.OneOf(rapid.Float64Range(-10, 10), odd)
		var limits []Limit
		met := true
		for range rapid.IntRange(0, 3).Draw(t, "limits") {
			l := Limit{"l", rapid.Bool().Draw(t, "met")}
			met = met && l.Met
			limits = append(limits, l)
		}
		in := rapid.SampledFrom([]Verdict{Undecided, Passes, Fails, Outside}).Draw(t, "verdict")
		c := Finish(Check{Demand: value.Draw(t, "demand"), Resistance: value.Draw(t, "resistance"), Limits: limits, Verdict: in})
		if c.Verdict == Passes {
			require.True(t, met)
			require.NotEqual(t, Outside, in)
			require.True(t, c.Demand <= c.Resistance*(1+1e-8))
			require.False(t, math.IsInf(c.Resistance, 0))
		} else {
			require.Contains(t, []Verdict{Fails, Outside}, c.Verdict)
		}
	})
}

func TestLinesSurviveJSON(t *testing.T) {
	t.Parallel()
	f, err := define("P/k + 0.5[in]", Length)
	require.NoError(t, err)
	p := NewPad()
	p.Given("P", "force", Force, 1000, "survey <1>")
	p.Note("by the first formula")
	f.Eval(p, 1000, 50)
	f.Eval(p, 1000, 0)
	b, err := json.Marshal(p.Lines())
	require.NoError(t, err)
	var back []Line
	require.NoError(t, json.Unmarshal(b, &back))
	require.Len(t, back, 4)
	for i, l := range p.Lines() {
		require.Equal(t, l.AsText(units.US), back[i].AsText(units.US))
		require.Equal(t, l.SubstitutionMathML(units.SI), back[i].SubstitutionMathML(units.SI))
		require.Equal(t, l.Kind, back[i].Kind)
	}
	require.Equal(t, back[2].Value, back[2].Formula.Eval(nil, back[2].Args...))
	require.True(t, math.IsInf(back[3].Value, 1))

	for _, bad := range []string{`{"kind":"tale"}`, `{"kind":"note","value":"many"}`, `{"kind":"note","dim":"money"}`,
		`{"kind":"computed","formula":{"symbol":"x","expr":"1+"}}`, `[]`} {
		require.Error(t, json.Unmarshal([]byte(bad), &back[0]), bad)
	}
	_, err = json.Marshal(Line{Kind: 9})
	require.Error(t, err)
}

func TestGoverning(t *testing.T) {
	t.Parallel()
	pass, high := Check{Verdict: Passes, Ratio: 0.4}, Check{Verdict: Passes, Ratio: 0.9}
	out, fail := Check{Verdict: Outside, Ratio: math.NaN()}, Check{Verdict: Fails, Ratio: 1.2}
	informs := Check{Verdict: Informs, Ratio: 7}
	for _, c := range []struct {
		checks []Check
		at     int
		want   Verdict
	}{
		{nil, -1, Undecided},
		{[]Check{pass, high, informs}, 1, Passes},
		{[]Check{pass, high, pass, high}, 1, Passes},
		{[]Check{pass, out, high}, 1, Outside},
		{[]Check{pass, {Verdict: Outside, Ratio: 0.3}, out}, 2, Outside},
		{[]Check{out, fail, {Verdict: Fails, Ratio: math.Inf(1)}}, 2, Fails},
		{[]Check{informs}, 0, Informs},
		{[]Check{pass, {}}, 1, Undecided},
		{[]Check{pass, {Verdict: 77}}, 1, Undecided},
	} {
		require.Equal(t, c.at, Governing(c.checks))
		require.Equal(t, c.want, Overall(c.checks))
	}
}

func TestWords(t *testing.T) {
	t.Parallel()
	require.Equal(t, "passes", Passes.String())
	require.Equal(t, "does not pass", Fails.String())
	require.Equal(t, "outside the method's limits", Outside.String())
	require.Equal(t, "for information", Informs.String())
	require.Equal(t, "not decided", Verdict(99).String())
	for v := range verdicts {
		b, err := Verdict(v).MarshalText()
		require.NoError(t, err)
		var back Verdict
		require.NoError(t, back.UnmarshalText(b))
		require.Equal(t, Verdict(v), back)
	}
	for d := range dimCount {
		b, err := d.MarshalText()
		require.NoError(t, err)
		var back Dim
		require.NoError(t, back.UnmarshalText(b))
		require.Equal(t, d, back)
		require.NotEmpty(t, d.Format(1, units.US, -1))
		require.Equal(t, dims[d].exps, kindExps(d.Kind()), "a dimension and its kind agree")
	}
	require.Error(t, new(Verdict).UnmarshalText([]byte("maybe")))
	require.Error(t, new(Dim).UnmarshalText([]byte("money")))
	require.Equal(t, Scalar.String(), Dim(200).String())
	require.Equal(t, "A standard (2nd ed.) 6.1", Clause{Document: "A standard", Edition: "2nd ed.", Article: "6.1"}.String())
}

func FuzzCompile(f *testing.F) {
	for _, s := range []string{"0.58*F_y*D*t_w", "min(a, b)^-2", "44e8[ksi^3]/F_y^3", "-(a - -b)", "sqrt(f'_c*1[ksi])", "sin(30[deg])",
		"1e", "((", "a[in]", "3[kip/in*mm/ft]", "max(0, a, 0)", "\x00", "a^^b", "2^0.5^3", "t_w*(1/3)", "A_s^(1/(2-2))"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for d := range dimCount {
			formula, err := define(s, d)
			if err != nil {
				continue
			}
			args := make([]float64, len(formula.def.Params))
			for i := range args {
				args[i] = 1.5 + float64(i)
			}
			p := NewPad()
			v := formula.Eval(p, args...)
			again, err := Compile(Def{Symbol: "R_n", Expr: formula.Expr(), Dim: d, Params: formula.def.Params})
			require.NoError(t, err, "%q printed as %q", s, formula.Expr())
			require.Equal(t, formula.Expr(), again.Expr())
			w := again.Eval(nil, args...)
			require.True(t, v == w || math.IsNaN(v) && math.IsNaN(w))
			wellFormed(t, formula.MathML())
			wellFormed(t, p.Lines()[0].SubstitutionMathML(units.US))
		}
	})
}

func BenchmarkEval15(b *testing.B) {
	f, err := define("0.9*(F_y*t_w*D - 2*P)/1.67 + 0.5*P*a", Force) // 17 nodes
	require.NoError(b, err)
	b.ReportAllocs()
	var sum float64
	for b.Loop() {
		sum += f.Eval(nil, 1.1, 12.7, 1000, 345, 5000)
	}
	require.NotZero(b, sum)
}

func TestEvalDoesNotAllocate(t *testing.T) {
	a, d, tw := 345.0, 1000.0, 12.7
	require.Zero(t, testing.AllocsPerRun(100, func() { tw += shear.Eval(nil, a, d, tw) * 1e-12 }))
}

// A ratio up to 1 is never a failure and one above 1 always is, down to the
// rounding of inches: equal on paper is 1.
func TestRatioNeverContradictsVerdict(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(0.01, 1e6).Draw(t, "resistance")
		d := r * (1 + rapid.SampledFrom([]float64{-1e-3, -1e-12, 0, 1e-16, 4e-10, 9e-10, 1.1e-9, 1e-8, 1e-3}).Draw(t, "off"))
		c := Finish(Check{Demand: d, Resistance: r})
		require.Equal(t, c.Ratio > 1, c.Verdict == Fails, "%v", c.Ratio)
		require.Equal(t, AtMost(d, r), c.Verdict == Passes)
		require.Equal(t, AtLeast(-d, -r), AtMost(d, r))
	})
}
