package calc

import (
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/units"
)

// params are symbols of several dimensions for the tests of the language.
var params = []Param{
	{"a", "a", Scalar}, {"b", "b", Scalar}, {"t_w", "thickness", Length}, {"D", "depth", Length}, {"A_s", "area", Area},
	{"F_y", "yield", Stress}, {"f'_c", "strength", Stress}, {"P", "force", Force}, {"theta", "skew", Angle},
	{"T", "temperature", Temperature}, {"n_h", "hours", Hours}, {"n_d", "days", Days}, {"k", "stiffness", Stiffness},
}

// used returns the params that an expression names, in their order.
func used(expr string) []Param {
	names := map[string]bool{}
	for _, w := range strings.FieldsFunc(expr, func(r rune) bool { return r > 127 || !(letter(byte(r)) || digit(byte(r)) || r == '_' || r == '\'') }) {
		names[w] = true
	}
	var out []Param
	for _, p := range params {
		if names[p.Symbol] {
			out = append(out, p)
		}
	}
	return out
}

func define(expr string, d Dim) (*Formula, error) {
	return Compile(Def{Symbol: "R_n", Name: "result", Expr: expr, Dim: d, Params: used(expr)})
}

func TestEval(t *testing.T) {
	t.Parallel()
	const ksi = 6.894757293168361
	for _, c := range []struct {
		expr string
		dim  Dim
		args []float64
		want float64
	}{
		{"1 + 2*3", Scalar, nil, 7},
		{"(1 + 2)*3", Scalar, nil, 9},
		{"8 - 3 - 2", Scalar, nil, 3},
		{"8/4/2", Scalar, nil, 1},
		{"2^3^2", Scalar, nil, 512},
		{"-2^2", Scalar, nil, -4},
		{"(-2)^2", Scalar, nil, 4},
		{"2^-1", Scalar, nil, 0.5},
		{"3 - -2", Scalar, nil, 5},
		{"1.5e3 + 2E0", Scalar, nil, math.NaN()}, // only a small e begins an exponent
		{"2*pi", Scalar, nil, 2 * math.Pi},
		{"sqrt(16) + abs(-3) + exp(0) + ln(1) + log10(1000)", Scalar, nil, 11},
		{"min(3, 1, 2) + max(4, 6, 5)", Scalar, nil, 7},
		{"min(max(a, b), 3)", Scalar, []float64{1, 2}, 2},
		{"sin(theta)", Scalar, []float64{30}, 0.5},
		{"tan(theta) + cos(60[deg])", Scalar, []float64{45}, 1.5},
		{"sin(pi/2)", Scalar, nil, 1},
		{"sin(pi/6[rad]*1[rad])", Scalar, nil, 0.5},
		{"F_y*A_s", Force, []float64{100, 345}, 34500},
		{"5.5[ksi]", Stress, nil, 5.5 * ksi},
		{"44e8[ksi^3]/F_y^2", Stress, []float64{100}, 44e8 * ksi * ksi * ksi / 1e4},
		{"k*1[in]", Force, []float64{2}, 50.8},
		{"2[kip/in]*1[in]", Force, nil, 2 * 4448.2216152605},
		{"2[kip*ft]", Moment, nil, 2 * 4448.2216152605 * 304.8},
		{"0.5*A_s*sqrt(f'_c*29000[ksi])", Force, []float64{10, 40}, 5 * math.Sqrt(40*29000*ksi)},
		{"T + 273.15[kelvin]", Temperature, []float64{20}, 293.15},
		{"T - 32[degF]", TemperatureStep, []float64{20}, 20},
		{"T - 18[ddegF]", Temperature, []float64{20}, 10},
		{"n_d*24[h/day] + n_h", Hours, []float64{3, 2}, 51},
		{"max(P - 5[kN], 0)", Force, []float64{1000}, 0},
		{"A_s^0.5 + A_s^(1/2)", Length, []float64{9}, 6},
		{"D^3*t_w/12", Inertia, []float64{2, 12}, 288},
		{"a^b", Scalar, []float64{2, 10}, 1024},
		{"0", Force, nil, 0},
		{"sqrt(0 - a)", Scalar, []float64{1}, math.NaN()},
		{"a/b", Scalar, []float64{1, 0}, math.Inf(1)},
	} {
		t.Run(c.expr, func(t *testing.T) {
			t.Parallel()
			f, err := define(c.expr, c.dim)
			if c.expr == "1.5e3 + 2E0" {
				require.ErrorContains(t, err, `unexpected 'E'`)
				return
			}
			require.NoError(t, err)
			got := f.Eval(nil, c.args...)
			switch {
			case math.IsNaN(c.want):
				require.True(t, math.IsNaN(got))
			case c.want == 0 || math.IsInf(c.want, 0):
				require.Equal(t, c.want, got)
			default:
				require.InEpsilon(t, c.want, got, 1e-14)
			}
			again, err := Compile(Def{Symbol: "R_n", Expr: f.Expr(), Dim: c.dim, Params: f.Def().Params})
			require.NoError(t, err, f.Expr())
			require.Equal(t, math.Float64bits(got), math.Float64bits(again.Eval(nil, c.args...)))
			require.Equal(t, f.Expr(), again.Expr())
		})
	}
}

func TestCompileRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		expr string
		dim  Dim
		says string
	}{
		{"", Scalar, "missing"},
		{"1 +", Scalar, "missing"},
		{"(1", Scalar, "missing )"},
		{"1)", Scalar, "unexpected"},
		{"1 2", Scalar, "unexpected"},
		{"1..2", Scalar, "bad number"},
		{"1e999", Scalar, "bad number"},
		{"zeta", Scalar, "not among the parameters"},
		{"sqrt", Scalar, "needs its arguments"},
		{"sqrt(1, 2)", Scalar, "takes 1 to 1"},
		{"min(1)", Scalar, "takes 2 to 8"},
		{"sqrt(1", Scalar, "missing )"},
		{"3[furlong]", Length, "unknown unit"},
		{"3[in", Length, "missing ]"},
		{"3[in^x]", Length, "bad exponent"},
		{"1 $ 2", Scalar, "unexpected"},
		{"t_w + P", Length, "P has force where t_w has length"},
		{"t_w + 1", Length, "1 has no unit where t_w has length"},
		{"min(t_w, A_s)", Length, "A_s has length^2"},
		{"t_w*D", Length, "gives length^2 where a length has length"},
		{"F_y", Force, "gives length^-2 force"},
		{"ln(t_w)", Scalar, "ln takes a number without unit"},
		{"exp(P)", Scalar, "exp takes"},
		{"sin(t_w)", Scalar, "sin takes an angle"},
		{"t_w^a", Length, "must be a constant"},
		{"2^t_w", Scalar, "the exponent t_w has length"},
		{"sqrt(F_y)", Stress, "gives"},
		{"n_h + n_d", Hours, "n_d has day where n_h has hour"},
		{"0.0316*sqrt(f'_c)", Stress, "gives"},
		{strings.Repeat("(", 200) + "1" + strings.Repeat(")", 200), Scalar, "nested"},
		{strings.Repeat("-", 200) + "1", Scalar, "nested"},
		{strings.Repeat("1+", 600) + "1", Scalar, "longer than"},
		{strings.Repeat("1+(", 28) + "1" + strings.Repeat(")", 28), Scalar, "intermediate values"},
	} {
		t.Run(c.expr[:min(len(c.expr), 30)], func(t *testing.T) {
			t.Parallel()
			_, err := define(c.expr, c.dim)
			require.ErrorContains(t, err, c.says)
			require.Panics(t, func() { Define(Def{Symbol: "R", Expr: c.expr, Dim: c.dim, Params: used(c.expr)}) })
		})
	}
	for _, d := range []Def{
		{Symbol: "", Expr: "1"},
		{Symbol: "1x", Expr: "1"},
		{Symbol: "x", Expr: "a", Params: []Param{{"a", "", Scalar}, {"a", "", Scalar}}},
		{Symbol: "x", Expr: "1", Params: []Param{{"a", "", Scalar}}},
		{Symbol: "x", Expr: "min", Params: []Param{{"min", "", Scalar}}},
		{Symbol: "x", Expr: "a", Params: []Param{{"a b", "", Scalar}}},
		{Symbol: "x", Expr: "1", Params: make([]Param, 33)},
	} {
		_, err := Compile(d)
		require.Error(t, err)
	}
}

func TestEvalChecksItsArguments(t *testing.T) {
	t.Parallel()
	require.PanicsWithValue(t, "calc: formula V_n takes 3 arguments, got 1", func() { shear.Eval(nil, 1) })
}

func TestEvalKeepsItsOwnArguments(t *testing.T) {
	t.Parallel()
	p := NewPad()
	args := []float64{345, 1000, 12.7}
	shear.Eval(p, args...)
	args[0] = 0
	require.Equal(t, []float64{345, 1000, 12.7}, p.Lines()[0].Args)
}

func TestNilPad(t *testing.T) {
	t.Parallel()
	var p *Pad
	p.Given("a", "a", Length, 1, "")
	p.Note("words")
	require.Empty(t, p.Lines())
}

