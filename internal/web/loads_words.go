package web

import (
	"regexp"
	"strconv"

	"endcast/internal/domain/units"
)

// areaLoad prints a load per area, which small stresses are read as: psf or kPa.
func areaLoad(v float64, sys units.System) string {
	if sys == units.SI {
		return units.Significant(v*1000, 4) + "\u00a0kPa"
	}
	return units.Significant(v/psf, 4) + "\u00a0psf"
}

// psf is one pound to the square foot in N/mm2.
const psf = float64(units.Ksi) / 144000

var figureBefore = map[string]*regexp.Regexp{
	" N/mm2": regexp.MustCompile(`(\d+(?:\.\d+)?(?:e[+-]?\d+)?) N/mm2`),
	" N/mm":  regexp.MustCompile(`(\d+(?:\.\d+)?(?:e[+-]?\d+)?) N/mm\b`),
	" N":     regexp.MustCompile(`(\d+(?:\.\d+)?(?:e[+-]?\d+)?) N\b`),
}

var millimeterRange = regexp.MustCompile(`(\d+(?:\.\d+)?) to (\d+(?:\.\d+)?) mm\b`)

// feetAndInches turns the millimeters of a reason into the reader's units: feet for
// what people measure in feet.
func feetAndInches(reason string, sys units.System) string {
	if sys == units.SI {
		return reason
	}
	reason = millimeterRange.ReplaceAllString(reason, "$1 mm to $2 mm")
	return millimetres.ReplaceAllStringFunc(reason, func(m string) string {
		v, err := strconv.ParseFloat(millimetres.FindStringSubmatch(m)[1], 64)
		if err != nil {
			return m
		}
		if v >= float64(4*units.Foot) {
			return units.Spans.Format(v, sys, -1)
		}
		return units.Length(v).Format(sys, 2)
	})
}

// replaceFigure replaces each number before a unit, with its unit.
func replaceFigure(text, unit string, say func(float64) string) string {
	re := figureBefore[unit]
	return re.ReplaceAllStringFunc(text, func(m string) string {
		v, err := strconv.ParseFloat(re.FindStringSubmatch(m)[1], 64)
		if err != nil {
			return m
		}
		return say(v)
	})
}
