package exchange

import (
	"strconv"
	"strings"

	"endcast/internal/domain/units"
)

// guard keeps a spreadsheet from taking a text for a formula: a text that begins
// with = + - @ or a tab gets an apostrophe before it, and so does one that already
// looks guarded, so that unguard gives back every text.
func guard(s string) string {
	if s != "" && startsFormula(s) {
		return "'" + s
	}
	return s
}

// unguard takes one apostrophe off a guarded text.
func unguard(s string) string {
	if rest, ok := strings.CutPrefix(s, "'"); ok && startsFormula(rest) {
		return rest
	}
	return s
}

func startsFormula(s string) bool {
	bare := strings.TrimLeft(s, "'")
	return bare != "" && strings.ContainsRune("=+-@\t", rune(bare[0]))
}

// writeQuantity is the cell for a value in a column of the given unit: what was
// typed if it still reads to the very value, else a number that does.
func writeQuantity(k units.Kind, v float64, typed, unit string, sys units.System) string {
	same := func(cell string) bool {
		got, _, err := readQuantity(k, cell, unit, false)
		return err == "" && got == v
	}
	if typed != "" {
		if bare, ok := strings.CutSuffix(typed, " "+unit); ok && same(bare) {
			return bare
		}
		if same(typed) {
			return typed
		}
		// Typed without a unit by a reader of the other family.
		for _, s := range []units.System{units.US, units.SI} {
			if cell := typed + " " + label0(k, s); same(cell) {
				return cell
			}
		}
	}
	shown := k.Shown(sys, v)
	for _, cell := range []string{k.Exact(v, sys), strconv.FormatFloat(shown, 'f', -1, 64)} {
		if same(cell) {
			return cell
		}
	}
	// In the coherent unit there is nothing to convert.
	return strconv.FormatFloat(v, 'g', -1, 64) + " " + coherent[k]
}

// coherent names the unit of scale 1 of the kinds that the tables use.
var coherent = map[units.Kind]string{units.Lengths: "mm", units.Spans: "mm", units.Forces: "N", units.Stresses: "MPa", units.Angles: "deg"}
