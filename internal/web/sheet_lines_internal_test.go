package web

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
	"endcast/views/sheet"
)

func TestMathWidthFollowsTheLayout(t *testing.T) {
	t.Parallel()
	in := func(body string) float64 { return mathWidth("<math><mrow>" + body + "</mrow></math>") }
	a, b := "<mn>1234</mn>", "<mn>12345678</mn>"
	require.InDelta(t, in(a)+in(b), in(a+b), 1e-9, "a row is the sum of its parts")
	require.Less(t, in("<mfrac>"+a+b+"</mfrac>"), in(a+b), "a fraction is as wide as its wider part")
	require.Greater(t, in("<mfrac>"+a+b+"</mfrac>"), in(b))
	require.Less(t, in("<msup>"+a+b+"</msup>"), in(a+b), "an exponent is small")
	require.Zero(t, mathWidth(""))
	require.Positive(t, mathWidth("<mrow><mn>12</mrow>"), "what cannot be read counts by its characters")
}

func TestLinesTakeTheRoomTheyNeed(t *testing.T) {
	t.Parallel()
	short := calc.Define(calc.Def{Symbol: "R_r", Name: "factored resistance", Expr: "phi*R_n", Dim: calc.Force,
		Params: []calc.Param{{Symbol: "phi", Name: "factor", Dim: calc.Scalar}, {Symbol: "R_n", Name: "nominal", Dim: calc.Force}}})
	p := calc.NewPad()
	short.Eval(p, 0.8, 205000)
	p.Note("words")
	e := endReader{sys: units.US}
	ls := e.lines(p.Lines(), calc.Clause{})
	require.Equal(t, "one-row", ls[0].Fit)
	require.Equal(t, "Words.", ls[1].Note)
	wide := "<math><mrow><mn>" + strings.Repeat("1234567890", 12) + "</mn></mrow></math>"
	require.Equal(t, "across", fit(sheet.Line{Formula: wide, Working: wide}))
}

func TestAPassByRoundingPrintsAsOne(t *testing.T) {
	t.Parallel()
	require.Equal(t, "1.00", checkRatio(calc.Finish(calc.Check{Demand: 4 + 1e-12, Resistance: 4})))
	require.NotEqual(t, "1.00", checkRatio(calc.Finish(calc.Check{Demand: 4.00001, Resistance: 4})))
}