// The printed forms of one formula of each construction.
func TestPrinting(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ expr, text, body string }{
		{"2*t_w/D", "2·t_w/D", "<mfrac><mrow><mn>2</mn><mo>\u2062</mo><msub><mi>t</mi><mi>w</mi></msub></mrow><mi>D</mi></mfrac>"},
		{"(a + b)*a", "(a + b)·a", "<mrow><mrow><mo>(</mo><mrow><mi>a</mi><mo>+</mo><mi>b</mi></mrow><mo>)</mo></mrow><mo>\u2062</mo><mi>a</mi></mrow>"},
		{"(a + b)/a", "(a + b)/a", "<mfrac><mrow><mi>a</mi><mo>+</mo><mi>b</mi></mrow><mi>a</mi></mfrac>"},
		{"(a/b)^2", "(a/b)^2", "<msup><mrow><mo>(</mo><mfrac><mi>a</mi><mi>b</mi></mfrac><mo>)</mo></mrow><mn>2</mn></msup>"},
		{"a - (b - a)", "a − (b − a)", "<mrow><mi>a</mi><mo>−</mo><mrow><mo>(</mo><mrow><mi>b</mi><mo>−</mo><mi>a</mi></mrow><mo>)</mo></mrow></mrow>"},
		{"a - -b", "a − (−b)", "<mrow><mi>a</mi><mo>−</mo><mrow><mo>(</mo><mrow><mo>−</mo><mi>b</mi></mrow><mo>)</mo></mrow></mrow>"},
		{"sqrt(a/b)", "√(a/b)", "<msqrt><mfrac><mi>a</mi><mi>b</mi></mfrac></msqrt>"},
		{"exp(-a)", "exp(−a)", "<msup><mi>e</mi><mrow><mo>−</mo><mi>a</mi></mrow></msup>"},
		{"log10(a)", "log10(a)", "<mrow><msub><mi>log</mi><mn>10</mn></msub><mo>\u2061</mo><mrow><mo>(</mo><mi>a</mi><mo>)</mo></mrow></mrow>"},
		{"abs(a)", "abs(a)", "<mrow><mo>|</mo><mi>a</mi><mo>|</mo></mrow>"},
		{"min(a, b)", "min(a, b)", "<mrow><mi>min</mi><mo>\u2061</mo><mrow><mo>(</mo><mi>a</mi><mo>,</mo><mi>b</mi><mo>)</mo></mrow></mrow>"},
		{"sin(theta)", "sin(θ)", "<mrow><mi>sin</mi><mo>\u2061</mo><mrow><mo>(</mo><mi>θ</mi><mo>)</mo></mrow></mrow>"},
		{"f'_c/5.5[ksi]", "f′_c/5.5 ksi", "<mfrac><msubsup><mi>f</mi><mi>c</mi><mo>′</mo></msubsup><mrow><mn>5.5</mn><mtext>\u00a0ksi</mtext></mrow></mfrac>"},
		{"44e8*a", "44×10⁸·a", "<mrow><mn>44×10⁸</mn><mo>\u2062</mo><mi>a</mi></mrow>"},
		{"2e-3^a", "(2×10⁻³)^a", "<msup><mrow><mo>(</mo><mn>2×10⁻³</mn><mo>)</mo></mrow><mi>a</mi></msup>"},
		{"-(-a)", "−(−a)", "<mrow><mo>−</mo><mrow><mo>(</mo><mrow><mo>−</mo><mi>a</mi></mrow><mo>)</mo></mrow></mrow>"},
		{"k/2[kip/in]", "k/(2 kip/in)", "<mfrac><mi>k</mi><mrow><mn>2</mn><mtext>\u00a0kip/in</mtext></mrow></mfrac>"},
		{"a*2*pi", "a·2·π", "<mrow><mrow><mi>a</mi><mo>×</mo><mn>2</mn></mrow><mo>\u2062</mo><mi>π</mi></mrow>"},
	} {
		t.Run(c.expr, func(t *testing.T) {
			t.Parallel()
			f, err := define(c.expr, Scalar)
			if err != nil {
				f, err = define(c.expr, Stress)
			}
			require.NoError(t, err)
			require.Equal(t, "R_n = "+c.text, f.AsText())
			require.Equal(t, `<math xmlns="http://www.w3.org/1998/Math/MathML" display="block" alttext="R_n = `+c.text+
				`"><mrow><msub><mi>R</mi><mi>n</mi></msub><mo>=</mo>`+c.body+`</mrow></math>`, f.MathML())
		})
	}
}

