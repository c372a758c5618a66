package demand

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
)

var (
	gammaBetween = calc.Define(calc.Def{Symbol: "gamma_L", Name: "live-load factor between two rows of the table", Expr: "g_1 + (g_2 - g_1)*(n - n_1)/(n_2 - n_1)", Dim: calc.Scalar, Clause: clauseLegal,
		Params: []calc.Param{par("g_1", "factor of the row below", calc.Scalar), par("g_2", "factor of the row above", calc.Scalar),
			par("n", "trucks a day in one direction", calc.Scalar), par("n_1", "trucks of the row below", calc.Scalar), par("n_2", "trucks of the row above", calc.Scalar)}})
)

// gammaRow is one row of a table of live-load factors, from little traffic to much.
type gammaRow struct{ trucks, factor basis.Key }

var (
	legalNow = []gammaRow{{basis.TrafficMiddle, basis.LegalMiddle}, {basis.TrafficHigh, basis.LegalHigh}}
	legalOld = []gammaRow{{basis.TrafficLow, basis.LegalLowOld}, {basis.TrafficMiddle, basis.LegalMiddleOld}, {basis.TrafficHigh, basis.LegalHighOld}}
	haulNow  = []gammaRow{{basis.TrafficMiddle, basis.HaulMiddle}, {basis.TrafficHigh, basis.HaulHigh}}
	haulOld  = []gammaRow{{basis.TrafficLow, basis.HaulLowOld}, {basis.TrafficMiddle, basis.HaulMiddleOld}, {basis.TrafficHigh, basis.HaulHighOld}}
)

// LegalFactor is the live-load factor of a legal load or a special hauling vehicle by
// the trucks a day in one direction, from the table of the edition in force, linear
// between its rows. Zero trucks means that nobody knows: the highest factor.
func LegalFactor(p *calc.Pad, b basis.Basis, class Class, trucks int) float64 {
	table, old := legalNow, b.Value(basis.LegalEdition) >= 1.5
	switch {
	case class == SpecialHauling && old:
		table = haulOld
	case class == SpecialHauling:
		table = haulNow
	case old:
		table = legalOld
	}
	n := float64(trucks)
	given := func(r gammaRow, why string) float64 {
		v := b.Value(r.factor)
		p.Given("gamma_L", "live-load factor", calc.Scalar, v, why)
		return v
	}
	last := table[len(table)-1]
	if trucks <= 0 {
		return given(last, "design basis, the traffic is not known")
	}
	if n >= b.Value(last.trucks) {
		return given(last, "design basis, much traffic")
	}
	if n <= b.Value(table[0].trucks) {
		return given(table[0], "design basis, little traffic")
	}
	for i := 1; i < len(table); i++ {
		low, high := b.Value(table[i-1].trucks), b.Value(table[i].trucks)
		if n > high || !(high > low) {
			continue
		}
		return gammaBetween.Eval(p, b.Value(table[i-1].factor), b.Value(table[i].factor), n, low, high)
	}
	return given(last, "design basis")
}