func TestSymbols(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ symbol, text, markup string }{
		{"phi_c", "φ_c", "<msub><mi>φ</mi><mi>c</mi></msub>"},
		{"F_yw", "F_yw", "<msub><mi>F</mi><mi>yw</mi></msub>"},
		{"DeltaF_n", "ΔF_n", "<msub><mi>ΔF</mi><mi>n</mi></msub>"},
		{"Deltasigma", "Δσ", "<mi>Δσ</mi>"},
		{"Delta", "Δ", "<mi>Δ</mi>"},
		{"A_n_eff", "A_n,eff", "<msub><mi>A</mi><mi>n,eff</mi></msub>"},
		{"K_lambda", "K_λ", "<msub><mi>K</mi><mi>λ</mi></msub>"},
		{"C_1", "C_1", "<msub><mi>C</mi><mn>1</mn></msub>"},
		{"f'", "f′", "<msup><mi>f</mi><mo>′</mo></msup>"},
		{"f''_c", "f′′_c", "<msubsup><mi>f</mi><mi>c</mi><mo>′′</mo></msubsup>"},
	} {
		require.Equal(t, c.text, SymbolText(c.symbol))
		require.Equal(t, c.markup, SymbolMathML(c.symbol))
	}
	require.Equal(t, "<mi>&lt;b&gt;</mi>", SymbolMathML("<b>"))
}

func TestSubstitution(t *testing.T) {
	t.Parallel()
	f, err := define("a*t_w^2*F_y - P", Force)
	require.NoError(t, err)
	p := NewPad()
	f.Eval(p, -0.8, 7.9375, 345, -1000)
	l := p.Lines()[0]
	require.Equal(t, "R_n = −0.8 × (7.938\u00a0mm)^2 × 345.0\u00a0MPa − (−1.0\u00a0kN) = −16.39\u00a0kN", l.AsText(units.SI))
	wellFormed(t, l.SubstitutionMathML(units.US))
	require.Contains(t, l.SubstitutionMathML(units.US), "<mtext>\u00a0ksi</mtext>")
	require.Contains(t, l.SubstitutionMathML(units.SI), "<mo>(</mo><mrow><mo>−</mo><mn>1.0</mn>", "a negative value after a sign stands in parentheses")
	require.Empty(t, Line{Kind: Remark, Note: "words"}.SubstitutionMathML(units.US))
	require.Equal(t, "words", Line{Kind: Remark, Note: "words"}.AsText(units.US))

	hostile := Line{Kind: Known, Symbol: "t_w", Dim: Length, Value: 1, Origin: `<script>"'&`}
	wellFormed(t, hostile.SubstitutionMathML(units.SI))
	require.NotContains(t, hostile.SubstitutionMathML(units.SI), "<script")

	l.Args = l.Args[:1] // a line from a damaged file
	require.Equal(t, "R_n = −16.39\u00a0kN", l.AsText(units.SI))
}

func TestWorkingStandsBehindItsFormula(t *testing.T) {
	t.Parallel()
	f, err := define("a*t_w^2*F_y - P", Force)
	require.NoError(t, err)
	p := NewPad()
	f.Eval(p, -0.8, 7.9375, 345, -1000)
	l := p.Lines()[0]
	w := l.WorkingMathML(units.SI)
	wellFormed(t, w)
	require.Equal(t, strings.Replace(l.SubstitutionMathML(units.SI), "<msub><mi>R</mi><mi>n</mi></msub>", "", 1), strings.Replace(w, `alttext="= `, `alttext="R_n = `, 1))
	given := Line{Kind: Known, Symbol: "t_w", Dim: Length, Value: 1}
	require.Equal(t, given.SubstitutionMathML(units.US), given.WorkingMathML(units.US))
}

// A list that would run off the paper is set part under part; a short one is not.
func TestLongListsStandBelowEachOther(t *testing.T) {
	t.Parallel()
	f, err := define("min(a*t_w^2*F_y - P, b*t_w*t_w*F_y - 3*P, t_w^2*F_y - (a + b + 1)*P)", Force)
	require.NoError(t, err)
	wellFormed(t, f.MathML())
	require.Equal(t, 3, strings.Count(f.MathML(), "<mtr>"))
	short, err := define("min(a, b)", Scalar)
	require.NoError(t, err)
	require.NotContains(t, short.MathML(), "<mtable>")
}

// wellFormed fails unless s is one XML element.
func wellFormed(t require.TestingT, s string) {
	d := xml.NewDecoder(strings.NewReader(s))
	depth, roots := 0, 0
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err, s)
		switch tok.(type) {
		case xml.StartElement:
			if depth == 0 {
				roots++
			}
			depth++
		case xml.EndElement:
			depth--
		}
	}
	require.Equal(t, 1, roots)
}
